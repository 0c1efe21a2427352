package sqlite

import (
	"context"
	"database/sql"
	"strings"

	"tallybook/records"
)

var jobKind = keptKind{word: "job", table: "jobs", docs: "jobs", revisions: "job_revisions"}

// eachJob reads the jobs that a query's end picks.
func (v *view) eachJob(ctx context.Context, end string, args []any, fn func(*records.Job)) error {
	return each(ctx, v, "SELECT j.id, j.revision, j.doc FROM jobs j "+end, args, func(rows *sql.Rows) error {
		j := &records.Job{}
		var id, revision int64
		var doc []byte
		if err := rows.Scan(&id, &revision, &doc); err != nil {
			return err
		}
		v.tellUnread(jobKind, id, j.ParseJob(doc))
		j.ID, j.Revision = id, revision
		fn(j)
		return nil
	})
}

// Job implements records.ScoutingView.
func (v *view) Job(ctx context.Context, id int64) (*records.Job, error) {
	var found *records.Job
	err := v.eachJob(ctx, "WHERE j.id = ?", []any{id}, func(j *records.Job) { found = j })
	if err == nil && found == nil {
		err = records.Errorf(records.NotFound, "there is no job %d", id)
	}
	return found, err
}

// JobIDByUID implements records.ScoutingView.
func (v *view) JobIDByUID(ctx context.Context, uid string) (id int64, err error) {
	found, err := v.one(ctx, "SELECT id FROM jobs WHERE uid = ?", []any{uid}, &id)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no job %q", uid)
	}
	return id, err
}

// Jobs implements records.ScoutingView.
func (v *view) Jobs(ctx context.Context, f records.JobFilter) ([]*records.Job, error) {
	where, args := "WHERE 1", []any(nil)
	if len(f.Stages) > 0 {
		where += " AND j.stage IN (" + strings.Repeat(",?", len(f.Stages))[1:] + ")"
		for _, stage := range f.Stages {
			args = append(args, stage)
		}
	}
	if f.ForecastUID != "" {
		where += " AND j.forecast_uid = ?"
		args = append(args, f.ForecastUID)
	}
	var out []*records.Job
	err := v.eachJob(ctx, where+" ORDER BY j.stage_no, j.due IS NULL, j.due, j.id", args, func(j *records.Job) { out = append(out, j) })
	return out, err
}

// JobRevisions implements records.ScoutingView.
func (v *view) JobRevisions(ctx context.Context, id int64) ([]records.Earlier[records.Job], error) {
	return earlier(ctx, v, jobKind, id, func(j *records.Job, doc []byte, revision int64) []records.Fault {
		faults := j.ParseJob(doc)
		j.ID, j.Revision = id, revision
		return faults
	})
}

// PutJob implements records.ScoutingTx.
func (t *tx) PutJob(ctx context.Context, j *records.Job, why string) error {
	switch {
	case records.StageNumber(j.Stage) < 0:
		return &records.Error{Code: records.Invalid, Field: "stage", Message: "a job needs a stage"}
	case j.Located && !onEarth(j.Lon, j.Lat):
		return &records.Error{Code: records.Invalid, Field: "lon", Message: "the job's longitude and latitude are no position on the earth"}
	}
	uid, revision, err := t.admit(ctx, jobKind, j.ID, j.Revision, j.UID)
	if err != nil {
		return err
	}
	next := *j
	next.UID, next.Revision = uid, revision
	doc := next.AppendJob(nil, records.WriteOptions{Private: true})
	if err := readable(doc, func(doc []byte) error {
		var back records.Job
		return records.FaultError(back.ParseJob(doc))
	}); err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	values := append([]any{uid, revision, t.commit, string(doc)}, jobValues(&next)...)
	if next.ID, err = t.putRow(ctx, jobKind, next.ID, "uid, revision, changed_commit, doc, "+jobColumns, values, why); err != nil {
		return err
	}
	j.ID, j.UID, j.Revision = next.ID, next.UID, next.Revision
	return nil
}

// jobColumns are those that follow from a job, and jobValues what they hold.
const jobColumns = "stage, stage_no, due, label, well_uid, forecast_uid"

func jobValues(j *records.Job) []any {
	due, _ := j.NextDue()
	return []any{j.Stage, int64(records.StageNumber(j.Stage)), textOrNull(due.String()), textOrNull(j.Label), textOrNull(j.WellUID), textOrNull(j.ForecastUID)}
}

// RemoveJob implements records.ScoutingTx.
func (t *tx) RemoveJob(ctx context.Context, id, revision int64, why string) error {
	if _, err := t.current(ctx, jobKind, id, revision); err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.keepImage(ctx, jobKind, id, why); err != nil {
		return err
	}
	_, err := t.write(ctx, "DELETE FROM jobs WHERE id = ?", id)
	return err
}
