package importer_test

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"tallybook/records/importer"
)

// batch is a table of wells in one invented county, with the given rows put
// behind thirty plain ones.
func batch(header string, plain func(i int) string, rows ...string) string {
	lines := []string{header}
	for i := range 30 {
		lines = append(lines, plain(i))
	}
	return strings.Join(append(lines, rows...), "\n") + "\n"
}

// readFile reads a table as a file with a mapping, and gives its rows and what
// it proposes.
func readFile(t *testing.T, text string, m *importer.Mapping) ([]*importer.Row, *importer.Habits) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "wells.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return readPath(t, path, m)
}

func readPath(t *testing.T, path string, m *importer.Mapping) ([]*importer.Row, *importer.Habits) {
	t.Helper()
	s, err := importer.Open(path, importer.Options{Mapping: m})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var rows []*importer.Row
	for {
		row, err := s.Next(t.Context())
		if err == io.EOF {
			return rows, s.Habits()
		}
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, row)
	}
}

func oneSheet(columns ...importer.ColumnMapping) *importer.Mapping {
	return &importer.Mapping{Version: importer.MappingVersion, Sheets: []importer.SheetMapping{{Role: importer.Wells, Columns: columns}}}
}

// proposal finds the one proposal of a kind.
func proposal(t *testing.T, h *importer.Habits, kind, column string) *importer.Proposal {
	t.Helper()
	for i := range h.Proposals {
		if p := &h.Proposals[i]; p.Kind == kind && p.Column == column {
			return p
		}
	}
	return nil
}

func faults(r *importer.Row) string {
	var out []string
	for _, f := range r.Faults {
		out = append(out, f.String())
	}
	return strings.Join(out, " | ")
}

func TestPositionsAgainstTheBatch(t *testing.T) {
	text := batch("number,lon,lat", func(i int) string {
		return fmt.Sprintf("A-%d,%.4f,%.4f", i, -71.2-float64(i%6)/50, 44.1+float64(i/6)/50)
	},
		"B-1,44.15,-71.25", // changed about
		"B-2,71.25,44.15",  // west was meant
		"B-3,44.15,71.25",  // both
		"B-4,-3.5,40.4",    // somewhere else
		"B-5,-71.21,44.11", // as it should be
		"B-6,-71.25,94.15", // no latitude, and no other way to read it
	)
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "lon", Field: "lon"}, importer.ColumnMapping{Column: "lat", Field: "lat"})
	rows, h := readFile(t, text, m)
	for i, want := range []string{"longitude -71.25 and latitude 44.15", "longitude -71.25 and latitude 44.15", "longitude -71.25 and latitude 44.15"} {
		if r := rows[30+i]; !r.Refused() || !strings.Contains(faults(r), want) {
			t.Errorf("row %d: %s", 31+i, faults(r))
		}
	}
	if r := rows[33]; r.Refused() || !strings.Contains(faults(r), "far from the others") {
		t.Errorf("a well far away: %s", faults(r))
	}
	if r := rows[34]; len(r.Faults) > 0 {
		t.Errorf("a plain well: %s", faults(r))
	}
	if r := rows[35]; !r.Refused() {
		t.Errorf("latitude 94: %s", faults(r))
	}
	p := proposal(t, h, "position", "")
	if p == nil || !strings.Contains(p.Why, "2 rows seem to have longitude and latitude in each other's place, 2 rows seem to have lost a sign") {
		t.Fatalf("proposed %+v", h.Proposals)
	}
	p.Apply(&m.Sheets[0])
	rows, _ = readFile(t, text, m)
	for i := 30; i < 33; i++ {
		w := rows[i].Well
		if rows[i].Refused() || w.Place.Lon != -71.25 || w.Place.Lat != 44.15 || w.Place.Given == "" || !strings.Contains(faults(rows[i]), "as was decided") {
			t.Errorf("row %d after the decision: %+v, %s", i+1, w.Place, faults(rows[i]))
		}
	}
	if again, err := importer.ReadMapping(m.JSON()); err != nil || len(again.Sheets[0].Mend) != 2 {
		t.Errorf("the decision does not come back from JSON: %v", err)
	}
}

// A workbook's sheet is surveyed like a table.
func TestPositionsOfAWorkbook(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	set := func(sheet string, row int, cells ...any) {
		if err := f.SetSheetRow(sheet, fmt.Sprintf("A%d", row), &cells); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetSheetName("Sheet1", "wells"); err != nil {
		t.Fatal(err)
	}
	set("wells", 1, "number", "lon", "lat")
	for i := range 30 {
		set("wells", i+2, fmt.Sprintf("A-%d", i), -71.2-float64(i%6)/50, 44.1+float64(i/6)/50)
	}
	set("wells", 32, "B-1", 44.15, -71.25)
	path := filepath.Join(t.TempDir(), "wells.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "lon", Field: "lon"}, importer.ColumnMapping{Column: "lat", Field: "lat"})
	m.Sheets[0].Sheet = "wells"
	rows, h := readPath(t, path, m)
	if len(rows) != 31 || !rows[30].Refused() || !strings.Contains(faults(rows[30]), "longitude -71.25 and latitude 44.15") {
		t.Fatalf("%d rows, the last %s", len(rows), faults(rows[len(rows)-1]))
	}
	p := proposal(t, h, "position", "")
	if p == nil || p.Sheet != "wells" || !p.ApplyTo(m) {
		t.Fatalf("proposed %+v", h.Proposals)
	}
	if rows, _ = readPath(t, path, m); rows[30].Refused() || rows[30].Well.Place.Lat != 44.15 {
		t.Errorf("%s", faults(rows[30]))
	}
}

func TestDatesAgainstTheBatch(t *testing.T) {
	text := batch("number,completed", func(i int) string { return fmt.Sprintf("A-%d,%d/%d/1987", i, 1+i%12, 13+i%15) }, "B-1,03/04/1987", "B-2,3/4/87")
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "completed", Field: "completed"})
	rows, h := readFile(t, text, m)
	if r := rows[30]; !r.Refused() || !strings.Contains(faults(r), `every date of column "completed" of this file fits month first, and 30 prove it (mdy)`) {
		t.Errorf("an ambiguous date: %s", faults(r))
	}
	for _, kind := range []string{"order", "pivot"} {
		p := proposal(t, h, kind, "completed")
		if p == nil {
			t.Fatalf("no %s in %+v", kind, h.Proposals)
		}
		p.Apply(&m.Sheets[0])
	}
	rows, h = readFile(t, text, m)
	for i := 30; i < 32; i++ {
		if rows[i].Refused() || rows[i].Well.Completed.String() != "1987-03-04" {
			t.Errorf("%v, %s", rows[i].Well.Completed, faults(rows[i]))
		}
	}
	if len(h.Proposals) > 0 {
		t.Errorf("what was decided is proposed again: %+v", h.Proposals)
	}
	// A file that contradicts itself proves nothing.
	_, h = readFile(t, text+"B-3,25/6/1987\n", oneSheet(importer.ColumnMapping{Column: "completed", Field: "completed"}))
	if p := proposal(t, h, "order", "completed"); p != nil {
		t.Errorf("proposed %+v", p)
	}
}

func TestNumbersAgainstTheBatch(t *testing.T) {
	depth := func(i int) string { return fmt.Sprintf("A-%d;%d,5;%d", i, 30+i, 10+i%9) }
	text := batch("number;td;rock", depth, "B-1;1,250;12", "B-2;40,5;999", "B-3;40,5;999", "B-4;40,5;999")
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "td", Field: "total_depth", Unit: "m"}, importer.ColumnMapping{Column: "rock", Field: "depth_to_bedrock", Unit: "m"})
	rows, h := readFile(t, text, m)
	if r := rows[30]; !r.Refused() || !strings.Contains(faults(r), "thousands") {
		t.Errorf("1,250 beside decimal commas: %s", faults(r))
	}
	for kind, column := range map[string]string{"decimal": "td", "unknown": "rock"} {
		p := proposal(t, h, kind, column)
		if p == nil {
			t.Fatalf("no %s in %+v", kind, h.Proposals)
		}
		p.Apply(&m.Sheets[0])
	}
	rows, _ = readFile(t, text, m)
	if d, _ := rows[30].Well.TotalDepth.Number(); d != 1.25 || rows[31].Well.Bedrock.Known() {
		t.Errorf("%v and %+v", d, rows[31].Well.Bedrock)
	}
}

func TestUnitsAgainstTheBatch(t *testing.T) {
	// Total depth is said to be in feet and is in metres: the casings are
	// deeper than the holes.
	text := batch("number,td,casing,rock", func(i int) string { return fmt.Sprintf("A-%d,%d,%d,%d", i, 40+i, 60+i%20, 30+i%9) })
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "td", Field: "total_depth", Unit: "ft"},
		importer.ColumnMapping{Column: "casing", Field: "casing.to", Unit: "ft"}, importer.ColumnMapping{Column: "rock", Field: "depth_to_bedrock", Unit: "ft"})
	rows, h := readFile(t, text, m)
	p := proposal(t, h, "unit", "td")
	if p == nil || rows[0].Well.TotalDepth.Given.Unit.Symbol() != "ft" {
		t.Fatalf("proposed %+v; a value was changed unasked: %+v", h.Proposals, rows[0].Well.TotalDepth)
	}
	p.Apply(&m.Sheets[0])
	if _, h = readFile(t, text, m); len(h.Proposals) > 0 {
		t.Errorf("%+v", h.Proposals)
	}
}

func TestUnitsWrittenInTheBatch(t *testing.T) {
	depth := func(i int) string { return fmt.Sprintf("A-%d,%d%s", i, 100+i, []string{"", "'", " ft"}[i%3]) }
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "td", Field: "total_depth"})
	text := batch("number,td", depth)
	_, h := readFile(t, text, m)
	p := proposal(t, h, "unit", "td")
	if p == nil || !strings.Contains(p.Why, "20 texts") {
		t.Fatalf("proposed %+v", h.Proposals)
	}
	p.Apply(&m.Sheets[0])
	rows, h := readFile(t, text, m)
	if len(h.Proposals) > 0 || rows[0].Well.TotalDepth.Given.Unit.Symbol() != "ft" {
		t.Errorf("%+v, %+v", h.Proposals, rows[0].Well.TotalDepth)
	}
}

func TestLogColumn(t *testing.T) {
	text := "number,total_depth_ft,log\n" +
		"A-1,305,\"0-12 brn clay w/ cobbles; 12-40 hardpan; 40-305 gry gneiss, soft @ 88; wtr @ 210 5 gpm\"\n" +
		"A-2,100,\"12' clay, 28' hardpan\"\n" +
		"A-3,93,\"0-12 ft clay; 12-305 ft gneiss\"\n"
	m := oneSheet(importer.ColumnMapping{Column: "number", Field: "number"}, importer.ColumnMapping{Column: "total_depth_ft", Field: "total_depth"}, importer.ColumnMapping{Column: "log", Field: "log", Unit: "ft"})
	rows, _ := readFile(t, text, m)
	w := rows[0].Well
	if len(w.Strata) != 3 || w.Strata[2].Description != "gry gneiss, soft @ 88" || len(w.Strikes) != 1 || len(w.Extra) != 1 || !strings.Contains(w.Extra[0].JSON, "soft @ 88; wtr @ 210") {
		t.Errorf("%+v %+v %+v", w.Strata, w.Strikes, w.Extra)
	}
	if r := rows[1]; r.Refused() || len(r.Well.Strata) != 0 || len(r.Well.Extra) != 1 || !strings.Contains(faults(r), "thicknesses or depths") {
		t.Errorf("%s", faults(r))
	}
	if r := rows[2]; !r.Refused() || !strings.Contains(faults(r), "as feet to metres") {
		t.Errorf("%s", faults(r))
	}
}
