//go:build !cgo

package main

// The embedded database is written in C. Without a C compiler the build stops
// here, with this sentence, rather than make a program that cannot open a
// file.
var _ int = "tallybook needs a C compiler: install gcc (Debian: apt-get install gcc libc6-dev) and build with CGO_ENABLED=1"
