package records_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func TestForecastRoundTrip(t *testing.T) {
	want := recordstest.FullForecast()
	doc, err := want.Document()
	if err != nil {
		t.Fatal(err)
	}
	got := *want
	got.Question, got.Expected = nil, nil
	if err := got.ParseDocument(doc); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, &got); diff != "" {
		t.Errorf("as written and read:\n%s", diff)
	}
	if q, ok := got.Quantity(records.CostQuantity); !ok || q.Unit != "USD" {
		t.Errorf("the cost: %+v %v", q, ok)
	}
	if _, ok := got.Quantity("mood"); ok {
		t.Error("a quantity that was never expected is found")
	}
	if err := got.ParseDocument([]byte("{")); records.CodeOf(err) != records.Invalid {
		t.Errorf("half a document: %v", err)
	}
	bad := *want
	nan := math.NaN()
	bad.Expected = []records.ForecastQuantity{{Basis: &records.ForecastBasis{Skill: &nan}}}
	if _, err := bad.Document(); records.CodeOf(err) != records.Invalid {
		t.Errorf("a skill that is no number: %v", err)
	}
}

func TestValidateForecast(t *testing.T) {
	if faults := recordstest.FullForecast().Validate(); len(faults) > 0 {
		t.Fatalf("a sound forecast has faults: %v", faults)
	}
	for name, c := range map[string]struct {
		change func(f *records.Forecast)
		field  string
		says   string
	}{
		"off the earth":      {func(f *records.Forecast) { f.Lon = 200 }, "lon", "not on the earth"},
		"no question's form": {func(f *records.Forecast) { f.Question = json.RawMessage("{") }, "question", "not JSON"},
		"nothing expected":   {func(f *records.Forecast) { f.Expected = nil }, "expected", "nothing"},
		"no name":            {func(f *records.Forecast) { f.Expected[1].Name = "" }, "expected[1].name", "missing"},
		"a name twice":       {func(f *records.Forecast) { f.Expected[1].Name = f.Expected[0].Name }, "expected[1].name", "twice"},
		"no unit":            {func(f *records.Forecast) { f.Expected[0].Unit = "" }, "expected[0].unit", "missing"},
		"no distribution":    {func(f *records.Forecast) { f.Expected[0].Distribution = nil }, "expected[0].distribution", "0 bytes"},
		"half an area":       {func(f *records.Forecast) { f.Expected[0].Area = json.RawMessage("{") }, "expected[0].area", "not JSON"},
		"a control letter":   {func(f *records.Forecast) { f.Label = "\x07" }, "label", "U+0007"},
	} {
		t.Run(name, func(t *testing.T) {
			f := recordstest.FullForecast()
			c.change(f)
			if faults := f.Validate(); !slices.ContainsFunc(faults, func(f records.Fault) bool {
				return f.Severity == records.Refusal && f.Field == c.field && strings.Contains(f.Message, c.says) && f.Mend != ""
			}) {
				t.Errorf("got %v, want a refusal of %s saying %q", faults, c.field, c.says)
			}
		})
	}
}
