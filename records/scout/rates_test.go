package scout_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/scout"
)

func TestInventedRatesAreWholeAndLabelled(t *testing.T) {
	r := scout.InventedRates()
	if faults := r.Validate(); len(faults) != 0 {
		t.Errorf("faults %v", faults)
	}
	if r.Note != "invented example, not a price" {
		t.Errorf("label %q", r.Note)
	}
	again, faults := scout.ParseRates(r.AppendJSON(nil))
	if len(faults) != 0 {
		t.Errorf("faults of its own text: %v", faults)
	}
	if diff := cmp.Diff(r, again); diff != "" {
		t.Error(diff)
	}
}

// TestWrongTables: every fault is reported with its field and how to mend it.
func TestWrongTables(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string // "field: part of the message"
	}{
		{"no JSON", `{`, []string{": no JSON"}},
		{"a property twice", `{"name":"a","name":"b"}`, []string{": names a property twice"}},
		{"a list", `[]`, []string{": a list where an object belongs"}},
		{"unknown properties, each by name", `{"units":"us","currency":"USD","mobilization_cents":1,"drilling":[{"cents_per_m":5}]}`,
			[]string{"mobilization_cents: no property", "drilling[0].cents_per_m: no property", "drilling[0]: no price"}},
		{"prices without units or currency", `{"mobilisation_cents":1}`, []string{"units: missing", "currency: missing"}},
		{"no cents", `{"units":"si","currency":"CAD","permit_cents":15.5,"plate_cents":"12"}`, []string{"permit_cents: no whole number of cents", "plate_cents: a number belongs"}},
		{"below nothing", `{"units":"si","currency":"CAD","permit_cents":-5}`, []string{"permit_cents: below nothing"}},
		{"steps that overlap", `{"units":"us","currency":"USD","drilling":[{"ground":"rock","to_ft":300,"cents_per_ft":1},{"ground":"rock","from_ft":200,"cents_per_ft":2}]}`,
			[]string{"drilling: two prices hold for rock below 200 ft"}},
		{"steps with a gap", `{"units":"us","currency":"USD","drilling":[{"ground":"rock","to_ft":300,"cents_per_ft":1},{"ground":"rock","from_ft":400,"cents_per_ft":2}]}`,
			[]string{"drilling: between 300 ft and 400 ft"}},
		{"a step upside down", `{"units":"us","currency":"USD","drilling":[{"ground":"rock","from_ft":300,"to_ft":100,"cents_per_ft":1}]}`, []string{"drilling[0].to: ends where it begins"}},
		{"unknown words", `{"units":"yards","currency":"Dollar","drilling":[{"ground":"mud","cents_per_m":1}],"tax":{"share":6,"on":["beer"]}}`,
			[]string{"units: names no units", "currency: no code", "drilling[0].ground: no ground", "tax.share: no share between 0 and 1", "tax.on[0]: names no line"}},
		{"dates", `{"valid_from":"2026-05-01","valid_to":"2026-04-01"}`, []string{"valid_to: before valid_from"}},
		{"no date", `{"valid_from":"May"}`, []string{"valid_from: no date"}},
		{"one casing twice", `{"units":"us","currency":"USD","casing":[{"material":"steel","diameter_in":6,"cents_per_ft":1},{"material":"steel","diameter_in":6,"cents_per_ft":2}]}`,
			[]string{"casing[1]: the same casing as casing[0]"}},
		{"no grout from a sack", `{"units":"us","currency":"USD","grout_sack_yield_gal":0}`, []string{"grout_sack_yield: not above 0"}},
		{"empty", `{}`, []string{": the rate table is empty"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := scout.ParseRates([]byte(c.text))
			for _, want := range c.want {
				field, message, _ := strings.Cut(want, ": ")
				if !slices.ContainsFunc(faults, func(f records.Fault) bool {
					return f.Field == field && strings.Contains(f.Message, message) && f.Mend != ""
				}) {
					t.Errorf("no fault %q among %v", want, faults)
				}
			}
		})
	}
}

func TestUnknownPropertyIsRefused(t *testing.T) {
	_, faults := scout.ParseRates([]byte(`{"units":"us","pump_cents":1}`))
	if !records.Refuses(faults) {
		t.Errorf("an unknown property is let in: %v", faults)
	}
}

// FuzzRates: whatever is read is told in bounded faults, and a table without
// a refusal comes back from its own text unchanged.
func FuzzRates(f *testing.F) {
	f.Add(scout.InventedRates().AppendJSON(nil))
	f.Add([]byte(`{"units":"si","currency":"EUR","drilling":[{"from_m":0.1,"cents_per_m":1e3}]}`))
	f.Add([]byte(`{"tax":{"on":[1,"drilling"]},"hours":[{}],"name":"\ud800"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, faults := scout.ParseRates(text)
		if len(faults) > 200 {
			t.Fatalf("%d faults", len(faults))
		}
		out := r.AppendJSON(nil)
		again, faults2 := scout.ParseRates(out)
		if !records.Refuses(faults) && records.Refuses(faults2) {
			t.Fatalf("its own text is refused: %v\n%s", faults2, out)
		}
		if !records.Refuses(faults) {
			if diff := cmp.Diff(r, again); diff != "" {
				t.Fatalf("%s\n%s", out, diff)
			}
		}
	})
}
