package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"tallybook/records"
)

// copyPage is how many changes are in hand at a time.
const copyPage = 256

// publish brings in what was staged, in the transaction that makes the intake
// visible. Records that the copy has no longer are only marked.
func (c *laterCopy) publish(ctx context.Context, tx records.StoreTx, b *records.Batch) error {
	err := eachChange(ctx, tx, b.ID, func(x *records.CopyChange) error { return c.bringIn(ctx, tx, b, x) })
	if err != nil {
		return err
	}
	gone := make([]int64, 0)
	for id, row := range c.ids {
		if row == 0 {
			gone = append(gone, id)
		}
	}
	slices.Sort(gone)
	for _, id := range gone {
		if err := tx.PutCopyChange(ctx, &records.CopyChange{Batch: b.ID, WellID: id, What: records.CopyGone}); err != nil {
			return err
		}
		b.Gone++
	}
	return nil
}

func (c *laterCopy) bringIn(ctx context.Context, tx records.StoreTx, b *records.Batch, x *records.CopyChange) error {
	stored, err := tx.Well(ctx, x.WellID)
	if records.CodeOf(err) == records.NotFound { // taken out while the file was read
		b.Same++
		return nil
	}
	if err != nil {
		return err
	}
	base, err := tx.SourceImage(ctx, x.WellID, 0)
	if err != nil {
		return err
	}
	m := c.merge(base, x.Image, stored)
	m.count(b)
	if m.changed {
		if err := tx.PutWell(ctx, m.well, copyWhy(b)); err != nil {
			return fmt.Errorf("record %d: %w", x.WellID, err)
		}
		x.Wrote = m.well.Revision
	}
	if x.Clashes, err = json.Marshal(m.clashes); err != nil {
		return err
	}
	return tx.PutCopyChange(ctx, x)
}

func copyWhy(b *records.Batch) string {
	return fmt.Sprintf("intake %d, a later copy of intake %d", b.ID, b.CopyOf)
}

// eachChange hands out what a copy says of records, in the order of their
// keys.
func eachChange(ctx context.Context, v records.StoreView, batch int64, fn func(*records.CopyChange) error) error {
	for after := int64(math.MinInt64); ; {
		page, err := v.CopyChanges(ctx, batch, after, copyPage)
		if err != nil {
			return err
		}
		for i := range page {
			if err := fn(&page[i]); err != nil {
				return err
			}
		}
		if len(page) < copyPage {
			return nil
		}
		after = page[len(page)-1].WellID
	}
}

// takeBackCopy sets the records that a later copy changed back to what they
// were, those alone that nobody worked on since.
func takeBackCopy(ctx context.Context, tx records.StoreTx, b *records.Batch) (back, left int64, err error) {
	err = eachChange(ctx, tx, b.ID, func(x *records.CopyChange) error {
		if x.Wrote == 0 {
			return nil
		}
		now, err := tx.Well(ctx, x.WellID)
		switch {
		case records.CodeOf(err) == records.NotFound:
			return nil
		case err != nil:
			return err
		}
		revs, err := tx.Revisions(ctx, x.WellID)
		if err != nil {
			return err
		}
		before, wrote := imageAt(revs, x.Wrote-1), now
		if now.Revision != x.Wrote {
			wrote = imageAt(revs, x.Wrote)
		}
		switch {
		case before == nil || wrote == nil:
			return fmt.Errorf("desk: record %d lacks revision %d or %d", x.WellID, x.Wrote-1, x.Wrote)
		case now.Revision != x.Wrote && len(records.Diff(wrote, now)) > 0: // not so where what was done since was undone
			left++
			return nil
		}
		before.ID, before.Revision = x.WellID, now.Revision
		back++
		return tx.PutWell(ctx, before, fmt.Sprintf("intake %d was taken back", b.ID))
	})
	return back, left, err
}

// imageAt is the state of a record at a revision, nil where it is not there.
func imageAt(revs []records.Revision, revision int64) *records.Well {
	for i := range revs {
		if revs[i].Revision == revision {
			return revs[i].Image
		}
	}
	return nil
}
