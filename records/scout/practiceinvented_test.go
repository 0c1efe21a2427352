package scout_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/scout"
)

func TestInventedOfficeHasNoFaultAndSaysThatItIsInvented(t *testing.T) {
	p, rules := scout.InventedPractice(), scout.InventedRules()
	if f := p.Validate(); len(f) > 0 {
		t.Errorf("practice: %v", f)
	}
	if lacks := p.Lacks(); len(lacks) > 0 {
		t.Errorf("practice lacks %v", lacks)
	}
	if f := rules.Validate(); len(f) > 0 {
		t.Errorf("rules: %v", f)
	}
	if !strings.Contains(p.Rule, scout.InventedPracticeLabel) || !strings.Contains(rules.Note, scout.InventedPracticeLabel) {
		t.Errorf("%q, %q: the label is missing", p.Rule, rules.Note)
	}
	again, faults := scout.ParsePractice(p.AppendJSON(nil))
	if d := cmp.Diff(p, again); d != "" || len(faults) > 0 {
		t.Errorf("practice read again: %v\n%s", faults, d)
	}
}
