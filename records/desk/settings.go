package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"regexp"

	"tallybook/records"
)

// The settings of the office, each a JSON document that is read by whoever
// uses it.
const (
	SettingRates      = "rates"       // the contractor's rate table
	SettingLocalRules = "local_rules" // distances and minima by local rule
	SettingWords      = "words"       // what stands on quotes and sheets
	SettingNeeds      = "needs"       // what water is asked for
	// SettingOutcomeM is the distance, metres, within which a well is proposed
	// as the outcome of a forecast: a number.
	SettingOutcomeM = "outcome_distance_m"
)

// mostSetting is the longest document of a setting, bytes.
const mostSetting = 1 << 20

var settingName = regexp.MustCompile(`^[a-z][a-z0-9_.-]{0,63}$`)

// Setting reads a setting; revision 0 where it is not set.
func (d *Desk) Setting(ctx context.Context, actor records.Actor, name string) (records.SettingValue, error) {
	return look(ctx, d, actor, func(v records.StoreView) (records.SettingValue, error) { return v.SettingValue(ctx, name) })
}

// SaveSetting sets a setting, or unsets it where its value is empty. v.Revision
// must be the one that the person saw; the value before is kept.
func (d *Desk) SaveSetting(ctx context.Context, actor records.Actor, v *records.SettingValue, why string) error {
	if err := d.Permit(actor, Administer); err != nil {
		return err
	}
	switch {
	case !settingName.MatchString(v.Name):
		return &records.Error{Code: records.Invalid, Field: "name", Message: fmt.Sprintf("%.80q is no name of a setting: use small letters, digits and underscores", v.Name)}
	case len(v.Value) > mostSetting:
		return &records.Error{Code: records.TooLarge, Field: v.Name, Message: fmt.Sprintf("the setting is %d bytes long, more than %d", len(v.Value), mostSetting)}
	case v.Value != "" && !json.Valid([]byte(v.Value)):
		return &records.Error{Code: records.Invalid, Field: v.Name, Message: "the setting is not JSON"}
	}
	if v.Name == SettingOutcomeM && v.Value != "" {
		if _, err := outcomeDistance(v.Value); err != nil {
			return err
		}
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.PutSettingValue(ctx, v, why) })
}

// SettingRevisions lists the earlier values of a setting, the latest first.
func (d *Desk) SettingRevisions(ctx context.Context, actor records.Actor, name string) ([]records.EarlierSetting, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]records.EarlierSetting, error) { return v.SettingRevisions(ctx, name) })
}

// RestoreSetting sets an earlier value again; current is the revision that the
// person saw (0: it is not set).
func (d *Desk) RestoreSetting(ctx context.Context, actor records.Actor, name string, revision, current int64) error {
	if err := d.Permit(actor, Administer); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		revs, err := tx.SettingRevisions(ctx, name)
		if err != nil {
			return err
		}
		for _, r := range revs {
			if r.Revision == revision {
				return tx.PutSettingValue(ctx, &records.SettingValue{Name: name, Value: r.Value, Revision: current}, fmt.Sprintf("revision %d restored", revision))
			}
		}
		return records.Errorf(records.NotFound, "the setting %s has no earlier value with the revision %d", name, revision)
	})
}

// defaultOutcomeM is how near to a forecast a well is proposed as its outcome.
// Ours, no source.
const defaultOutcomeM = 100

// outcomeDistance reads the setting of that name; "" gives the default.
func outcomeDistance(text string) (m float64, err error) {
	if text == "" {
		return defaultOutcomeM, nil
	}
	const most = 10_000
	if err := json.Unmarshal([]byte(text), &m); err != nil || !(m > 0 && m <= most) {
		return 0, &records.Error{Code: records.Invalid, Field: SettingOutcomeM, Message: fmt.Sprintf("%.40s is not a distance in metres above zero and at most %d", text, most)}
	}
	return m, nil
}
