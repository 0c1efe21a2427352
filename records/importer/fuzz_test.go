package importer_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/importer"
)

// fuzzLimits keep a fuzzing process small, and bring the limits within reach.
var fuzzLimits = importer.Options{RowBytes: 2000, Nesting: 12}

// readHostile reads whatever it is given and holds it to what every source
// must keep: no panic; each row has its place, its bytes and a reason where it
// is refused; rows = accepted + refused; the same again by Pipeline.
func readHostile(t *testing.T, text []byte, o importer.Options) (accepted []*records.Well) {
	s, err := importer.NewSource(bytes.NewReader(text), o)
	if err != nil {
		mustExplain(t, err)
		return nil
	}
	utf16 := len(s.Notes()) > 0
	type seen struct {
		uid     string
		refused bool
		faults  int
	}
	var rows []seen
	held, end := 0, int64(0)
	var ended error
	for {
		row, err := s.Next(t.Context())
		if err != nil {
			ended = err
			break
		}
		if row.Number != int64(len(rows)+1) || row.Line < 1 || row.Offset < end || row.Size < int64(len(row.Raw)) {
			t.Fatalf("row %d of %d: line %d, byte %d after %d, %d of %d bytes", row.Number, len(rows), row.Line, row.Offset, end, len(row.Raw), row.Size)
		}
		end = row.Offset + row.Size
		if !utf16 && !row.Cut() && !sameBytes(text, row) {
			t.Fatalf("row %d is not its bytes: %q at %d", row.Number, row.Raw, row.Offset)
		}
		if row.Refused() && !records.Refuses(row.Faults) {
			t.Fatalf("row %d is refused without a reason: %q", row.Number, row.Raw)
		}
		if len(row.Raw) > 5*o.RowBytes {
			t.Fatalf("row %d holds %d bytes", row.Number, len(row.Raw))
		}
		held += len(row.Raw)
		one := seen{refused: row.Refused(), faults: len(row.Faults)}
		if row.Well != nil {
			one.uid = row.Well.UID
		}
		if !row.Refused() {
			readsBack(t, row)
			accepted = append(accepted, row.Well)
		}
		rows = append(rows, one)
	}
	if !utf16 && held > len(text) {
		t.Fatalf("rows hold %d bytes of %d", held, len(text))
	}
	if !errors.Is(ended, io.EOF) {
		mustExplain(t, ended)
	}
	again, err := importer.NewSource(bytes.NewReader(text), o)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	err = importer.Pipeline(t.Context(), again, 2, func(r *importer.Row) error {
		if n >= len(rows) || rows[n].refused != r.Refused() || rows[n].faults != len(r.Faults) || r.Well != nil && r.Well.UID != rows[n].uid {
			t.Fatalf("row %d differs in the pipeline", n+1)
		}
		n++
		return nil
	})
	if n != len(rows) || (err == nil) != errors.Is(ended, io.EOF) {
		t.Fatalf("pipeline gave %d of %d rows, %v after %v", n, len(rows), err, ended)
	}
	return accepted
}

// readsBack holds a row that was accepted to making a record that can be read
// again as it is stored.
func readsBack(t *testing.T, row *importer.Row) {
	t.Helper()
	var back records.Well
	if faults := back.ParseProperties(row.Well.AppendProperties(nil, records.WriteOptions{Private: true})); records.Refuses(faults) {
		t.Fatalf("row %d was accepted and cannot be read again: %v\n%q", row.Number, faults, row.Raw)
	}
}

// sameBytes says whether the row stands in the source where it says. An old
// table's carriage returns are read as line feeds.
func sameBytes(text []byte, row *importer.Row) bool {
	if row.Offset+row.Size > int64(len(text)) {
		return false
	}
	there := text[row.Offset : row.Offset+row.Size]
	return bytes.Equal(there, row.Raw) || bytes.Equal(bytes.ReplaceAll(there, []byte{'\r'}, []byte{'\n'}), row.Raw)
}

// mustExplain holds an error of a source to being one for a person.
func mustExplain(t *testing.T, err error) {
	t.Helper()
	if records.CodeOf(err) != records.Invalid || len(records.MessageOf(err)) < 20 || strings.Contains(records.MessageOf(err), "went wrong inside") {
		t.Fatalf("not an error for a person: %v", err)
	}
}

func FuzzGeoJSON(f *testing.F) {
	good := point(`{"number":"A","strata":[{"top_m":0,"bottom_m":5,"description":"clay"}],"plates":[{"number":"1"}],"x":[1,{"y":2.50}]}`)
	for _, s := range []string{
		good, good + "\n" + good, collection(good, good), "\x1e" + good + "\n\x1e" + good,
		`{"features":[` + good + `],"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:4326"}}}`,
		"{\n\"type\":\"Feature\",\n\"geometry\":null,\n\"properties\":{}}", collection(good)[:90], "\ufeff" + good,
		utf16(good, "le"), point(`{"a":` + strings.Repeat("[", 20) + strings.Repeat("]", 20) + `}`),
		point(`{"remarks":"` + strings.Repeat("x", 3000) + `"}`), point(`{"remarks":"` + strings.Repeat("x", 9000) + `"}`),
		point(`{"remarks":"M` + "\xe4" + `rgel","yield_lps":"<1","total_depth_ft":"203'"}`), collection("1", `"\"`, "{]"),
		point(`{"total_depth_m":1e-300,"total_depth_ft":0.` + strings.Repeat("0", 90) + `1}`), point(`{"yield_lps":0.` + strings.Repeat("0", 90) + `1}`),
		`{"type":"Feature","id":1e5,"bbox":[1],"geometry":{"type":"Point","coordinates":[1,2,3,4],"z":1},"properties":null}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		o := fuzzLimits
		o.Format = importer.GeoJSON
		readHostile(t, text, o)
	})
}

func FuzzCSV(f *testing.F) {
	for _, s := range []string{
		"number,yield_gpm,total_depth_ft,strata.top\nA,0." + strings.Repeat("0", 90) + "1,1e-310,1e300\n",
		"id,lon,lat,depth_to_bedrock_m\n1,-118.98879,59.57018,214.48\n", "number;total_depth_m\nA;62,5\n",
		"number,remarks\n\"A, \"\"B\"\"\", \"two\nlines\"\n", "number,x\n\"A,1\nB,2\n", "number,x\rA,1\rB,2\r",
		"sep=|\nnumber|x\nA|\n", "number,completed,yield_gpm\nA,6/7/2004,50+\nB,15 Jun 2004,dry\n", "\ufeffnumber,x\r\nA,1\r\n",
		"casing.to_ft,owner,plate,coordinates\n40,O,P,45 N 10 W\n", "number,extra\nA,\"{\"\"x\"\":1.50}\"\n", "number,remarks\nA,M\xe4rgel\n",
		"number,x\n" + strings.Repeat("y", 3000) + ",1\nB,2\n", "number,x\n" + strings.Repeat("y", 9000) + ",1\nB,2\n", "utm_zone,easting,northing\n18N,627106,4484124\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		o := fuzzLimits
		o.Format = importer.CSV
		readHostile(t, text, o)
	})
}
