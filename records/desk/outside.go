package desk

import (
	"context"
	"fmt"

	"tallybook/records"
)

// takeInOutside makes revisions of what other programs wrote, where the store
// can be written to by them.
func (d *Desk) takeInOutside(ctx context.Context) error {
	s, ok := d.store.(records.OutsideStore)
	if !ok {
		return nil
	}
	n, err := s.TakeInOutside(ctx)
	if n > 0 && err == nil {
		d.log.Info("another program wrote", "records", n)
	}
	return err
}

// OutsideRefusals lists what other programs wrote into a record and could not
// be used, put aside or not, the latest first.
func (d *Desk) OutsideRefusals(ctx context.Context, actor records.Actor, wellID int64) ([]records.OutsideRefusal, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]records.OutsideRefusal, error) {
		return v.OutsideRefusals(ctx, wellID, true)
	})
}

// SettleOutside puts aside what another program wrote into a record in vain, or
// opens it again.
func (d *Desk) SettleOutside(ctx context.Context, actor records.Actor, id int64, settled bool) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.SettleOutside(ctx, id, settled) })
}

// outsideFaults tells in a record what another program wrote into it in vain.
func outsideFaults(ctx context.Context, v records.StoreView, wellID int64) ([]records.Fault, error) {
	refused, err := v.OutsideRefusals(ctx, wellID, false)
	var out []records.Fault
	for _, r := range refused {
		out = append(out, records.Fault{Severity: records.Warning, Field: r.Field,
			Message: fmt.Sprintf("another program wrote “%s” here on %s, which is not used: %s", clipName(r.Written), r.At.Format("2 January 2006"), r.Why),
			Mend:    "correct the record if something of it is right, then put this aside in its history"})
	}
	return out, err
}
