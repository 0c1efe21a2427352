package importer_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/importer"
)

func FuzzMapping(f *testing.F) {
	for _, s := range []string{
		`{"version":1,"sheets":[{"role":"wells","columns":[{"column":"TD","field":"total_depth","unit":"ft","unknown":["99"],"ditto":true}]}]}`,
		`{"version":1,"name":"n","sheets":[{"sheet":"W","role":"wells","key":"ID","header":2,"columns":[{"column":"X","field":"lon","datum":"NAD27"},{"column":"D","field":"completed","order":"mdy"},{"column":"Z","leave_out":true}]},{"sheet":"S","role":"strata","key":"ID"}]}`,
		`{"version":1,"sheets":[{"role":"wells","splits":[{"column":"A","pattern":"(.*)-(.*)","into":["b","c"]},{"column":"A","by":",","into":["d"]}],"joins":[{"columns":["b","c"],"with":" ","into":"e"}]}]}`,
		`{"version":2}`, `{"version":1,"sheets":[{"role":"wells","colums":[]}]}`, `[]`, `{"version":1,"version":1}`,
	} {
		f.Add([]byte(s))
	}
	table := filepath.Join(f.TempDir(), "w.csv")
	if err := os.WriteFile(table, []byte("A,TD,X,D,ID\n1-2,99,-118,1/2/2003,7\n\",\",do,-118,,8\n"), 0o600); err != nil {
		f.Fatal(err)
	}
	features := filepath.Join(f.TempDir(), "w.ndjson")
	if err := os.WriteFile(features, []byte(point(`{"A":"1-2","TD":99,"X":-118,"D":"1/2/2003","ID":{"a":1},"casing":[{"to_m":4}]}`)+"\n"+point(`null`)+"\n"), 0o600); err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := importer.ReadMapping(text)
		if err != nil {
			explained(t, err)
			return
		}
		again, err := importer.ReadMapping(m.JSON())
		if err != nil {
			t.Fatalf("what was written is not read: %v\n%s", err, m.JSON())
		}
		if diff := cmp.Diff(string(m.JSON()), string(again.JSON())); diff != "" {
			t.Fatalf("written twice:\n%s", diff)
		}
		readHostileFile(t, table, importer.Options{Mapping: m})
		readHostileFile(t, features, importer.Options{Mapping: m})
	})
}

// explained holds an error to being one for a person, and no fault of ours.
func explained(t *testing.T, err error) {
	t.Helper()
	if code := records.CodeOf(err); code != records.Invalid && code != records.TooLarge && code != records.NotFound || len(records.MessageOf(err)) < 15 {
		t.Fatalf("not an error for a person: %v", err)
	}
}

// readHostileFile reads a file twice and holds it to what every source keeps.
func readHostileFile(t *testing.T, path string, o importer.Options) {
	t.Helper()
	var counts [2][3]int
	for k := range counts {
		s, err := importer.Open(path, o)
		if err != nil {
			explained(t, err)
			return
		}
		read := 0
		err = importer.Pipeline(t.Context(), s, 2, func(r *importer.Row) error {
			read++
			if r.Number != int64(read) {
				t.Fatalf("row %d comes as number %d", read, r.Number)
			}
			if r.Refused() {
				counts[k][1]++
				if !records.Refuses(r.Faults) {
					t.Fatalf("row %d is refused without a reason: %q", read, r.Raw)
				}
			} else {
				counts[k][0]++
			}
			counts[k][2] += len(r.Beside)
			return nil
		})
		if err != nil {
			explained(t, err)
		}
		if counts[k][0]+counts[k][1] != read {
			t.Fatalf("%d read, %v", read, counts[k])
		}
		rows, alone := int64(0), int64(0)
		for i, p := range s.Tables() {
			if i > 0 && err == nil && p.WithWell+p.Alone != p.Rows {
				t.Fatalf("table %q: %d rows, %d with their wells, %d alone", p.Sheet, p.Rows, p.WithWell, p.Alone)
			}
			if i == 0 {
				rows = p.Rows
			} else {
				alone += p.Alone
			}
		}
		if s.Tables() != nil && err == nil && s.Tables()[0].Role == importer.Wells && rows+alone != int64(read) {
			t.Fatalf("%d rows come out of %d wells and %d rows without", read, rows, alone)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if counts[0] != counts[1] {
		t.Fatalf("read twice: %v and %v", counts[0], counts[1])
	}
}

// FuzzJoined joins two tables of any bytes, and groups the second by itself.
func FuzzJoined(f *testing.F) {
	f.Add("Well No,lon,lat\nA,-118,59\nB,1,2\n", "Well No,top_m,bottom_m,description\nA,0,5,clay\nA,5,9,rock\nC,0,1,x\n")
	f.Add("Well No;x\nA;1\nA;2\n;\n\"B;3\n", "Well No\ttop_m\nA\t\nB\tdeep\n\t1\n\xe4\t2\t3\n")
	f.Add("number,k\nA,1\n", "Well No,top_m,lon,lat\nA,0,1,2\nB,1,,\nA,4,1,3\n")
	f.Fuzz(func(t *testing.T, wells, strata string) {
		if len(wells)+len(strata) > 20000 {
			return
		}
		dir := t.TempDir()
		w, s := filepath.Join(dir, "w.csv"), filepath.Join(dir, "s.csv")
		writeTo(t, w, wells)
		writeTo(t, s, strata)
		o := importer.Options{RowBytes: 2000, Format: importer.CSV}
		for _, one := range []string{w, s} {
			o.Mapping = nil
			readHostileFile(t, one, o)
			if l, err := importer.LookAt(one, o); err != nil {
				explained(t, err)
			} else if o.Mapping = importer.Guess(l); o.Mapping.Check() == nil {
				readHostileFile(t, one, o)
			}
		}
		o.With, o.Mapping = []importer.Beside{{Sheet: "strata", Path: s}}, nil
		readHostileFile(t, w, o)
		o.Mapping, _ = importer.ReadMapping([]byte(`{"version":1,"sheets":[{"role":"wells","key":"Well No","columns":[{"column":"Well No","field":"number"}]},{"sheet":"strata","role":"strata","key":"Well No","columns":[{"column":"top_m","field":"strata.top","ditto":true}]}]}`))
		readHostileFile(t, w, o)
		o.With = nil
		o.Mapping, _ = importer.ReadMapping([]byte(`{"version":1,"sheets":[{"role":"strata","key":"Well No","columns":[{"column":"Well No","field":"number"},{"column":"top_m","field":"strata.top"},{"column":"lon","field":"lon"},{"column":"lat","field":"lat"}]}]}`))
		readHostileFile(t, s, o)
	})
}

const bookXML = `<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Wells" sheetId="1" r:id="rId1"/><sheet name="Strata" sheetId="2" r:id="rId2"/></sheets></workbook>`

// FuzzSheet puts whatever it is given as the parts of a workbook, and as the
// workbook itself.
func FuzzSheet(f *testing.F) {
	f.Add(`<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>Well No</t></is></c><c r="B1" t="s"><v>0</v></c></row><row r="2"><c r="A2" t="str"><v>A</v></c><c r="B2" s="1"><v>38153</v></c></row></sheetData><mergeCells><mergeCell ref="A2:A4"/></mergeCells></worksheet>`,
		`<sst><si><r><t>Com</t></r><r><t>pleted</t></r><rPh><t>x</t></rPh></si></sst>`, `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="yyyy"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs></styleSheet>`)
	f.Add(`<x:worksheet><x:row><x:c><x:v>1e400</x:v></x:c><x:c r="XFE1"><x:f>A1</x:f></x:c></x:row>`, `<sst><si><t>_x000D__x0041_</t></si>`, ``)
	f.Add(`<?xml version="1.0"?><!-- a < b --><w><row><c t="str"><v><![CDATA[Well No < ]]></v></c></row><!-- `, "", "")
	f.Add(`<a><row><c t="s"><v>-1</v></c><c t="b"><v>1</v></c><c t="e"><v>#N/A</v></c></row></a><mergeCell ref=`, "", "")
	f.Add(`<worksheet><sheetData><row><c t="str"><v>Well No</v></c><c r="XFD1" t="str"><v>x</v></c></row><row><c t="str"><v>A</v></c></row></sheetData></worksheet>`, "", "")
	f.Fuzz(func(t *testing.T, sheet, texts, styles string) {
		if len(sheet)+len(texts)+len(styles) > 20000 {
			return
		}
		path := filepath.Join(t.TempDir(), "x.xlsx")
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		put(t, w, "[Content_Types].xml", "<Types/>")
		put(t, w, "xl/workbook.xml", bookXML)
		put(t, w, "xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="rId1" Type="x/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="x/worksheet" Target="/xl/worksheets/sheet2.xml"/></Relationships>`)
		put(t, w, "xl/worksheets/sheet1.xml", sheet)
		put(t, w, "xl/worksheets/sheet2.xml", `<worksheet><sheetData><row><c t="str"><v>Well No</v></c><c t="str"><v>top_m</v></c><c t="str"><v>description</v></c></row><row><c t="str"><v>A</v></c><c><v>0</v></c><c t="str"><v>clay</v></c></row></sheetData></worksheet>`)
		put(t, w, "xl/sharedStrings.xml", texts)
		put(t, w, "xl/styles.xml", styles)
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		hostileBook(t, path, b.Bytes())
	})
}

func hostileBook(t *testing.T, path string, content []byte) {
	t.Helper()
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	o := importer.Options{RowBytes: 2000}
	readHostileFile(t, path, o)
	l, err := importer.LookAt(path, o)
	if err != nil {
		explained(t, err)
		return
	}
	m := importer.Guess(l)
	if err := m.Check(); err != nil {
		explained(t, err)
		return
	}
	o.Mapping = m
	readHostileFile(t, path, o)
}

// Every piece that a workbook can be broken off at, and bytes of it changed:
// it is read or refused in words.
func TestBrokenWorkbooks(t *testing.T) {
	whole, err := os.ReadFile(book(t, township(), townshipSheets...))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "x.xlsx")
	step := len(whole) / 25
	for n := 4; n < len(whole); n += step {
		hostileBook(t, path, whole[:n])
		changed := bytes.Clone(whole)
		changed[n] ^= 0x55
		hostileBook(t, path, changed)
	}
	if _, err := importer.NewSource(bytes.NewReader(whole), importer.Options{}); err == nil || errors.Is(err, io.EOF) {
		t.Errorf("a workbook as a stream: %v", err)
	}
}
