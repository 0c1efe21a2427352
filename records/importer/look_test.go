package importer_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/importer"
)

// write writes a file into a folder of the test's own.
func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// guesses are the fields that a look guesses, with unit, datum and order.
func guesses(s *importer.SheetLook) map[string]string {
	out := make(map[string]string)
	for _, c := range s.Columns {
		out[c.Name] = strings.TrimSpace(strings.Join([]string{c.Field, c.Unit, c.Datum, c.Order}, " "))
	}
	return out
}

func TestLookAtTable(t *testing.T) {
	text := "Wells of the invented township\n\n" +
		"WELL ID;X NAD83;Y NAD83;TD (ft);DTB;SWL;GPM;Date Drilled;Owner Name;Junk\n" +
		"A-1;-118,5;59,25;305;40;12;<1;6/7/2004;Ann Example;q\n" +
		"A-2;-118,6;59,26;205;30;10;5;6/17/2004;Ben Example;r\n"
	l, err := importer.LookAt(write(t, "w.csv", text), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Sheets) != 1 || l.Format != importer.CSV || l.Encoding != importer.UTF8 {
		t.Fatalf("%+v", l)
	}
	s := &l.Sheets[0]
	if s.Delimiter != ";" || s.Header != 2 || s.Looked != 2 || !s.Whole || s.Role != importer.Wells {
		t.Errorf("%+v", s)
	}
	want := map[string]string{"WELL ID": "number", "X NAD83": "lon  NAD83", "Y NAD83": "lat  NAD83", "TD (ft)": "total_depth ft",
		"DTB": "depth_to_bedrock ft", "SWL": "static_level ft", "GPM": "yield gpm", "Date Drilled": "completed   mdy", "Owner Name": "owner.name", "Junk": ""}
	if diff := cmp.Diff(want, guesses(s)); diff != "" {
		t.Errorf("guessed (-want +got):\n%s", diff)
	}
	// What was guessed reads the file.
	m := importer.Guess(l)
	again, err := importer.ReadMapping(m.JSON())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(m, again); diff != "" {
		t.Errorf("written and read again (-want +got):\n%s", diff)
	}
	rows, err := readAll(t, text, importer.Options{Mapping: again})
	if err != nil || len(rows) != 2 || rows[0].Refused() || rows[1].Refused() {
		t.Fatalf("%d rows, %v: %v", len(rows), err, rows[0].Faults)
	}
	const first = `{"number":"A-1","coordinates_given":"-118.5, 59.25","datum":"NAD83","owner":{"name":"Ann Example"},"completed":"2004-06-07","total_depth_m":92.964,"total_depth_given":"305","total_depth_given_unit":"ft","depth_to_bedrock_m":12.192,"depth_to_bedrock_given":"40","depth_to_bedrock_given_unit":"ft","static_level_m":3.6576,"static_level_given":"12","static_level_given_unit":"ft","yield_lps":0.0630901964,"yield_qualifier":"less_than","yield_given":"<1","yield_given_unit":"gpm","Junk":"q"}`
	if diff := cmp.Diff(first, properties(rows[0].Well)); diff != "" {
		t.Errorf("properties (-want +got):\n%s", diff)
	}
}

func writeTo(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// csvText writes a value as a cell of a table with semicolons.
func csvText(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case time.Time:
		return v.Format("2006-01-02")
	case string:
		if strings.ContainsAny(v, ";\"\n") {
			return `"` + strings.ReplaceAll(v, `"`, `""`) + `"`
		}
		return v
	}
	return fmt.Sprint(v)
}
