package main

import (
	"path/filepath"
	"strings"
	"testing"
)

func TestInventoryCommand(t *testing.T) {
	db := filepath.Join(t.TempDir(), "w.db")
	must(t, "import", "--db", db, file(t, "w.geojson", wells(60)+well(99, `"accuracy_m":4000,"owner":{"name":"Owner A"},"quality":[{"kind":"iron","value":0.05,"value_qualifier":"less_than","unit":"mg/L"}]`)+"\n"))
	// The wells stand 0.012 degrees (about 962 m) apart to the east and 0.009 (1000 m) to the north.
	r := must(t, "inventory", "--db", db, "--at", "44,-40", "--radius", "1.1km")
	if got := strings.Count(r.out, "\n"); got != 4 || !strings.Contains(r.out, "W-20 ") || !strings.Contains(r.err, "3 wells within 1.1km of 44.000000, -40.000000, 0 more may lie there") {
		t.Errorf("%d lines:\n%s%s", got, r.out, r.err)
	}
	square := `{"type":"Polygon","coordinates":[[[-40.001,43.999],[-39.98,43.999],[-39.98,44.001],[-40.001,44.001],[-40.001,43.999]]]}`
	csv := filepath.Join(t.TempDir(), "i.csv")
	must(t, "inventory", "--db", db, "--outline", file(t, "o.geojson", square), "--out", csv)
	if got := strings.Count(read(t, csv), "\n"); got != 3 {
		t.Errorf("the outline holds two wells, the table has %d lines", got)
	}
	geo := must(t, "inventory", "--db", db, "--at", "44.036,-39.772", "--radius", "100 m", "--format", "geojson").out
	if !strings.Contains(geo, `"inventory_within":"may"`) || strings.Contains(geo, "Owner A") {
		t.Errorf("%s", geo)
	}
	if private := must(t, "inventory", "--db", db, "--at", "44.036,-39.772", "--radius", "100 m", "--format", "csv", "--private").out; !strings.Contains(private, "Owner A") {
		t.Errorf("%s", private)
	}
	if quality := must(t, "inventory", "--db", db, "--at", "44.036,-39.772", "--quality").out; !strings.Contains(quality, "<0.05 mg/L") {
		t.Errorf("%s", quality)
	}
	for want, args := range map[string][]string{
		"one of":               {"--radius", "1km"},
		"nobody has picked":    {"--at", "44,-40", "--picks", "nope"},
		"no distance":          {"--at", "44,-40", "--radius", "far"},
		"not GeoJSON":          {"--outline", file(t, "bad.geojson", "no")},
		"cannot be read":       {"--outline", filepath.Join(t.TempDir(), "absent")},
		"no layer":             {"--area", "Nowhere"},
		"too great":            {"--at", "44,-40", "--radius", "9000km"},
		"not part of any form": {"--at", "nowhere"},
	} {
		if r := do(t, append([]string{"inventory", "--db", db}, args...)...); r.code == 0 || !strings.Contains(r.err, want) {
			t.Errorf("%v does not say %q: %d %s", args, want, r.code, r.err)
		}
	}
}
