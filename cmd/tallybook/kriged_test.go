package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestSurfaceByKriging(t *testing.T) {
	db := county(t, 300)
	dir := t.TempDir()
	out, wrong := filepath.Join(dir, "k.asc"), filepath.Join(dir, "e.asc")
	args := []string{"surface", "--db", db, "--method", "kriging", "--grid", "9x7", "--bbox=-40.02,43.98,-39.7,44.12", "--crs", "EPSG:32624", "--everywhere", "--out", out, "--error", wrong}
	r := must(t, args...)
	for _, words := range []string{"kriged from ", "the nearest 24 each", "variogram: ", "nugget share", "fitted to "} {
		if !strings.Contains(r.out, words) {
			t.Errorf("%q is not said in\n%s", words, r.out)
		}
	}
	onlyHolds(t, dir, "k.asc", "k.prj", "e.asc", "e.prj")
	values, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	errors, err := os.ReadFile(wrong)
	if err != nil || string(errors) == string(values) {
		t.Errorf("the error is the surface itself: %v", err)
	}
	must(t, args...)
	if again, _ := os.ReadFile(out); string(again) != string(values) {
		t.Error("the same data give another surface")
	}
	r = must(t, "surface", "--db", db, "--method", "kriging", "--field", "yield", "--shape", "exponential", "--neighbours", "12", "--grid", "5x5", "--out", filepath.Join(dir, "y.geojson"))
	if !strings.Contains(r.out, "logarithms") || !strings.Contains(r.out, "exponential") || !strings.Contains(r.out, "the nearest 12 each") {
		t.Errorf("it says\n%s", r.out)
	}
	for _, c := range []struct {
		more []string
		says string
	}{
		{[]string{"--method", "idw", "--error", wrong}, "goes with --method kriging"},
		{[]string{"--method", "kriging", "--error", filepath.Join(dir, "e.tif")}, "must end in .asc"},
		{[]string{"--method", "kriging", "--error", out}, "would write over"},
		{[]string{"--method", "kriging", "--neighbours", "0"}, "1 to 500"},
	} {
		if r := do(t, append([]string{"surface", "--db", db, "--grid", "5x5", "--out", out}, c.more...)...); r.code != exitUsage || !strings.Contains(r.err, c.says) {
			t.Errorf("%v ends with %d and says %q", c.more, r.code, r.err)
		}
	}
}

func TestScoreSaysDifferences(t *testing.T) {
	db := county(t, 300)
	for _, by := range []string{"site", "block"} {
		var a scoreAnswer
		if err := json.Unmarshal([]byte(must(t, "score", "--db", db, "--by", by, "--against", "ordinary kriging", "--json").out), &a); err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(a.Against, "ordinary kriging") || a.Runs != 1999 || a.Squares < 2 || (by == "block") != (a.BlockM > 0) {
			t.Errorf("%+v", a)
		}
		kriging := 0
		for _, m := range a.Methods {
			d := m.MAEDifference
			if d.Mean == nil || d.Low == nil || d.High == nil || *d.Low > *d.Mean || *d.Mean > *d.High {
				t.Errorf("by %s: %s %+v", by, m.Method, d)
			}
			if strings.Contains(m.Method, "kriging") {
				if kriging++; m.CRPS == nil || m.Raw == nil || m.CRPSDifference.Mean == nil {
					t.Errorf("%+v", m)
				}
			}
			if m.Method == a.Against && *d.Mean != 0 {
				t.Errorf("a method differs from itself by %g", *d.Mean)
			}
		}
		if kriging != 2 {
			t.Errorf("kriging comes %d times", kriging)
		}
	}
	out := must(t, "score", "--db", db, "--units", "us").out
	for _, words := range []string{"errors above those of neighbours", "Drawn anew 1999 times", "hidden by site", "ordinary kriging, 24 sites"} {
		if !strings.Contains(out, words) {
			t.Errorf("%q is not in\n%s", words, out)
		}
	}
	if r := do(t, "score", "--db", db, "--against", "magic"); r.code != exitUsage || !strings.Contains(r.err, "none of the methods") {
		t.Errorf("ends with %d and says %q", r.code, r.err)
	}
}
