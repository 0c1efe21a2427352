package desk_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

func TestSettingsAreKeptAndRestored(t *testing.T) {
	d, _ := newDesk(t)
	v := records.SettingValue{Name: desk.SettingRates, Value: `{"per_foot":1}`}
	save := func(value string) {
		t.Helper()
		v.Value = value
		if err := d.SaveSetting(t.Context(), me, &v, "why not"); err != nil {
			t.Fatal(err)
		}
	}
	content := d.Picture().Content()
	save(`{"per_foot":1}`)
	save(`{"per_foot":2}`)
	if d.Picture().Content() != content {
		t.Error("a setting makes the estimates calibrate anew")
	}
	if err := d.SaveSetting(t.Context(), me, &records.SettingValue{Name: desk.SettingRates, Value: "{}", Revision: 1}, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale write: %v", err)
	}
	if err := d.RestoreSetting(t.Context(), me, desk.SettingRates, 1, 2); err != nil {
		t.Fatal(err)
	}
	now, err := d.Setting(t.Context(), me, desk.SettingRates)
	if err != nil || now.Value != `{"per_foot":1}` || now.Revision != 3 || now.By != me.Name {
		t.Errorf("restored (%v): %+v", err, now)
	}
	revs, err := d.SettingRevisions(t.Context(), me, desk.SettingRates)
	if err != nil || len(revs) != 2 || revs[0].Value != `{"per_foot":2}` || revs[0].Why != "revision 1 restored" {
		t.Errorf("earlier values (%v): %+v", err, revs)
	}
	if err := d.RestoreSetting(t.Context(), me, desk.SettingRates, 9, 3); records.CodeOf(err) != records.NotFound {
		t.Errorf("a value that never was: %v", err)
	}
	if err := d.RestoreSetting(t.Context(), me, desk.SettingRates, 1, 2); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale restore: %v", err)
	}
	if none, err := d.Setting(t.Context(), me, desk.SettingWords); err != nil || none.Revision != 0 || none.Value != "" {
		t.Errorf("one that is not set (%v): %+v", err, none)
	}
}

func TestSettingsThatAreRefused(t *testing.T) {
	d, _ := newDesk(t)
	for what, c := range map[string]struct {
		name, value string
		code        records.Code
	}{
		"no name":             {"", "{}", records.Invalid},
		"a name with a space": {"my rates", "{}", records.Invalid},
		"no JSON":             {desk.SettingRates, "{", records.Invalid},
		"too long":            {desk.SettingRates, `"` + strings.Repeat("x", 1<<20) + `"`, records.TooLarge},
		"a distance of none":  {desk.SettingOutcomeM, "0", records.Invalid},
		"a distance in words": {desk.SettingOutcomeM, `"near"`, records.Invalid},
		"a distance too far":  {desk.SettingOutcomeM, "20000", records.Invalid},
	} {
		if err := d.SaveSetting(t.Context(), me, &records.SettingValue{Name: c.name, Value: c.value}, ""); err == nil || records.CodeOf(err) != c.code {
			t.Errorf("%s: %v", what, err)
		}
	}
	if err := d.SaveSetting(t.Context(), me, &records.SettingValue{Name: desk.SettingOutcomeM, Value: "250"}, ""); err != nil {
		t.Error(err)
	}
}
