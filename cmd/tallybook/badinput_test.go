package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestBadSources: a source that cannot be understood at all is refused with
// what, where and how to mend it, and no database is made.
func TestBadSources(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "folder"), 0o700); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, text string
		code       int
		words      []string // all of them
	}{
		{"missing", "", exitNotFound, []string{"there is no file", "missing"}},
		{"folder", "", exitUsage, []string{"is a folder", "name a file in it"}},
		{"empty.geojson", "", exitUsage, []string{"is empty"}},
		{"prose.txt", "Dear Sir\nthe well is deep.\n", exitUsage, []string{"Dear Sir", "none of the columns", "say which column holds what"}},
		{"zip.geojson", "PK\x03\x04\x14\x00\x00\x00", exitUsage, []string{"zip.geojson", "not GeoJSON or CSV"}},
		{"binary.csv", "a,b\n1,\x00\x00\x00", exitUsage, []string{"not text"}},
		{"broken.geojson", `{"type":"FeatureCollection","features":[` + well(0, "") + `,{"type":"Fea`, exitUsage, []string{"line 1", "ends inside feature 2", "fetch or write it again"}},
		{"topology.json", `{"type":"Topology","objects":{}}`, exitUsage, []string{"line 1", `"Topology", not a FeatureCollection`, "give each well as"}},
		{"numbers.csv", "1,2,3\n4,5,6\n", exitUsage, []string{"header"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			source := filepath.Join(dir, c.name)
			if c.text != "" || strings.HasPrefix(c.name, "empty") {
				if err := os.WriteFile(source, []byte(c.text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			folder := t.TempDir()
			r := do(t, "import", "--db", filepath.Join(folder, "c.db"), source)
			if r.code != c.code {
				t.Errorf("ends with %d, want %d", r.code, c.code)
			}
			for _, w := range c.words {
				if !strings.Contains(r.err, w) {
					t.Errorf("it does not say %q: %s", w, r.err)
				}
			}
			if r.out != "" {
				t.Errorf("it prints %q", r.out)
			}
			if _, err := os.Stat(filepath.Join(folder, "c.db")); err == nil {
				if n := strings.Count(must(t, "export", "--db", filepath.Join(folder, "c.db")).out, `"Feature"`); n > 0 {
					t.Errorf("%d wells were taken in", n)
				}
				must(t, "check", "--db", filepath.Join(folder, "c.db"))
			}
		})
	}
}

// TestBadRows: a row that is wrong is refused by its line with its field, and
// its neighbours go in.
func TestBadRows(t *testing.T) {
	feature := func(coordinates, properties string) string {
		return `{"type":"Feature","geometry":{"type":"Point","coordinates":` + coordinates + `},"properties":{` + properties + `}}`
	}
	for _, c := range []struct {
		name, row string
		refused   bool
		words     string
	}{
		{"not JSON", `{"type":"Feature",`, true, "line 2"},
		{"wrong geometry", `{"type":"Feature","geometry":{"type":"LineString","coordinates":[[-40,44],[-41,44]]},"properties":{}}`, true, "geometry"},
		{"swapped", feature("[44,-140]", ""), true, "swapped"},
		{"out of range", feature("[-400,44]", ""), true, "longitude"},
		{"projected", feature("[500000,4900000]", ""), true, "longitude"},
		{"NaN", feature("[NaN,44]", ""), true, "line 2"},
		{"too large a number", feature("[-40,44]", `"total_depth_m":1e400`), true, "total_depth_m"},
		{"a negative depth", feature("[-40,44]", `"total_depth_m":-5`), true, "total_depth_m"},
		{"a negative depth to bedrock", feature("[-40,44]", `"depth_to_bedrock_m":-5`), true, "depth_to_bedrock_m"},
		{"overlapping strata", feature("[-40,44]", `"strata":[{"top_m":0,"bottom_m":5,"description":"sand"},{"top_m":4,"bottom_m":9,"description":"granite"}]`), true, "strata[1]"},
		{"an upside-down stratum", feature("[-40,44]", `"strata":[{"top_m":5,"bottom_m":1,"description":"sand"}]`), true, "strata[0]"},
		{"10 MB in one string", feature("[-40,44]", `"remarks":"`+strings.Repeat("x", 10<<20)+`"`), true, "line 2"},
		{"deep nesting", feature("[-40,44]", `"own":`+strings.Repeat("[", 5000)+strings.Repeat("]", 5000)), true, "line 2"},
		{"a text for a depth", feature("[-40,44]", `"total_depth_m":"deep"`), true, "total_depth_m"},
		{"one depth in two units", feature("[-40,44]", `"total_depth_m":10,"total_depth_ft":10`), true, "total_depth"},
		{"a date that is none", feature("[-40,44]", `"completed":"2004-02-31"`), true, "completed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			db := filepath.Join(t.TempDir(), "c.db")
			r := do(t, "import", "--db", db, file(t, "a.ndjson", well(0, "")+"\n"+c.row+"\n"+well(1, "")+"\n"))
			refused, accepted, code := 0, 3, exitOK
			if c.refused {
				refused, accepted, code = 1, 2, exitPartial
			}
			if r.code != code || !strings.HasPrefix(r.lastLine(), fmt.Sprintf("3 read, %d accepted", accepted)) || !strings.HasSuffix(r.lastLine(), fmt.Sprintf("%d refused", refused)) {
				t.Errorf("ends with %d and %q\n%.500s", r.code, r.lastLine(), r.err)
			}
			if !strings.Contains(r.err, c.words) {
				t.Errorf("it does not say %q: %.500s", c.words, r.err)
			}
			if len(r.err) > 4000 {
				t.Errorf("it prints %d bytes", len(r.err))
			}
			must(t, "check", "--db", db)
		})
	}
}

// TestTextsOfAllKinds: byte-order marks, carriage returns and old encodings are
// read for what they are.
func TestTextsOfAllKinds(t *testing.T) {
	table := "number,lon,lat,remarks\nA,-40,44,Grüne Wiese\nB,-40.1,44,dry\n"
	latin := strings.ReplaceAll(table, "ü", "\xfc")
	wide := func(s string) string {
		b := []byte{0xff, 0xfe}
		for _, r := range s {
			b = append(b, byte(r), byte(r>>8))
		}
		return string(b)
	}
	for _, c := range []struct{ name, text, note string }{
		{"plain.csv", table, ""},
		{"bom.csv", "\ufeff" + table, ""},
		{"crlf.csv", strings.ReplaceAll(table, "\n", "\r\n"), ""},
		{"bom-crlf.csv", "\ufeff" + strings.ReplaceAll(table, "\n", "\r\n"), ""},
		{"latin1.csv", latin, "Windows-1252"},
		{"utf16.csv", wide(table), ""},
		{"bom.ndjson", "\ufeff" + well(0, `"remarks":"Grüne Wiese"`) + "\r\n" + well(1, "") + "\r\n", ""},
		{"latin1.ndjson", well(0, "\"remarks\":\"Gr\xfcne Wiese\"") + "\n" + well(1, "") + "\n", "Windows-1252"},
	} {
		t.Run(c.name, func(t *testing.T) {
			db := filepath.Join(t.TempDir(), "c.db")
			r := do(t, "import", "--db", db, file(t, c.name, c.text))
			if r.code != exitOK || !strings.HasPrefix(r.lastLine(), "2 read, 2 accepted") {
				t.Fatalf("ends with %d and %q\n%s", r.code, r.out, r.err)
			}
			if !strings.Contains(strings.ToLower(r.err+r.out), strings.ToLower(c.note)) {
				t.Errorf("it does not say how it was read: %s%s", r.out, r.err)
			}
			if out := must(t, "export", "--db", db).out; !strings.Contains(out, "Grüne Wiese") {
				t.Errorf("the remark came back otherwise: %s", out)
			}
		})
	}
}

// TestBadDatabases: what is no database of ours is refused and left as it is.
func TestBadDatabases(t *testing.T) {
	dir := t.TempDir()
	good := county(t, 5)
	newer := county(t, 5)
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	rawSQL(t, newer, "INSERT INTO goose_db_version(version_id, is_applied) VALUES (9999, 1)")
	foreign := filepath.Join(dir, "foreign.db")
	rawSQL(t, foreign, "CREATE TABLE other(a); PRAGMA user_version = 1")
	folder := filepath.Join(dir, "folder.db")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	torn := write("torn.db", read(t, good)[:5000])
	source := file(t, "w.ndjson", wells(2))
	for _, c := range []struct {
		name, db string
		code     int
		words    string
	}{
		{"a text", write("text.db", "hello, this is a letter\n"), exitUsage, "is not a database of this program"},
		{"a long text", write("long.db", strings.Repeat("hello ", 10000)), exitUsage, "is not a database of this program"},
		{"another program's", foreign, exitUsage, "database of another program"},
		{"a newer program's", newer, exitUsage, "newer version of the program"},
		{"a folder", folder, exitUsage, "folder"},
		{"cut off", torn, exitUsage, "damaged"},
		{"in a folder that is not there", filepath.Join(dir, "none", "c.db"), exitNotFound, "none"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, _ := os.ReadFile(c.db)
			for _, args := range [][]string{
				{"import", "--db", c.db, source}, {"export", "--db", c.db}, {"check", "--db", c.db}, {"scout", "--db", c.db, "--at", "44 -40"},
				{"serve", "--db", c.db, "--addr", "127.0.0.1:0"}, {"score", "--db", c.db},
			} {
				r := do(t, args...)
				if r.code != c.code || !strings.Contains(r.err, c.words) || r.out != "" {
					t.Errorf("%s ends with %d and says %q", args[0], r.code, r.err)
				}
			}
			if after, _ := os.ReadFile(c.db); string(after) != string(before) {
				t.Error("the file was changed")
			}
		})
	}
	for _, args := range [][]string{{"export"}, {"check"}, {"score"}, {"serve", "--addr", "127.0.0.1:0"}} {
		missing := filepath.Join(dir, "missing.db")
		if r := do(t, append(args, "--db", missing)...); r.code != exitNotFound || !strings.Contains(r.err, "there is no file") {
			t.Errorf("%s of a missing file ends with %d and says %q", args[0], r.code, r.err)
		}
		if _, err := os.Stat(missing); err == nil {
			t.Errorf("%s made it", args[0])
		}
	}
	// An empty file, as touch makes one, becomes a database; nothing else does.
	empty := write("empty.db", "")
	if r := do(t, "export", "--db", empty); r.code != exitUsage {
		t.Errorf("export of an empty file ends with %d and says %q", r.code, r.err)
	}
	must(t, "import", "--db", empty, source)
}

// TestOutputsThatCannotBe: nothing is written where it cannot be, nor over what
// is read.
func TestOutputsThatCannotBe(t *testing.T) {
	db := county(t, 30)
	dir := t.TempDir()
	before := read(t, db)
	source := file(t, "w.ndjson", well(77, "")+"\n{}\n")
	link := filepath.Join(dir, "link.asc")
	if err := os.Symlink(db, link); err != nil {
		t.Fatal(err)
	}
	surface := []string{"surface", "--db", db, "--grid", "5x5", "--method", "idw", "--out"}
	for _, c := range []struct {
		name  string
		args  []string
		code  int
		words string
	}{
		{"a missing folder", []string{"export", "--db", db, "--out", filepath.Join(dir, "none", "a.geojson")}, exitNotFound, "make it first"},
		{"a folder", []string{"export", "--db", db, "--out", dir}, exitUsage, "is a folder"},
		{"the database itself", []string{"export", "--db", db, "--out", db}, exitUsage, "would write over"},
		{"a link to the database", append(surface, link), exitUsage, "would write over"},
		{"a surface in a missing folder", append(surface, filepath.Join(dir, "none", "a.asc")), exitNotFound, "make it first"},
		{"refused rows over the source", []string{"import", "--db", db, "--refused", source, source}, exitUsage, "would write over"},
		{"refused rows over the database", []string{"import", "--db", db, "--refused", db, source}, exitUsage, "would write over"},
		{"refused rows in a missing folder", []string{"import", "--db", db, "--refused", filepath.Join(dir, "none", "r"), source}, exitNotFound, "make it first"},
		{"refused rows into a folder", []string{"import", "--db", db, "--refused", dir, source}, exitUsage, "is a folder"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if r := do(t, c.args...); r.code != c.code || !strings.Contains(r.err, c.words) {
				t.Errorf("ends with %d and says %q", r.code, r.err)
			}
		})
	}
	if len(read(t, db)) != len(before) || read(t, source) != well(77, "")+"\n{}\n" {
		t.Error("a file that is read was written over")
	}
	must(t, "check", "--db", db)
	if n := strings.Count(must(t, "export", "--db", db).out, `"type":"Feature"`); n != 30 {
		t.Errorf("%d wells, want the 30 of before", n)
	}
	onlyHolds(t, dir, "link.asc")
	// A device is written to and stays one.
	must(t, "export", "--db", db, "--out", os.DevNull)
	if st, err := os.Stat(os.DevNull); err != nil || st.Mode()&os.ModeDevice == 0 {
		t.Fatalf("%s is no device any more: %v, %v", os.DevNull, st.Mode(), err)
	}
	// What was there stays when it fails, and keeps its permissions when not.
	out := filepath.Join(dir, "kept.geojson")
	if err := os.WriteFile(out, []byte("mine"), 0o640); err != nil {
		t.Fatal(err)
	}
	must(t, "export", "--db", db, "--out", out)
	if st, err := os.Stat(out); err != nil || st.Mode().Perm() != 0o640 {
		t.Errorf("permissions are now %v, %v", st.Mode(), err)
	}
	private := filepath.Join(dir, "private.geojson")
	must(t, "export", "--db", db, "--private", "--out", private)
	if st, err := os.Stat(private); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("private things may be read by others: %v, %v", st.Mode(), err)
	}
}
