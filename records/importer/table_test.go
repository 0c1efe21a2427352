package importer_test

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/importer"
)

func properties(w *records.Well) string {
	c := *w
	c.UID = ""
	return string(c.AppendProperties(nil, records.WriteOptions{Private: true}))
}

func TestTableRows(t *testing.T) {
	type options = importer.Options
	for name, c := range map[string]struct {
		text string
		o    options
		want string // properties of the first row
		id   string
		lon  string
	}{
		"profile names": {"id,lon,lat,depth_to_bedrock_m\n17,-118.98879,59.57018,214.480\n", options{},
			`{"depth_to_bedrock_m":214.480}`, "17", "-118.98879"},
		"identifier with zeros": {"id,number\n007,7\n", options{}, `{"number":"7"}`, `"007"`, ""},
		"mapped, in feet": {"Well,Rock (ft)\nA-1,<62\n", options{Columns: map[string]string{"number": "Well", "depth_to_bedrock": "rock (FT)"}},
			`{"number":"A-1","depth_to_bedrock_m":18.8976,"depth_to_bedrock_qualifier":"less_than","depth_to_bedrock_given":"<62","depth_to_bedrock_given_unit":"ft"}`, "", ""},
		"unit asked for": {"w,y\nA,30+\n", options{Columns: map[string]string{"yield": "y"}, Units: map[string]string{"yield": "L/min"}},
			`{"yield_lps":0.5,"yield_qualifier":"greater_than","yield_given":"30+","yield_given_unit":"L/min","w":"A"}`, "", ""},
		"quotes inside":       {"number,remarks\nA,62'6\" to rock\n", options{}, `{"number":"A","remarks":"62'6\" to rock"}`, "", ""},
		"quoted":              {"number,remarks\n\"A, \"\"B\"\"\", \"two\nlines\"\n", options{}, `{"number":"A, \"B\"","remarks":"two\nlines"}`, "", ""},
		"semicolons, commas":  {"number;lon;lat;total_depth_m\nA;-118,5;59,25;62,5\n", options{}, `{"number":"A","total_depth_m":62.5,"total_depth_given":"62,5"}`, "", "-118.5"},
		"tabs":                {"number\ttotal_depth_m\nA\t5\n", options{}, `{"number":"A","total_depth_m":5}`, "", ""},
		"sep hint":            {"sep=|\nnumber|a,b\nA|x,y\n", options{}, `{"number":"A","a,b":"x,y"}`, "", ""},
		"byte-order mark":     {"\ufeffnumber,x\r\nA,1\r\n", options{}, `{"number":"A","x":"1"}`, "", ""},
		"carriage returns":    {"number,x\rA,1\rB,2\r", options{}, `{"number":"A","x":"1"}`, "", ""},
		"groups and lists":    {"crew.driller,casing.to_ft,casing.diameter_in,owner,plate\nD,40,10,O,P-1\n", options{}, `{"owner":{"name":"O"},"crew":{"driller":"D"},"casing":[{"to_m":12.192,"to_given":"40","to_given_unit":"ft","diameter_mm":254,"diameter_given":"10","diameter_given_unit":"in"}]}`, "", ""},
		"names in the way":    {"number,strata,plates\nA,clay,2\n", options{}, `{"number":"A","strata_column":"clay","plates_column":"2"}`, "", ""},
		"extra column":        {"number,extra\nA,\"{\"\"x\"\":1.50}\"\n", options{}, `{"number":"A","x":1.50}`, "", ""},
		"dates by order":      {"number,completed\nA,6/7/2004\n", options{Units: map[string]string{"completed": "dmy"}}, `{"number":"A","completed":"2004-07-06"}`, "", ""},
		"dates in words":      {"number,completed\nA,15 June 2004\n", options{}, `{"number":"A","completed":"2004-06-15"}`, "", ""},
		"degrees and minutes": {"number,coordinates\nA,45°15'N 110°30'W\n", options{}, `{"number":"A","coordinates_given":"45°15'N 110°30'W"}`, "", ""},
		"UTM":                 {"number,easting,northing,utm_zone\nA,627106,4484124,18N\n", options{}, `{"number":"A","coordinates_given":"18N 627106 4484124"}`, "", ""},
		"flags":               {"number,counts_for_yield\nA,Y\n", options{}, `{"number":"A","counts_for_yield":true}`, "", ""},
		"missing":             {"number,total_depth_m,yield_lps\nA,n/a,\n", options{}, `{"number":"A"}`, "", ""},
		"dry":                 {"number,yield_gpm\nA,dry\n", options{}, `{"number":"A","yield_lps":0,"yield_given":"dry","yield_given_unit":"gpm"}`, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			rows, err := readAll(t, c.text, c.o)
			if err != nil || len(rows) == 0 {
				t.Fatalf("%d rows, %v", len(rows), err)
			}
			r := rows[0]
			if r.Refused() {
				t.Fatalf("refused: %v", r.Faults)
			}
			if diff := cmp.Diff(c.want, properties(r.Well)); diff != "" {
				t.Errorf("properties (-want +got):\n%s", diff)
			}
			if r.Well.Provenance.SourceID != c.id || r.Well.Place.LonText != c.lon {
				t.Errorf("id %s, lon %s", r.Well.Provenance.SourceID, r.Well.Place.LonText)
			}
			if strings.Contains(c.want, "coordinates_given") && !r.Well.Place.Located {
				t.Error("not located")
			}
			if name == "groups and lists" && (len(r.Plates) != 1 || r.Plates[0].Number != "P-1" || r.Plates[0].UID == "") {
				t.Errorf("plates %+v", r.Plates)
			}
		})
	}
}

func TestBadTables(t *testing.T) {
	type options = importer.Options
	for name, c := range map[string]struct {
		text string
		o    options
		want want
	}{
		"no header":         {"1,2,3\n4,5,6\n", options{}, want{err: "put a header above it"}},
		"column twice":      {"a,b,a\n1,2,3\n", options{}, want{err: `columns 1 and 3 are both named "a"`}},
		"unknown field":     {"a,b\n1,2\n", options{Columns: map[string]string{"depth_to_bedrok": "a"}}, want{err: "did you mean depth_to_bedrock"}},
		"unknown column":    {"Depth,b\n1,2\n", options{Columns: map[string]string{"total_depth": "Dept"}}, want{err: `did you mean Depth? There are: Depth, b`}},
		"unknown unit":      {"d,b\n1,2\n", options{Columns: map[string]string{"total_depth": "d"}, Units: map[string]string{"total_depth": "furlong"}}, want{err: "use one of m, ft"}},
		"unit of no column": {"a,b\n1,2\n", options{Units: map[string]string{"yield": "gpm"}}, want{err: "which no column holds"}},
		"units at odds":     {"d_ft,b\n1,2\n", options{Columns: map[string]string{"total_depth": "d_ft"}, Units: map[string]string{"total_depth": "m"}}, want{err: "says ft"}},
		"column for two":    {"d,b\n1,2\n", options{Columns: map[string]string{"total_depth": "d", "yield": "d"}}, want{err: "asked to give two fields"}},
		"field by two":      {"a,b\n1,2\n", options{Columns: map[string]string{"total_depth_m": "a", "total_depth_ft": "b"}}, want{err: "given by two columns"}},
		"not a table":       {point("{}"), options{Units: map[string]string{"yield": "gpm"}}, want{err: "it is GeoJSON"}},
		"header alone":      {"number,x\n", options{}, want{}},
		"quote in header":   {"number,\"x\n", options{}, want{err: "not closed"}},

		"too few":           {"number,x\nA\nB,2\n", options{}, want{rows: 2, refused: 1, faults: []string{"has 1 field where the header names 2"}}},
		"too many":          {"number,x\nA,1,2\nB,2\n", options{}, want{rows: 2, refused: 1, faults: []string{"has 3 fields"}}},
		"empty fields":      {"number,x\n,\nB,2\n", options{}, want{rows: 2, refused: 1, faults: []string{"all of its fields are empty"}}},
		"open quote":        {"number,x\n\"A,1\nB,2\nC,3\n", options{}, want{rows: 3, refused: 1, faults: []string{"not closed"}}},
		"open quote meets":  {"number,x\n\"A,1\nB,\"2\"\nC,3\n", options{}, want{rows: 3, refused: 1, faults: []string{"not closed"}}},
		"after the quote":   {"number,x\n\"A\"b,1\nB,2\n", options{}, want{rows: 2, refused: 1, faults: []string{"follows the closing quotation mark"}}},
		"not a number":      {"number,total_depth_m\nA,deep\n", options{}, want{rows: 1, refused: 1, faults: []string{`total_depth_m: "deep"`}}},
		"named by column":   {"number,Deep\nA,-3\n", options{Columns: map[string]string{"total_depth": "Deep"}}, want{rows: 1, refused: 1, faults: []string{`column "Deep"`}}},
		"NaN":               {"number,lon,lat\nA,NaN,NaN\n", options{}, want{rows: 1, refused: 1}},
		"swapped":           {"lon,lat,x\n45.25,-110.5,1\n", options{}, want{rows: 1, refused: 1, faults: []string{"look swapped"}}},
		"lon alone":         {"lon,lat,x\n45.25,,1\n", options{}, want{rows: 1, refused: 1, faults: []string{"without the other"}}},
		"ambiguous date":    {"number,completed\nA,6/7/2004\n", options{}, want{rows: 1, refused: 1, faults: []string{"two ways", "completed=ymd, mdy or dmy"}}},
		"two-digit year":    {"number,completed\nA,6/7/04\n", options{}, want{rows: 1, refused: 1, faults: []string{"four digits"}}},
		"unreadable place":  {"number,coordinates\nA,by the oak\n", options{}, want{rows: 1, refused: 1, faults: []string{"by the oak"}}},
		"Latin-1":           {"number,remarks\nA,M\xe4rgel\n", options{}, want{rows: 1, faults: []string{"read as Windows-1252"}}},
		"Latin-1, said so":  {"number,remarks\nA,M\xe4rgel\n", options{Encoding: importer.Windows1252}, want{rows: 1}},
		"Latin-1, not UTF8": {"number,remarks\nA,M\xe4rgel\n", options{Encoding: importer.UTF8}, want{rows: 1, refused: 1, faults: []string{"is not UTF-8"}}},
		"10 MB":             {"number,remarks\nA," + strings.Repeat("x", 10<<20) + "\nB,2\n", options{}, want{rows: 2, refused: 1, faults: []string{"more than 4194304"}}},
		"20 MB":             {"number,remarks\nA," + strings.Repeat("x", 20<<20) + "\nB,2\n", options{}, want{rows: 2, refused: 1, faults: []string{"20971522 bytes"}}},
	} {
		t.Run(name, func(t *testing.T) {
			check(t, c.text, c.o, c.want)
		})
	}
}

func TestTableNotesUnitsTakenForGranted(t *testing.T) {
	s, err := importer.NewSource(strings.NewReader("number,bedrock\nA,5\n"), importer.Options{Columns: map[string]string{"depth_to_bedrock": "bedrock"}})
	if err != nil {
		t.Fatal(err)
	}
	if notes := strings.Join(s.Notes(), "\n"); !strings.Contains(notes, "read as m") {
		t.Errorf("notes: %q", notes)
	}
	s, err = importer.NewSource(strings.NewReader("total_depth_m,total_depth_ft\n1,2\n"), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if notes := strings.Join(s.Notes(), "\n"); !strings.Contains(notes, `"total_depth_ft" says total_depth, which is read from "total_depth_m"`) {
		t.Errorf("notes: %q", notes)
	}
}

func TestOpenTellsWhatIsWrongWithTheFile(t *testing.T) {
	if _, err := importer.Open(t.TempDir()+"/none.csv", importer.Options{}); records.CodeOf(err) != records.NotFound {
		t.Errorf("absent file: %v", err)
	}
	if _, err := importer.Open(t.TempDir(), importer.Options{}); records.CodeOf(err) != records.Invalid {
		t.Errorf("folder: %v", err)
	}
	path := t.TempDir() + "/x.csv"
	if err := os.WriteFile(path, []byte("number\nA\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := importer.Open(path, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Next(t.Context()); err != nil {
		t.Fatal(err)
	}
	if read, size := s.Done(); read != 9 || size != 9 {
		t.Errorf("done %d of %d", read, size)
	}
}
