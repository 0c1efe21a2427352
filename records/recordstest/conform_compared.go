package recordstest

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
)

// ConformCompared holds a store against what is asked of it for comparing
// records.
func ConformCompared(t *testing.T, open Opener) {
	s := open(t)
	comparedAre(t, s)
	full, other, staged := Full(), Plain(), Plain()
	other.UID, staged.UID = "", ""
	other.Place.Located = false
	batch := &records.Batch{Source: "invented.csv", SHA256: "00", By: "A. Writer", State: "staged"}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.PutBatch(ctx, batch); err != nil {
			return err
		}
		staged.Provenance = records.Provenance{Source: "batch", Batch: batch.ID, Row: 1}
		for _, w := range []*records.Well{full, other, staged} {
			w.Plates = nil
			if err := tx.PutWell(ctx, w, ""); err != nil {
				return err
			}
		}
		return tx.PutPlate(ctx, &records.Plate{Number: "7", WellID: other.ID}, "")
	})
	comparedAre(t, s, full.ID, other.ID)
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		full.Number, full.Pump.SetDepth = "changed", Feet[records.Depth]("120")
		if err := tx.PutWell(ctx, full, ""); err != nil {
			return err
		}
		batch.State = "published"
		return tx.PutBatch(ctx, batch)
	})
	comparedAre(t, s, full.ID, other.ID, staged.ID)
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, other.ID, 1, "") })
	comparedAre(t, s, full.ID, staged.ID)
}

// comparedAre looks that what is compared is that of the whole records, and
// which records those are.
func comparedAre(t *testing.T, s records.Store, want ...int64) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		var got []records.Compared
		var ids []int64
		if err := v.Compared(ctx, func(page []records.Compared) error {
			for _, c := range page {
				got, ids = append(got, c), append(ids, c.ID)
			}
			return nil
		}); err != nil {
			return err
		}
		if diff := cmp.Diff(want, ids); diff != "" {
			t.Errorf("compared are:\n%s", diff)
		}
		for _, c := range got {
			w, err := v.Well(ctx, c.ID)
			if err != nil {
				return err
			}
			if diff := cmp.Diff(w.Comparison(), c, cmpopts.EquateNaNs()); diff != "" {
				t.Errorf("what is compared of %d:\n%s", c.ID, diff)
			}
		}
		return nil
	})
}
