package desk

import (
	"context"

	"tallybook/records"
)

// KeepDraft keeps what somebody is typing. Where the same person writes the
// draft from another window too, what is typed here becomes a draft of its
// own, so that neither is lost. A draft that was saved or discarded meanwhile
// is not written: an Error with code Conflict.
func (d *Desk) KeepDraft(ctx context.Context, actor records.Actor, draft *records.Draft) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.store.Update(ctx, actor, func(tx records.StoreTx) error {
		if draft.ID != 0 {
			was, err := tx.Draft(ctx, draft.ID)
			switch {
			case records.CodeOf(err) == records.NotFound || err == nil && was.PersonID != actor.ID:
				draft.ID, draft.Revision = 0, 0
			case err != nil:
				return err
			case was.Ended == "" && was.Revision != draft.Revision:
				draft.ID, draft.Revision = 0, 0
			}
		}
		return tx.PutDraft(ctx, draft)
	})
}

// Drafts lists the open drafts of the one who asks, those kept last first.
func (d *Desk) Drafts(ctx context.Context, actor records.Actor) (drafts []*records.Draft, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		drafts, err = v.Drafts(ctx, actor.ID)
		return err
	})
	return drafts, err
}

// Draft reads a draft of the one who asks: those of others are not there.
func (d *Desk) Draft(ctx context.Context, actor records.Actor, id int64) (draft *records.Draft, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		draft, err = v.Draft(ctx, id)
		if err == nil && draft.PersonID != actor.ID {
			err = records.Errorf(records.NotFound, "there is no draft %d of yours", id)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return draft, nil
}

// EndDraft discards a draft (how: records.DraftDiscarded), or opens a
// discarded one again (how: "").
func (d *Desk) EndDraft(ctx context.Context, actor records.Actor, id, revision int64, how string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.store.Update(ctx, actor, func(tx records.StoreTx) error { return tx.EndDraft(ctx, id, revision, how) })
}

// endDraft ends the draft that a record was saved from. One that another
// window wrote meanwhile stays open: what stands in it was not saved.
func endDraft(ctx context.Context, tx records.StoreTx, id, revision int64) error {
	if id == 0 {
		return nil
	}
	err := tx.EndDraft(ctx, id, revision, records.DraftSaved)
	switch records.CodeOf(err) {
	case records.Conflict, records.NotFound, records.Forbidden:
		return nil
	}
	return err
}
