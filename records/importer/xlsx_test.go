package importer_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"tallybook/records"
	"tallybook/records/importer"
)

// openAll opens a file and reads it to its end.
func openAll(t testing.TB, path string, o importer.Options) (rows []importer.Row, s *importer.Source) {
	t.Helper()
	s, err := importer.Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	err = importer.Pipeline(t.Context(), s, 2, func(r *importer.Row) error {
		rows = append(rows, *r)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return rows, s
}

// told are the refusals of a row in words.
func told(r *importer.Row) string {
	var out []string
	for _, f := range r.Faults {
		if f.Severity == records.Refusal {
			out = append(out, f.String())
		}
	}
	return strings.Join(out, "; ")
}

// book writes a workbook by a library that is not ours; each sheet is a list
// of rows of any values.
func book(t testing.TB, sheets map[string][][]any, order ...string) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	date, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range order {
		if i == 0 {
			err = f.SetSheetName("Sheet1", name)
		} else {
			_, err = f.NewSheet(name)
		}
		if err != nil {
			t.Fatal(err)
		}
		for r, cells := range sheets[name] {
			for c, v := range cells {
				at, _ := excelize.CoordinatesToCellName(c+1, r+1)
				if v == nil {
					continue
				}
				if err := f.SetCellValue(name, at, v); err != nil {
					t.Fatal(err)
				}
				if _, is := v.(time.Time); is {
					if err := f.SetCellStyle(name, at, at, date); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
	path := filepath.Join(t.TempDir(), "wells.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}

func day(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }

// township is an invented set of wells in four sheets, with a stratum that has
// no well and a well without strata.
func township() map[string][][]any {
	return map[string][][]any{
		"Wells": {
			{"Wells of an invented township"},
			{"WELL ID", "Longitude", "Latitude", "TD (ft)", "Yield (gpm)", "Date Drilled", "Owner", "Field book"},
			{"A-1", -118.5, 59.25, 305, "<1", day(2004, 6, 15), "Ann Example", "blue"},
			{"A-2", -118.6, 59.26, 18.9, 5, day(1987, 1, 2), "Zoë “Müller”, née Çelik", nil},
			{"A-3", -118.7, 59.27, "62'6\"", "dry", nil, nil, "red"},
		},
		"Strata": {
			{"WELL ID", "From (ft)", "To (ft)", "Description", "Colour"},
			{"A-1", 12, 40, "hardpan", nil},
			{"A-1", 0, 12, "brown clay w/ cobbles", "brown"},
			{"A-1", 40, 305, "grey gneiss", nil},
			{"A-9", 0, 5, "topsoil", nil},
			{"A-2", 0, 18.9, "sand; \"clean\"", nil},
		},
		"Casing": {
			{"WELL ID", "From (ft)", "To (ft)", "Diameter (in)", "Material"},
			{"A-1", -1.5, 42, 6, "steel"},
		},
		"Water levels": {
			{"WELL ID", "Date", "Depth (ft)"},
			{"A-2", day(1990, 3, 4), 10.1},
			{"A-2", day(1991, 3, 4), 9.9},
		},
	}
}

var townshipSheets = []string{"Wells", "Strata", "Casing", "Water levels"}

const townshipFirst = `{"number":"A-1","owner":{"name":"Ann Example"},"completed":"2004-06-15","total_depth_m":92.964,"total_depth_given":"305","total_depth_given_unit":"ft","yield_lps":0.0630901964,"yield_qualifier":"less_than","yield_given":"<1","yield_given_unit":"gpm",` +
	`"casing":[{"from_m":-0.4572,"from_given":"-1.5","from_given_unit":"ft","to_m":12.8016,"to_given":"42","to_given_unit":"ft","material":"steel","diameter_mm":152.4,"diameter_given":"6","diameter_given_unit":"in"}],` +
	`"strata":[{"top_m":0,"top_given":"0","top_given_unit":"ft","bottom_m":3.6576,"bottom_given":"12","bottom_given_unit":"ft","description":"brown clay w/ cobbles","color":"brown"},` +
	`{"top_m":3.6576,"top_given":"12","top_given_unit":"ft","bottom_m":12.192,"bottom_given":"40","bottom_given_unit":"ft","description":"hardpan"},` +
	`{"top_m":12.192,"top_given":"40","top_given_unit":"ft","bottom_m":92.964,"bottom_given":"305","bottom_given_unit":"ft","description":"grey gneiss"}],"Field book":"blue"}`

func TestWorkbookOfSheets(t *testing.T) {
	path := book(t, township(), townshipSheets...)
	l, err := importer.LookAt(path, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	roles := make(map[string]string)
	for _, s := range l.Sheets {
		roles[s.Name] = string(s.Role) + " by " + s.Key
	}
	want := map[string]string{"Wells": "wells by WELL ID", "Strata": "strata by WELL ID", "Casing": "casing by WELL ID", "Water levels": "static_levels by WELL ID"}
	if diff := cmp.Diff(want, roles); diff != "" {
		t.Fatalf("roles (-want +got):\n%s", diff)
	}
	rows, s := openAll(t, path, importer.Options{Mapping: importer.Guess(l)})
	if len(rows) != 4 {
		t.Fatalf("%d rows", len(rows))
	}
	for i := range 3 {
		if rows[i].Refused() {
			t.Fatalf("row %d: %s", i, told(&rows[i]))
		}
	}
	if diff := cmp.Diff(townshipFirst, properties(rows[0].Well)); diff != "" {
		t.Errorf("first well (-want +got):\n%s", diff)
	}
	if w := rows[1].Well; len(w.StaticLevels) != 2 || w.StaticLevels[1].Date.String() != "1991-03-04" || w.TotalDepth.Given.Text != "18.9" || w.Owner.Name != "Zoë “Müller”, née Çelik" || w.Strata[0].Description != `sand; "clean"` {
		t.Errorf("second well: %s", properties(w))
	}
	if len(rows[0].Beside) != 4 || rows[0].Line != 3 || rows[0].Sheet != "Wells" {
		t.Errorf("the first well stands in row %d of %q with %d beside it", rows[0].Line, rows[0].Sheet, len(rows[0].Beside))
	}
	orphan := &rows[3]
	if !orphan.Refused() || orphan.Sheet != "Strata" || orphan.Line != 5 || !strings.Contains(told(orphan), `no well "A-9"`) {
		t.Errorf("the stratum without a well: row %d of %q: %s", orphan.Line, orphan.Sheet, told(orphan))
	}
	tally := []importer.PartTally{{"Wells", importer.Wells, 3, 0, 0}, {"Strata", importer.StrataRows, 5, 4, 1}, {"Casing", importer.CasingRows, 1, 1, 0}, {"Water levels", importer.LevelRows, 2, 2, 0}}
	if diff := cmp.Diff(tally, s.Tables()); diff != "" {
		t.Errorf("counted (-want +got):\n%s", diff)
	}
	if len(s.SHA256()) != 64 {
		t.Errorf("digest %q", s.SHA256())
	}
}

// The same tables as files, joined alike.
func TestFilesJoined(t *testing.T) {
	var with []importer.Beside
	dir := t.TempDir()
	csv := func(name string) string {
		var b strings.Builder
		for i, cells := range township()[name] {
			if name == "Wells" && i == 0 {
				continue
			}
			for k, v := range cells {
				if k > 0 {
					b.WriteByte(';')
				}
				b.WriteString(csvText(v))
			}
			b.WriteByte('\n')
		}
		path := filepath.Join(dir, name+".csv")
		writeTo(t, path, b.String())
		return path
	}
	for _, name := range townshipSheets[1:] {
		with = append(with, importer.Beside{Sheet: name, Path: csv(name)})
	}
	o := importer.Options{With: with}
	path := csv("Wells")
	l, err := importer.LookAt(path, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Mapping = importer.Guess(l)
	files, _ := openAll(t, path, o)

	sheets := book(t, township(), townshipSheets...)
	l, err = importer.LookAt(sheets, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	workbook, _ := openAll(t, sheets, importer.Options{Mapping: importer.Guess(l)})
	if len(files) != len(workbook) {
		t.Fatalf("%d and %d rows", len(files), len(workbook))
	}
	for i := range files {
		if diff := cmp.Diff(told(&files[i]), told(&workbook[i])); (files[i].Well == nil) != (workbook[i].Well == nil) {
			t.Errorf("row %d: %s", i, diff)
		} else if files[i].Well != nil {
			if diff := cmp.Diff(properties(files[i].Well), properties(workbook[i].Well)); diff != "" {
				t.Errorf("row %d, file and sheet:\n%s", i, diff)
			}
		}
	}
}

func TestGroupedRows(t *testing.T) {
	text := "Well No,Lon,Lat,TD_ft,From_ft,To_ft,Description,Seen by,Wet\n" +
		"B-1,-118.5,59.25,40,0,10,clay,Ann,wet\n" +
		"B-1,,,,10,40,gneiss,Ann,dry\n" +
		"B-2,-118.6,59.25,20,0,20,sand,Ben,\n" +
		"B-3,-118.7,59.25,30,0,10,sand,Ben,\n" +
		"B-3,-118.7,59.25,35,10,30,till,Ben,\n" +
		"B-1,-118.5,59.25,40,40,45,gneiss too,Ann,later\n"
	path := write(t, "log.csv", text)
	l, err := importer.LookAt(path, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if s := l.Sheets[0]; s.Role != importer.StrataRows || s.Key != "Well No" {
		t.Fatalf("role %s by %q: %s", s.Role, s.Key, s.Why)
	}
	rows, s := openAll(t, path, importer.Options{Mapping: importer.Guess(l)})
	if len(rows) != 3 {
		t.Fatalf("%d wells", len(rows))
	}
	for i := range 2 {
		if rows[i].Refused() {
			t.Fatalf("well %d: %s", i, told(&rows[i]))
		}
	}
	const first = `{"number":"B-1","total_depth_m":12.192,"total_depth_given":"40","total_depth_given_unit":"ft","strata":[{"top_m":0,"top_given":"0","top_given_unit":"ft","bottom_m":3.048,"bottom_given":"10","bottom_given_unit":"ft","description":"clay","Wet":"wet"},{"top_m":3.048,"top_given":"10","top_given_unit":"ft","bottom_m":12.192,"bottom_given":"40","bottom_given_unit":"ft","description":"gneiss","Wet":"dry"},{"top_m":12.192,"top_given":"40","top_given_unit":"ft","bottom_m":13.716,"bottom_given":"45","bottom_given_unit":"ft","description":"gneiss too","Wet":"later"}],"Seen by":"Ann"}`
	if diff := cmp.Diff(first, properties(rows[0].Well)); diff != "" {
		t.Errorf("first well (-want +got):\n%s", diff)
	}
	if len(rows[0].Beside) != 2 {
		t.Errorf("%d rows beside the first", len(rows[0].Beside))
	}
	if !rows[2].Refused() || !strings.Contains(told(&rows[2]), `row 5 says "30" and row 6 says "35"`) {
		t.Errorf("rows that disagree: %q", told(&rows[2]))
	}
	if got := s.Tables()[0]; got.Rows != 6 || got.WithWell != 6 {
		t.Errorf("counted %+v", got)
	}
	if _, err := s.Next(t.Context()); !errors.Is(err, io.EOF) {
		t.Error(err)
	}
}

// What was refused of a workbook comes back as a table for each sheet, and is
// taken in when it was mended.
func TestRefusedSheetsComeBack(t *testing.T) {
	sheets := township()
	sheets["Strata"][1][1] = "twelve" // a depth that cannot be read, of A-1
	path := book(t, sheets, townshipSheets...)
	l, err := importer.LookAt(path, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	o := importer.Options{Mapping: importer.Guess(l)}
	rows, s := openAll(t, path, o)
	var wells, reasons strings.Builder
	others := make(map[string]*strings.Builder)
	r := importer.NewRefusals(&wells, &reasons, s)
	r.Others(func(sheet string) (io.Writer, error) {
		others[sheet] = &strings.Builder{}
		return others[sheet], nil
	})
	for i := range rows {
		if err := r.Write(&rows[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if r.Count() != 2 || !strings.Contains(told(&rows[0]), `(sheet "Strata", row 2, column "From (ft)")`) {
		t.Fatalf("%d refused; %s", r.Count(), told(&rows[0]))
	}
	if !strings.Contains(reasons.String(), `"sheet":"Strata"`) || !strings.Contains(reasons.String(), `"beside":4`) {
		t.Errorf("reasons:\n%s", reasons.String())
	}
	dir := t.TempDir()
	o.With = nil
	for sheet, text := range others {
		to := filepath.Join(dir, sheet+".csv")
		writeTo(t, to, strings.NewReplacer("twelve", "12", "A-9", "A-1", "0,5,topsoil", "305,310,gneiss").Replace(text.String()))
		o.With = append(o.With, importer.Beside{Sheet: sheet, Path: to})
	}
	to := filepath.Join(dir, "rows.csv")
	writeTo(t, to, wells.String())
	mended, _ := openAll(t, to, o)
	if len(mended) != 1 || mended[0].Refused() {
		t.Fatalf("%d rows: %s", len(mended), told(&mended[0]))
	}
	if w := mended[0].Well; len(w.Strata) != 4 || len(w.Casing) != 1 || w.Number != "" && w.Number != "A-1" {
		t.Errorf("mended: %s", properties(w))
	}
}

func TestWorkbooksThatAreNotRead(t *testing.T) {
	good := book(t, township(), townshipSheets...)
	for name, c := range map[string]struct {
		change func(*zip.Writer)
		want   string
	}{
		"macros":     {func(w *zip.Writer) { put(t, w, "xl/vbaProject.bin", "x") }, "holds macros"},
		"part twice": {func(w *zip.Writer) { put(t, w, "XL/Styles.xml", "x") }, "holds \"XL/Styles.xml\" twice"},
		"bomb":       {func(w *zip.Writer) { put(t, w, "xl/worksheets/sheet9.xml", strings.Repeat(" ", 70<<20)) }, "unpacks to far more than its size"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := importer.Open(rezip(t, good, c.change), importer.Options{})
			if err == nil || !strings.Contains(records.MessageOf(err), c.want) || records.CodeOf(err) == records.Internal {
				t.Errorf("%v, not %q", err, c.want)
			}
		})
	}
	for name, want := range map[string]string{"content.xml": "an OpenDocument file", "doc.kml": "a KMZ file", "a/wells.shp": "a zipped shapefile", "readme.txt": "a ZIP archive"} {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		put(t, w, name, "x")
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := importer.Open(write(t, "x.xlsx", b.String()), importer.Options{}); err == nil || !strings.Contains(records.MessageOf(err), want) {
			t.Errorf("%s: %v, not %q", name, err, want)
		}
	}
}

// A piece of a sheet that would fill the memory is not read, wherever it
// stands.
func TestEndlessPieces(t *testing.T) {
	long, plain := strings.Repeat("abc<>- ", 9<<20/7), strings.Repeat("abcdef>", 9<<20/7)
	for name, sheet := range map[string]string{
		"text": "<worksheet><row><c><v>" + plain, "attribute": `<worksheet a="` + plain, "comment": "<worksheet><!--" + long,
		"CDATA": "<worksheet><row><c><v><![CDATA[" + long, "instruction": "<worksheet><?x " + long,
	} {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		put(t, w, "[Content_Types].xml", "<Types/>")
		put(t, w, "xl/workbook.xml", bookXML)
		put(t, w, "xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="rId1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`)
		part, err := w.CreateHeader(&zip.FileHeader{Name: "xl/worksheets/sheet1.xml", Method: zip.Store})
		if err == nil {
			_, err = io.WriteString(part, sheet)
		}
		if err != nil || w.Close() != nil {
			t.Fatal(err)
		}
		if _, err := importer.Open(write(t, "x.xlsx", b.String()), importer.Options{}); err == nil || !strings.Contains(records.MessageOf(err), "holds a piece of more than") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func put(t testing.TB, w *zip.Writer, name, text string) {
	t.Helper()
	part, err := w.Create(name)
	if err == nil {
		_, err = io.WriteString(part, text)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// rezip copies an archive and adds to it.
func rezip(t testing.TB, path string, change func(*zip.Writer)) string {
	t.Helper()
	in, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, f := range in.File {
		if err := w.Copy(f); err != nil {
			t.Fatal(err)
		}
	}
	change(w)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return write(t, "changed.xlsx", b.String())
}

// Wells that share a key are refused, both, and their parts come back once; a
// well whose own row is broken takes its parts with it.
func TestKeysThatDoNotHold(t *testing.T) {
	path := write(t, "w.csv", "k,number\nA,1\nA,2\nB,3,x\nC,4\n,5\n")
	strata := write(t, "s.csv", "k,top_m,bottom_m,description\nA,0,5,clay\nB,0,5,sand\nC,0,5,till\n,0,5,peat\n")
	m := mapping(t, `{"role":"wells","key":"k","columns":[{"column":"number","field":"number"}]},{"sheet":"strata","role":"strata","key":"k","columns":[{"column":"top_m","field":"strata.top"},{"column":"bottom_m","field":"strata.bottom"},{"column":"description","field":"strata.description"}]}`)
	rows, s := openAll(t, path, importer.Options{Mapping: m, With: []importer.Beside{{Sheet: "strata", Path: strata}}})
	var got []string
	for i := range rows {
		r := &rows[i]
		got = append(got, fmt.Sprintf("%s %d beside %d: %s", r.Sheet, r.Line, len(r.Beside), told(r)))
	}
	want := []string{
		` 2 beside 1: column "k": "A" stands in 2 rows of the wells (2, 3) (give each well a key of its own, in the other tables too)`,
		` 3 beside 0: column "k": "A" stands in 2 rows of the wells (2, 3) (give each well a key of its own, in the other tables too)`,
		` 4 beside 1: has 3 fields where the header names 2 (put a text that holds ',' between quotes)`,
		` 5 beside 1: `, ` 6 beside 0: `,
		`strata 5 beside 0: column "k" is empty: it does not say which well the row belongs to (write the well's key there)`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("rows (-want +got):\n%s", diff)
	}
	if got, want := s.Tables()[1], (importer.PartTally{Sheet: "strata", Role: importer.StrataRows, Rows: 4, WithWell: 3, Alone: 1}); got != want {
		t.Errorf("counted %+v", got)
	}
}
