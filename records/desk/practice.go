package desk

import (
	"context"

	"tallybook/records"
	"tallybook/records/scout"
)

// SettingPractice is how the office makes its holes, see scout.Practice.
const SettingPractice = "practice"

// scoutingSettings are the office's practice and rates. What the office never
// set is empty, and says itself what it lacks. Faults in what was set are for
// the page of the office to show; what can be read is used.
func (d *Desk) scoutingSettings(ctx context.Context, actor records.Actor) (p scout.Practice, r scout.Rates, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return p, r, err
	}
	var practice, rates string
	err = d.store.View(ctx, func(v records.StoreView) (err error) {
		if practice, err = v.Setting(ctx, SettingPractice); err != nil {
			return err
		}
		rates, err = v.Setting(ctx, SettingRates)
		return err
	})
	if err != nil {
		return p, r, err
	}
	if practice != "" {
		p, _ = scout.ParsePractice([]byte(practice))
	}
	if rates != "" {
		r, _ = scout.ParseRates([]byte(rates))
	}
	return p, r, nil
}
