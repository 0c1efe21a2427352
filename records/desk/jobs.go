package desk

import (
	"context"

	"tallybook/records"
)

// Job opens one job. The customer is blanked for those who may not see people.
func (d *Desk) Job(ctx context.Context, actor records.Actor, id int64) (*records.Job, error) {
	j, err := look(ctx, d, actor, func(v records.StoreView) (*records.Job, error) { return v.Job(ctx, id) })
	if err == nil {
		d.hideCustomer(actor, j)
	}
	return j, err
}

// JobIDByUID finds a job by its public name.
func (d *Desk) JobIDByUID(ctx context.Context, actor records.Actor, uid string) (int64, error) {
	return look(ctx, d, actor, func(v records.StoreView) (int64, error) { return v.JobIDByUID(ctx, uid) })
}

// Jobs lists jobs by stage and what is due next.
func (d *Desk) Jobs(ctx context.Context, actor records.Actor, f records.JobFilter) ([]*records.Job, error) {
	list, err := look(ctx, d, actor, func(v records.StoreView) ([]*records.Job, error) { return v.Jobs(ctx, f) })
	d.hideCustomer(actor, list...)
	return list, err
}

// SaveJob writes a job, new (ID 0) or changed, and tells its faults; one that
// refuses it keeps it out. A forecast or a well that it names for the first
// time must be there. The customer stays as stored where the actor may not see
// people.
func (d *Desk) SaveJob(ctx context.Context, actor records.Actor, j *records.Job, why string) ([]records.Fault, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	faults := j.Validate(d.Validation())
	if err := records.FaultError(faults); err != nil {
		return faults, err
	}
	return faults, d.update(ctx, actor, func(tx records.StoreTx) error {
		var before records.Job
		if j.ID != 0 {
			stored, err := tx.Job(ctx, j.ID)
			switch {
			case err == nil:
				before = *stored
			case records.CodeOf(err) != records.NotFound: // else PutJob says so
				return err
			}
		}
		if d.Permit(actor, SeePrivate) != nil {
			j.Customer = before.Customer
		}
		if err := newLinks(ctx, tx, j, &before); err != nil {
			return err
		}
		return tx.PutJob(ctx, j, why)
	})
}

// newLinks looks that what a job newly refers to is there. What it referred to
// before may have been taken out since, and be brought back.
func newLinks(ctx context.Context, tx records.StoreTx, j, before *records.Job) error {
	for _, link := range []struct {
		field, now, was string
		find            func(context.Context, string) (int64, error)
	}{
		{"forecast_uid", j.ForecastUID, before.ForecastUID, tx.ForecastIDByUID},
		{"well_uid", j.WellUID, before.WellUID, tx.WellIDByUID},
	} {
		if link.now == "" || link.now == link.was {
			continue
		}
		if _, err := link.find(ctx, link.now); records.CodeOf(err) == records.NotFound {
			return &records.Error{Code: records.NotFound, Field: link.field, Message: records.MessageOf(err), Err: err}
		} else if err != nil {
			return err
		}
	}
	return nil
}

// JobMove brings a job to a stage.
type JobMove struct {
	Stage string
	On    records.Date // when it was reached; zero: not noted
	// NextDue is the day by which what comes after it is to be done: the next
	// stage, and after the hole is finished the record that is to be sent.
	// Zero leaves what is noted of it.
	NextDue records.Date
}

// of moves the job. One that is filed was sent on that day, unless another is
// noted.
func (m *JobMove) of(j *records.Job) {
	j.MoveTo(m.Stage, m.On)
	if m.Stage == records.JobFiled && j.Filing.Sent.IsZero() {
		j.Filing.Sent = m.On
	}
	next := records.StageNumber(m.Stage) + 1
	switch stages := records.JobStages(); {
	case m.NextDue.IsZero() || next == len(stages) || next == 0:
	case stages[next] == records.JobFiled:
		j.Filing.Due = m.NextDue
	case j.Step(stages[next]) != nil:
		j.Step(stages[next]).Due = m.NextDue
	default:
		j.Steps = append(j.Steps, records.JobStep{Stage: stages[next], Due: m.NextDue})
	}
}

// MoveJob brings a job to a stage, and tells what is doubtful of it then.
// revision is the one that the person saw.
func (d *Desk) MoveJob(ctx context.Context, actor records.Actor, id, revision int64, m JobMove) (*records.Job, []records.Fault, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, nil, err
	}
	var moved *records.Job
	var faults []records.Fault
	err := d.update(ctx, actor, func(tx records.StoreTx) error {
		j, err := tx.Job(ctx, id)
		if err != nil {
			return err
		}
		from := j.Stage
		m.of(j)
		faults = j.Validate(d.Validation())
		if err := records.FaultError(faults); err != nil {
			return err
		}
		j.Revision = revision
		moved = j
		return tx.PutJob(ctx, j, from+" → "+m.Stage)
	})
	if err != nil {
		return nil, faults, err
	}
	d.hideCustomer(actor, moved)
	return moved, faults, nil
}

// RemoveJob takes a job out; its last state is kept and can be restored.
func (d *Desk) RemoveJob(ctx context.Context, actor records.Actor, id, revision int64, why string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.RemoveJob(ctx, id, revision, why)
	})
}

// JobRevisions lists the earlier states of a job, the latest first.
func (d *Desk) JobRevisions(ctx context.Context, actor records.Actor, id int64) ([]records.Earlier[records.Job], error) {
	revs, err := look(ctx, d, actor, func(v records.StoreView) ([]records.Earlier[records.Job], error) { return v.JobRevisions(ctx, id) })
	for _, r := range revs {
		d.hideCustomer(actor, r.Image)
	}
	return revs, err
}

// RestoreJob makes an earlier state the current one, as RestoreSighting does:
// so a move between stages is undone.
func (d *Desk) RestoreJob(ctx context.Context, actor records.Actor, id, revision, current int64) (restored int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) (err error) {
		k := keptAs[records.Job]{tx.Job, tx.PutJob, tx.JobRevisions, func(j *records.Job) (id, revision *int64) { return &j.ID, &j.Revision }}
		restored, err = k.restore(ctx, id, revision, current)
		return err
	})
	return restored, err
}

// GiveOutJobs hands jobs over, for writing to a file. Customers are blanked
// unless they are asked for by somebody who may see them.
func (d *Desk) GiveOutJobs(ctx context.Context, actor records.Actor, f records.JobFilter, private bool, fn func(*records.Job) error) error {
	if err := d.Permit(actor, GiveOut); err != nil {
		return err
	}
	if private {
		if err := d.Permit(actor, SeePrivate); err != nil {
			return err
		}
	}
	return d.store.View(ctx, func(v records.StoreView) error {
		list, err := v.Jobs(ctx, f)
		if err != nil {
			return err
		}
		for _, j := range list {
			if !private {
				j.Customer = records.Person{}
			}
			if err := fn(j); err != nil {
				return err
			}
		}
		return nil
	})
}

func (d *Desk) hideCustomer(actor records.Actor, list ...*records.Job) {
	if d.Permit(actor, SeePrivate) == nil {
		return
	}
	for _, j := range list {
		j.Customer = records.Person{}
	}
}

// Reckoning holds what a job came to against what was quoted, in hundredths
// of its currency.
type Reckoning struct {
	Currency    string
	ActualCents int
	// Within says whether it came to something between the lowest and the
	// highest that were quoted (a single amount is both).
	Within bool
	// OverMidCents is how far above the middle quote it came; below zero, under.
	OverMidCents int
}

// ReckonJob gives the reckoning; ok is false where quote or cost is missing.
func ReckonJob(j *records.Job) (r Reckoning, ok bool) {
	q := &j.Quote
	amounts := [...]int{q.LowCents, q.MidCents, q.HighCents}
	low, high := 0, 0
	for _, a := range amounts {
		if a > 0 {
			if low == 0 {
				low = a
			}
			high = a
		}
	}
	if j.ActualCents == 0 || high == 0 {
		return Reckoning{}, false
	}
	mid := q.MidCents
	if mid == 0 {
		mid = low + (high-low)/2
	}
	return Reckoning{
		Currency: q.Currency, ActualCents: j.ActualCents,
		Within: j.ActualCents >= low && j.ActualCents <= high, OverMidCents: j.ActualCents - mid,
	}, true
}
