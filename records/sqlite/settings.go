package sqlite

import (
	"context"
	"database/sql"

	"tallybook/records"
)

// Setting implements records.StoreView.
func (v *view) Setting(ctx context.Context, name string) (string, error) {
	s, err := v.SettingValue(ctx, name)
	return s.Value, err
}

// SettingValue implements records.ScoutingView.
func (v *view) SettingValue(ctx context.Context, name string) (records.SettingValue, error) {
	s := records.SettingValue{Name: name}
	var at string
	if _, err := v.one(ctx, "SELECT value, revision, at, by FROM settings WHERE name = ?", []any{name}, &s.Value, &s.Revision, &at, &s.By); err != nil {
		return s, err
	}
	var err error
	s.At, err = parseTime(at)
	return s, err
}

// SettingRevisions implements records.ScoutingView.
func (v *view) SettingRevisions(ctx context.Context, name string) ([]records.EarlierSetting, error) {
	var out []records.EarlierSetting
	err := each(ctx, v, "SELECT value, revision, at, by, until, until_by, ifnull(why, '') FROM setting_revisions WHERE name = ? ORDER BY revision DESC", []any{name}, func(rows *sql.Rows) error {
		e := records.EarlierSetting{SettingValue: records.SettingValue{Name: name}}
		var at, until string
		err := rows.Scan(&e.Value, &e.Revision, &at, &e.By, &until, &e.UntilBy, &e.Why)
		if err == nil {
			e.At, err = parseTime(at)
		}
		if err == nil {
			e.Until, err = parseTime(until)
		}
		out = append(out, e)
		return err
	})
	return out, err
}

// PutSetting implements records.StoreTx.
func (t *tx) PutSetting(ctx context.Context, name, value string) error {
	s, err := t.SettingValue(ctx, name)
	if err != nil {
		return err
	}
	s.Value = value
	return t.PutSettingValue(ctx, &s, "")
}

// PutSettingValue implements records.ScoutingTx.
func (t *tx) PutSettingValue(ctx context.Context, s *records.SettingValue, why string) error {
	now, err := t.SettingValue(ctx, s.Name)
	if err != nil {
		return err
	}
	if now.Revision != s.Revision {
		return records.Errorf(records.Conflict, "the setting was changed by somebody else meanwhile (you have revision %d, it is now at %d): look at it again before writing", s.Revision, now.Revision)
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if now.Revision > 0 {
		if _, err := t.write(ctx, `INSERT INTO setting_revisions(name, revision, at, by, until, until_by, why, value)
			SELECT name, revision, at, by, ?, ?, ?, value FROM settings WHERE name = ?`,
			formatTime(t.now), t.actor.Name, textOrNull(why), s.Name); err != nil {
			return err
		}
	}
	if s.Value == "" {
		_, err := t.write(ctx, "DELETE FROM settings WHERE name = ?", s.Name)
		s.Revision, s.At, s.By = 0, t.now, t.actor.Name
		return err
	}
	// One that was unset goes on counting where it left off.
	if _, err := t.write(ctx, `INSERT INTO settings(name, value, revision, at, by)
		VALUES (?1, ?2, 1 + ifnull((SELECT max(revision) FROM setting_revisions WHERE name = ?1), 0), ?3, ?4)
		ON CONFLICT(name) DO UPDATE SET value = excluded.value, revision = excluded.revision, at = excluded.at, by = excluded.by`,
		s.Name, s.Value, formatTime(t.now), t.actor.Name); err != nil {
		return err
	}
	*s, err = t.SettingValue(ctx, s.Name)
	return err
}
