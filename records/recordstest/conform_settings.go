package recordstest

import (
	"context"
	"errors"
	"testing"

	"tallybook/records"
)

// ConformSettings holds a store against what is asked of it for settings.
func ConformSettings(t *testing.T, open Opener) {
	s := open(t)
	rates := records.SettingValue{Name: "rates", Value: `{"per_foot":1}`}
	put := func(v *records.SettingValue, why string) {
		t.Helper()
		write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSettingValue(ctx, v, why) })
	}
	put(&rates, "")
	if rates.Revision != 1 || rates.By != Writer().Name || rates.At.IsZero() {
		t.Errorf("the first value: %+v", rates)
	}
	first := rates
	rates.Value = `{"per_foot":2}`
	put(&rates, "dearer fuel")
	stale := first
	stale.Value = "{}"
	refused(t, s, "stale", records.Conflict, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSettingValue(ctx, &stale, "") })
	refused(t, s, "taken for new", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutSettingValue(ctx, &records.SettingValue{Name: "rates", Value: "{}"}, "")
	})
	second := rates
	rates.Value = ""
	put(&rates, "starting over")
	if rates.Revision != 0 {
		t.Errorf("unset it is at revision %d", rates.Revision)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		now, err := v.SettingValue(ctx, "rates")
		if now != (records.SettingValue{Name: "rates"}) {
			t.Errorf("unset and still %+v", now)
		}
		revs, err2 := v.SettingRevisions(ctx, "rates")
		if len(revs) != 2 || revs[0].SettingValue != second || revs[1].SettingValue != first {
			t.Errorf("earlier values: %+v, want %+v and %+v", revs, second, first)
		} else if revs[0].Why != "starting over" || revs[1].Why != "dearer fuel" || revs[0].UntilBy != Writer().Name || revs[0].Until.IsZero() {
			t.Errorf("how they ended: %+v", revs)
		}
		none, err3 := v.SettingRevisions(ctx, "words")
		if len(none) != 0 {
			t.Errorf("of another setting: %+v", none)
		}
		return errors.Join(err, err2, err3)
	})
	// Set again it goes on counting, by either way of writing.
	rates.Value = "[]"
	put(&rates, "")
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSetting(ctx, "rates", "[1]") })
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		now, err := v.SettingValue(ctx, "rates")
		text, err2 := v.Setting(ctx, "rates")
		if rates.Revision != 3 || now.Revision != 4 || now.Value != "[1]" || text != "[1]" {
			t.Errorf("set again at revision %d, then %+v (%q)", rates.Revision, now, text)
		}
		return errors.Join(err, err2)
	})
	undone(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSetting(ctx, "rates", "[2]") })
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		revs, err := v.SettingRevisions(ctx, "rates")
		if len(revs) != 3 {
			t.Errorf("%d earlier values after a transaction that failed, want 3", len(revs))
		}
		return err
	})
}
