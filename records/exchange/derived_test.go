package exchange_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/exchange"
)

// twoWords reads clay and granite.
type twoWords struct{}

func (twoWords) Version() string { return "two words" }

func (twoWords) Ground(s *records.Stratum) records.Ground {
	switch s.Description {
	case "clay":
		return records.Ground{Material: "clay", Class: records.ClassSoil, Index: 1}
	case "granite":
		return records.Ground{Material: "granite", Class: records.ClassRock, Index: 2}
	}
	return records.Ground{Material: "unknown"}
}

func TestDerivedStandsApart(t *testing.T) {
	w := readWells(t, `{"type":"Feature","geometry":null,"properties":{"total_depth_m":60,"strata":[
		{"top_m":0,"bottom_m":12.5,"description":"clay"},{"top_m":12.5,"bottom_m":60,"description":"granite"}]}}`)[0]
	plain := string(exchange.AppendFeature(nil, w, exchange.Options{}))
	full := string(exchange.AppendFeature(nil, w, exchange.Options{Derived: twoWords{}}))
	properties, ok := tree(t, full).(map[string]any)["properties"].(map[string]any)
	if !ok {
		t.Fatal(full)
	}
	derived, ok := properties["derived"].(map[string]any)
	if !ok || strings.Contains(plain, "derived") {
		t.Fatalf("derived is not there when asked for, or else it is:\n%s\n%s", plain, full)
	}
	for name, want := range map[string]string{"first_rock_m": "12.5", "sound_bedrock_m": "12.5", "vocabulary": "two words"} {
		if got, ok := derived[name].(interface{ String() string }); ok && got.String() != want || !ok && derived[name] != want {
			t.Errorf("%s is %v, want %s", name, derived[name], want)
		}
	}
	again := string(exchange.AppendFeature(nil, readWells(t, full)[0], exchange.Options{}))
	if again != plain {
		t.Errorf("what was derived came back as if it were observed:\n%s\n%s", plain, again)
	}
}
