//go:build !cgo

package compiler

var _ int = "tallybook needs a C compiler: install gcc (Debian: apt-get install gcc libc6-dev) and build with CGO_ENABLED=1"
