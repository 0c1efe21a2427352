package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Plates, their readings and sightings stand beside the wells in a set of
// tables; the list of scans only where private things are asked for.
func TestSetOfTablesHoldsWhatStandsBesideTheWells(t *testing.T) {
	source := well(1, `"attachments":[{"name":"=log.jpg","kind":"image/jpeg","sha256":"`+strings.Repeat("ab", 32)+`"}]`)
	db, dir := filepath.Join(t.TempDir(), "county.db"), t.TempDir()
	must(t, "import", "--db", db, file(t, "wells.ndjson", source))
	must(t, "plates", "bring", "--db", db, file(t, "plates.csv", "number,lon,lat\n=P-1,-40,44\nP-2,,\n"))
	open, private := filepath.Join(dir, "open"), filepath.Join(dir, "private")
	must(t, "export", "--db", db, "--format", "csv", "--out", open)
	must(t, "export", "--db", db, "--format", "csv", "--out", private, "--private")
	if _, err := os.Stat(filepath.Join(open, "attachments.csv")); err == nil {
		t.Error("the list of scans is given to everybody")
	}
	if text := read(t, filepath.Join(private, "attachments.csv")); !strings.Contains(text, "'=log.jpg,image/jpeg,"+strings.Repeat("ab", 32)) {
		t.Errorf("the list of scans is %q", text)
	}
	plates, seen := read(t, filepath.Join(open, "plates.csv")), read(t, filepath.Join(open, "plate_seen.csv"))
	if strings.Count(plates, "\r\n") != 3 || !strings.Contains(plates, "'=P-1") || !strings.HasPrefix(plates, "well_uid,uid,number,") {
		t.Errorf("plates: %q", plates)
	}
	if strings.Count(seen, "\r\n") < 2 || !strings.Contains(seen, ",-40,44,") {
		t.Errorf("readings: %q", seen)
	}
	// Elsewhere, one that is out of the box.
	boxed := filepath.Join(dir, "boxed")
	must(t, "export", "--db", db, "--format", "csv", "--out", boxed, "--bbox=0,0,1,1")
	if _, err := os.Stat(filepath.Join(boxed, "plates.csv")); err == nil {
		t.Error("plates from out of the box are in it")
	}
}
