package records_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func rule(t *testing.T, text string) records.Correction {
	t.Helper()
	c, err := records.ParseCorrection([]byte(text))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return c
}

func depthOf(text string, unit records.Unit) records.Amount[records.Depth] {
	a, err := records.ParseAmount(text, records.DimLength, unit)
	if err != nil {
		panic(err)
	}
	return records.Amount[records.Depth]{Qualifier: a.Qualifier, Value: records.Depth(a.Value), High: records.Depth(a.High), Given: a.Given}
}

// What was given as feet was in metres: the figures are read anew, to the digit,
// bounds too. A text that bears its own unit cannot have been meant in another.
func TestCorrectAUnit(t *testing.T) {
	c := rule(t, `{"rule": {"kind": "unit", "field": "total_depth", "from": "ft", "to": "m"}}`)
	for text, want := range map[string]string{"93": "93", "<62.50": "<62.50", "100+": "100+", "0": ""} {
		w := &records.Well{TotalDepth: depthOf(text, records.Foot)}
		did, faults := c.Rule.Apply(w)
		if want == "" {
			if did || len(faults) > 0 {
				t.Errorf("%q: %v, %v; a depth of nothing is nothing in every unit", text, did, faults)
			}
			continue
		}
		if !did || len(faults) > 0 || w.TotalDepth.Given.Unit != records.Metre || w.TotalDepth != depthOf(want, records.Metre) {
			t.Errorf("%q became %+v, %v", text, w.TotalDepth, faults)
		}
	}
	for _, text := range []string{"62'6\"", "60 to 70", "93 ft"} {
		w := &records.Well{TotalDepth: depthOf(text, records.Foot)}
		was := *w
		if did, faults := c.Rule.Apply(w); did || !records.Refuses(faults) || cmp.Diff(w.TotalDepth, was.TotalDepth) != "" {
			t.Errorf("%q: %v, %v, %+v", text, did, faults, w.TotalDepth)
		}
	}
	w := &records.Well{TotalDepth: depthOf("93", records.Metre)}
	if did, _ := c.Rule.Apply(w); did {
		t.Error("what was given in metres was changed")
	}
	in := rule(t, `{"rule": {"kind": "unit", "field": "strata.top", "from": "m", "to": "ft"}}`)
	w = &records.Well{Strata: []records.Stratum{{Top: depthOf("0", records.Metre), Bottom: depthOf("3", records.Metre)}, {Top: depthOf("3", records.Metre)}}}
	if did, faults := in.Rule.Apply(w); !did || len(faults) > 0 || w.Strata[1].Top != depthOf("3", records.Foot) || w.Strata[0].Bottom != depthOf("3", records.Metre) {
		t.Errorf("%v, %v, %+v", did, faults, w.Strata)
	}
}

func TestCorrectTextMaterialAndDatum(t *testing.T) {
	w := recordstest.Full()
	w.Crew.Firm = "Old Name Ltd"
	c := rule(t, `{"rule": {"kind": "text", "field": "crew.firm", "from": "old name ltd", "to": "New Name"}}`)
	if did, _ := c.Rule.Apply(w); !did || w.Crew.Firm != "New Name" {
		t.Errorf("the firm is %q", w.Crew.Firm)
	}
	w.Strata[0].Description, w.Strata[0].Material = "Cobble Mix", ""
	c = rule(t, `{"rule": {"kind": "material", "from": "cobble mix", "to": "gravel"}}`)
	if did, _ := c.Rule.Apply(w); !did || w.Strata[0].Material != "gravel" || w.Strata[0].Description != "Cobble Mix" {
		t.Errorf("%+v", w.Strata[0])
	}
	// Flinders Peak stands here for any position that is degrees; the shift to
	// WGS 84 is tested in geo/position.
	w = &records.Well{Place: records.Place{Located: true, Lon: -72.5, Lat: 44.25, Given: "44.25, -72.5", Datum: "WGS 84"}}
	c = rule(t, `{"rule": {"kind": "datum", "from": "WGS 84", "to": "NAD27"}}`)
	if did, _ := c.Rule.Apply(w); !did || w.Place.Datum != "NAD27" || w.Place.Lon == -72.5 || w.Place.Given != "44.25, -72.5" {
		t.Errorf("%+v", w.Place)
	}
}

func TestCorrectionChoice(t *testing.T) {
	w := recordstest.Full()
	w.Completed, w.Crew.Driller = records.Date{Year: 1987}, "A. Invented"
	w.TotalDepth = depthOf("100", records.Metre)
	w.Strata[0].Description = "Blue Clay"
	w.LandUse = ""
	for text, want := range map[string]bool{
		`{}`: true, `{"driller": "invented"}`: true, `{"driller": "nobody"}`: false,
		`{"from_year": 1987, "to_year": 1987}`: true, `{"to_year": 1986}`: false, `{"from_year": 1988}`: false,
		`{"words": "blue clay"}`: true, `{"words": "lava"}`: false,
		`{"lacks": "land_use"}`: true, `{"has": "land_use"}`: false, `{"has": "strata.description"}`: true,
		`{"of": "total_depth", "least": 90, "most": 110}`: true, `{"of": "total_depth", "least": 101}`: false,
		`{"within": [-180, -90, 180, 90]}`: true, `{"within": [0, 0, 1, 1]}`: false, `{"intake": 77}`: false,
	} {
		c := rule(t, `{"choose": `+text+`, "rule": {"kind": "text", "field": "land_use", "from": "", "to": "pasture"}}`)
		if got := c.Choose.Chosen(w); got != want {
			t.Errorf("%s: %v, want %v", text, got, want)
		}
	}
}

// What cannot be meant is refused in words, and the driller's own words, and
// people, are not changed for many at once.
func TestCorrectionsThatAreNone(t *testing.T) {
	for text, want := range map[string]string{
		`{"rule": {"kind": "multiply"}}`:                                                         "unit, datum, text or material",
		`{"rule": {"kind": "unit", "field": "gold", "from": "ft", "to": "m"}}`:                   "no quantity",
		`{"rule": {"kind": "unit", "field": "total_depth", "from": "ft", "to": "ft"}}`:           "two of",
		`{"rule": {"kind": "unit", "field": "total_depth", "from": "ft", "to": "gpm"}}`:          "two of",
		`{"rule": {"kind": "text", "field": "strata.description", "from": "a", "to": "b"}}`:      "no text that is changed",
		`{"rule": {"kind": "text", "field": "owner.name", "from": "a", "to": "b"}}`:              "no text that is changed",
		`{"rule": {"kind": "text", "field": "number", "from": "a", "to": "b"}}`:                  "no text that is changed",
		`{"rule": {"kind": "text", "field": "land_use", "from": "a", "to": "a"}}`:                "what stands there now",
		`{"rule": {"kind": "datum", "from": "x", "to": ""}}`:                                     "on which datum",
		`{"choose": {"has": "gold"}, "rule": {"kind": "datum", "from": "x", "to": "NAD27"}}`:     "no field",
		`{"choose": {"least": 3}, "rule": {"kind": "datum", "from": "x", "to": "NAD27"}}`:        "which quantity",
		`{"choose": {"colour": 3}, "rule": {"kind": "datum", "from": "x", "to": "NAD27"}}`:       "colour",
		`{"rule": {"kind": "datum", "from": "x", "to": "NAD27"}} more`:                           "behind",
		`{"choose": {"within": [0, 9, 1, 1]}, "rule": {"kind": "datum", "from": "", "to": "x"}}`: "box",
		`{"choose": {"from_year": "a"}, "rule": {"kind": "datum", "from": "x", "to": "NAD27"}}`:  "choose.from_year holds a string",
		`nothing`: "JSON",
	} {
		if _, err := records.ParseCorrection([]byte(text)); err == nil || !strings.Contains(records.MessageOf(err), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

func TestCopyIsItsOwn(t *testing.T) {
	w := recordstest.Full()
	c := w.Copy()
	if d := cmp.Diff(w, c); d != "" {
		t.Fatalf("the copy differs: %s", d)
	}
	c.Strata[0].Description, c.Casing[0].Material, c.Crew.Driller = "other", "other", "other"
	if w.Strata[0].Description == "other" || w.Casing[0].Material == "other" || w.Crew.Driller == "other" {
		t.Error("changing the copy changed the record")
	}
}

func FuzzParseCorrection(f *testing.F) {
	f.Add([]byte(`{"choose": {"driller": "x"}, "rule": {"kind": "unit", "field": "total_depth", "from": "ft", "to": "m"}}`))
	f.Add([]byte(`{"rule": {"kind": "text", "field": "land_use", "from": "*", "to": ""}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := records.ParseCorrection(data)
		if err != nil {
			return
		}
		w := recordstest.Full()
		was := w.Copy()
		if did, faults := c.Rule.Apply(w.Copy()); did && records.Refuses(faults) {
			t.Error("changed and refused at once")
		}
		c.Choose.Chosen(w)
		if d := cmp.Diff(was, w); d != "" {
			t.Errorf("a copy was changed and the record with it: %s", d)
		}
	})
}
