package exchange_test

import (
	"bytes"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/exchange"
	"tallybook/records/importer"
)

// accepted takes in what it can of a source.
func accepted(t *testing.T, text []byte, f importer.Format) (wells []*records.Well, refused int) {
	s, err := importer.NewSource(bytes.NewReader(text), importer.Options{Format: f, Name: "x"})
	if err != nil {
		return nil, 0
	}
	for {
		row, err := s.Next(t.Context())
		if err != nil {
			return wells, refused
		}
		if row.Refused() {
			refused++
			continue
		}
		for _, p := range row.Plates {
			row.Well.Plates = append(row.Well.Plates, *p)
		}
		wells = append(wells, row.Well)
	}
}

// Whatever was accepted can be exported, that export is accepted whole, and
// exported again it is the same to the byte.
func FuzzExportIsStable(f *testing.F) {
	for _, text := range features() {
		f.Add([]byte(text))
	}
	f.Add([]byte("id,lon,lat,depth_to_bedrock_m,remarks,extra\n007,-118.9,59.5,<62 ft,\"a, \"\"b\"\"\",\"{\"\"x\"\":1.50}\"\n"))
	f.Add([]byte("number;yield_gpm;completed;casing.to_ft;plate\nA;3 - 5;15 Jun 2004;62'6\";17?\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		wells, _ := accepted(t, text, importer.Auto)
		for _, private := range []bool{true, false} {
			o := exchange.Options{NDJSON: true, Private: private}
			first := export(t, wells, o)
			again, refused := accepted(t, []byte(first), importer.GeoJSON)
			if refused > 0 || len(again) != len(wells) {
				t.Fatalf("%d of %d came back, %d refused:\n%s", len(again), len(wells), refused, first)
			}
			if second := export(t, again, o); second != first {
				t.Fatalf("changed on the second way:\n%s\n%s", first, second)
			}
		}
		var table bytes.Buffer
		c, err := exchange.NewCSV(&table, nil, exchange.Options{Private: true})
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
		back, refused := accepted(t, table.Bytes(), importer.CSV)
		if refused > 0 || len(back) != len(wells) {
			t.Fatalf("%d of %d came back from the table, %d refused:\n%s", len(back), len(wells), refused, table.String())
		}
		for i := range back {
			if flat(wells[i]) != flat(back[i]) {
				t.Fatalf("changed by the table:\n%s\n%s\n%s", flat(wells[i]), flat(back[i]), table.String())
			}
		}
	})
}

// flat is what of a well a table keeps.
func flat(w *records.Well) string {
	var b bytes.Buffer
	c, err := exchange.NewCSV(&b, nil, exchange.Options{Private: true})
	if err != nil {
		return err.Error()
	}
	if err := c.Write(w); err != nil {
		return err.Error()
	}
	if err := c.Close(); err != nil {
		return err.Error()
	}
	_, row, _ := strings.Cut(b.String(), "\r\n")
	return row
}
