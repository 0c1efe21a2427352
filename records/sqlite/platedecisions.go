package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"tallybook/records"
)

// decisionColumns are those that decisionRow reads, of plate_decisions d.
const decisionColumns = `d.revision, d.at, d.by, ifnull(d.why, ''), d.act, d.commit_no, d.plate_revision,
	d.state, ifnull(d.well_uid, ''), ifnull(d.evidence, ''), d.refused, d.candidates`

// decisionRow is a decision as it lies in the file.
type decisionRow struct {
	revision, commit, plate sql.NullInt64
	at, by, why, act        sql.NullString
	state, well, evidence   sql.NullString
	refused, candidates     []byte
}

func (r *decisionRow) dest() []any {
	return []any{&r.revision, &r.at, &r.by, &r.why, &r.act, &r.commit, &r.plate, &r.state, &r.well, &r.evidence, &r.refused, &r.candidates}
}

// decision is what the row says; of a plate about which nobody decided it says
// that it is open.
func (r *decisionRow) decision(plate int64) (d records.PlateDecision, err error) {
	d = records.PlateDecision{PlateID: plate, State: records.PlateOpen}
	if !r.revision.Valid {
		return d, nil
	}
	d.Revision, d.By, d.Why, d.Act, d.Commit, d.PlateRevision = r.revision.Int64, r.by.String, r.why.String, r.act.String, r.commit.Int64, r.plate.Int64
	d.State, d.WellUID, d.Evidence = r.state.String, r.well.String, r.evidence.String
	if d.At, err = parseTime(r.at.String); err != nil {
		return d, err
	}
	if d.Refused, err = parseUIDs(r.refused); err != nil {
		return d, err
	}
	d.Candidates, err = parseUIDs(r.candidates)
	return d, err
}

// parseUIDs reads a list of public names; nil for none.
func parseUIDs(text []byte) (uids []string, err error) {
	if len(text) == 0 {
		return nil, nil
	}
	if err := json.Unmarshal(text, &uids); err != nil {
		return nil, fmt.Errorf("the wells that a decision about a plate names: %w", err)
	}
	return uids, nil
}

// uidsOrNull writes a list of public names, NULL for none.
func uidsOrNull(uids []string) (any, error) {
	if len(uids) == 0 {
		return nil, nil
	}
	text, err := json.Marshal(uids)
	return string(text), err
}

// stateSelect reads plates with the latest decision of each.
const stateSelect = `SELECT p.id, p.uid, p.revision, ifnull(p.number, ''), ifnull(p.well_id, 0),
	ifnull(p.revision > d.plate_revision OR EXISTS (SELECT 1 FROM json_each(d.candidates) c JOIN wells w ON w.uid = c.value WHERE w.changed_commit > d.commit_no), 0), ` +
	decisionColumns + ` FROM plates p LEFT JOIN plate_decisions d ON d.plate_uid = p.uid
	AND d.revision = (SELECT max(revision) FROM plate_decisions WHERE plate_uid = p.uid) `

// EachPlateState implements records.PlateDeskView.
func (v *view) EachPlateState(ctx context.Context, fn func(*records.PlateState) error) error {
	return v.plateStates(ctx, "ORDER BY p.id", nil, fn)
}

func (v *view) plateStates(ctx context.Context, end string, args []any, fn func(*records.PlateState) error) error {
	return each(ctx, v, stateSelect+end, args, func(rows *sql.Rows) error {
		var p records.PlateState
		var r decisionRow
		err := rows.Scan(append([]any{&p.ID, &p.UID, &p.Revision, &p.Number, &p.WellID, &p.Renewed}, r.dest()...)...)
		if err != nil {
			return err
		}
		if p.Decision, err = r.decision(p.ID); err != nil {
			return err
		}
		return fn(&p)
	})
}

// PlateState implements records.PlateDeskView.
func (v *view) PlateState(ctx context.Context, id int64) (out records.PlateState, err error) {
	found := false
	err = v.plateStates(ctx, "WHERE p.id = ?", []any{id}, func(p *records.PlateState) error {
		out, found = *p, true
		return nil
	})
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no plate %d", id)
	}
	return out, err
}

// PlateDecisions implements records.PlateDeskView.
func (v *view) PlateDecisions(ctx context.Context, id int64) ([]records.PlateDecision, error) {
	return v.decisions(ctx, "WHERE p.id = ? ORDER BY d.revision DESC", id)
}

// PlateAct implements records.PlateDeskView.
func (v *view) PlateAct(ctx context.Context, act string) ([]records.PlateDecision, error) {
	if act == "" {
		return nil, nil
	}
	return v.decisions(ctx, "WHERE d.act = ? AND d.act <> '' ORDER BY d.plate_uid", act)
}

func (v *view) decisions(ctx context.Context, end string, args ...any) ([]records.PlateDecision, error) {
	var out []records.PlateDecision
	err := each(ctx, v, "SELECT p.id, ifnull(d.reasons, ''), "+decisionColumns+" FROM plate_decisions d JOIN plates p ON p.uid = d.plate_uid "+end, args, func(rows *sql.Rows) error {
		var plate int64
		var reasons string
		var r decisionRow
		if err := rows.Scan(append([]any{&plate, &reasons}, r.dest()...)...); err != nil {
			return err
		}
		d, err := r.decision(plate)
		d.Reasons = reasons
		out = append(out, d)
		return err
	})
	return out, err
}

// PlatesWritten implements records.PlateDeskView.
func (v *view) PlatesWritten(ctx context.Context, commit int64) ([]int64, error) {
	var out []int64
	err := each(ctx, v, "SELECT id FROM plates WHERE changed_commit = ? ORDER BY id", []any{commit}, func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		out = append(out, id)
		return err
	})
	return out, err
}

// PlateNews implements records.PlateDeskView.
func (v *view) PlateNews(ctx context.Context, commit int64) (wells, plates int64, err error) {
	const decided = " AND changed_commit NOT IN (SELECT commit_no FROM plate_decisions WHERE commit_no > ?1)"
	if _, err = v.one(ctx, "SELECT (SELECT count(*) FROM wells w WHERE changed_commit > ?1"+decided+v.staged+") + (SELECT count(*) FROM removed WHERE removed_commit > ?1)", []any{commit}, &wells); err != nil {
		return 0, 0, err
	}
	_, err = v.one(ctx, "SELECT count(*) FROM plates WHERE changed_commit > ?1"+decided, []any{commit}, &plates)
	return wells, plates, err
}

// DecidePlate implements records.PlateDeskTx.
func (t *tx) DecidePlate(ctx context.Context, d *records.PlateDecision) error {
	p, err := t.Plate(ctx, d.PlateID)
	if err != nil {
		return err
	}
	was, err := t.PlateState(ctx, d.PlateID)
	if err != nil {
		return err
	}
	if was.Decision.Revision != d.Revision {
		return records.Errorf(records.Conflict, "somebody else decided something of plate %s meanwhile: look at it again", orID(p.Number, p.ID))
	}
	var well int64
	switch {
	case d.State == records.PlateLinked:
		if well, err = t.WellIDByUID(ctx, d.WellUID); err != nil {
			return err
		}
	case d.WellUID != "":
		return records.Errorf(records.Invalid, "a plate that is not linked names no well")
	case !slices.Contains([]string{records.PlateOpen, records.PlateLater, records.PlateNoRecord}, d.State):
		return records.Errorf(records.Invalid, "%q is nothing that can be decided of a plate", d.State)
	}
	if d.Reasons != "" && !json.Valid([]byte(d.Reasons)) {
		return records.Errorf(records.Invalid, "the reasons of a decision are no JSON")
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.asItStood(ctx, p, &was); err != nil {
		return err
	}
	if p.WellID != well || well != 0 && p.Evidence != d.Evidence {
		p.WellID, p.Evidence, p.LinkedBy, p.LinkedAt = well, d.Evidence, t.actor.Name, t.now
		if well == 0 {
			p.Evidence, p.LinkedBy, p.LinkedAt = "", "", time.Time{}
		}
		if err := t.PutPlate(ctx, p, d.Why); err != nil {
			return err
		}
	}
	next := *d
	next.Revision, next.At, next.By, next.Commit, next.PlateRevision = was.Decision.Revision+1, t.now, t.actor.Name, t.commit, p.Revision
	if err := t.addDecision(ctx, p.UID, &next); err != nil {
		return err
	}
	*d = next
	return nil
}

// asItStood writes down how a plate stands that is linked otherwise than the
// latest decision says, so that what comes now can be undone: before the first
// decision, and where the link was changed with the record.
func (t *tx) asItStood(ctx context.Context, p *records.Plate, was *records.PlateState) error {
	uid := ""
	if p.WellID != 0 {
		if _, err := t.one(ctx, "SELECT uid FROM wells WHERE id = ?", []any{p.WellID}, &uid); err != nil {
			return err
		}
	}
	now := records.PlateDecision{State: records.PlateOpen, At: t.now, By: t.actor.Name, Commit: t.commit, PlateRevision: p.Revision, Refused: was.Decision.Refused}
	if uid != "" {
		now.State, now.WellUID, now.Evidence = records.PlateLinked, uid, p.Evidence
		now.By = p.LinkedBy
		if !p.LinkedAt.IsZero() {
			now.At = p.LinkedAt
		}
	}
	var written int64
	first, err := t.one(ctx, "SELECT 1 FROM plate_decisions WHERE plate_uid = ? LIMIT 1", []any{p.UID}, &written)
	switch {
	case err != nil:
		return err
	case !first:
		now.Why = "as it stood before"
	case was.Decision.WellUID != uid:
		now.Revision, now.Why = was.Decision.Revision+1, "its link was changed with the record"
		was.Decision.Revision = now.Revision
	default:
		return nil
	}
	return t.addDecision(ctx, p.UID, &now)
}

// addDecision writes a row of plate_decisions.
func (t *tx) addDecision(ctx context.Context, uid string, d *records.PlateDecision) error {
	refused, err := uidsOrNull(d.Refused)
	if err != nil {
		return t.fail(err)
	}
	candidates, err := uidsOrNull(d.Candidates)
	if err != nil {
		return t.fail(err)
	}
	_, err = t.write(ctx, `INSERT INTO plate_decisions(plate_uid, revision, at, by, why, act, commit_no, plate_revision, state, well_uid, evidence, refused, candidates, reasons)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, uid, d.Revision, formatTime(d.At), d.By, textOrNull(d.Why), d.Act, d.Commit, d.PlateRevision,
		d.State, textOrNull(d.WellUID), textOrNull(d.Evidence), refused, candidates, textOrNull(d.Reasons))
	return err
}

// orID names a plate by its number, or by its key where it has none.
func orID(number string, id int64) string {
	if number != "" {
		return number
	}
	return fmt.Sprintf("no. %d", id)
}
