package main_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

const module = "tallybook/"

// arrows says for each group of packages what of ours it may import. A name
// ending in /... stands for the package and everything under it. The first
// entry that fits a package counts.
var arrows = []struct {
	from string
	to   []string
}{
	{"geo/near", nil},
	{"geo/position", nil},
	{"geo/variogram", []string{"geo/near"}},
	{"geo/...", []string{"geo/..."}},
	{"records", []string{"geo/position"}},
	{"records/recordstest", []string{"records", "records/cql2", "geo/..."}},
	{"records/cql2", []string{"records", "geo/position"}},
	{"records/lithology", []string{"records"}},
	{"records/figuring", []string{"records", "geo/..."}},
	{"records/demo", []string{"records", "geo/..."}},
	{"records/snapshot", []string{"records", "records/lithology", "geo/..."}},
	{"records/importer", []string{"records", "records/lithology", "geo/..."}},
	{"records/exchange", []string{"records", "records/lithology", "geo/..."}},
	{"records/linkage", nil},
	{"records/plates", []string{"records", "records/lithology", "records/snapshot", "records/linkage", "geo/..."}},
	{"records/scout", []string{"records", "records/lithology", "records/snapshot", "records/figuring", "geo/..."}},
	{"records/review", []string{"records", "records/cql2", "records/lithology", "records/snapshot", "records/scout", "geo/..."}},
	{"records/sqlite/compiler", nil},
	{"records/sqlite", []string{"records", "geo/...", "migrations", "records/sqlite/compiler"}},
	{"records/desk", []string{"records", "records/cql2", "records/lithology", "records/figuring", "records/snapshot", "records/importer", "records/exchange", "records/plates", "records/linkage", "records/scout", "records/review", "geo/..."}},
	{"server/say", []string{"records", "geo/..."}},
	{"server/draw", []string{"records", "records/lithology", "server/say", "geo/..."}},
	{"server/stamp", []string{"records", "server/say", "geo/..."}},
	// the features API
	{"server/ogc", []string{"records", "records/cql2", "records/lithology", "records/desk", "server/say", "server/draw", "geo/..."}},
	{"server/pages", nil},
	{"server", []string{"records", "records/lithology", "records/figuring", "records/snapshot", "records/importer", "records/exchange", "records/plates", "records/linkage", "records/scout", "records/review", "records/desk", "geo/...", "static", "server/..."}},
	{"static", nil},
	{"migrations", nil},
	{"cmd/...", []string{"geo/...", "records/...", "server/...", "static", "migrations"}},
}

func fits(pattern, name string) bool {
	if base, ok := strings.CutSuffix(pattern, "/..."); ok {
		return name == base || strings.HasPrefix(name, base+"/")
	}
	return name == pattern
}

func TestArrowsBetweenPackages(t *testing.T) {
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	cmd.Dir = "../.."
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	seen := 0
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		seen++
		checkArrows(t, strings.TrimPrefix(p.ImportPath, module), p.Imports)
	}
	if seen < 15 {
		t.Errorf("only %d packages were looked at", seen)
	}
}

func checkArrows(t *testing.T, from string, imports []string) {
	t.Helper()
	for _, a := range arrows {
		if !fits(a.from, from) {
			continue
		}
		for _, i := range imports {
			to, ours := strings.CutPrefix(i, module)
			allowed := !ours
			for _, pattern := range a.to {
				allowed = allowed || fits(pattern, to)
			}
			if !allowed {
				t.Errorf("%s imports %s: the arrow is not drawn; see DEVELOPERS.md", from, to)
			}
		}
		return
	}
	t.Errorf("%s is in no group of packages: draw its arrows here", from)
}
