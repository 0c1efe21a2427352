package records_test

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

func TestProfile(t *testing.T) {
	byName := map[string]records.Property{}
	for _, p := range append(records.Profile(), records.PlateProfile()...) {
		byName[p.Name] = p
		switch p.Type {
		case "text", "word", "flag", "whole", "date", "number", "list", "group":
		default:
			t.Errorf("%s is a %q", p.Name, p.Type)
		}
		if (p.Type == "word") != (len(p.Words) > 0) {
			t.Errorf("%s is a %s with words %v", p.Name, p.Type, p.Words)
		}
	}
	seen := map[string]bool{}
	for _, p := range records.Profile() {
		if seen[p.Name] {
			t.Errorf("%s stands twice", p.Name)
		}
		seen[p.Name] = true
	}
	for name, want := range map[string]records.Property{
		"number":                    {Type: "text"},
		"purpose":                   {Type: "word", Words: records.PurposeWords()},
		"counts_for_yield":          {Type: "flag"},
		"completed":                 {Type: "date"},
		"strata":                    {Type: "list"},
		"owner":                     {Type: "group", Private: true},
		"owner.telephone":           {Type: "text", Private: true},
		"total_depth_m":             {Type: "number", Unit: "m"},
		"total_depth_given":         {Type: "text", Beside: "total_depth_m"},
		"strata[].top_m":            {Type: "number", Unit: "m"},
		"strata[].top_qualifier":    {Type: "word", Words: []string{"exact", "about", "less_than", "greater_than", "between"}, Beside: "strata[].top_m"},
		"quality[].value":           {Type: "number"},
		"yield_given_unit":          {Type: "word", Words: []string{"L/s", "gpm", "gph", "igpm", "L/min", "m3/h", "m3/d", "cfs", "miner's in (1/40 cfs)", "miner's in (1/50 cfs)", "miner's in (1/38.4 cfs)"}, Beside: "yield_lps"},
		"rods[].number":             {Type: "whole"},
		"seen[].lon":                {Type: "number", Unit: "degrees"},
		"stamped.static_level_m":    {Type: "number", Unit: "m"},
		"stamped.total_depth_given": {Type: "text", Beside: "stamped.total_depth_m"},
	} {
		got, ok := byName[name]
		want.Name, want.Quantity = name, got.Quantity
		if !ok {
			t.Errorf("no %s", name)
		} else if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// Each quantity is read under every name that its description promises.
func TestAmountFieldsAreReadAsPromised(t *testing.T) {
	fields := records.AmountFields()
	if len(fields) < 40 {
		t.Errorf("only %d quantities", len(fields))
	}
	for _, f := range fields {
		if len(f.Names) != len(f.Units) || len(f.Names) == 0 {
			t.Fatalf("%+v", f)
		}
		if slices.ContainsFunc(f.Units, func(u records.Unit) bool { return u.Dimension() != f.Dimension }) {
			t.Errorf("%s: a unit does not measure it", f.Base)
		}
		if !slices.Contains([]byte(f.Base), '[') && !slices.Contains([]byte(f.Base), '.') {
			for i, name := range f.Names {
				var w records.Well
				if faults := w.ParseProperties([]byte(`{"` + name + `":7}`)); len(faults) > 0 || len(w.Extra) > 0 {
					t.Errorf("%s is not read: %v", name, faults)
				}
				changes := records.Diff(&records.Well{}, &w)
				if len(changes) != 1 || changes[0].Field != f.Names[0] {
					t.Errorf("%s in %s came to %v", name, f.Units[i].Symbol(), changes)
				}
			}
		}
	}
}
