package importer_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	wide "unicode/utf16"

	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/importer"
	"tallybook/records/recordstest"
)

// messyFile writes a messy file in the encoding of its office.
func messyFile(t testing.TB, k int, d recordstest.MessyDialect, header string, rows []recordstest.MessyRow) string {
	t.Helper()
	var b strings.Builder
	b.WriteString(header + "\n")
	for i := range rows {
		b.WriteString(rows[i].Text + "\n")
		if i%500 == 100 {
			b.WriteString("\n") // a blank line is no row
		}
	}
	text := []byte(b.String())
	switch k {
	case 1:
		var err error
		if text, err = charmap.Windows1252.NewEncoder().Bytes(text); err != nil {
			t.Fatal(err)
		}
	case 2:
		out := []byte{0xff, 0xfe}
		for _, u := range wide.Encode([]rune(b.String())) {
			out = append(out, byte(u), byte(u>>8))
		}
		text = out
	case 3:
		text = append([]byte("\ufeff"), text...)
	}
	path := filepath.Join(t.TempDir(), fmt.Sprintf("office%d.csv", k))
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// messyMapping is what the clerk knows of the file: what its columns hold and
// in which units. The order of dates, the codes for unknown and the rest are
// left to what the file itself proposes.
func messyMapping(d recordstest.MessyDialect) *importer.Mapping {
	var columns []importer.ColumnMapping
	for _, c := range recordstest.MessyColumns {
		m := importer.ColumnMapping{Column: c.Column, Field: c.Field}
		switch c.Field {
		case "total_depth", "depth_to_bedrock", "static_level", "casing.to", "log":
			m.Unit = d.Depth.Symbol()
		case "yield":
			m.Unit = d.Flow.Symbol()
		case "casing.diameter":
			m.Unit = "in"
		case "owner.name", "crew.driller", "completed":
			m.Ditto = true
		}
		columns = append(columns, m)
	}
	return oneSheet(columns...)
}

// readMessy reads a file through the pipeline.
func readMessy(t testing.TB, path string, m *importer.Mapping, fn func(*importer.Row)) *importer.Habits {
	t.Helper()
	s, err := importer.Open(path, importer.Options{Mapping: m, Validate: records.ValidateOptions{Today: records.Date{Year: 2026, Month: 1, Day: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := importer.Pipeline(t.Context(), s, runtime.GOMAXPROCS(0), func(r *importer.Row) error { fn(r); return nil }); err != nil {
		t.Fatal(err)
	}
	return s.Habits()
}

// differences says in what an accepted record differs from what was meant,
// beyond the rounding of figures.
func differences(got, want *records.Well, logRead bool) []string {
	var out []string
	say := func(what string, g, w any) { out = append(out, fmt.Sprintf("%s: %+v, meant %+v", what, g, w)) }
	text := func(what, g, w string) {
		if g != w {
			say(what, g, w)
		}
	}
	text("number", got.Number, want.Number)
	text("permit", got.PermitNumber, want.PermitNumber)
	text("owner", got.Owner.Name, want.Owner.Name)
	text("driller", got.Crew.Driller, want.Crew.Driller)
	text("remarks", got.Remarks, want.Remarks)
	text("completed", got.Completed.String(), want.Completed.String())
	// Seconds are written to a hundredth: 3e-6 degrees.
	if g, w := got.Place, want.Place; g.Located != w.Located || math.Abs(g.Lon-w.Lon) > 5e-6 || math.Abs(g.Lat-w.Lat) > 5e-6 {
		say("place", g, w)
	}
	out = append(out, amountDiffers("total depth", got.TotalDepth, want.TotalDepth)...)
	out = append(out, amountDiffers("bedrock", got.Bedrock, want.Bedrock)...)
	out = append(out, amountDiffers("static level", got.StaticLevel, want.StaticLevel)...)
	out = append(out, amountDiffers("yield", got.Yield, want.Yield)...)
	if len(got.Casing) != 1 {
		say("casing", got.Casing, want.Casing)
	} else {
		out = append(out, amountDiffers("casing to", got.Casing[0].To, want.Casing[0].To)...)
		out = append(out, amountDiffers("casing diameter", got.Casing[0].Diameter, want.Casing[0].Diameter)...)
	}
	if !logRead && len(got.Strata) > 0 || len(got.Strata) > 0 && len(got.Strata) != len(want.Strata) {
		say("strata", got.Strata, want.Strata)
		return out
	}
	for i := range got.Strata {
		g, w := &got.Strata[i], &want.Strata[i]
		text("stratum", g.Description, w.Description)
		out = append(out, amountDiffers("top", g.Top, w.Top)...)
		out = append(out, amountDiffers("bottom", g.Bottom, w.Bottom)...)
	}
	for i := range got.Strikes {
		if len(got.Strikes) != len(want.Strikes) {
			say("strikes", got.Strikes, want.Strikes)
			break
		}
		out = append(out, amountDiffers("strike", got.Strikes[i].Depth, want.Strikes[i].Depth)...)
		out = append(out, amountDiffers("strike's flow", got.Strikes[i].Flow, want.Strikes[i].Flow)...)
	}
	return out
}

func amountDiffers[T ~float64](what string, g, w records.Amount[T]) []string {
	near := func(a, b T) bool { return math.Abs(float64(a-b)) <= 1e-9*math.Max(1, math.Abs(float64(b))) }
	if g.Qualifier == w.Qualifier && near(g.Value, w.Value) && near(g.High, w.High) {
		return nil
	}
	return []string{fmt.Sprintf("%s: %+v, meant %+v", what, g, w)}
}

// Rows whose intended values can be told from the file and its mapping are
// accepted, none with another value than was meant; every refusal names what
// the generator did.
func TestMessyRows(t *testing.T) {
	each := 10000
	if testing.Short() {
		each = 500
	}
	var mendable, accepted, refused, logs, logsRead int
	for k, d := range recordstest.MessyDialects() {
		header, rows := recordstest.Messy(uint64(4+k), each, d)
		path := messyFile(t, k, d, header, rows)
		m := messyMapping(d)
		habits := readMessy(t, path, m, func(*importer.Row) {})
		for _, p := range habits.Proposals {
			p.Apply(&m.Sheets[0])
		}
		in, told := 0, 0
		readMessy(t, path, m, func(r *importer.Row) {
			in++
			if r.Number > int64(len(rows)) {
				return
			}
			row := &rows[r.Number-1]
			if row.Mendable {
				mendable++
			}
			complain := func(format string, args ...any) {
				if told++; told <= 15 {
					t.Errorf("%s, row %d %v\n%q\n%s\n%s", d.Name, r.Number, row.Done, row.Text, fmt.Sprintf(format, args...), faults(r))
				}
			}
			if !r.Refused() {
				accepted++
				if row.Truth == nil {
					complain("accepted, and it holds no whole well")
					return
				}
				if ds := differences(r.Well, row.Truth, row.LogRead); len(ds) > 0 {
					complain("accepted with other values: %s", strings.Join(ds, "; "))
				}
				if row.LogRead {
					logs++
					if len(r.Well.Strata) > 0 {
						logsRead++
					}
				}
				return
			}
			refused++
			said := faults(r)
			if causes := row.Causes(); len(causes) > 0 && !slices.ContainsFunc(causes, func(c string) bool { return strings.Contains(said, c) }) {
				complain("refused for another cause than %q", causes)
			}
			if row.Mendable && os.Getenv("TALLYBOOK_MESSY") != "" {
				t.Logf("%s, row %d %v is refused: %q\n%s", d.Name, r.Number, row.Done, row.Text, said)
			}
		})
		if in != len(rows) {
			t.Errorf("%s: %d rows came in, %d were written", d.Name, in, len(rows))
		}
	}
	t.Logf("%d rows: %d accepted, %d refused; %d mendable; %d of %d logs read", 4*each, accepted, refused, mendable, logsRead, logs)
	if accepted+refused != 4*each {
		t.Errorf("%d accepted and %d refused are not %d", accepted, refused, 4*each)
	}
	if float64(accepted) < 0.97*float64(mendable) {
		t.Errorf("%d of %d mendable rows were accepted", accepted, mendable)
	}
	if float64(logsRead) < 0.97*float64(logs) {
		t.Errorf("%d of %d plain logs were read", logsRead, logs)
	}
}

// Whatever the bytes, rows = accepted + refused, each refusal has its reason,
// and nothing panics.
func TestMessyBytes(t *testing.T) {
	d := recordstest.MessyDialects()[0]
	header, rows := recordstest.Messy(9, 60, d)
	path := filepath.Join(t.TempDir(), "bytes.csv")
	m := messyMapping(d)
	rapid.Check(t, func(rt *rapid.T) {
		var b bytes.Buffer
		b.WriteString(header + "\n")
		for range rapid.IntRange(0, 8).Draw(rt, "pieces") {
			if rapid.Bool().Draw(rt, "whole") {
				b.WriteString(rows[rapid.IntRange(0, len(rows)-1).Draw(rt, "row")].Text + "\n")
				continue
			}
			text := []byte(rows[rapid.IntRange(0, len(rows)-1).Draw(rt, "row")].Text)
			at := rapid.IntRange(0, len(text)).Draw(rt, "at")
			b.Write(text[:at])
			b.Write(rapid.SliceOfN(rapid.Byte(), 0, 20).Draw(rt, "bytes"))
			b.Write(text[at:])
		}
		if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
			rt.Fatal(err)
		}
		s, err := importer.Open(path, importer.Options{Mapping: m})
		if err != nil {
			if records.CodeOf(err) != records.Invalid {
				rt.Fatal(err)
			}
			return
		}
		defer s.Close()
		read, taken, kept := 0, 0, 0
		err = importer.Pipeline(t.Context(), s, 1, func(r *importer.Row) error {
			read++
			if !r.Refused() {
				taken++
				return nil
			}
			kept++
			if !records.Refuses(r.Faults) {
				rt.Fatalf("row %d is refused without a reason: %q", r.Number, r.Raw)
			}
			return nil
		})
		if err != nil && records.CodeOf(err) != records.Invalid {
			rt.Fatal(err)
		}
		if read != taken+kept {
			rt.Fatalf("%d rows, %d accepted, %d refused", read, taken, kept)
		}
	})
}

// BenchmarkMessyRows reads ten thousand rows of each office, surveying each
// file first, as an intake does.
func BenchmarkMessyRows(b *testing.B) {
	var paths []string
	var maps []*importer.Mapping
	n := 0
	for k, d := range recordstest.MessyDialects() {
		header, rows := recordstest.Messy(uint64(4+k), 10000, d)
		paths, maps = append(paths, messyFile(b, k, d, header, rows)), append(maps, messyMapping(d))
		n += len(rows)
	}
	for b.Loop() {
		for k := range paths {
			readMessy(b, paths[k], maps[k], func(*importer.Row) {})
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
