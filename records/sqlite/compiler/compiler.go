// Package compiler stops a build without a C compiler with one sentence. The
// embedded database is written in C, and without one its package would fail
// with a screenful of names that nobody knows.
package compiler
