package recordstest

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// ConformJobs holds a store against what is asked of it for jobs.
func ConformJobs(t *testing.T, open Opener) {
	t.Run("written, read and listed", func(t *testing.T) { jobsListed(t, open(t)) })
	t.Run("revised and taken out", func(t *testing.T) { jobsRevised(t, open(t)) })
	t.Run("all or nothing", func(t *testing.T) {
		s := open(t)
		undone(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutJob(ctx, FullJob(), "") })
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			all, err := v.Jobs(ctx, records.JobFilter{})
			if len(all) != 0 {
				t.Errorf("%d jobs were left", len(all))
			}
			return err
		})
	})
}

func putJob(t *testing.T, s records.Store, j *records.Job, why string) {
	t.Helper()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutJob(ctx, j, why) })
}

func jobsListed(t *testing.T, s records.Store) {
	full := FullJob()
	full.Extra = []records.Member{{Name: "colour", JSON: `"red"`}}
	due := func(label, stage, next string, on records.Date) *records.Job {
		return &records.Job{Label: label, Stage: stage, Steps: []records.JobStep{{Stage: next, Due: on}}}
	}
	late := due("late", records.JobCalled, records.JobScouted, records.Date{Year: 2026, Month: 5, Day: 1})
	soon := due("soon", records.JobCalled, records.JobScouted, records.Date{Year: 2026, Month: 4})
	some := due("some day", records.JobCalled, records.JobScouted, records.Date{})
	quoted := due("quoted", records.JobQuoted, records.JobScheduled, records.Date{Year: 2025})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutJob(ctx, full, ""), tx.PutJob(ctx, late, ""), tx.PutJob(ctx, some, ""), tx.PutJob(ctx, quoted, ""), tx.PutJob(ctx, soon, ""))
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, err := v.Job(ctx, full.ID)
		if diff := cmp.Diff(full, got); diff != "" {
			t.Errorf("as written and read:\n%s", diff)
		}
		for what, c := range map[string]struct {
			filter records.JobFilter
			want   []*records.Job
		}{
			"all":                {records.JobFilter{}, []*records.Job{soon, late, some, quoted, full}},
			"called":             {records.JobFilter{Stages: []string{records.JobCalled}}, []*records.Job{soon, late, some}},
			"called or filed":    {records.JobFilter{Stages: []string{records.JobFiled, records.JobCalled}}, []*records.Job{soon, late, some, full}},
			"of a forecast":      {records.JobFilter{ForecastUID: full.ForecastUID}, []*records.Job{full}},
			"of it, and called":  {records.JobFilter{ForecastUID: full.ForecastUID, Stages: []string{records.JobCalled}}, nil},
			"of no such stage":   {records.JobFilter{Stages: []string{"lunch' OR '1'='1"}}, nil},
			"of another (quote)": {records.JobFilter{ForecastUID: "' OR 1=1 --"}, nil},
		} {
			got, err := v.Jobs(ctx, c.filter)
			if diff := cmp.Diff(c.want, got); diff != "" || err != nil {
				t.Errorf("%s: %v\n%s", what, err, diff)
			}
		}
		id, err2 := v.JobIDByUID(ctx, full.UID)
		if id != full.ID {
			t.Errorf("found by its uid as %d, want %d", id, full.ID)
		}
		if _, err := v.JobIDByUID(ctx, "nobody"); records.CodeOf(err) != records.NotFound {
			t.Errorf("a uid that is none: %v", err)
		}
		if _, err := v.Job(ctx, 99); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that is not there: %v", err)
		}
		return errors.Join(err, err2)
	})
}

func jobsRevised(t *testing.T, s records.Store) {
	j := FullJob()
	putJob(t, s, j, "")
	first := *j
	j.MoveTo(records.JobDrilling, records.Date{})
	putJob(t, s, j, "filed -> drilling")
	second := *j
	put := func(change func(j *records.Job)) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error {
			x := *j
			change(&x)
			return tx.PutJob(ctx, &x, "")
		}
	}
	refused(t, s, "stale", records.Conflict, put(func(j *records.Job) { j.Revision = 1 }))
	refused(t, s, "the same uid twice", records.Conflict, put(func(j *records.Job) { j.ID, j.Revision = 0, 0 }))
	refused(t, s, "another uid", records.Conflict, put(func(j *records.Job) { j.UID = FullForecast().UID }))
	refused(t, s, "not there", records.NotFound, put(func(j *records.Job) { j.ID = 99 }))
	refused(t, s, "no stage", records.Invalid, put(func(j *records.Job) { j.Stage = "lunch" }))
	refused(t, s, "off the earth", records.Invalid, put(func(j *records.Job) { j.Lat = -91 }))
	refused(t, s, "kept what is not JSON", records.Invalid, put(func(j *records.Job) { j.Extra = []records.Member{{Name: "a", JSON: "{"}} }))
	refused(t, s, "removed stale", records.Conflict, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveJob(ctx, j.ID, 1, "") })
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.RemoveJob(ctx, j.ID, 2, "came to nothing")
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		if _, err := v.Job(ctx, j.ID); records.CodeOf(err) != records.NotFound {
			t.Errorf("taken out and still there: %v", err)
		}
		revs, err := v.JobRevisions(ctx, j.ID)
		if len(revs) != 2 {
			t.Fatalf("%d earlier states, want 2", len(revs))
		}
		if diff := cmp.Diff([]*records.Job{&second, &first}, []*records.Job{revs[0].Image, revs[1].Image}); diff != "" {
			t.Errorf("images:\n%s", diff)
		}
		if r := revs[0]; r.Why != "came to nothing" || r.By != Writer().Name || r.Until.IsZero() || revs[1].Why != "filed -> drilling" {
			t.Errorf("how they ended: %+v", revs)
		}
		return err
	})
	back := first
	back.ID, back.Revision = 0, 0
	putJob(t, s, &back, "")
	if back.ID == j.ID || back.UID != j.UID {
		t.Errorf("brought back as %d (was %d) with the uid %s", back.ID, j.ID, back.UID)
	}
}
