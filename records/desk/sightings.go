package desk

import (
	"context"
	"fmt"

	"tallybook/records"
)

// Sighting opens one sighting. Who saw it is blanked for those who may not
// see people.
func (d *Desk) Sighting(ctx context.Context, actor records.Actor, id int64) (s *records.Sighting, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		s, err = v.Sighting(ctx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	d.hideWitness(actor, s)
	return s, nil
}

// Sightings lists the sightings, those in the box if one is given.
func (d *Desk) Sightings(ctx context.Context, actor records.Actor, in *records.Bounds) (list []*records.Sighting, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		list, err = v.Sightings(ctx, in)
		return err
	})
	d.hideWitness(actor, list...)
	return list, err
}

// SaveSighting writes a sighting, new (ID 0) or changed, and tells its faults;
// one that refuses it keeps it out. From then on the estimates go by it too.
func (d *Desk) SaveSighting(ctx context.Context, actor records.Actor, s *records.Sighting, why string) ([]records.Fault, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	faults := s.Validate(d.Validation())
	if err := records.FaultError(faults); err != nil {
		return faults, err
	}
	return faults, d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.PutSighting(ctx, s, why)
	})
}

// RemoveSighting takes a sighting out; its last state is kept and can be
// restored.
func (d *Desk) RemoveSighting(ctx context.Context, actor records.Actor, id, revision int64, why string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.RemoveSighting(ctx, id, revision, why)
	})
}

// SightingRevisions lists the earlier states of a sighting, the latest first.
func (d *Desk) SightingRevisions(ctx context.Context, actor records.Actor, id int64) (revs []records.Earlier[records.Sighting], err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		revs, err = v.SightingRevisions(ctx, id)
		return err
	})
	for _, r := range revs {
		d.hideWitness(actor, r.Image)
	}
	return revs, err
}

// RestoreSighting makes an earlier state the current one; current is the
// revision that the person saw. One that was taken out comes back as a new one
// under its public name, whose key is given.
func (d *Desk) RestoreSighting(ctx context.Context, actor records.Actor, id, revision, current int64) (restored int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		revs, err := tx.SightingRevisions(ctx, id)
		if err != nil {
			return err
		}
		s, err := imageAt(revs, revision)
		if err != nil {
			return err
		}
		s.ID, s.Revision = id, current
		if _, err := tx.Sighting(ctx, id); records.CodeOf(err) == records.NotFound {
			s.ID, s.Revision = 0, 0
		} else if err != nil {
			return err
		}
		err = tx.PutSighting(ctx, s, fmt.Sprintf("revision %d restored", revision))
		restored = s.ID
		return err
	})
	return restored, err
}

func (d *Desk) hideWitness(actor records.Actor, list ...*records.Sighting) {
	if d.Permit(actor, SeePrivate) == nil {
		return
	}
	for _, s := range list {
		s.By = ""
	}
}

// imageAt finds an earlier state by its revision.
func imageAt[T any](revs []records.Earlier[T], revision int64) (*T, error) {
	for _, r := range revs {
		if r.Revision == revision {
			return r.Image, nil
		}
	}
	return nil, records.Errorf(records.NotFound, "there is no earlier state with the revision %d", revision)
}
