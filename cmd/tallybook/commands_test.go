package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// commands are the names of all commands, from the program itself.
func commands() []string {
	var out []string
	for i := range reflect.TypeFor[program]().NumField() {
		f := reflect.TypeFor[program]().Field(i)
		if _, ok := f.Tag.Lookup("cmd"); ok {
			out = append(out, strings.ToLower(f.Name))
		}
	}
	return out
}

func TestEveryCommandTeaches(t *testing.T) {
	if len(commands()) < 9 {
		t.Fatalf("only %v", commands())
	}
	for _, name := range commands() {
		r := must(t, name, "--help")
		if _, example, ok := strings.Cut(r.out, "Example"); !ok || !strings.Contains(example, "tallybook "+name) {
			t.Errorf("%s --help shows no example of itself:\n%s", name, r.out)
		}
	}
	for _, args := range [][]string{{}, {"--help"}} {
		r := must(t, args...)
		for _, name := range commands() {
			if !strings.Contains(r.out, name) {
				t.Errorf("%v does not name %s", args, name)
			}
		}
	}
	if r := must(t, "--version"); !strings.Contains(r.out, version) {
		t.Errorf("--version prints %q", r.out)
	}
}

func TestExitCodes(t *testing.T) {
	want := map[records.Code]int{records.Internal: 1, records.Invalid: 2, records.NotFound: 4, records.Conflict: 5,
		records.Busy: 6, records.TooLarge: 7, records.Forbidden: 8}
	for _, c := range records.Codes() {
		code, ok := want[c]
		if !ok {
			t.Errorf("no exit code is agreed for %v", c)
			continue
		}
		var b strings.Builder
		if got := report(t.Context(), fmt.Errorf("outer: %w", records.Errorf(c, "what happened")), &b); got != code {
			t.Errorf("%v ends with %d, want %d", c, got, code)
		}
		if !strings.Contains(b.String(), "what happened") {
			t.Errorf("%v says %q", c, b.String())
		}
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	for _, c := range []struct {
		ctx  context.Context
		err  error
		code int
		says string
	}{
		{t.Context(), nil, 0, ""},
		{t.Context(), errPartial, 3, ""},
		{t.Context(), errors.New("a bug"), 1, "a bug"},
		{stopped, context.Canceled, 130, "interrupted; nothing was taken in"},
		{stopped, errors.Join(errors.New("read"), context.Canceled), 130, "interrupted"},
		{stopped, errOutputCut, 130, "not whole"},
		{stopped, records.WrapError(records.Internal, context.Canceled, "it could not be taken out"), 1, "could not be taken out"},
		{stopped, nil, 0, ""},
	} {
		var b strings.Builder
		if got := report(c.ctx, c.err, &b); got != c.code || !strings.Contains(b.String(), c.says) || (c.says == "") != (b.String() == "") {
			t.Errorf("%v ends with %d and says %q", c.err, got, b.String())
		}
	}
}

func TestImportCountsItsRows(t *testing.T) {
	db := filepath.Join(t.TempDir(), "county.db")
	r := must(t, "import", "--db", db, file(t, "a.ndjson", wells(30)))
	if r.lastLine() != "30 read, 30 accepted, 0 of them with warnings, 0 refused" {
		t.Errorf("the last line is %q", r.lastLine())
	}
	source := file(t, "b.ndjson", well(100, "")+"\n"+strings.Replace(well(101, ""), "44.0450", "144.0450", 1)+"\n"+well(3, "")+"\n")
	refused := filepath.Join(t.TempDir(), "refused.ndjson")
	r = do(t, "import", "--db", db, "--refused", refused, source)
	if r.code != exitPartial || r.lastLine() != "3 read, 2 accepted, 0 of them with warnings, 1 refused" {
		// The third is the third of the first file, under another file's name:
		// a record of its own.
		t.Errorf("ends with %d and %q\n%s", r.code, r.lastLine(), r.err)
	}
	if !strings.Contains(r.err, "line 2, row 2: refused: ") {
		t.Errorf("it says %q", r.err)
	}
	var reason struct {
		Row, Line int
		Reasons   []struct{ Field, Message, Mend string }
		Raw       string
	}
	if err := json.Unmarshal([]byte(read(t, refused)), &reason); err != nil || reason.Line != 2 || len(reason.Reasons) == 0 || !strings.Contains(reason.Raw, "144.0450") {
		t.Errorf("%v: %s", err, read(t, refused))
	}
	// Mended, the refused rows go in by themselves.
	mended := file(t, "mended.ndjson", strings.Replace(read(t, refused+".rows"), "144.0450", "44.0450", 1))
	if r := must(t, "import", "--db", db, mended); r.lastLine() != "1 read, 1 accepted, 0 of them with warnings, 0 refused" {
		t.Errorf("mended: %q", r.lastLine())
	}
	must(t, "check", "--db", db)
}

func TestOnlySomeRowsAreTold(t *testing.T) {
	bad := strings.Repeat(`{"type":"Feature","geometry":{"type":"Point","coordinates":[500,44]},"properties":{}}`+"\n", 500)
	r := do(t, "import", "--db", filepath.Join(t.TempDir(), "c.db"), "--format", "geojson", file(t, "a.ndjson", bad))
	if n := strings.Count(r.err, "\n"); r.code != exitPartial || n > 30 {
		t.Errorf("ends with %d and %d lines on the terminal: %s", r.code, n, r.err)
	}
	if !strings.HasSuffix(r.lastLine(), "500 refused") {
		t.Errorf("%q", r.lastLine())
	}
}

// TestExportGivesBackWhatCameIn, to the digit: 12.50 stays 12.50, and what the
// model has no place for comes back too.
func TestExportGivesBackWhatCameIn(t *testing.T) {
	digits := []string{
		`{"type":"Feature","id":"a-1","geometry":{"type":"Point","coordinates":[-40.10000,44.2500000001]},"properties":{"number":"0071","total_depth_ft":203.50,"yield_gpm":"<1","our_code":{"b":[1,2.50,null]}}}`,
		`{"type":"Feature","id":7,"geometry":null,"properties":{"number":"ü 2","static_level_m":-0.30,"remarks":"flowing"}}`,
	}
	db := filepath.Join(t.TempDir(), "county.db")
	must(t, "import", "--db", db, file(t, "a.ndjson", strings.Join(digits, "\n")))
	r := must(t, "export", "--db", db)
	var out struct{ Features []json.RawMessage }
	if err := json.Unmarshal([]byte(r.out), &out); err != nil || len(out.Features) != 2 {
		t.Fatalf("%v: %s", err, r.out)
	}
	for i, want := range digits {
		got := string(out.Features[i])
		for _, part := range [][]string{
			{`"id":"a-1"`, `-40.10000`, `44.2500000001`, `"0071"`, `203.50`, `"<1"`, `{"b":[1,2.50,null]}`},
			{`"id":7`, `"geometry":null`, `"ü 2"`, `-0.30`, `"flowing"`},
		}[i] {
			if !strings.Contains(strings.ReplaceAll(got, " ", ""), strings.ReplaceAll(part, " ", "")) {
				t.Errorf("%s has lost %s of %s", got, part, want)
			}
		}
	}
	// Into another database and out again it is the same to the byte.
	again := filepath.Join(t.TempDir(), "again.db")
	must(t, "import", "--db", again, file(t, "out.geojson", r.out))
	if diff := cmp.Diff(r.out, must(t, "export", "--db", again).out); diff != "" {
		t.Errorf("the second round differs:\n%s", diff)
	}
}

func TestExportForms(t *testing.T) {
	db := county(t, 100)
	dir := t.TempDir()
	for _, c := range []struct {
		name  string
		lines int
		words string
	}{
		{"a.geojson", -1, `"FeatureCollection"`}, {"a.ndjson", 100, `{"type":"Feature"`}, {"a.csv", 101, "number,"},
	} {
		r := must(t, "export", "--db", db, "--out", filepath.Join(dir, c.name))
		if r.out != "" || !strings.Contains(r.err, "100 wells written") {
			t.Errorf("%s: prints %q, %q", c.name, r.out, r.err)
		}
		text := read(t, filepath.Join(dir, c.name))
		if n := strings.Count(text, "\n"); c.lines >= 0 && n != c.lines || !strings.Contains(text, c.words) {
			t.Errorf("%s: %d lines, begins %.80q", c.name, n, text)
		}
		// What was exported can be taken in.
		back := filepath.Join(t.TempDir(), "back.db")
		if r := must(t, "import", "--db", back, filepath.Join(dir, c.name)); !strings.HasPrefix(r.lastLine(), "100 read, 100 accepted") {
			t.Errorf("%s taken in again: %s\n%s", c.name, r.lastLine(), r.err)
		}
	}
	onlyHolds(t, dir, "a.geojson", "a.ndjson", "a.csv")
	if r := must(t, "export", "--db", db, "--out", "-"); strings.Count(r.out, `"Feature"`) != 100 {
		t.Error("--out - does not write to standard output")
	}
}

func TestExportBox(t *testing.T) {
	db := county(t, 100)
	for _, c := range []struct {
		box  string
		want int
	}{
		{"-180,-90,180,90", 100},
		{"-40,44,-39.7,44.0045", 20},
		{"-40,44,-39.988,44.009", 4},
		{"10,44,20,45", 0},
		{"170,-10,-170,90", 0},
		{"-41,43,180,45", 100},
	} {
		r := must(t, "export", "--db", db, "--bbox="+c.box)
		if n := strings.Count(r.out, `"type":"Feature"`); n != c.want {
			t.Errorf("%s gives %d wells, want %d", c.box, n, c.want)
		}
	}
	for _, box := range []string{"1,2,3", "a,b,c,d", "-40,45,-39,44", "-400,44,-39,45", "NaN,1,2,3", ""} {
		if r := do(t, "export", "--db", db, "--bbox="+box); box != "" && (r.code != exitUsage || !strings.Contains(r.err, "--bbox")) {
			t.Errorf("--bbox %q ends with %d and says %q", box, r.code, r.err)
		}
	}
}

func TestImportTable(t *testing.T) {
	table := "NO;X;Y;TD;ROCK;Q;NOTE\nA1;-40.1;44.1;200;12.5;5;\"deep; dry\"\nA2;-40.2;44.2;100;>50;<1;\n"
	db := filepath.Join(t.TempDir(), "county.db")
	r := must(t, "import", "--db", db, "--col", "well_number=NO", "--col", "lon=X", "--col", "lat=Y", "--col", "total_depth=TD", "--unit", "total_depth=ft",
		"--col", "depth_to_bedrock=ROCK", "--unit", "depth_to_bedrock=ft", "--col", "yield=Q", "--unit", "yield=gpm", file(t, "a.csv", table))
	if !strings.HasPrefix(r.lastLine(), "2 read, 2 accepted") {
		t.Fatalf("%s\n%s", r.out, r.err)
	}
	out := must(t, "export", "--db", db).out
	for _, part := range []string{`"number":"A1"`, `"total_depth_m":60.96,"total_depth_given":"200","total_depth_given_unit":"ft"`, `"depth_to_bedrock_m":3.81`,
		`"depth_to_bedrock_m":15.24,"depth_to_bedrock_qualifier":"greater_than","depth_to_bedrock_given":">50"`, `"yield_lps":0.315450982`, `"yield_qualifier":"less_than"`, `"NOTE":"deep; dry"`} {
		if !strings.Contains(out, part) {
			t.Errorf("%s is not in %s", part, out)
		}
	}
	for _, c := range []struct {
		args  []string
		words string
	}{
		{[]string{"--col", "total_depth=NOWHERE"}, "NOWHERE"},
		{[]string{"--col", "total_deth=TD"}, "total_deth"},
		{[]string{"--col", "total_depth=TD", "--unit", "total_depth=furlong"}, "furlong"},
		{[]string{"--col", "total_depth"}, "total_depth"},
		{[]string{"--unit", "yield=gpm"}, "yield"},
	} {
		other := filepath.Join(t.TempDir(), "other.db")
		r := do(t, append(append([]string{"import", "--db", other}, c.args...), file(t, "a.csv", table))...)
		if r.code != exitUsage || !strings.Contains(r.err, c.words) {
			t.Errorf("%v ends with %d and says %q", c.args, r.code, r.err)
		}
		if _, err := os.Stat(other); err == nil {
			t.Errorf("%v made a database", c.args)
		}
	}
}

func TestSurfaceFiles(t *testing.T) {
	db := county(t, 200)
	dir := t.TempDir()
	asc := filepath.Join(dir, "rock.asc")
	r := must(t, "surface", "--db", db, "--method", "idw", "--grid", "9x7", "--bbox=-40.02,43.98,-39.7,44.12", "--crs", "EPSG:32624", "--out", asc)
	if !strings.Contains(r.out, "9 x 7 nodes") {
		t.Errorf("it says %q", r.out)
	}
	lines := strings.Split(strings.TrimSpace(read(t, asc)), "\n")
	head := map[string]float64{}
	for i := range 6 {
		f := strings.Fields(lines[i])
		v, err := strconv.ParseFloat(f[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		head[strings.ToLower(f[0])] = v
	}
	if head["ncols"] != 9 || head["nrows"] != 7 || len(strings.Fields(strings.Join(lines[len(lines)-7:], " "))) != 63 {
		t.Errorf("header %v and %d lines", head, len(lines))
	}
	if !strings.HasPrefix(read(t, filepath.Join(dir, "rock.prj")), `PROJCS["WGS 84 / UTM zone 24N"`) {
		t.Error("the .prj does not say which coordinates")
	}
	for _, more := range [][]string{{}, {"--contours"}, {"--show", "chance", "--reach", "10"}, {"--field", "yield", "--method", "idw", "--everywhere"}} {
		out := filepath.Join(dir, "s.geojson")
		must(t, append([]string{"surface", "--db", db, "--grid", "12x10", "--out", out}, more...)...)
		var fc struct {
			Type     string
			Features []struct {
				Geometry   struct{ Type string }
				Properties map[string]any
			}
		}
		if err := json.Unmarshal([]byte(read(t, out)), &fc); err != nil || fc.Type != "FeatureCollection" || len(fc.Features) == 0 {
			t.Errorf("%v: %v, %d features", more, err, len(fc.Features))
		}
	}
	tif := filepath.Join(dir, "rock.tif")
	must(t, "surface", "--db", db, "--method", "idw", "--grid", "9x7", "--bbox=-40.02,43.98,-39.7,44.12", "--crs", "EPSG:32624", "--out", tif)
	sameGridAs(t, []byte(read(t, tif)), strings.Fields(strings.Join(lines[len(lines)-7:], " ")))
	onlyHolds(t, dir, "rock.asc", "rock.prj", "rock.tif", "s.geojson")
	for _, c := range []struct {
		args  []string
		code  int
		words string
	}{
		{[]string{"--grid", "9"}, exitUsage, "200x150"},
		{[]string{"--grid", "-9x7"}, exitUsage, "grid"},
		{[]string{"--grid", "20000x20000"}, exitTooLarge, "parts"},
		{[]string{"--grid", "9x7", "--out", filepath.Join(dir, "a.png")}, exitUsage, ".tif"},
		{[]string{"--grid", "9x7", "--crs", "EPSG:27700"}, exitUsage, "27700"},
		{[]string{"--grid", "9x7", "--crs", "UTM"}, exitUsage, "EPSG:"},
		{[]string{"--grid", "9x7", "--bbox=400000,4900000,410000,4910000"}, exitUsage, "--crs"},
		{[]string{"--grid", "9x7", "--method", "idw", "--power=-1"}, exitUsage, "power"},
		{[]string{"--grid", "9x7", "--method", "idw", "--neighbours=-1"}, exitUsage, "neighbours"},
		{[]string{"--grid", "9x7", "--method", "magic"}, exitUsage, "neighbours"},
		{[]string{"--grid", "9x7", "--field", "depth"}, exitUsage, "depth_to_bedrock"},
	} {
		args := append([]string{"surface", "--db", db}, c.args...)
		if !strings.Contains(strings.Join(args, " "), "--out") {
			args = append(args, "--out", filepath.Join(dir, "bad.asc"))
		}
		if r := do(t, args...); r.code != c.code || !strings.Contains(r.err, c.words) {
			t.Errorf("%v ends with %d and says %q", c.args, r.code, r.err)
		}
	}
	onlyHolds(t, dir, "rock.asc", "rock.prj", "rock.tif", "s.geojson")
}

func TestScoutAnswers(t *testing.T) {
	db := county(t, 400)
	r := must(t, "scout", "--db", db, "--at", "44.05 -39.9", "--json")
	var a scoutAnswer
	d := json.NewDecoder(strings.NewReader(r.out))
	d.DisallowUnknownFields()
	if err := d.Decode(&a); err != nil {
		t.Fatal(err)
	}
	if a.Lat != 44.05 || a.Lon != -39.9 || len(a.Nearest) != 12 || len(a.Fields) != 3 || a.Caution == "" {
		t.Errorf("%+v", a)
	}
	for _, f := range a.Fields {
		if f.Median == nil || f.Low == nil || f.High == nil || *f.Low > *f.Median || *f.Median > *f.High || len(f.Dots) != 20 || f.Voters == 0 || f.Verdict == "" {
			t.Errorf("%+v", f)
		}
	}
	text := must(t, "scout", "--db", db, "--at", `44°03'00"N 39°54'00"W`).out
	for _, words := range []string{"Depth to sound bedrock", "Yield", "Total depth", "8 in 10 between", caution} {
		if !strings.Contains(text, words) {
			t.Errorf("%q is not in\n%s", words, text)
		}
	}
	near := must(t, "scout", "--db", db, "--at", "44.05 -39.9", "--near", "septic_tank,80,NE", "--near", "overhead line,5m,300").out
	for _, words := range []string{"septic tank (paced off NE), 80 ft", "go and look", "kill without being touched", "no table of local rules"} {
		if !strings.Contains(near, words) {
			t.Errorf("%q is not in\n%s", words, near)
		}
	}
	if r := do(t, "scout", "--db", db, "--at", "44.05 -39.9", "--near", "septic_tank,80"); r.code != exitUsage || !strings.Contains(r.err, "KIND,DISTANCE,DIRECTION") {
		t.Errorf("--near without a direction ends with %d and says %q", r.code, r.err)
	}
	for _, at := range []string{"", "somewhere", "95 200", "44.05"} {
		if r := do(t, "scout", "--db", db, "--at", at); r.code != exitUsage {
			t.Errorf("--at %q ends with %d and says %q", at, r.code, r.err)
		}
	}
	if r := do(t, "scout", "--db", county(t, 0), "--at", "44.05 -39.9"); r.code != exitNotFound {
		t.Errorf("without wells it ends with %d and says %q", r.code, r.err)
	}
}

func TestScoreAnswers(t *testing.T) {
	db := county(t, 300)
	for _, by := range []string{"site", "block"} {
		r := must(t, "score", "--db", db, "--field", "depth_to_bedrock", "--by", by, "--json")
		var a scoreAnswer
		if err := json.Unmarshal([]byte(r.out), &a); err != nil {
			t.Fatal(err)
		}
		if a.By != by || a.Unit != "m" || len(a.Methods) < 3 {
			t.Errorf("%+v", a)
		}
		if r2 := must(t, "score", "--db", db, "--field", "depth_to_bedrock", "--by", by, "--json"); r2.out != r.out {
			t.Error("the same data give other numbers")
		}
		for _, m := range a.Methods {
			if m.Tested == 0 || m.MAE == nil || m.RMSE == nil || *m.MAE < 0 || *m.RMSE < *m.MAE-1e-12 {
				t.Errorf("%s: %+v", by, m)
			}
		}
	}
	if out := must(t, "score", "--db", db, "--units", "us").out; !strings.Contains(out, "ft") || !strings.Contains(out, "neighbours") {
		t.Errorf("the table:\n%s", out)
	}
	if r := do(t, "score", "--db", county(t, 2)); r.code != exitUsage || !strings.Contains(r.err, "too few wells") {
		t.Errorf("two wells: ends with %d and says %q", r.code, r.err)
	}
}

func TestLayerCommand(t *testing.T) {
	db := county(t, 3)
	roads := file(t, "roads.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Mill Lane"},"geometry":{"type":"LineString","coordinates":[[-40,44],[-39.9,44.1]]}}]}`)
	if r := must(t, "layer", "--db", db, "--name", "Roads", "--kind", "road", roads); !strings.Contains(r.out, `"Roads" added`) {
		t.Errorf("it says %q", r.out)
	}
	for _, c := range []struct {
		source string
		code   int
	}{{filepath.Join(t.TempDir(), "none"), exitNotFound}, {t.TempDir(), exitUsage}, {file(t, "x", "roads"), exitUsage}} {
		if r := do(t, "layer", "--db", db, "--name", "x", c.source); r.code != c.code {
			t.Errorf("%s ends with %d and says %q", c.source, r.code, r.err)
		}
	}
}

// TestWhatIsNotUnderstoodIsNamed: a misspelt column is kept, and somebody has
// to notice.
func TestWhatIsNotUnderstoodIsNamed(t *testing.T) {
	db := filepath.Join(t.TempDir(), "c.db")
	r := must(t, "import", "--db", db, file(t, "a.csv", "number,lon,lat,Depht (ft)\n1,-40,44,200\n2,-40,44.1,\n"))
	if !strings.Contains(r.out, `not understood: "Depht (ft)" (1 row)`) && !strings.Contains(r.out, `not understood: "Depht (ft)" (2 rows)`) {
		t.Errorf("it says %q", r.out)
	}
	r = must(t, "import", "--db", db, file(t, "a.ndjson", well(0, `"depth":5`)+"\n"+well(1, `"depth":5,"q":1`)))
	if !strings.Contains(r.out, `not understood: "depth" (2 rows), "q" (1 row)`) || !strings.HasPrefix(r.lastLine(), "2 read") {
		t.Errorf("it says %q", r.out)
	}
	if r := must(t, "import", "--db", db, file(t, "b.ndjson", well(2, ""))); strings.Contains(r.out, "note") {
		t.Errorf("all is understood, and it says %q", r.out)
	}
	var many []string
	for i := range 30 {
		many = append(many, fmt.Sprintf(`"x%02d":1`, i))
	}
	if r := must(t, "import", "--db", db, file(t, "c.ndjson", well(3, strings.Join(many, ",")))); len(r.out) > 600 || !strings.Contains(r.out, "and more") {
		t.Errorf("it says %q", r.out)
	}
}

// TestOneWellAlone: what cannot be said of it is said to be so.
func TestOneWellAlone(t *testing.T) {
	db := filepath.Join(t.TempDir(), "c.db")
	must(t, "import", "--db", db, file(t, "a.ndjson", `{"type":"Feature","geometry":{"type":"Point","coordinates":[-40,44]},"properties":{"total_depth_m":50}}`))
	r := must(t, "scout", "--db", db, "--at", "44 N 40 W")
	for _, words := range []string{"1 well within", "Depth to sound bedrock\n  no located well says anything of it", "fewer than 100 wells"} {
		if !strings.Contains(r.out, words) {
			t.Errorf("%q is not in\n%s", words, r.out)
		}
	}
	if r := do(t, "surface", "--db", db, "--field", "total_depth", "--grid", "5x5", "--out", filepath.Join(t.TempDir(), "a.asc")); r.code != exitUsage || !strings.Contains(r.err, "--bbox") {
		t.Errorf("surface ends with %d and says %q", r.code, r.err)
	}
	if r := must(t, "check", "--db", db); !strings.HasPrefix(r.lastLine(), "1 record checked, 0 problems, ") {
		t.Errorf("check says %q", r.out)
	}
}

// A correction is seen, made, listed and undone; a rule that makes no sense is
// refused before anything is looked at.
func TestCorrectMany(t *testing.T) {
	db := county(t, 40)
	const rule = `{"choose": {"lacks": "land_use"}, "rule": {"kind": "text", "field": "land_use", "from": "", "to": "pasture"}}`
	if out := must(t, "correct", "--db", db, rule).out; !strings.Contains(out, "40 looked at, 40 meant, 40 would change") || !strings.Contains(out, "land_use: nothing, to be pasture") {
		t.Errorf("it says %s", out)
	}
	if out := must(t, "correct", "--db", db).out; !strings.Contains(out, "no correction was made") {
		t.Errorf("looking has changed something: %s", out)
	}
	if out := must(t, "correct", "--db", db, "--apply", "--why", "all of it is", rule).out; !strings.Contains(out, "correction 1: 40 records changed") {
		t.Errorf("it says %s", out)
	}
	if out := must(t, "find", "--db", db, "pasture", "--limit", "3").out; !strings.Contains(out, "3 of 40 records") {
		t.Errorf("what was written is not found: %s", out)
	}
	if out := must(t, "correct", "--db", db, "--undo", "1").out; !strings.Contains(out, "40 records as before, 0 left") {
		t.Errorf("it says %s", out)
	}
	if r := do(t, "find", "--db", db, "pasture"); r.code != exitNotFound {
		t.Errorf("after undo it is found: %d, %s", r.code, r.out)
	}
	const some = "number IN ('%s', 'none & <none>')"
	first := strings.Fields(must(t, "correct", "--db", db, rule).out)[0]
	filter := fmt.Sprintf(some, first)
	if out := must(t, "correct", "--db", db, "--apply", "--filter", filter, rule).out; !strings.Contains(out, "1 looked at, 1 meant, 1 would change") {
		t.Errorf("with a filter it says %s", out)
	}
	if out := must(t, "correct", "--db", db).out; !strings.Contains(out, `"filter":"`+filter+`"`) {
		t.Errorf("the list does not tell the filter: %s", out)
	}
	for want, args := range map[string][]string{
		"the filter at character 1": {"--filter", "gold > 3", rule},
		"give the correction too":   {"--filter", filter},
		"has a filter already":      {"--filter", filter, `{"choose": {"filter": "yield_lps > 1"}, ` + rule[strings.Index(rule, `"rule"`):]},
	} {
		if r := do(t, append([]string{"correct", "--db", db}, args...)...); r.code != exitUsage || !strings.Contains(r.err, want) {
			t.Errorf("%v ends with %d and says %s", args, r.code, r.err)
		}
	}
	if r := do(t, "correct", "--db", db, `{"rule": {"kind": "multiply"}}`); r.code != exitUsage || !strings.Contains(r.err, "unit, datum, text or material") {
		t.Errorf("a rule that is none ends with %d and says %s", r.code, r.err)
	}
	must(t, "check", "--db", db)
}
