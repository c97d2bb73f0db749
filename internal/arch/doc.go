// Package arch holds the rules on which package may import which; see its test.
package arch
