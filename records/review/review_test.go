package review_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
	"tallybook/records/lithology"
	"tallybook/records/recordstest"
	"tallybook/records/review"
)

func answer() *review.Answer {
	return &review.Answer{Part: "years", Figures: []review.Figure{{Name: "dated", Value: review.I(12)}, {Name: "median_m", Value: review.N(3.5), More: true}},
		Tables: []review.Table{{Name: "years", Columns: []string{"first_year", "what", "median_m"}, Rows: [][]review.Cell{{review.I(1990), review.T("=1"), review.N(2.25)}, {review.I(1991), {}, review.N(math.NaN())}}}}}
}

func TestDocumentReadsBack(t *testing.T) {
	from := 1990.0
	d := &review.Document{Format: review.Format, Title: "A", Settings: &review.Settings{Quantity: "yield", Units: "si", DrilledFrom: &from, PairsWithinM: 30, Parts: map[string]string{"structure.model": "spherical"},
		Where: &review.Where{Outline: []byte(`{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}`)}}, Data: review.Data{Wells: 3}, Answers: []*review.Answer{answer()}}
	text, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	got, err := review.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if diff := review.Compare(d.Answers, got.Answers); len(diff) > 0 {
		t.Error(diff)
	}
	if got.Settings.Key("years") != d.Settings.Key("years") || got.Settings.Key("structure") == got.Settings.Key("years") || got.Settings.Part("structure", "model", "") != "spherical" {
		t.Error("the settings changed")
	}
	again, err := got.Bytes()
	if err != nil || string(again) != string(text) {
		t.Errorf("written again it differs: %v", err)
	}
	for name, text := range map[string]string{
		"no JSON":         "{",
		"another format":  `{"format":"x","settings":{}}`,
		"no settings":     `{"format":"tallybook review 1"}`,
		"no quantity":     `{"format":"tallybook review 1","settings":{"quantity":"gold"}}`,
		"an empty answer": `{"format":"tallybook review 1","settings":{},"answers":[null]}`,
		"a part twice":    `{"format":"tallybook review 1","settings":{},"answers":[{"part":"x"},{"part":"x"}]}`,
		"no part":         `{"format":"tallybook review 1","settings":{},"answers":[{}]}`,
		"a ragged table":  `{"format":"tallybook review 1","settings":{},"answers":[{"part":"x","tables":[{"name":"y","columns":["a"],"rows":[[1,2]]}]}]}`,
		"a cell of lists": `{"format":"tallybook review 1","settings":{},"answers":[{"part":"x","figures":[{"name":"y","value":[]}]}]}`,
		"off the earth":   `{"format":"tallybook review 1","settings":{"where":{"box":[0,0,999,1]}}}`,
		"a wide circle":   `{"format":"tallybook review 1","settings":{"where":{"centre":[0,0],"radius_m":1e9}}}`,
	} {
		if _, err := review.Parse([]byte(text)); records.CodeOf(err) != records.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCompareNamesTheFirstDifference(t *testing.T) {
	for want, change := range map[string]func(a *review.Answer){
		"years, dated: 12 before, 13 now":                          func(a *review.Answer) { a.Figures[0].Value = review.I(13) },
		"years, median_m: more than 3.5 before, 3.5 now":           func(a *review.Answer) { a.Figures[1].More = false },
		"years, years, row 1, median_m: 2.25 before, 2.26 now":     func(a *review.Answer) { a.Tables[0].Rows[0][2] = review.N(2.26) },
		"years, years, row 2, what: nothing before, x now":         func(a *review.Answer) { a.Tables[0].Rows[1][1] = review.T("x") },
		"years, years, number of rows: 2 before, 1 now":            func(a *review.Answer) { a.Tables[0].Rows = a.Tables[0].Rows[:1] },
		"years, its tables: years before, nothing now":             func(a *review.Answer) { a.Tables = nil },
		"years, whether it can be said: nothing before, a few now": func(a *review.Answer) { a.TooFew = "a few" },
		"": func(a *review.Answer) { a.Tables[0].Rows[0][2] = review.N(2.25 * (1 + 1e-12)) }, // another processor's last digit
	} {
		a := answer()
		change(a)
		d := review.Compare([]*review.Answer{answer()}, []*review.Answer{a})
		switch {
		case want == "" && len(d) == 0:
		case len(d) != 1 || d[0].String() != want:
			t.Errorf("%v, want %q", d, want)
		}
	}
	if d := review.Compare([]*review.Answer{answer()}, nil); len(d) != 1 || d[0].Is != "" {
		t.Errorf("a part gone: %v", d)
	}
}

func TestTableGuardsFormulas(t *testing.T) {
	var b strings.Builder
	if err := answer().Tables[0].WriteCSV(&b); err != nil || b.String() != "first_year,what,median_m\n1990,'=1,2.25\n1991,,\n" {
		t.Errorf("%q %v", b.String(), err)
	}
}

// One hole of 100 m: clay to 20, granite below, strikes of 1 L/s at 18 and 0.5
// more at 60, as running totals. A dry one of 40 m in granite from 10. One that
// gave water and says not where. Worked by hand.
func TestLogsAreCounted(t *testing.T) {
	hole := func(uid string, depth float64, strata ...records.Stratum) *records.Well {
		return &records.Well{UID: uid, TotalDepth: records.Of(records.Depth(depth)), Strata: strata}
	}
	layer := func(top, bottom float64, code string) records.Stratum {
		return records.Stratum{Top: records.Of(records.Depth(top)), Bottom: records.Of(records.Depth(bottom)), Material: code}
	}
	wet := hole("a", 100, layer(0, 20, "clay"), layer(20, 100, "granite"))
	wet.StrikesAs = "running_total"
	wet.Strikes = []records.Strike{{Depth: records.Of(records.Depth(18)), Flow: records.Of(records.Flow(1))}, {Depth: records.Of(records.Depth(60)), Flow: records.Of(records.Flow(1.5))}}
	wet.Yield = records.Of(records.Flow(1.5))
	dry := hole("b", 40, layer(10, 40, "granite"))
	dry.Yield = records.Of(records.Flow(0))
	silent := hole("c", 70)
	silent.Yield = records.Of(records.Flow(2))
	set := &review.Settings{Units: "si"}
	set.Defaults()
	read := func(order ...*records.Well) *review.Logs {
		r := review.NewLogReader(set, lithology.Default())
		for _, w := range order {
			r.Add(w)
		}
		return r.Logs()
	}
	l, turned := read(wet, dry, silent), read(silent, dry, wet)
	if l.Records != 3 || l.Strikes != 1 || l.Dry != 1 || l.Silent != 1 || l.NoDepth != 0 || l.Vague != 0 {
		t.Errorf("%+v", l)
	}
	if l.Digest != turned.Digest || l.Digest == read(wet, dry).Digest {
		t.Error("the fingerprint hangs on the order, or on nothing")
	}
	for code, want := range map[string]review.Told{
		"clay":    {Wells: 1, DrilledM: 20, Strikes: 1, GainLps: 1},
		"granite": {Wells: 2, DrilledM: 110, Strikes: 1, GainLps: 0.5},
	} {
		if got := l.Ground(code); got != want {
			t.Errorf("%s: %+v, want %+v", code, got, want)
		}
	}
	parts := read(silent, wet)
	parts.Take(read(dry))
	if diff := cmp.Diff(l, parts, cmpopts.IgnoreUnexported(review.Logs{})); diff != "" || parts.Ground("granite") != l.Ground("granite") || parts.Stretch(1) != l.Stretch(1) {
		t.Errorf("counted in two parts:\n%s", diff)
	}
	// Stretches are 15 m: 15 to 30 m was drilled by both, 60 to 75 by one.
	for k, want := range map[int]review.Told{
		1: {Wells: 2, DrilledM: 30, Strikes: 1, GainLps: 1},
		2: {Wells: 2, DrilledM: 25},
		4: {Wells: 1, DrilledM: 15, Strikes: 1, GainLps: 0.5},
		6: {Wells: 1, DrilledM: 10},
	} {
		if got := l.Stretch(k); got != want {
			t.Errorf("stretch %d: %+v, want %+v", k, got, want)
		}
	}
	full := read(recordstest.Full(), recordstest.Plain(), &records.Well{})
	if full.Records != 3 || full.NoDepth == 0 {
		t.Errorf("%+v", full)
	}
}

func FuzzParse(f *testing.F) {
	d := &review.Document{Format: review.Format, Settings: &review.Settings{Quantity: "yield", Units: "us", PairsWithinM: 3}, Answers: []*review.Answer{answer()}}
	text, err := d.Bytes()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(`{"format":"tallybook review 1","settings":{"where":{"outline":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}}}}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		d, err := review.Parse(text)
		if err != nil {
			return
		}
		out, err := d.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		again, err := review.Parse(out)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v\n%s", err, out)
		}
		if diff := review.Compare(d.Answers, again.Answers); len(diff) > 0 {
			t.Fatal(diff)
		}
	})
}

func FuzzParseOutline(f *testing.F) {
	for _, s := range []string{
		`{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]],[[0.1,0.1],[0.2,0.1],[0.2,0.2],[0.1,0.1]]]}`,
		`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"MultiPolygon","coordinates":[[[[0,0,5],[1,0],[1,1],[0,0]]]]}}]}`,
		`{"type":"GeometryCollection","geometries":[{"type":"Polygon","coordinates":[[[0]]]}]}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		shape, err := review.ParseOutline(text)
		if err != nil {
			if records.CodeOf(err) != records.Invalid {
				t.Fatalf("no word for a person: %v", err)
			}
			return
		}
		if len(shape) == 0 {
			t.Fatal("an outline of nothing")
		}
	})
}
