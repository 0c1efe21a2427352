package records_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func TestHostileProperties(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		field   string // of the first fault; "" for none
		refuses bool
	}{
		"number as text":               {`{"total_depth_m":"62.5"}`, "", false},
		"bound as text":                {`{"yield_gpm":"<1"}`, "", false},
		"in feet":                      {`{"total_depth_ft":203}`, "", false},
		"null":                         {`{"total_depth_m":null,"number":null,"strata":null,"owner":null}`, "", false},
		"not an object":                {`[1]`, "properties", true},
		"text where a number belongs":  {`{"total_depth_m":"deep"}`, "total_depth_m", true},
		"truth where a number belongs": {`{"total_depth_m":true}`, "total_depth_m", true},
		"list where a number belongs":  {`{"total_depth_m":[1]}`, "total_depth_m", true},
		"too large a number":           {`{"total_depth_m":1e400}`, "total_depth_m", true},
		"too large once in base units": {`{"total_depth_fathom":1.7e308}`, "total_depth_fathom", true},
		"two units":                    {`{"total_depth_m":62,"total_depth_ft":203}`, "total_depth_ft", true},
		"an object as text":            {`{"number":{"a":1}}`, "number", true},
		"a number as text":             {`{"number":17}`, "", false},
		"too long a text":              {`{"remarks":"` + strings.Repeat("x", 65<<10) + `"}`, "remarks", true},
		"strata as an object":          {`{"strata":{}}`, "strata", true},
		"a stratum as a number":        {`{"strata":[{"top_m":0},7]}`, "strata[1]", true},
		"deep in a list":               {`{"strata":[{},{"bottom_m":"x"}]}`, "strata[1].bottom_m", true},
		"a group as text":              {`{"owner":"A"}`, "owner", true},
		"in a group":                   {`{"pump":{"set_depth_m":false}}`, "pump.set_depth_m", true},
		"no such qualifier":            {`{"yield_lps":1,"yield_qualifier":"perhaps"}`, "yield_qualifier", true},
		"qualifier without a value":    {`{"yield_qualifier":"about"}`, "yield_qualifier", true},
		"qualifier against the text":   {`{"yield_gpm":"<1","yield_qualifier":"exact"}`, "yield_qualifier", true},
		"between without an end":       {`{"yield_lps":1,"yield_qualifier":"between"}`, "yield_qualifier", true},
		"an end of no range":           {`{"yield_lps":1,"yield_high_lps":2}`, "yield_high_lps", true},
		"an end that is no number":     {`{"yield_lps":1,"yield_high_lps":"2","yield_qualifier":"between"}`, "yield_high_lps", true},
		"given in no unit":             {`{"yield_lps":1,"yield_given":"16","yield_given_unit":"ft"}`, "yield_given_unit", true},
		"given alone":                  {`{"yield_given":"16","yield_given_unit":"gpm"}`, "", false},
		"given alone, not understood":  {`{"yield_given":"plenty"}`, "yield_given", true},
		"given beside, not understood": {`{"yield_lps":1,"yield_given":"plenty"}`, "", false},
		"given contradicts":            {`{"yield_lps":1,"yield_given":"16","yield_given_unit":"gpm"}`, "yield_given", false},
		"given is a bound":             {`{"yield_lps":1,"yield_given":"<1"}`, "yield_given", false},
		"flag":                         {`{"counts_for_yield":"maybe"}`, "counts_for_yield", true},
		"whole":                        {`{"rods":[{"number":1.5}]}`, "rods[0].number", true},
		"no such day":                  {`{"completed":"2004-02-30"}`, "completed", true},
		"a year as a number":           {`{"completed":1987}`, "", false},
		"other words":                  {`{"purpose":"ice rink"}`, "", false},
	} {
		t.Run(name, func(t *testing.T) {
			if v := jsontext.Value(c.text); !v.IsValid() {
				t.Fatalf("the case is no JSON: %s", c.text)
			}
			var w records.Well
			faults := w.ParseProperties([]byte(c.text))
			switch {
			case c.field == "" && len(faults) > 0:
				t.Errorf("faults: %v", faults)
			case c.field == "":
				comesBack(t, &w)
			case len(faults) == 0:
				t.Errorf("no fault; read %s", write(&w))
			case faults[0].Field != c.field || records.Refuses(faults) != c.refuses:
				t.Errorf("faults: %v", faults)
			case faults[0].Message == "" || faults[0].Mend == "":
				t.Errorf("a fault without words: %+v", faults[0])
			}
		})
	}
}

// A record that was read owes nothing to the bytes it was read from.
func TestTheBytesAreNotKept(t *testing.T) {
	raw := write(recordstest.Full())
	var w records.Well
	w.ParseProperties(raw)
	want := write(&w)
	clear(raw)
	if !bytes.Equal(want, write(&w)) {
		t.Error("the record changed with the bytes it was read from")
	}
}

func FuzzParseProperties(f *testing.F) {
	f.Add(write(recordstest.Full()))
	for seed := range uint64(5) {
		f.Add(write(recordstest.Random(seed)))
	}
	f.Add([]byte(`{"yield_gpm":"3-5","yield_given":"<1","x":[{"y":"\"\\"}],"strata":[{"a":1},{"top_m":-0.0}]}`))
	f.Add([]byte(`{"total_depth_m":1e-400,"number":1e5,"a\u0041":"\ud83e\udea8"}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) > 1<<16 || !jsontext.Value(raw).IsValid() {
			// Not promised anything, but must not hang or panic.
			var w records.Well
			w.ParseProperties(raw)
			return
		}
		var w records.Well
		faults := w.ParseProperties(raw)
		for _, f := range faults {
			if f.Message == "" || f.Severity == 0 || len(f.Message) > 1000 {
				t.Errorf("fault %+v", f)
			}
		}
		first := write(&w)
		if !jsontext.Value(first).IsValid() {
			t.Fatalf("wrote what is no JSON: %s", first)
		}
		if records.Refuses(faults) {
			return
		}
		var again records.Well
		if faults := again.ParseProperties(first); records.Refuses(faults) {
			t.Fatalf("what was written is refused: %v\n%s\n%s", faults, raw, first)
		}
		if second := write(&again); !bytes.Equal(first, second) {
			t.Fatalf("written twice it differs:\n%s\n%s", first, second)
		}
		w.Validate(records.ValidateOptions{Reader: byMaterial{}})
		records.Derive(&w, byMaterial{}, nil)
	})
}
