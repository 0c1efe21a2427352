package records_test

import (
	"maps"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/recordstest"
)

var typedUnits = map[string]func(records.Dimension) records.Unit{
	"base": nil,
	"us": func(d records.Dimension) records.Unit {
		return map[records.Dimension]records.Unit{records.DimLength: records.Foot, records.DimDiameter: records.InchDiameter, records.DimFlow: records.GallonPerMinute, records.DimVolume: records.Gallon, records.DimPressure: records.PoundPerSquareInch, records.DimPower: records.Horsepower, records.DimDuration: records.Minute}[d]
	},
}

// A form that is sent back untouched changes nothing, to the digit, and what it
// does not show survives.
func TestTypedUntouched(t *testing.T) {
	full := recordstest.Full()
	full.Remarks, full.Strata[2].Description = "two\r\nlines", "two\nlines"
	full.TotalDepth.Given.Text = "about two hundred" // kept as it came, not understood
	full.Yield = records.Within[records.Flow](0.1, 0.25)
	full.Bedrock = records.Amount[records.Depth]{Qualifier: records.About, Value: 12.5, Given: records.Given{Text: "12.50", Unit: records.Metre}}
	full.StaticLevel = records.MoreThan[records.Depth](1.0 / 3)
	full.Rods = append(full.Rods, records.Rod{}, records.Rod{Kept: records.Kept{Extra: []records.Member{{Name: "a", JSON: "1"}}}})
	wells := []*records.Well{full, {}, recordstest.Plain()}
	for seed := range uint64(200) {
		wells = append(wells, recordstest.Random(seed))
	}
	for name, unit := range typedUnits {
		for _, private := range []bool{true, false} {
			o := records.TypedOptions{Private: private, Unit: unit}
			for i, w := range wells {
				w = copyWell(w) // as a store gives it
				want := asJSON(w)
				typed := w.Typed(o)
				lines := maps.Clone(typed) // what one-line fields do to line breaks
				for k, v := range lines {
					lines[k] = strings.ReplaceAll(v, "\n", "")
				}
				for how, form := range map[string]records.Typed{"as it is": typed, "without line breaks": lines} {
					c := copyWell(w)
					got := c.ReadTyped(form, o)
					if len(got.Faults) > 0 || asJSON(c) != want || len(records.Diff(w, c)) > 0 {
						t.Errorf("well %d, %s units, private %v, %s: %v\n%s", i, name, private, how, got.Faults, cmp.Diff(want, asJSON(c)))
					}
				}
				if _, shown := typed["owner.name"]; shown != private {
					t.Errorf("private %v, and the owner's name is in the form: %v", private, shown)
				}
			}
		}
	}
}

// Each expectation was worked by hand.
func TestReadTyped(t *testing.T) {
	o := records.TypedOptions{Private: true, Unit: typedUnits["us"]}
	for name, c := range map[string]struct {
		typed  records.Typed
		want   []records.Change
		faults []string // field in the form: message begins
	}{
		"text":         {records.Typed{"number": " B-2 "}, []records.Change{{Field: "number", Was: "T-1", Is: "B-2"}}, nil},
		"feet, inches": {records.Typed{"completed_depth": `62'6"`}, []records.Change{{Field: "completed_depth_m", Was: `61.8744 m (given as "203" ft)`, Is: `19.05 m (given as "62'6\"" ft)`}}, nil},
		"its unit":     {records.Typed{"completed_depth": "203", "completed_depth.unit": "m"}, []records.Change{{Field: "completed_depth_m", Was: `61.8744 m (given as "203" ft)`, Is: "203 m"}}, nil},
		"bound":        {records.Typed{"yield": "<1"}, []records.Change{{Field: "yield_lps", Was: `0.3785411784 L/s (given as "6" gpm)`, Is: `less than 0.0630901964 L/s (given as "<1" gpm)`}}, nil},
		"emptied":      {records.Typed{"yield": ""}, []records.Change{{Field: "yield_lps", Was: `0.3785411784 L/s (given as "6" gpm)`}}, nil},
		"no number":    {records.Typed{"yield": "lots"}, nil, []string{`yield: "lots": no number`}},
		"no unit":      {records.Typed{"yield": "5", "yield.unit": "furlong"}, nil, []string{`yield: "furlong" is not a unit`}},
		"date":         {records.Typed{"completed": "2004-06"}, []records.Change{{Field: "completed", Was: "2004-06-15", Is: "2004-06"}}, nil},
		"no date":      {records.Typed{"completed": "Juneish"}, nil, []string{"completed: date"}},
		"flag":         {records.Typed{"counts_for_yield": ""}, []records.Change{{Field: "counts_for_yield", Was: "true"}}, nil},
		"in a group":   {records.Typed{"pump.type": "jet"}, []records.Change{{Field: "pump.type", Was: "submersible", Is: "jet"}}, nil},
		"moved":        {records.Typed{"coordinates_given": "44.5, -72.25", "datum": "NAD83"}, []records.Change{{Field: "lon", Was: "-72.5", Is: "-72.25"}, {Field: "lat", Was: "44.25", Is: "44.5"}, {Field: "coordinates_given", Was: "44 15 00 N 72 30 00 W", Is: "44.5, -72.25"}}, nil},
		"no place":     {records.Typed{"coordinates_given": "behind the barn"}, nil, []string{"coordinates_given: "}},
		"on the grid of another datum": {records.Typed{"coordinates_given": "18N 627106 4484124", "datum": "NAD27"},
			[]records.Change{{Field: "datum", Was: "NAD83", Is: "NAD27"}}, []string{"coordinates_given: grid coordinates on NAD27"}},
		"on no datum that is known": {records.Typed{"coordinates_given": "44.5, -72.25", "datum": "NAD 72"},
			[]records.Change{{Field: "datum", Was: "NAD83", Is: "NAD 72"}}, []string{`datum: coordinates on "NAD 72" cannot be brought`}},
		"not there": {records.Typed{"no_such": "x", "strata[0].description": "not marked as in the form"}, nil, nil},
		"a column's unit": {records.Typed{"rods.rows": "1", "rods[0].was": "0", "rods[0].number": "1", "rods[0].from": "0", "rods[0].to": "20", "rods.to.unit": "m", "rods.from.unit": "ft", "rods[0].time": "12", "rods[0].remark": "smooth"},
			[]records.Change{{Field: "rods[0].to_m", Was: `6.096 m (given as "20" ft)`, Is: "20 m"}}, nil},
		"a row after empty ones": {records.Typed{"rods.rows": "1", "rods[0].was": "0", "rods[0].number": "", "rods[0].from": "", "rods[0].to": "", "rods[0].time": "", "rods[0].remark": "", "rods[3].from": "0", "rods[3].to": "x"},
			[]records.Change{{Field: "rods[0].number", Was: "1"}, {Field: "rods[0].to_m", Was: `6.096 m (given as "20" ft)`}, {Field: "rods[0].time_min", Was: "12 min"}, {Field: "rods[0].remark", Was: "smooth"}}, []string{`rods[3].to: "x"`}},
	} {
		t.Run(name, func(t *testing.T) {
			w := recordstest.Full()
			got := w.ReadTyped(c.typed, o)
			if diff := cmp.Diff(c.want, records.Diff(recordstest.Full(), w)); diff != "" {
				t.Errorf("changes (-want +got):\n%s", diff)
			}
			var faults []string
			for i, f := range got.Faults {
				said := got.Field(f.Field) + ": " + f.Message
				if i < len(c.faults) && strings.HasPrefix(said, c.faults[i]) {
					said = c.faults[i]
				}
				faults = append(faults, said)
			}
			if diff := cmp.Diff(c.faults, faults); diff != "" {
				t.Errorf("faults (-want +got):\n%s", diff)
			}
		})
	}
}

// Rows keep what the form does not show as they are put in another order, and
// the faults of Validate find the row of the form.
func TestReadTypedRows(t *testing.T) {
	w := recordstest.Full()
	n := len(w.Strata)
	o := records.TypedOptions{}
	typed := w.Typed(o)
	for path := range maps.Clone(typed) { // the first row goes behind all others, an empty one stands between
		if rest, ok := strings.CutPrefix(path, "strata[0]"); ok {
			typed["strata[90]"+rest] = typed[path]
			delete(typed, path)
		}
	}
	typed["strata[40].description"], typed["strata[90].bottom"] = "  ", "-3"
	got := w.ReadTyped(typed, o)
	if len(got.Faults) > 0 || len(w.Strata) != n || len(w.Strata[n-1].Extra) != 1 || w.Strata[n-1].Extra[0].Name != "sample" {
		t.Fatalf("%v %d rows, the last keeps %v", got.Faults, len(w.Strata), w.Strata[len(w.Strata)-1].Extra)
	}
	found := false
	for _, f := range w.Validate(records.ValidateOptions{}) {
		found = found || strings.HasPrefix(got.Field(f.Field), "strata[90].")
	}
	if !found {
		t.Errorf("no fault was told of the row that moved: %v", w.Validate(records.ValidateOptions{}))
	}
}

// Lists too long for a form are left out of it, and left alone.
func TestTypedLongLists(t *testing.T) {
	w := recordstest.Full()
	for range 301 {
		w.Rods = append(w.Rods, records.Rod{Number: 7})
	}
	for range 250 {
		w.Shifts, w.Strata, w.Quality = append(w.Shifts, records.Shift{Note: "x"}), append(w.Strata, records.Stratum{Description: "x"}), append(w.Quality, records.Analysis{Kind: "x"})
	}
	w = copyWell(w)
	want := asJSON(w)
	typed := w.Typed(records.TypedOptions{})
	if typed.Has("rods") || typed.Has("quality") || !typed.Has("shifts") || !typed.Has("strata") || len(typed) > 9000 {
		t.Errorf("%d fields; rods %v, quality %v, shifts %v, strata %v", len(typed), typed.Has("rods"), typed.Has("quality"), typed.Has("shifts"), typed.Has("strata"))
	}
	if r := w.ReadTyped(typed, records.TypedOptions{}); len(r.Faults) > 0 || asJSON(w) != want {
		t.Errorf("changed by its own form: %v", r.Faults)
	}
}

// NAD27: the shift is that of position.NAD27Roughly, which is checked there
// against the EPSG register; here only that it is made, and told.
func TestReadTypedOnNAD27(t *testing.T) {
	var w records.Well
	got := w.ReadTyped(records.Typed{"coordinates_given": "44.25, -72.5", "datum": "NAD27"}, records.TypedOptions{})
	if !w.Place.Located || w.Place.Lat == 44.25 || math.Abs(w.Place.Lat-44.25) > 0.001 || len(got.Faults) != 1 || got.Faults[0].Severity != records.Warning {
		t.Errorf("%+v %v", w.Place, got.Faults)
	}
	if w.Place.Given != "44.25, -72.5" || w.Place.Datum != "NAD27" {
		t.Errorf("as given: %+v", w.Place)
	}
}

// Whatever is typed, nothing panics, and what was read comes back from its own
// form as the same.
func FuzzReadTyped(f *testing.F) {
	f.Add("total_depth", `62'6"`, "strata[3].top", "<1", "ft")
	f.Add("strata[0].description", "a\r\nb", "strata.top.unit", "m", "")
	f.Add("coordinates_given", "44 15 N 72 30 W", "datum", "NAD27", "gpm")
	f.Add("quality[1].value", "1/2", "rods[999999].number", "-7", "x")
	f.Fuzz(func(t *testing.T, pathA, textA, pathB, textB, unit string) {
		o := records.TypedOptions{Private: true, Unit: typedUnits["us"]}
		w := recordstest.Full()
		typed := w.Typed(o)
		typed[pathA], typed[pathB] = textA, textB
		typed["total_depth.unit"], typed["strata.bottom.unit"] = unit, unit
		first := w.ReadTyped(typed, o)
		for _, x := range first.Faults {
			first.Field(x.Field)
		}
		want := asJSON(w)
		again := w.Typed(o)
		w.ReadTyped(again, o)
		if got := asJSON(w); got != want {
			t.Errorf("read again: %s", cmp.Diff(want, got))
		}
	})
}

// Everything of the profile but what a form leaves out has a field in it: a
// property added to the model is in the form.
func TestEveryPropertyHasAField(t *testing.T) {
	typed := recordstest.Full().Typed(records.TypedOptions{Private: true})
	for _, p := range records.Profile() {
		if p.Beside != "" || p.Type == "group" || p.Name == "uid" || strings.HasPrefix(p.Name, "provenance") || strings.HasPrefix(p.Name, "attachments") ||
			strings.HasPrefix(p.Name, "own_picks") || strings.HasPrefix(p.Name, "unreliable") {
			continue
		}
		path := p.Name
		if p.Quantity != nil {
			path = p.Quantity.Base
		}
		if p.Type == "list" {
			path += ".rows"
		}
		if _, ok := typed[strings.Replace(path, "[]", "[0]", 1)]; !ok {
			t.Errorf("no field for %s", p.Name)
		}
	}
}

func TestReadTypedTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := recordstest.Random(rapid.Uint64Range(0, 300).Draw(t, "seed"))
		o := records.TypedOptions{Private: true, Unit: typedUnits[rapid.SampledFrom([]string{"base", "us"}).Draw(t, "units")]}
		typed := w.Typed(o)
		for range rapid.IntRange(0, 4).Draw(t, "edits") {
			path := rapid.SampledFrom([]string{"total_depth", "yield", "strata[0].top", "strata[1].bottom", "strikes[0].flow", "remarks"}).Draw(t, "path")
			if _, ok := typed[path]; ok {
				typed[path] = rapid.SampledFrom([]string{"", "12", "~5", "<1", "3-5", "40 ft", "18.9m", "dry", "word"}).Draw(t, "text")
			}
		}
		w.ReadTyped(typed, o)
		want := asJSON(w)
		w.ReadTyped(w.Typed(o), o)
		if asJSON(w) != want {
			t.Fatalf("read twice: %s", cmp.Diff(want, asJSON(w)))
		}
	})
}
