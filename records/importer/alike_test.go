package importer_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"tallybook/records/importer"
)

// flatTable is an invented table of wells whose letters Latin-1 has.
func flatTable() [][]any {
	rows := [][]any{{"Well No", "Lon", "Lat", "TD_ft", "Yield_gpm", "Completed", "Owner", "Remarks"}}
	for i := range 60 {
		row := []any{fmt.Sprintf("C-%03d", i), -118.5 - float64(i)/128, 59 + float64(i)/64, 100 + i, []any{"<1", 5.5, "50+", "dry", 0.1}[i%5],
			day(1960+i, 1+i%12, 1+i%28), "Zoë Müller & fils", "62'6\" to \"hardpan\"; gravé, ½ inch"}
		if i%7 == 0 {
			row[6] = nil
		}
		rows = append(rows, row)
	}
	return rows
}

// flatText is the table as text with a delimiter.
func flatText(delimiter string) string {
	var b strings.Builder
	for _, cells := range flatTable() {
		for i, v := range cells {
			if i > 0 {
				b.WriteString(delimiter)
			}
			text := csvText(v)
			if s, is := v.(string); is && strings.ContainsAny(s, `;,"`) {
				text = `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
			}
			b.WriteString(text)
		}
		b.WriteString("\r\n")
	}
	return b.String()
}

// flatMapping is the same for every form of the table: what it means is said
// once.
func flatMapping(t testing.TB) *importer.Mapping {
	t.Helper()
	m, err := importer.ReadMapping([]byte(`{"version":1,"sheets":[{"role":"wells","columns":[
		{"column":"Well No","field":"number"},{"column":"Lon","field":"lon"},{"column":"Lat","field":"lat"},
		{"column":"TD_ft","field":"total_depth","unit":"ft"},{"column":"Yield_gpm","field":"yield","unit":"gpm"},
		{"column":"Completed","field":"completed"},{"column":"Owner","field":"owner.name"},{"column":"Remarks","field":"remarks"}]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// flatRecords reads a form of the table: every record with its position.
func flatRecords(t testing.TB, path string) (out []string) {
	t.Helper()
	rows, _ := openAll(t, path, importer.Options{Mapping: flatMapping(t)})
	for i := range rows {
		r := &rows[i]
		if r.Refused() {
			t.Fatalf("%s: row %d: %s", path, r.Number, told(r))
		}
		out = append(out, fmt.Sprint(r.Well.Place.Lon, " ", r.Well.Place.Lat, " ", properties(r.Well)))
	}
	return out
}

// The same table is read alike from every encoding, from every delimiter and
// from a workbook that a library wrote which is not ours.
func TestFormsReadAlike(t *testing.T) {
	text := flatText(",")
	latin1, err := charmap.ISO8859_1.NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	utf16, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	want := flatRecords(t, write(t, "w.csv", text))
	if len(want) != 60 || !strings.Contains(want[1], `"remarks":"62'6\" to \"hardpan\"; gravé, ½ inch"`) || !strings.Contains(want[1], `"completed":"1961-02-02"`) {
		t.Fatalf("%d records; the second is %s", len(want), want[1])
	}
	for name, form := range map[string]string{
		"utf-8 with a mark": "\ufeff" + text, "latin-1": latin1, "utf-16": utf16,
		"semicolons": flatText(";"), "tabs": flatText("\t"), "bars": flatText("|"), "line feeds alone": strings.ReplaceAll(text, "\r\n", "\n"),
	} {
		if diff := cmp.Diff(want, flatRecords(t, write(t, "w.csv", form))); diff != "" {
			t.Errorf("%s differs from utf-8:\n%s", name, diff)
		}
	}
	if diff := cmp.Diff(want, flatRecords(t, book(t, map[string][][]any{"Data": flatTable()}, "Data"))); diff != "" {
		t.Errorf("the workbook differs from utf-8:\n%s", diff)
	}
}

// Serial numbers of dates and what they stand for: ECMA-376 part 1, section
// 18.17.4.1 (the count from 1900, its day 60 that never was, and the count
// from 1904), by its rule and worked by hand.
func TestSerialDates(t *testing.T) {
	for _, c := range []struct {
		serial float64
		code   string
		from04 bool
		want   string
	}{
		{1, "yyyy-mm-dd", false, "1900-01-01"}, {59, "yyyy-mm-dd", false, "1900-02-28"}, {61, "yyyy-mm-dd", false, "1900-03-01"},
		{38153, "m/d/yyyy", false, "2004-06-15"}, {38153, "mmm yyyy", false, "2004-06"}, {38153, "yyyy", false, "2004"},
		{38153.5, "m/d/yy h:mm", false, "2004-06-15 12:00"}, {0, "yyyy-mm-dd", true, "1904-01-01"}, {36691, "d mmm yyyy", true, "2004-06-15"},
		{38153, `0.0" d"`, false, "38153"}, {38153, "[h]:mm", false, "38153"}, {38153, "General", false, "38153"}, {0.5, "h:mm AM/PM", false, "12:00"},
		{18.899999999999999, "0.0", false, "18.9"}, {1e-7, "General", false, "0.0000001"}, {-3, "yyyy-mm-dd", false, "-3"}, {62.5, `[$-409]#,##0.00`, false, "62.5"},
	} {
		if got := importer.SerialText(c.serial, c.code, c.from04); got != c.want {
			t.Errorf("%v shown as %q: %q, want %q", c.serial, c.code, got, c.want)
		}
	}
}
