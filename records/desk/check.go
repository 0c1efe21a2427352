package desk

import (
	"context"
	"errors"
	"fmt"

	"tallybook/records"
)

// CheckReport is the state of a database: every record valid, the index in
// step, every row of every intake accounted for.
type CheckReport struct {
	Wells    int64
	Warnings int64
	Problems []Problem
	More     int64 // problems beyond those listed
	// Notes are to be known and no problem: what an intake left that was
	// broken off, which nobody sees.
	Notes []string
}

// Problem is one thing that is not as it must be.
type Problem struct {
	WellID int64 // 0: not of one record
	Number string
	Fault  records.Fault
}

// mostProblems is how many are listed; the rest is counted.
const mostProblems = 200

func (r *CheckReport) add(p Problem) {
	if len(r.Problems) < mostProblems {
		r.Problems = append(r.Problems, p)
		return
	}
	r.More++
}

// Sound says whether nothing is wrong.
func (r *CheckReport) Sound() bool { return len(r.Problems) == 0 }

// selfChecker is a store that can look into itself: its file, its index, what
// it derives from its records.
type selfChecker interface {
	CheckIntegrity(ctx context.Context) ([]records.Fault, error)
}

// Check looks at everything. Progress may be nil.
func (d *Desk) Check(ctx context.Context, actor records.Actor, progress func(done, total int64)) (*CheckReport, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	r := &CheckReport{}
	if s, ok := d.store.(selfChecker); ok {
		faults, err := s.CheckIntegrity(ctx)
		if err != nil {
			return nil, err
		}
		for _, f := range faults {
			if f.Severity == records.Warning { // to be looked at, and nothing wrong
				r.Warnings++
				r.Notes = append(r.Notes, f.String())
				continue
			}
			r.add(Problem{Fault: f})
		}
	}
	if err := d.checkUnfinished(ctx, r); err != nil {
		return nil, err
	}
	err := d.store.View(ctx, func(v records.StoreView) error {
		total, err := v.CountWells(ctx)
		if err != nil {
			return err
		}
		perBatch := map[int64]int64{}
		grids, err := d.ground.sources(ctx, v)
		if err != nil {
			return err
		}
		heights := &groundHeld{}
		err = v.EachWell(ctx, nil, func(w *records.Well) error {
			r.Wells++
			perBatch[w.Provenance.Batch]++
			if len(grids) > 0 {
				heights.add(w)
			}
			if progress != nil && r.Wells%1000 == 0 {
				progress(r.Wells, total)
			}
			for _, f := range w.Validate(d.Validation()) {
				if f.Severity == records.Refusal {
					r.add(Problem{WellID: w.ID, Number: w.Number, Fault: f})
				} else {
					r.Warnings++
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		if r.Wells != total {
			r.add(Problem{Fault: countFault("wells", fmt.Sprintf("%d records are counted but %d can be read", total, r.Wells))})
		}
		if err := d.checkGround(ctx, v, heights, r); err != nil {
			return err
		}
		return checkBatches(ctx, v, perBatch, r)
	})
	return r, err
}

// checkUnfinished finds intakes that will never be finished. While one is under
// way they cannot be told apart.
func (d *Desk) checkUnfinished(ctx context.Context, r *CheckReport) error {
	c, ok := d.store.(claimer)
	if !ok {
		return nil
	}
	release, held, err := c.Claim("intake")
	if records.CodeOf(err) == records.Busy && err != nil || err == nil && !held {
		return nil
	}
	if err != nil {
		return err
	}
	left, err := d.unfinished(ctx)
	for _, b := range left {
		r.Notes = append(r.Notes, fmt.Sprintf("intake %d (%s), begun on %s, was never finished: nobody sees any of it, and the next intake clears it away",
			b.ID, b.Source, b.StartedAt.Format("2006-01-02 15:04")))
	}
	return errors.Join(err, release())
}

func countFault(field, message string) records.Fault {
	return records.Fault{Severity: records.Refusal, Field: field, Message: message, Mend: "restore the latest sound copy, or export what can be read and take it in anew"}
}

// checkBatches holds the counts of each intake against each other and against
// the records that are there.
func checkBatches(ctx context.Context, v records.StoreView, perBatch map[int64]int64, r *CheckReport) error {
	batches, err := v.Batches(ctx)
	if err != nil {
		return err
	}
	for _, b := range batches {
		name := fmt.Sprintf("intake %d (%s)", b.ID, b.Source)
		if b.State != "published" {
			continue
		}
		if b.Read != b.Accepted+b.Refused {
			r.add(Problem{Fault: countFault(name, fmt.Sprintf("%d rows read, but %d accepted and %d refused", b.Read, b.Accepted, b.Refused))})
		}
		if have := perBatch[b.ID]; have > b.Accepted {
			r.add(Problem{Fault: countFault(name, fmt.Sprintf("%d rows accepted, but %d records name it", b.Accepted, have))})
		}
	}
	return nil
}
