package recordstest

import (
	"context"
	"testing"

	"tallybook/records"
)

// ConformOutside: a store to which nothing was written by others has nothing to tell
// of it.
func ConformOutside(t *testing.T, open Opener) {
	s := open(t)
	ctx := t.Context()
	err := s.View(ctx, func(v records.StoreView) error {
		got, err := v.OutsideRefusals(ctx, 0, true)
		if len(got) > 0 {
			t.Errorf("others wrote in vain: %+v", got)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, settled := range []bool{true, false} {
		err := s.Update(ctx, records.Actor{ID: 1, Name: "somebody"}, func(tx records.StoreTx) error { return tx.SettleOutside(context.WithoutCancel(ctx), 7, settled) })
		if records.CodeOf(err) != records.NotFound {
			t.Errorf("putting aside what is not there: %v", err)
		}
	}
	if o, ok := s.(records.OutsideStore); ok {
		if n, err := o.TakeInOutside(ctx); n != 0 || err != nil {
			t.Errorf("taking in nothing: %d (%v)", n, err)
		}
	}
}
