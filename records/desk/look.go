package desk

import (
	"context"
	"fmt"

	"tallybook/records"
)

// look reads something of one state for an actor who may look.
func look[T any](ctx context.Context, d *Desk, actor records.Actor, fn func(records.StoreView) (T, error)) (out T, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return out, err
	}
	err = d.store.View(ctx, func(v records.StoreView) (err error) {
		out, err = fn(v)
		return err
	})
	if err != nil {
		var none T
		return none, err
	}
	return out, nil
}

// keptAs is how a sort of record that is kept as a whole is read and written
// in a transaction.
type keptAs[T any] struct {
	get       func(ctx context.Context, id int64) (*T, error)
	put       func(ctx context.Context, x *T, why string) error
	revisions func(ctx context.Context, id int64) ([]records.Earlier[T], error)
	keys      func(x *T) (id, revision *int64)
}

// restore makes an earlier state the current one and gives its key: another
// one where the record had been taken out.
func (k *keptAs[T]) restore(ctx context.Context, id, revision, current int64) (int64, error) {
	revs, err := k.revisions(ctx, id)
	if err != nil {
		return 0, err
	}
	for _, r := range revs {
		if r.Revision != revision {
			continue
		}
		itsID, itsRevision := k.keys(r.Image)
		*itsID, *itsRevision = id, current
		if _, err := k.get(ctx, id); records.CodeOf(err) == records.NotFound {
			*itsID, *itsRevision = 0, 0
		} else if err != nil {
			return 0, err
		}
		err = k.put(ctx, r.Image, fmt.Sprintf("revision %d restored", revision))
		return *itsID, err
	}
	return 0, records.Errorf(records.NotFound, "there is no earlier state with the revision %d", revision)
}
