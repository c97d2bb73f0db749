// Package journey walks through the program as a maker would, in a real browser on the real server.
package journey
