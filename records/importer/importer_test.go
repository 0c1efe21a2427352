package importer_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/importer"
)

// readAll reads a source to its end and gives its rows and what ended it.
func readAll(t *testing.T, text string, o importer.Options) ([]*importer.Row, error) {
	t.Helper()
	s, err := importer.NewSource(strings.NewReader(text), o)
	if err != nil {
		return nil, err
	}
	var rows []*importer.Row
	for {
		row, err := s.Next(t.Context())
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return rows, err
		}
		rows = append(rows, row)
	}
}

// want is what a case expects of one source.
type want struct {
	rows    int      // rows in all
	refused int      // of them
	faults  []string // each must be part of some fault, in this order
	err     string   // part of the error that ends reading, "" for none
}

func check(t *testing.T, text string, o importer.Options, w want) []*importer.Row {
	t.Helper()
	rows, err := readAll(t, text, o)
	switch {
	case err == nil && w.err != "":
		t.Errorf("no error, want %q", w.err)
	case err != nil && w.err == "":
		t.Errorf("error: %v", err)
	case err != nil && !strings.Contains(err.Error(), w.err):
		t.Errorf("error %q does not say %q", err, w.err)
	}
	if err != nil && records.CodeOf(err) != records.Invalid {
		t.Errorf("code %v for a source that is wrong: %v", records.CodeOf(err), err)
	}
	refused := 0
	var faults []string
	for i, r := range rows {
		if r.Refused() {
			refused++
		}
		if r.Number != int64(i+1) {
			t.Errorf("row %d has number %d", i+1, r.Number)
		}
		for _, f := range r.Faults {
			faults = append(faults, f.String())
		}
	}
	if len(rows) != w.rows || refused != w.refused {
		t.Errorf("%d rows, %d refused; want %d and %d; faults: %q", len(rows), refused, w.rows, w.refused, faults)
	}
	left := strings.Join(faults, "\n")
	for _, f := range w.faults {
		_, after, ok := strings.Cut(left, f)
		if !ok {
			t.Errorf("no fault (in order) says %q; they are %q", f, faults)
			break
		}
		left = after
	}
	return rows
}

func point(properties string) string {
	return `{"type":"Feature","geometry":{"type":"Point","coordinates":[-10.5,45.25]},"properties":` + properties + `}`
}

func collection(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + strings.Join(features, ",\n") + `]}`
}

func TestGeoJSONLayouts(t *testing.T) {
	a, b := point(`{"number":"A"}`), point(`{"number":"B"}`)
	pretty := "{\n  \"type\": \"Feature\",\n  \"geometry\": null,\n  \"properties\": {}\n}\n"
	for name, text := range map[string]string{
		"collection":               collection(a, b),
		"collection, type last":    `{"features":[` + a + `,` + b + `],"name":"x","type":"FeatureCollection"}`,
		"collection, foreign":      `{"name":{"deep":[1,{"features":[]}]},"type":"FeatureCollection","features":[` + a + " , " + b + `],"numberMatched":2}` + "\r\n",
		"collection, WGS 84":       `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},"features":[` + a + `,` + b + `]}`,
		"lines":                    a + "\n" + b,
		"lines, CRLF and blanks":   "\r\n" + a + "\r\n\r\n" + b + "\r\n",
		"lines, byte-order mark":   "\ufeff" + a + "\n" + b + "\n",
		"text sequence (RFC 8142)": "\x1e" + a + "\n\x1e" + b + "\n",
		"sequence of pretty ones":  "\x1e" + pretty + "\x1e" + pretty,
		"pretty ones, no commas":   pretty + pretty,
	} {
		t.Run(name, func(t *testing.T) { check(t, text, importer.Options{}, want{rows: 2}) })
	}
	t.Run("single", func(t *testing.T) { check(t, a, importer.Options{}, want{rows: 1}) })
	t.Run("single pretty", func(t *testing.T) { check(t, pretty, importer.Options{}, want{rows: 1}) })
	t.Run("empty collection", func(t *testing.T) { check(t, collection(), importer.Options{}, want{}) })
	for _, enc := range []string{"le", "be", "le without mark"} {
		t.Run("UTF-16 "+enc, func(t *testing.T) {
			rows := check(t, utf16(collection(point(`{"remarks":"Märgel 🪨"}`), b), enc), importer.Options{}, want{rows: 2})
			if len(rows) == 2 && rows[0].Well.Remarks != "Märgel 🪨" {
				t.Errorf("remarks %q", rows[0].Well.Remarks)
			}
		})
	}
}

func utf16(s, how string) string {
	var b strings.Builder
	put := func(v uint16) {
		if how == "be" {
			b.WriteByte(byte(v >> 8))
			b.WriteByte(byte(v))
			return
		}
		b.WriteByte(byte(v))
		b.WriteByte(byte(v >> 8))
	}
	if how != "le without mark" {
		put(0xfeff)
	}
	for _, r := range s {
		if r >= 0x10000 {
			r -= 0x10000
			put(uint16(0xd800 + r>>10))
			put(uint16(0xdc00 + r&0x3ff))
			continue
		}
		put(uint16(r))
	}
	return b.String()
}

func TestBadGeoJSON(t *testing.T) {
	good := point(`{}`)
	at := func(coordinates string) string {
		return `{"type":"Feature","geometry":{"type":"Point","coordinates":` + coordinates + `},"properties":{}}`
	}
	ten := strings.Repeat("x", 10<<20)
	deep := strings.Repeat("[", 100000) + strings.Repeat("]", 100000)
	for name, c := range map[string]struct {
		text string
		want want
	}{
		"empty file":           {"", want{err: "empty"}},
		"blank file":           {" \n \n", want{err: "name the columns"}},
		"gzip":                 {"\x1f\x8b\x08\x00rest", want{err: "gunzip"}},
		"zip":                  {"PK\x03\x04rest", want{err: ".xlsx"}},
		"database":             {"SQLite format 3\x00rest", want{err: "SQLite"}},
		"pdf":                  {"%PDF-1.7", want{err: "PDF"}},
		"png":                  {"\x89PNG\r\n\x1a\n", want{err: "PNG"}},
		"web page":             {"<!DOCTYPE html><html>", want{err: "web page"}},
		"binary":               {"abc\x00\x01\x02def", want{err: "byte 3 is zero"}},
		"bare list":            {"[" + good + "]", want{err: "FeatureCollection"}},
		"bare geometry":        {`{"type":"Point","coordinates":[1,2]}`, want{err: `of type "Point"`}},
		"other object":         {`{"a":1}`, want{err: "no GeoJSON"}},
		"truncated":            {collection(good, good)[:150], want{rows: 1, err: "inside feature 2, which begins on line 2"}},
		"ends between":         {`{"type":"FeatureCollection","features":[` + good + `,`, want{rows: 1, err: "cut off"}},
		"not closed":           {`{"type":"FeatureCollection","features":[` + good + `]`, want{rows: 1, err: "before the collection is closed"}},
		"no comma":             {`{"type":"FeatureCollection","features":[` + good + "\n" + good + `]}`, want{rows: 1, err: "line 2, column 1"}},
		"wrong bracket":        {`{"type":"FeatureCollection","features":[{"a":[1}]}`, want{err: "closed with }"}},
		"two collections":      {collection(good) + "\n" + collection(good), want{rows: 1, err: "follows after the end"}},
		"features no list":     {`{"type":"FeatureCollection","features":{}}`, want{err: "not a list"}},
		"no features":          {`{"type":"FeatureCollection"}`, want{err: `no "features"`}},
		"projected":            {`{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:26911"}},"features":[]}`, want{err: "EPSG:26911"}},
		"projected, said last": {`{"type":"FeatureCollection","features":[` + good + `],"crs":{"type":"name","properties":{"name":"EPSG:26911"}}}`, want{rows: 1, err: "EPSG:26911"}},

		"not JSON among lines":  {good + "\nnonsense {\n" + good, want{rows: 3, refused: 1, faults: []string{"not JSON"}}},
		"broken first line":     {good[:60] + "\n" + good + "\n" + good, want{rows: 3, refused: 1, faults: []string{"breaks off"}}},
		"not JSON first":        {"nonsense {\n" + good, want{rows: 2, refused: 1, faults: []string{"not JSON"}}},
		"last line cut":         {good + "\n" + good[:60], want{rows: 2, refused: 1, faults: []string{"breaks off"}}},
		"two on one line":       {good + "\n" + good + good, want{rows: 2, refused: 1, faults: []string{"one feature a line"}}},
		"numbers for features":  {collection("1", `"x"`, "null", "[]", good), want{rows: 5, refused: 4, faults: []string{"is a number, not a feature", "is a text", "is null", "is a list"}}},
		"NaN":                   {collection(point(`{"yield_lps":NaN}`), good), want{rows: 2, refused: 1, faults: []string{"properties.yield_lps", "write null"}}},
		"Infinity":              {collection(at("[-Infinity,2]"), good), want{rows: 2, refused: 1, faults: []string{"no NaN or Infinity"}}},
		"number too long":       {collection(point(`{"total_depth_m":0.`+strings.Repeat("0", 300)+`1}`), good), want{rows: 2, refused: 1, faults: []string{"too long for a quantity"}}},
		"number too big":        {collection(at("[1e999,2]")), want{rows: 1, refused: 1, faults: []string{"can be held"}}},
		"duplicate name":        {collection(point(`{"number":"A","number":"B"}`), good), want{rows: 2, refused: 1, faults: []string{"stands twice"}}},
		"swapped":               {at("[45.25,-110.5]"), want{rows: 1, refused: 1, faults: []string{"look swapped", "[-110.5, 45.25] if that is the place"}}},
		"out of range":          {at("[-190.5,45]"), want{rows: 1, refused: 1, faults: []string{"outside -180 to 180", "write 169.5"}}},
		"latitude out of range": {at("[100,95]"), want{rows: 1, refused: 1, faults: []string{"latitude 95 is outside"}}},
		"metres":                {at("[627106,4484124]"), want{rows: 1, refused: 1, faults: []string{"map projection"}}},
		"line":                  {`{"type":"Feature","geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]},"properties":{}}`, want{rows: 1, refused: 1, faults: []string{`type "LineString"`}}},
		"nested coordinates":    {at("[[1,2]]"), want{rows: 1, refused: 1, faults: []string{"hold a list"}}},
		"one coordinate":        {at("[1]"), want{rows: 1, refused: 1, faults: []string{"one number only"}}},
		"coordinates as text":   {at(`["1","2"]`), want{rows: 1, refused: 1, faults: []string{"hold a text"}}},
		"third as text":         {at(`[1,2,"x"]`), want{rows: 1, refused: 1, faults: []string{"hold a text"}}},
		"null geometry":         {`{"type":"Feature","geometry":null,"properties":{}}`, want{rows: 1, faults: []string{"no position"}}},
		"no properties":         {`{"type":"Feature","geometry":null}`, want{rows: 1, faults: []string{"no properties"}}},
		"properties a list":     {`{"type":"Feature","geometry":null,"properties":[]}`, want{rows: 1, refused: 1, faults: []string{"not an object"}}},
		"id an object":          {`{"type":"Feature","id":{},"geometry":null,"properties":{}}`, want{rows: 1, refused: 1, faults: []string{"id is an object"}}},
		"own name used":         {point(`{"@feature":{}}`), want{rows: 1, refused: 1, faults: []string{"uses itself"}}},
		"plates no list":        {point(`{"plates":{"number":"1"}}`), want{rows: 1, refused: 1, faults: []string{"plates: is an object"}}},
		"negative depth":        {point(`{"total_depth_m":-5}`), want{rows: 1, refused: 1, faults: []string{"total_depth_m"}}},
		"overlapping strata": {point(`{"strata":[{"top_m":0,"bottom_m":10,"description":"clay"},{"top_m":5,"bottom_m":20,"description":"sand"}]}`),
			want{rows: 1, refused: 1, faults: []string{"strata"}}},
		"mixed units":     {point(`{"total_depth_m":10,"total_depth_ft":33}`), want{rows: 1, refused: 1, faults: []string{"two units"}}},
		"10 MB in a text": {collection(point(`{"remarks":"`+ten+`"}`), good), want{rows: 2, refused: 1, faults: []string{"more than 4194304"}}},
		"10 MB in a line": {good + "\n" + point(`{"remarks":"`+ten+`"}`) + "\n" + good, want{rows: 3, refused: 1, faults: []string{"more than 4194304"}}},
		"deep":            {collection(point(`{"a":`+deep+`}`), good), want{rows: 2, refused: 1, faults: []string{"nest 100002 deep"}}},
		"deep line":       {good + "\n" + point(`{"a":`+deep+`}`) + "\n", want{rows: 2, refused: 1, faults: []string{"nest 100002 deep"}}},
		"Latin-1":         {good + "\n" + point(`{"remarks":"M`+"\xe4"+`rgel"}`), want{rows: 2, faults: []string{"byte 0xE4", "Märgel"}}},
		"no encoding":     {good + "\n" + point(`{"remarks":"M`+"\x81"+`rgel"}`), want{rows: 2, refused: 1, faults: []string{"neither UTF-8 nor Windows-1252"}}},
		"lone surrogate":  {point(`{"remarks":"\ud800"}`), want{rows: 1, refused: 1, faults: []string{"not JSON"}}},
		"uid no UUID":     {point(`{"uid":"well-1"}`), want{rows: 1, faults: []string{"not a UUID"}}},
		"uid twice":       {collection(point(`{"uid":"0198c7a0-0000-7000-8000-000000000001"}`), point(`{"uid":"0198c7a0-0000-7000-8000-000000000001","number":"2"}`)), want{rows: 2, refused: 1, faults: []string{"row 1 already"}}},
		"same row twice":  {collection(good, good), want{rows: 2, faults: []string{"same to the byte as row 1"}}},
	} {
		t.Run(name, func(t *testing.T) { check(t, c.text, importer.Options{}, c.want) })
	}
}

func TestRowsKeepTheirBytesAndPlace(t *testing.T) {
	a, b := point(`{ "number" : "A" }`), "{\n \"type\":\"Feature\", \"geometry\":null,\n \"properties\":{}}"
	text := "{\"type\":\"FeatureCollection\",\n\"features\":[ " + a + " ,\n\n  " + b + "]}"
	rows := check(t, text, importer.Options{}, want{rows: 2})
	for i, raw := range []string{a, b} {
		r := rows[i]
		if string(r.Raw) != raw || text[r.Offset:r.Offset+r.Size] != raw {
			t.Errorf("row %d is %q at byte %d", i+1, r.Raw, r.Offset)
		}
	}
	if rows[0].Line != 2 || rows[1].Line != 4 {
		t.Errorf("lines %d and %d, want 2 and 4", rows[0].Line, rows[1].Line)
	}
}

func TestRowsTooLongToHoldAreCut(t *testing.T) {
	good, long := point(`{}`), point(`{"remarks":"`+strings.Repeat("x", 20<<20)+`"}`)
	for name, text := range map[string]string{"collection": collection(good, long, good), "lines": good + "\n" + long + "\n" + good} {
		t.Run(name, func(t *testing.T) {
			r := check(t, text, importer.Options{}, want{rows: 3, refused: 1})[1]
			if !r.Cut() || r.Size != int64(len(long)) || len(r.Raw) > 1<<16 || !strings.HasPrefix(long, string(r.Raw)) {
				t.Errorf("%d bytes, of which %d are held", r.Size, len(r.Raw))
			}
		})
	}
}

func TestWhatWasDerivedIsPassedOver(t *testing.T) {
	rows := check(t, collection(point(`{"derived":{"sound_bedrock_m":5,"vocabulary":"1"}}`), point(`{"derived":{"x":1}}`)), importer.Options{}, want{rows: 2})
	if rows[0].Well.Extra != nil || len(rows[1].Well.Extra) != 1 {
		t.Errorf("extra %v and %v", rows[0].Well.Extra, rows[1].Well.Extra)
	}
}

func TestSourcesAreDigestedWhole(t *testing.T) {
	for name, text := range map[string]string{
		"lines": point(`{}`) + "\n\n", "collection": collection(point(`{}`)) + "  \n", "table": "number,b\n1,2\n\n", "UTF-16": utf16(point(`{}`), "be"),
	} {
		s, err := importer.NewSource(strings.NewReader(text), importer.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if s.SHA256() != "" {
			t.Errorf("%s: a digest before the end", name)
		}
		if err := importer.Pipeline(t.Context(), s, 1, func(*importer.Row) error { return nil }); err != nil {
			t.Fatal(err)
		}
		if want := fmt.Sprintf("%x", sha256.Sum256([]byte(text))); s.SHA256() != want {
			t.Errorf("%s: digest %s, want %s", name, s.SHA256(), want)
		}
	}
}

func TestUIDsAreTheSameForTheSameFile(t *testing.T) {
	text := point(`{"number":"A"}`) + "\n" + point(`{"number":"A"}`) + "\n" + point(`{"number":"B","uid":"0198C7A0-0000-7000-8000-000000000001"}`)
	uids := func(name string) (out []string) {
		for _, r := range check(t, text, importer.Options{Name: name}, want{rows: 3}) {
			out = append(out, r.Well.UID)
		}
		return out
	}
	first := uids("x")
	if diff := cmp.Diff(first, uids("x")); diff != "" {
		t.Errorf("second reading gave other uids:\n%s", diff)
	}
	if first[0] == first[1] {
		t.Error("two rows share a uid")
	}
	if first[2] != "0198c7a0-0000-7000-8000-000000000001" {
		t.Errorf("the uid given became %s", first[2])
	}
	if other := uids("y"); other[0] == first[0] {
		t.Error("another source gave the same uid")
	}
}

func TestRefusalsCanBeMendedAndSentAgain(t *testing.T) {
	good, bad := point(`{}`), point(`{"total_depth_m": -5.0 ,"remarks":"`+"\xe4"+`"}`)
	for name, c := range map[string]struct{ text, refused string }{
		"collection": {collection(good, bad, good, bad), "{\"type\":\"FeatureCollection\",\"features\":[\n" + bad + ",\n" + bad + "\n]}\n"},
		"lines":      {good + "\n" + bad + "\r\n" + good, bad + "\n"},
		"sequence":   {"\x1e" + good + "\n\x1e" + bad + "\n", "\x1e" + bad + "\n"},
		"table":      {"id,total_depth_m\r\n1,5\r\n2,-5\r\n3,\"a\"b\r\n", "id,total_depth_m\n2,-5\n3,\"a\"b\n"},
		"none":       {good, ""},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := importer.NewSource(strings.NewReader(c.text), importer.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var rows, reasons bytes.Buffer
			r := importer.NewRefusals(&rows, &reasons, s)
			if err := importer.Pipeline(t.Context(), s, 2, r.Write); err != nil {
				t.Fatal(err)
			}
			if err := r.Close(); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.refused, rows.String()); diff != "" {
				t.Errorf("rows file (-want +got):\n%s", diff)
			}
			if n := strings.Count(reasons.String(), "\n"); int64(n) != r.Count() {
				t.Errorf("%d reasons for %d refusals:\n%s", n, r.Count(), reasons.String())
			}
			if c.refused == "" {
				return
			}
			again, err := readAll(t, rows.String(), importer.Options{})
			if err != nil || int64(len(again)) != r.Count() {
				t.Errorf("sent again: %d rows, %v", len(again), err)
			}
		})
	}
}

func TestPipelineGivesWhatNextGives(t *testing.T) {
	var b strings.Builder
	for i := range 3000 {
		b.WriteString(strings.Replace(point(`{"number":"N","remarks":"x"}`), "N", strings.Repeat("n", i%700), 1))
		b.WriteString("\n")
		if i%100 == 7 {
			b.WriteString("broken {\n")
		}
	}
	one, err := readAll(t, b.String(), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := importer.NewSource(strings.NewReader(b.String()), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	i := 0
	err = importer.Pipeline(t.Context(), s, 3, func(r *importer.Row) error {
		if diff := cmp.Diff(one[i].Faults, r.Faults); diff != "" || string(one[i].Raw) != string(r.Raw) || r.Number != int64(i+1) {
			t.Fatalf("row %d differs: %s", i+1, diff)
		}
		if (r.Well == nil) != (one[i].Well == nil) || r.Well != nil && r.Well.UID != one[i].Well.UID {
			t.Fatalf("row %d has another uid", i+1)
		}
		i++
		return nil
	})
	if err != nil || i != len(one) {
		t.Errorf("%d of %d rows, %v", i, len(one), err)
	}
	stop := errors.New("enough")
	s, err = importer.NewSource(strings.NewReader(b.String()), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := importer.Pipeline(t.Context(), s, 3, func(*importer.Row) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("stopped with %v", err)
	}
}
