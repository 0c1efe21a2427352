package desk

import (
	"context"
	"fmt"
	"runtime"

	"tallybook/records"
	"tallybook/records/importer"
)

// Rehearse goes through a file as TakeIn would and writes nothing: it tells
// what would be accepted, warned of and refused, and why. The batch that it
// gives has no key.
func (d *Desk) Rehearse(ctx context.Context, actor records.Actor, in Intake) (*records.Batch, error) {
	b, _, err := d.rehearse(ctx, actor, in)
	return b, err
}

func (d *Desk) rehearse(ctx context.Context, actor records.Actor, in Intake) (*records.Batch, *records.IntakeReport, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, nil, err
	}
	t := &rehearsal{d: d, in: in, batch: &records.Batch{Source: in.Name, By: actor.Name, StartedAt: d.now().UTC(), CopyOf: in.CopyOf}, report: newReportWriter(in.Source, in.Name)}
	t.report.about.Mapping, t.report.about.Named = in.Mapping, in.Named
	var err error
	if t.copy, err = d.beginCopy(ctx, in.CopyOf); err != nil {
		return nil, nil, err
	}
	legal := legalFinder{store: d.store}
	err = importer.Pipeline(ctx, in.Source, runtime.GOMAXPROCS(0), func(r *importer.Row) error {
		if err := legal.locate(ctx, r); err != nil {
			return err
		}
		t.batch.Read++
		if in.Progress != nil && t.batch.Read%500 == 0 {
			done, size := in.Source.Done()
			in.Progress(done, size, t.batch.Read)
		}
		t.rows = append(t.rows, r)
		if len(t.rows) < firstChunk {
			return nil
		}
		return t.chunk(ctx)
	})
	if err == nil {
		err = t.chunk(ctx)
	}
	if err != nil {
		return nil, nil, err
	}
	if in.Refused != nil {
		if err := in.Refused.Close(); err != nil {
			return nil, nil, err
		}
	}
	if t.copy != nil {
		t.batch.Gone = t.copy.goneCount()
	}
	t.batch.SHA256 = in.Source.SHA256()
	kept, _, err := t.report.end()
	return t.batch, kept, err
}

// rehearsal is a file while it is gone through.
type rehearsal struct {
	d      *Desk
	in     Intake
	batch  *records.Batch
	report *reportWriter
	rows   []*importer.Row
	copy   *laterCopy
}

// chunk holds rows against what is there.
func (t *rehearsal) chunk(ctx context.Context) error {
	err := t.d.store.View(ctx, func(v records.StoreView) error {
		for _, r := range t.rows {
			if r.Refused() {
				t.copy.refused(r)
				continue
			}
			if t.copy != nil {
				done, err := t.copy.row(ctx, v, r, t.batch, nil)
				if err != nil || done {
					if err != nil {
						return err
					}
					continue
				}
			}
			id, err := v.WellIDByUID(ctx, r.Well.UID)
			switch {
			case err == nil:
				r.Faults = append(r.Faults, thereAlready(id))
			case records.CodeOf(err) != records.NotFound:
				return fmt.Errorf("row %d: %w", r.Number, err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, r := range t.rows {
		if err := t.account(r); err != nil {
			return err
		}
	}
	t.rows = t.rows[:0]
	return nil
}

func (t *rehearsal) account(r *importer.Row) error {
	if len(r.Faults) > 0 {
		if t.in.Told != nil {
			t.in.Told(r)
		}
		if err := t.report.add(r, 0); err != nil {
			return err
		}
	}
	if r.Refused() {
		t.batch.Refused++
		if t.in.Refused != nil {
			return t.in.Refused.Write(r)
		}
		return nil
	}
	t.batch.Accepted++
	if r.Warned() {
		t.batch.Warned++
	}
	if t.in.Accepted != nil {
		t.in.Accepted(r)
	}
	return nil
}

// thereAlready is why a row is refused whose record is there.
func thereAlready(id int64) records.Fault {
	return records.Fault{
		Severity: records.Refusal, Field: "uid",
		Message: fmt.Sprintf("this record is in the database already, as record %d", id),
		Mend:    "nothing to do if the file was taken in before; else give the row a uid of its own",
	}
}
