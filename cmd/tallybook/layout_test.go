package main_test

import (
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// TestLayoutOfTheTop keeps the top of the repository as it was agreed.
func TestLayoutOfTheTop(t *testing.T) {
	out, err := exec.Command("git", "-C", "../..", "ls-files").Output()
	if err != nil {
		t.Skipf("not checked: this is no git checkout (%v)", err)
	}
	allowed := []string{"cmd", "geo", "records", "server", "static", "migrations", "testdata", "go.mod", "go.sum",
		"README.md", "DEVELOPERS.md", "LICENSE", "Makefile", "CHANGELOG.md"}
	for _, f := range strings.Fields(string(out)) {
		top, _, _ := strings.Cut(f, "/")
		if !strings.HasPrefix(top, ".") && !slices.Contains(allowed, top) {
			t.Errorf("%s does not belong at the top", top)
		}
	}
}
