// Command fairset is the bench companion for bolt-on necks: pages, HTTP interface and command line in one.
package main

import (
	"context"
	"os"

	"fairset/internal/cli"
)

func main() {
	os.Exit(cli.Main(context.Background(), os.Args[1:], cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
}
