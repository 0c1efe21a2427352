package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A section goes out as a drawing, a table, all of it as JSON, and its line,
// which is read in again.
func TestSectionOnTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	db, wells := filepath.Join(dir, "w.db"), filepath.Join(dir, "w.geojson")
	var b strings.Builder
	for i := range 60 {
		fmt.Fprintf(&b, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.4f,44.%04d]},"properties":{"number":"S-%d","depth_to_bedrock_m":%d,"total_depth_m":60,"yield_gpm":3,"ground_elevation_m":%d}}`+"\n",
			-40+float64(i%20)*0.004, 10+i/20*40, i, 3+i%20, 200+i%20)
	}
	if err := os.WriteFile(wells, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	must(t, "import", "--db", db, wells)
	out := func(name string) string { return filepath.Join(dir, name) }
	run := func(file string, more ...string) string {
		t.Helper()
		must(t, append([]string{"section", "--db", db, "--line", "44.0010,-40.001; 44.0012,-39.95; 44.0010,-39.92", "--width", "300ft", "--out", out(file)}, more...)...)
		data, err := os.ReadFile(out(file))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	svg := run("s.svg", "--units", "si", "--times", "5")
	if !strings.HasPrefix(svg, "<svg ") || !strings.Contains(svg, "drawn 5 times as high as long") || strings.Count(svg, "data-well=") != 20 {
		t.Errorf("the drawing has %d columns: %.200s", strings.Count(svg, "data-well="), svg)
	}
	rows, err := csv.NewReader(strings.NewReader(run("s.csv"))).ReadAll()
	if err != nil || len(rows) != 21 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	if line, err := csv.NewReader(strings.NewReader(run("l.csv", "--of", "line"))).ReadAll(); err != nil || len(line) < 200 {
		t.Errorf("%d places along the line, %v", len(line), err)
	}
	var all struct{ Wells []struct{ Number string } }
	if err := json.Unmarshal([]byte(run("s.json")), &all); err != nil || len(all.Wells) != 20 || all.Wells[0].Number != "S-0" {
		t.Errorf("%+v, %v", all, err)
	}
	run("l.geojson")
	must(t, "section", "--db", db, "--line", out("l.geojson"), "--width", "300ft", "--out", out("again.csv"))
	again, err := os.ReadFile(out("again.csv"))
	if first, err2 := os.ReadFile(out("s.csv")); err != nil || err2 != nil || string(again) != string(first) {
		t.Errorf("along the line as it was written the table is another: %v %v", err, err2)
	}
	for _, c := range []struct {
		code int
		says string
		args []string
	}{
		{2, "must end in .svg", []string{"--line", "44,-40;44,-39.9", "--width", "300ft", "--out", out("s.txt")}},
		{2, "write it as 1000 ft", []string{"--line", "44,-40;44,-39.9", "--width", "wide", "--out", out("x.svg")}},
		{2, "begins and where it ends", []string{"--line", "44,-40", "--width", "300ft", "--out", out("x.svg")}},
		{4, "cannot be read", []string{"--line", out("none.geojson"), "--width", "300ft", "--out", out("x.svg")}},
		{4, "nobody has picked", []string{"--line", "44,-40;44,-39.9", "--width", "300ft", "--picks", "first", "--out", out("x.svg")}},
	} {
		if r := do(t, append([]string{"section", "--db", db}, c.args...)...); r.code != c.code || !strings.Contains(r.err, c.says) {
			t.Errorf("%v: %d %s", c.args, r.code, r.err)
		}
	}
	if _, err := os.Stat(out("x.svg")); err == nil {
		t.Error("a file was written although the section was refused")
	}
}
