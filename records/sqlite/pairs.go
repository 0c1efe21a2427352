package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"slices"

	"tallybook/records"
)

// ChangedSince implements records.HistoryView.
func (v *view) ChangedSince(ctx context.Context, commit int64) (n int64, err error) {
	_, err = v.one(ctx, "SELECT (SELECT count(*) FROM wells WHERE changed_commit > ?1) + (SELECT count(*) FROM removed WHERE removed_commit > ?1)", []any{commit}, &n)
	return n, err
}

// pairSelect reads decisions; see scanPair.
const pairSelect = `SELECT uid_a, uid_b, revision, verdict, ifnull(probability, 0), reasons, ifnull(mark_a, ''), ifnull(mark_b, ''), at, by, ifnull(why, '') FROM pair_decisions d `

func (v *view) pairs(ctx context.Context, end string, args ...any) (out []records.PairDecision, err error) {
	err = each(ctx, v, pairSelect+end, args, func(rows *sql.Rows) error {
		var d records.PairDecision
		var reasons []byte
		var at string
		err := rows.Scan(&d.A, &d.B, &d.Revision, &d.Verdict, &d.Probability, &reasons, &d.MarkA, &d.MarkB, &at, &d.By, &d.Why)
		if err == nil && len(reasons) > 0 {
			err = json.Unmarshal(reasons, &d.Reasons)
		}
		if err == nil {
			d.At, err = parseTime(at)
		}
		out = append(out, d)
		return err
	})
	return out, err
}

// PairDecision implements records.HistoryView.
func (v *view) PairDecision(ctx context.Context, a, b string) (records.PairDecision, error) {
	a, b = records.PairOf(a, b)
	found, err := v.pairs(ctx, "WHERE uid_a = ? AND uid_b = ? ORDER BY revision DESC LIMIT 1", a, b)
	if err != nil || len(found) == 0 {
		return records.PairDecision{A: a, B: b}, err
	}
	return found[0], nil
}

// PairDecisions implements records.HistoryView.
func (v *view) PairDecisions(ctx context.Context) ([]records.PairDecision, error) {
	return v.pairs(ctx, "WHERE revision = (SELECT max(revision) FROM pair_decisions l WHERE l.uid_a = d.uid_a AND l.uid_b = d.uid_b) ORDER BY at DESC, uid_a, uid_b")
}

// PairHistory implements records.HistoryView.
func (v *view) PairHistory(ctx context.Context, a, b string) ([]records.PairDecision, error) {
	a, b = records.PairOf(a, b)
	return v.pairs(ctx, "WHERE uid_a = ? AND uid_b = ? ORDER BY revision DESC", a, b)
}

// DecidePair implements records.HistoryTx.
func (t *tx) DecidePair(ctx context.Context, d *records.PairDecision) error {
	switch {
	case !slices.Contains(records.PairVerdicts(), d.Verdict):
		return &records.Error{Code: records.Invalid, Field: "verdict", Message: "a decision on two records needs a verdict: merged, works, twin, different, unsure or open"}
	case d.A >= d.B || d.A == "":
		return &records.Error{Code: records.Invalid, Field: "pair", Message: "a decision needs two records, the smaller name first"}
	}
	now, err := t.PairDecision(ctx, d.A, d.B)
	switch {
	case err != nil:
		return err
	case now.Revision != d.Revision:
		return records.Errorf(records.Conflict, "somebody else decided something of these two records meanwhile: look at them again")
	}
	for _, uid := range []string{d.A, d.B} {
		var one int
		known, err := t.one(ctx, "SELECT 1 FROM wells WHERE uid = ?1 UNION ALL SELECT 1 FROM removed WHERE uid = ?1 LIMIT 1", []any{uid}, &one)
		if err != nil {
			return err
		}
		if !known {
			return records.Errorf(records.NotFound, "there is no well %q", uid)
		}
	}
	reasons := ""
	if len(d.Reasons) > 0 {
		text, err := json.Marshal(d.Reasons)
		if err != nil {
			return t.fail(err)
		}
		reasons = string(text)
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if _, err := t.write(ctx, `INSERT INTO pair_decisions(uid_a, uid_b, revision, verdict, probability, reasons, mark_a, mark_b, at, by, why)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, d.A, d.B, d.Revision+1, d.Verdict, d.Probability, textOrNull(reasons),
		textOrNull(d.MarkA), textOrNull(d.MarkB), formatTime(t.now), t.actor.Name, textOrNull(d.Why)); err != nil {
		return err
	}
	d.Revision, d.At, d.By = d.Revision+1, t.now, t.actor.Name
	return nil
}

// FoundPairs implements records.HistoryView.
func (v *view) FoundPairs(ctx context.Context) (run records.PairRun, out []records.FoundPair, err error) {
	var at string
	found, err := v.one(ctx, "SELECT at, by, data_commit, records, ifnull(note, ''), (SELECT count(*) FROM found_pairs) FROM pair_runs", nil, &at, &run.By, &run.Commit, &run.Records, &run.Note, &run.Pairs)
	if err != nil || !found {
		return run, nil, err
	}
	if run.At, err = parseTime(at); err != nil {
		return run, nil, err
	}
	err = each(ctx, v, "SELECT p.uid_a, p.uid_b, a.id, b.id, p.probability FROM found_pairs p JOIN wells a ON a.uid = p.uid_a JOIN wells b ON b.uid = p.uid_b ORDER BY p.probability DESC, p.uid_a, p.uid_b", nil, func(rows *sql.Rows) error {
		var p records.FoundPair
		err := rows.Scan(&p.A, &p.B, &p.IDA, &p.IDB, &p.Probability)
		out = append(out, p)
		return err
	})
	return run, out, err
}

// FoundPair implements records.HistoryView.
func (v *view) FoundPair(ctx context.Context, a, b string) (p records.FoundPair, err error) {
	a, b = records.PairOf(a, b)
	var reasons []byte
	found, err := v.one(ctx, "SELECT p.uid_a, p.uid_b, a.id, b.id, p.probability, p.reasons FROM found_pairs p JOIN wells a ON a.uid = p.uid_a JOIN wells b ON b.uid = p.uid_b WHERE p.uid_a = ? AND p.uid_b = ?", []any{a, b},
		&p.A, &p.B, &p.IDA, &p.IDB, &p.Probability, &reasons)
	switch {
	case err != nil:
		return p, err
	case !found:
		return p, records.Errorf(records.NotFound, "these two records were not found to be likely of one well")
	}
	return p, json.Unmarshal(reasons, &p.Reasons)
}

// KeepPairs implements records.HistoryTx.
func (t *tx) KeepPairs(ctx context.Context, run *records.PairRun, pairs []records.FoundPair) error {
	if err := t.touch(ctx); err != nil {
		return err
	}
	for _, query := range []string{"DELETE FROM found_pairs", "DELETE FROM pair_runs"} {
		if _, err := t.write(ctx, query); err != nil {
			return err
		}
	}
	if _, err := t.write(ctx, "INSERT INTO pair_runs(one, at, by, data_commit, records, note) VALUES (1, ?, ?, ?, ?, ?)",
		formatTime(t.now), t.actor.Name, run.Commit, run.Records, textOrNull(run.Note)); err != nil {
		return err
	}
	for i := range pairs {
		p := &pairs[i]
		if p.A >= p.B || !(p.Probability >= 0 && p.Probability <= 1) {
			return t.fail(&records.Error{Code: records.Invalid, Field: "pair", Message: "a pair needs two names, the smaller first, and a probability from 0 to 1"})
		}
		reasons, err := json.Marshal(p.Reasons)
		if err != nil {
			return t.fail(err)
		}
		if _, err := t.write(ctx, "INSERT INTO found_pairs(uid_a, uid_b, id_a, id_b, probability, reasons) VALUES (?, ?, ?, ?, ?, ?)",
			p.A, p.B, p.IDA, p.IDB, p.Probability, string(reasons)); err != nil {
			return err
		}
	}
	run.At, run.By, run.Pairs = t.now, t.actor.Name, int64(len(pairs))
	return nil
}
