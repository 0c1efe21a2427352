package desk

import (
	"context"

	"tallybook/records"
)

// decide adds a decision on two records as they stand in a transaction.
func decide(ctx context.Context, tx records.StoreTx, a, b *records.Well, verdict, why string) error {
	now, err := tx.PairDecision(ctx, a.UID, b.UID)
	if err != nil {
		return err
	}
	next := records.PairDecision{A: now.A, B: now.B, Revision: now.Revision, Verdict: verdict, Why: why}
	if next.A == b.UID {
		a, b = b, a
	}
	next.MarkA, next.MarkB = records.PairMark(a), records.PairMark(b)
	found, err := tx.FoundPair(ctx, a.UID, b.UID)
	switch {
	case records.CodeOf(err) == records.NotFound:
	case err != nil:
		return err
	default:
		next.Probability, next.Reasons = found.Probability, reasonWords(found.Reasons)
	}
	return tx.DecidePair(ctx, &next)
}

// decidePair adds a decision that stands on nothing that is compared.
func decidePair(ctx context.Context, tx records.StoreTx, a, b, verdict, why string) error {
	now, err := tx.PairDecision(ctx, a, b)
	if err != nil {
		return err
	}
	return tx.DecidePair(ctx, &records.PairDecision{A: now.A, B: now.B, Revision: now.Revision, Verdict: verdict, Why: why, Probability: now.Probability, Reasons: now.Reasons})
}

// reasonWords are the reasons that may be kept beside a decision: none of them
// speaks of people.
func reasonWords(reasons []records.PairReason) []string {
	var out []string
	for _, r := range reasons {
		if !r.Private && r.Words != "" {
			out = append(out, r.Words)
		}
	}
	return out
}

// DecidePair keeps that two records are of different wells, that somebody is
// not sure, or that the question is open again. revision is that of the latest
// decision that the person saw, 0 for none.
func (d *Desk) DecidePair(ctx context.Context, actor records.Actor, a, b int64, revision int64, verdict, why string) (rev int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, err
	}
	switch verdict {
	case records.PairDifferent, records.PairUnsure, records.PairOpen:
	default:
		return 0, records.Errorf(records.Invalid, "%q is nothing that can be decided here: merge the two, or say different or not sure", verdict)
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		x, err := tx.Well(ctx, a)
		if err != nil {
			return err
		}
		y, err := tx.Well(ctx, b)
		if err != nil {
			return err
		}
		now, err := tx.PairDecision(ctx, x.UID, y.UID)
		if err != nil {
			return err
		}
		if now.Revision != revision {
			return records.Errorf(records.Conflict, "somebody else decided something of these two records meanwhile: look at them again")
		}
		rev = now.Revision + 1
		return decide(ctx, tx, x, y, verdict, why)
	})
	return rev, err
}
