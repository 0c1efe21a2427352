package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"tallybook/records"
)

// forecastSelect reads forecasts with the latest decision of each; its last
// column is the document, or nothing of it.
const (
	forecastHead = `SELECT f.id, f.uid, f.lon, f.lat, ifnull(f.label, ''), ifnull(f.job_uid, ''), f.data_commit, f.kept_at, f.kept_by,
		ifnull(l.revision, 0), ifnull(l.at, ''), ifnull(l.by, ''), ifnull(l.why, ''), ifnull(l.well_uid, ''), ifnull(l.how, ''), ifnull(l.withdrawn, 0), l.refused, `
	forecastFrom = ` FROM forecasts f LEFT JOIN forecast_links l ON l.forecast_id = f.id
		AND l.revision = (SELECT max(revision) FROM forecast_links WHERE forecast_id = f.id) `
)

func scanForecast(rows *sql.Rows) (*records.Forecast, error) {
	f := &records.Forecast{}
	d := &f.Decision
	var keptAt, at string
	var doc, refused []byte
	err := rows.Scan(&f.ID, &f.UID, &f.Lon, &f.Lat, &f.Label, &f.JobUID, &f.DataCommit, &keptAt, &f.KeptBy,
		&d.Revision, &at, &d.By, &d.Why, &d.WellUID, &d.How, &d.Withdrawn, &refused, &doc)
	if err == nil {
		f.KeptAt, err = parseTime(keptAt)
	}
	if err == nil {
		d.At, err = parseTime(at)
	}
	if err == nil {
		d.Refused, err = parseRefused(refused)
	}
	if err == nil && doc != nil {
		err = f.ParseDocument(doc)
	}
	return f, err
}

// Forecast implements records.ScoutingView.
func (v *view) Forecast(ctx context.Context, id int64) (f *records.Forecast, err error) {
	err = each(ctx, v, forecastHead+"f.doc"+forecastFrom+"WHERE f.id = ?", []any{id}, func(rows *sql.Rows) error {
		f, err = scanForecast(rows)
		return err
	})
	if err == nil && f == nil {
		err = noForecast(id)
	}
	if err != nil {
		return nil, err
	}
	return f, nil
}

// parseRefused reads the wells that are no outcome; nil for none.
func parseRefused(text []byte) (uids []string, err error) {
	if len(text) == 0 {
		return nil, nil
	}
	if err := json.Unmarshal(text, &uids); err != nil {
		return nil, fmt.Errorf("the wells that a forecast refuses: %w", err)
	}
	return uids, nil
}

func noForecast(id int64) error {
	return records.Errorf(records.NotFound, "there is no forecast %d", id)
}

// ForecastIDByUID implements records.ScoutingView.
func (v *view) ForecastIDByUID(ctx context.Context, uid string) (id int64, err error) {
	found, err := v.one(ctx, "SELECT id FROM forecasts WHERE uid = ?", []any{uid}, &id)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no forecast %q", uid)
	}
	return id, err
}

// Forecasts implements records.ScoutingView.
func (v *view) Forecasts(ctx context.Context) ([]*records.Forecast, error) {
	var out []*records.Forecast
	err := each(ctx, v, forecastHead+"NULL"+forecastFrom+"ORDER BY f.id DESC", nil, func(rows *sql.Rows) error {
		f, err := scanForecast(rows)
		out = append(out, f)
		return err
	})
	return out, err
}

// ForecastDecisions implements records.ScoutingView.
func (v *view) ForecastDecisions(ctx context.Context, id int64) ([]records.ForecastDecision, error) {
	var out []records.ForecastDecision
	err := each(ctx, v, `SELECT revision, at, by, ifnull(why, ''), ifnull(well_uid, ''), how, withdrawn, refused
		FROM forecast_links WHERE forecast_id = ? ORDER BY revision DESC`, []any{id}, func(rows *sql.Rows) error {
		var d records.ForecastDecision
		var at string
		var refused []byte
		err := rows.Scan(&d.Revision, &at, &d.By, &d.Why, &d.WellUID, &d.How, &d.Withdrawn, &refused)
		if err == nil {
			d.At, err = parseTime(at)
		}
		if err == nil {
			d.Refused, err = parseRefused(refused)
		}
		out = append(out, d)
		return err
	})
	return out, err
}

// KeepForecast implements records.ScoutingTx.
func (t *tx) KeepForecast(ctx context.Context, f *records.Forecast) error {
	switch {
	case f.ID != 0:
		return records.Errorf(records.Conflict, "a kept forecast never changes")
	case !onEarth(f.Lon, f.Lat):
		return &records.Error{Code: records.Invalid, Field: "lon", Message: "a forecast needs a longitude and latitude on the earth"}
	}
	doc, err := f.Document()
	if err != nil {
		return err
	}
	uid, err := newUID(f.UID)
	if err != nil {
		return err
	}
	if taken, err := t.uidTaken(ctx, "forecasts", uid, 0); err != nil || taken {
		if err == nil {
			err = &records.Error{Code: records.Conflict, Field: "uid", Message: "there is a forecast with this uid already"}
		}
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	result, err := t.write(ctx, "INSERT INTO forecasts(uid, kept_at, kept_by, label, lon, lat, data_commit, job_uid, doc) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
		uid, formatTime(t.now), t.actor.Name, textOrNull(f.Label), f.Lon, f.Lat, f.DataCommit, textOrNull(f.JobUID), string(doc))
	if err != nil {
		return err
	}
	id, err := result.LastInsertId()
	if err != nil {
		return t.fail(translate(err, "new forecast"))
	}
	f.ID, f.UID, f.KeptAt, f.KeptBy, f.Decision = id, uid, t.now, t.actor.Name, records.ForecastDecision{}
	return nil
}

// DecideForecast implements records.ScoutingTx.
func (t *tx) DecideForecast(ctx context.Context, id int64, d *records.ForecastDecision) error {
	var revision int64
	found, err := t.one(ctx, "SELECT ifnull((SELECT max(revision) FROM forecast_links WHERE forecast_id = f.id), 0) FROM forecasts f WHERE f.id = ?", []any{id}, &revision)
	switch {
	case err != nil:
		return err
	case !found:
		return noForecast(id)
	case revision != d.Revision:
		return records.Errorf(records.Conflict, "somebody else decided something of the forecast meanwhile: look at it again")
	}
	how := d.How
	if d.WellUID == "" {
		how = ""
	} else if _, err := t.WellIDByUID(ctx, d.WellUID); err != nil {
		return err
	}
	refused := ""
	if len(d.Refused) > 0 {
		text, err := json.Marshal(d.Refused)
		if err != nil {
			return t.fail(err)
		}
		refused = string(text)
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if _, err := t.write(ctx, "INSERT INTO forecast_links(forecast_id, revision, at, by, why, well_uid, how, withdrawn, refused) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
		id, revision+1, formatTime(t.now), t.actor.Name, textOrNull(d.Why), textOrNull(d.WellUID), how, d.Withdrawn, textOrNull(refused)); err != nil {
		return err
	}
	d.Revision, d.At, d.By, d.How = revision+1, t.now, t.actor.Name, how
	return nil
}
