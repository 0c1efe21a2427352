package desk_test

import (
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
)

func TestOfficeIsKeptAndRefused(t *testing.T) {
	d, _ := newDesk(t)
	none, err := d.Rates(t.Context(), me)
	if err != nil || none.Revision != 0 || none.Text != "" || none.Value.Charges() {
		t.Fatalf("rates that were never set (%v): %+v", err, none)
	}
	r := scout.InventedRates()
	first, err := d.SaveRates(t.Context(), me, r, 0, "the first")
	if err != nil {
		t.Fatal(err)
	}
	r.Mobilisation = scout.Of(-1)
	if _, err := d.SaveRates(t.Context(), me, r, first, ""); records.CodeOf(err) != records.Invalid {
		t.Errorf("a price below nothing: %v", err)
	}
	r.Mobilisation = scout.Of(120050)
	if _, err := d.SaveRates(t.Context(), me, r, 0, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale write: %v", err)
	}
	second, err := d.SaveRates(t.Context(), me, r, first, "dearer diesel")
	if err != nil || second <= first {
		t.Fatalf("revision %d after %d: %v", second, first, err)
	}
	now, err := d.Rates(t.Context(), me)
	if err != nil || now.Value.Mobilisation.Cents != 120050 || now.Revision != second || now.By != me.Name || len(now.Faults) > 0 {
		t.Errorf("now (%v): %+v", err, now)
	}
	if _, err := d.SaveRates(t.Context(), stranger, r, second, ""); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger saves: %v", err)
	}
	if _, err := d.Practice(t.Context(), stranger); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger looks: %v", err)
	}
}

// TestOfficeWithFaultsCanBeRead: what another program stored is shown with its
// faults, and read as far as it goes.
func TestOfficeWithFaultsCanBeRead(t *testing.T) {
	d, _ := newDesk(t)
	v := records.SettingValue{Name: desk.SettingPractice, Value: `{"units":"us","socket_ft":"ten","rod_ft":20}`}
	if err := d.SaveSetting(t.Context(), me, &v, ""); err != nil {
		t.Fatal(err)
	}
	p, err := d.Practice(t.Context(), me)
	if err != nil || p.Value.Rod.Given.Text != "20" || p.Value.Socket.Known() {
		t.Errorf("read (%v): %+v", err, p.Value)
	}
	if len(p.Faults) != 1 || p.Faults[0].Field != "socket_ft" {
		t.Errorf("faults: %v", p.Faults)
	}
}

func TestInventedOffice(t *testing.T) {
	d, _ := newDesk(t)
	if err := d.SetInventedOffice(t.Context(), me); err != nil {
		t.Fatal(err)
	}
	rules, err := d.LocalRules(t.Context(), me)
	if err != nil || len(rules.Value.Rules) == 0 || records.Refuses(rules.Faults) {
		t.Errorf("rules (%v): %+v", err, rules)
	}
	if err := d.SetInventedOffice(t.Context(), me); records.CodeOf(err) != records.Conflict {
		t.Errorf("it is written over what an office has: %v", err)
	}
}
