package exchange_test

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/exchange"
	"tallybook/records/importer"
)

// A derived elevation goes along apart from the record's own, with its grid's
// name, and does not come in again.
func TestDerivedGroundGoesAlong(t *testing.T) {
	with := exchange.Options{Private: true, Ground: func(w *records.Well) (exchange.DerivedGround, bool) {
		return exchange.DerivedGround{ElevationM: 312.4567, From: `Hills "A"`, Datum: "invented"}, w.Number == "in"
	}}
	wells := []*records.Well{
		{UID: "00000000-0000-5000-8000-000000000001", Number: "in", Place: records.Place{Located: true, Lon: -40, Lat: 44, Elevation: records.Of(records.Height(300))}},
		{UID: "00000000-0000-5000-8000-000000000002", Number: "out", Place: records.Place{Located: true, Lon: -41, Lat: 44}},
	}
	plain := export(t, wells, exchange.Options{Private: true})
	text := export(t, wells, with)
	want := `"derived":{"ground_elevation_m":312.46,"ground_elevation_from":"Hills \"A\"","ground_elevation_datum":"invented"}`
	if !strings.Contains(text, want) || strings.Count(text, "derived") != 1 || !strings.Contains(text, `"ground_elevation_m":300`) {
		t.Errorf("no %s in\n%s", want, text)
	}
	again, refused := accepted(t, []byte(text), importer.GeoJSON)
	if back := export(t, again, exchange.Options{Private: true}); refused > 0 || back != plain {
		t.Errorf("taken in and given out again:\n%s\nwant\n%s", back, plain)
	}

	table := func(wells []*records.Well, o exchange.Options) string {
		var b bytes.Buffer
		c, err := exchange.NewCSV(&b, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range wells {
			if err := c.Write(w); err != nil {
				t.Fatal(err)
			}
		}
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	rows, err := csv.NewReader(strings.NewReader(table(wells, with))).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%v, %d rows", err, len(rows))
	}
	for name, want := range map[string][2]string{"derived.ground_elevation_m": {"312.46", ""}, "derived.ground_elevation_from": {`Hills "A"`, ""}, "derived.ground_elevation_datum": {"invented", ""}, "ground_elevation_m": {"300", ""}} {
		i := slices.Index(rows[0], name)
		if i < 0 || rows[1][i] != want[0] || rows[2][i] != want[1] {
			t.Errorf("column %s: %d, %v", name, i, want)
		}
	}
	back, refused := accepted(t, []byte(table(wells, with)), importer.CSV)
	if got, want := table(back, exchange.Options{Private: true}), table(wells, exchange.Options{Private: true}); refused > 0 || got != want {
		t.Errorf("a table taken in and given out again:\n%s\nwant\n%s", got, want)
	}
	for _, name := range exchange.CSVColumns(true) {
		if strings.HasPrefix(name, "derived") {
			t.Errorf("%s is a column without a grid", name)
		}
	}
}
