package exchange_test

import (
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/exchange"
	"tallybook/records/importer"
)

// manyParts are invented wells with something in every list that a set has.
func manyParts() []*records.Well {
	var out []*records.Well
	for i, uid := range []string{"00000000-0000-5000-8000-000000000001", "00000000-0000-5000-8000-000000000002", "00000000-0000-5000-8000-000000000003"} {
		w := &records.Well{UID: uid, Number: []string{"=1+1", "-7", "'@"}[i], Remarks: "+a, \"b\"\nc; d"}
		w.Place = records.Place{Located: i < 2, Lon: -40.5, Lat: 44.25, LonText: "-40.50", LatText: "44.250"}
		if i == 2 {
			w.Place.LonText, w.Place.LatText = "", ""
			out = append(out, w)
			continue // and nothing in its lists
		}
		w.TotalDepth = records.Of(records.Depth(60 + float64(i)/3))
		w.Yield = records.Under(records.Flow(0.06))
		w.Bedrock = records.MoreThan(records.Depth(12.5))
		w.Strata = []records.Stratum{
			{Top: records.Of(records.Depth(0)), Bottom: records.Roughly(records.Depth(12.2)), Description: "- clay, \"brn\"", Water: "=wet"},
			{Top: records.Of(records.Depth(12.2)), Bottom: records.Of(records.Depth(60)), Description: "''=schist", Color: "@grey"},
		}
		w.Casing = []records.Casing{{From: records.Of(records.Depth(-0.5)), To: records.Of(records.Depth(15)), Material: "steel", Diameter: records.Of(records.Diameter(152.4))}}
		w.Bores = []records.Bore{{From: records.Of(records.Depth(0)), To: records.Of(records.Depth(60)), Diameter: records.Of(records.Diameter(152.4)), Method: "air_rotary"}}
		w.Strikes = []records.Strike{{Depth: records.Of(records.Depth(30)), Flow: records.Under(records.Flow(0.03)), Note: "@seep"}}
		w.StaticLevels = []records.Level{{Date: records.Date{Year: 1990}, Depth: records.Of(records.Depth(3.25))}}
		w.Works = []records.Work{{Kind: "drill", Firm: "Invented Drilling", TotalDepth: w.TotalDepth}}
		w.Quality = []records.Analysis{{Kind: "iron", Value: records.Under(records.Pure(0.1)), Unit: "mg/L"}}
		out = append(out, w)
	}
	return out
}

func writeSet(t *testing.T, dir string, wells []*records.Well, o exchange.Options) *exchange.CSVSet {
	t.Helper()
	s, err := exchange.NewCSVSet(func(name string) (io.WriteCloser, error) { return os.Create(filepath.Join(dir, name)) }, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wells {
		if err := s.Write(w); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return s
}

// What a set of tables holds comes back through the importer: every list of
// every well, and texts that a spreadsheet would run, to the letter.
func TestSetsOfTablesComeBack(t *testing.T) {
	dir := t.TempDir()
	wells := manyParts()
	writeSet(t, dir, wells, exchange.Options{})
	var o importer.Options
	for _, list := range exchange.PartTables() {
		path := filepath.Join(dir, list+".csv")
		if _, err := os.Stat(path); err == nil {
			o.With = append(o.With, importer.Beside{Sheet: list, Path: path})
		}
	}
	if len(o.With) != 7 {
		t.Fatalf("%d tables of parts, want 7", len(o.With))
	}
	src, err := importer.Open(filepath.Join(dir, "wells.csv"), o)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	for i := 0; ; i++ {
		row, err := src.Next(t.Context())
		if errors.Is(err, io.EOF) {
			if i != len(wells) {
				t.Errorf("%d wells came back of %d", i, len(wells))
			}
			return
		}
		if err != nil || row.Refused() {
			t.Fatalf("row %d: %v %v", i, err, row.Faults)
		}
		row.Well.Provenance.SourceID = ""
		want := export(t, wells[i:i+1], exchange.Options{NDJSON: true})
		if diff := cmp.Diff(tree(t, want), tree(t, export(t, []*records.Well{row.Well}, exchange.Options{NDJSON: true}))); diff != "" {
			t.Errorf("well %d came back changed (-out +in):\n%s", i, diff)
		}
	}
}

// Another reader of CSV (Go's own) finds no text that a spreadsheet would run,
// and the numbers as they are.
func TestNoCellIsAFormula(t *testing.T) {
	dir := t.TempDir()
	wells := manyParts()
	wells[0].Strikes[0].Note, wells[1].Strikes[0].Note = "\tseep", "\rseep"
	writeSet(t, dir, wells, exchange.Options{Private: true})
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil || len(files) != 8 {
		t.Fatalf("%v, %v", files, err)
	}
	negative := 0
	for _, path := range files {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rows, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		for _, row := range rows {
			for _, cell := range row {
				switch {
				case cell == "-40.50", cell == "-0.5":
					negative++
				case cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])):
					t.Errorf("%s has the cell %q", filepath.Base(path), cell)
				}
			}
		}
	}
	if negative != 4 {
		t.Errorf("%d negative numbers stand as they are, want 4", negative)
	}
}

// Any text that a record may hold comes back through a table to the letter.
func TestGuardedTextsComeBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		text := rapid.StringMatching(`'{0,3}[=+\-@']?[a-z0-9=+@'",; ]{0,8}[a-z0-9]`).Draw(r, "text")
		var b strings.Builder
		c, err := exchange.NewCSV(&b, []string{"uid", "remarks"}, exchange.Options{})
		if err != nil {
			r.Fatal(err)
		}
		w := &records.Well{UID: "00000000-0000-5000-8000-000000000001", Remarks: text}
		if err := errors.Join(c.Write(w), c.Close()); err != nil {
			r.Fatal(err)
		}
		if got := readWells(t, b.String()); len(got) != 1 || got[0].Remarks != strings.TrimSpace(text) {
			r.Fatalf("%q came back as %q from %q", text, got[0].Remarks, b.String())
		}
	})
}

func TestSetsLeavePeopleOut(t *testing.T) {
	dir := t.TempDir()
	w := manyParts()[0]
	w.Owner = records.Person{Name: "Nobody Invented", Telephone: "0"}
	w.Strata[0].Extra = []records.Member{{Name: "owner", JSON: `"Nobody Invented"`}}
	s := writeSet(t, dir, []*records.Well{w}, exchange.Options{})
	if s.Rows("strata") != 2 || s.Rows("rods") != 0 || s.Count() != 1 {
		t.Errorf("%d strata, %d rods, %d wells", s.Rows("strata"), s.Rows("rods"), s.Count())
	}
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil || strings.Contains(string(text), "Nobody") || strings.Contains(string(text), "owner") {
			t.Errorf("%s: %v %s", path, err, text)
		}
	}
}
