package desk

import (
	"context"

	"tallybook/records"
)

// Sighting opens one sighting. Who saw it is blanked for those who may not
// see people.
func (d *Desk) Sighting(ctx context.Context, actor records.Actor, id int64) (*records.Sighting, error) {
	s, err := look(ctx, d, actor, func(v records.StoreView) (*records.Sighting, error) { return v.Sighting(ctx, id) })
	if err == nil {
		d.hideWitness(actor, s)
	}
	return s, err
}

// Sightings lists the sightings, those in the box if one is given.
func (d *Desk) Sightings(ctx context.Context, actor records.Actor, in *records.Bounds) ([]*records.Sighting, error) {
	list, err := look(ctx, d, actor, func(v records.StoreView) ([]*records.Sighting, error) { return v.Sightings(ctx, in) })
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
func (d *Desk) SightingRevisions(ctx context.Context, actor records.Actor, id int64) ([]records.Earlier[records.Sighting], error) {
	revs, err := look(ctx, d, actor, func(v records.StoreView) ([]records.Earlier[records.Sighting], error) {
		return v.SightingRevisions(ctx, id)
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
	err = d.update(ctx, actor, func(tx records.StoreTx) (err error) {
		k := keptAs[records.Sighting]{tx.Sighting, tx.PutSighting, tx.SightingRevisions, func(s *records.Sighting) (id, revision *int64) { return &s.ID, &s.Revision }}
		restored, err = k.restore(ctx, id, revision, current)
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
