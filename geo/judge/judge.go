// Package judge runs the programs from outside that tests are held against:
// R, GDAL and others from Debian's packages. A program that is missing fails
// the test: a check that was not made is no check that passed. Tests alone
// import it.
package judge

import (
	"bytes"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// Run gives what a program prints; the test fails where it ends badly, with
// what it said.
func Run(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, _ := run(t, "", name, args...)
	return out
}

// R runs a script of R (Debian package r-base-core, and those of the libraries
// that the script names) and reads the numbers that it prints. A word beside
// them, a warning too, fails the test.
func R(t testing.TB, script string) []float64 {
	t.Helper()
	out, said := run(t, script, "Rscript", "--vanilla", "-")
	if said != "" {
		t.Fatalf("R said %q", said)
	}
	var numbers []float64
	for _, f := range strings.Fields(out) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatalf("R answered %q", out)
		}
		numbers = append(numbers, v)
	}
	return numbers
}

func run(t testing.TB, stdin, name string, args ...string) (out, said string) {
	t.Helper()
	var errs bytes.Buffer
	c := exec.CommandContext(t.Context(), name, args...)
	c.Stdin = strings.NewReader(stdin)
	c.Stderr = &errs
	b, err := c.Output()
	if err != nil {
		t.Fatalf("%s %s is needed here: %v\n%s", name, strings.Join(args, " "), err, errs.String())
	}
	return string(b), errs.String()
}
