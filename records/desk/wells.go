package desk

import (
	"bytes"
	"context"
	"fmt"

	"tallybook/records"
)

// Sheet is a record with what is derived from it.
type Sheet struct {
	Well   *records.Well
	Picks  records.Picks
	Faults []records.Fault // what is doubtful in it
	Ground GroundAt        // what an elevation grid has at its place
}

// Well opens one record. Private things are blanked for those who may not
// see them.
func (d *Desk) Well(ctx context.Context, actor records.Actor, id int64) (*Sheet, error) {
	sheets, err := d.Wells(ctx, actor, []int64{id})
	if err != nil {
		return nil, err
	}
	return sheets[0], nil
}

// Wells opens several records of one and the same state.
func (d *Desk) Wells(ctx context.Context, actor records.Actor, ids []int64) ([]*Sheet, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	sheets := make([]*Sheet, 0, len(ids))
	err := d.store.View(ctx, func(v records.StoreView) error {
		for _, id := range ids {
			w, err := v.Well(ctx, id)
			if err != nil {
				return err
			}
			sheet := d.sheet(actor, w)
			told, err := outsideFaults(ctx, v, id)
			if err != nil {
				return err
			}
			sheet.Faults = append(sheet.Faults, told...)
			sheets = append(sheets, sheet)
		}
		return d.groundUnder(ctx, v, sheets)
	})
	return sheets, err
}

func (d *Desk) sheet(actor records.Actor, w *records.Well) *Sheet {
	s := &Sheet{
		Well:   w,
		Picks:  records.DerivePicks(w, d.vocabulary),
		Faults: w.Validate(d.Validation()),
	}
	if d.Permit(actor, SeePrivate) != nil {
		blankPrivate(w)
	}
	return s
}

// WellIDByUID finds a record by its public name.
func (d *Desk) WellIDByUID(ctx context.Context, actor records.Actor, uid string) (id int64, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return 0, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		id, err = v.WellIDByUID(ctx, uid)
		return err
	})
	return id, err
}

// Save writes a record, new (ID 0) or changed. A record with faults that
// refuse it is not written, and neither is one that somebody else changed
// since it was read (w.Revision is stale): an Error with code Conflict. The
// state before is kept as a revision.
func (d *Desk) Save(ctx context.Context, actor records.Actor, w *records.Well, why string) ([]records.Fault, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	faults := w.Validate(d.Validation())
	if err := records.FaultError(faults); err != nil {
		return faults, err
	}
	return faults, d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.PutWell(ctx, w, why)
	})
}

// Revisions lists the earlier states of a record, the latest first.
func (d *Desk) Revisions(ctx context.Context, actor records.Actor, id int64) (revs []records.Revision, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		revs, err = v.Revisions(ctx, id)
		return err
	})
	if d.Permit(actor, SeePrivate) != nil {
		for _, r := range revs {
			blankPrivate(r.Image)
		}
	}
	return revs, err
}

// Restore makes an earlier state the current one. It is a write like any
// other: the state that it replaces is kept, and current must be the revision
// that the person saw. A record that was taken out comes back as a new one
// under its public name, with the plates that it had. See RestoreState.
func (d *Desk) Restore(ctx context.Context, actor records.Actor, id, revision, current int64) error {
	_, _, err := d.RestoreState(ctx, actor, id, id, revision, current)
	return err
}

// Remove takes a record out; its last state is kept and can be restored.
func (d *Desk) Remove(ctx context.Context, actor records.Actor, id, revision int64, why string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.RemoveWell(ctx, id, revision, why)
	})
}

// SavePlate writes a plate: what was seen, and the decision about its well.
func (d *Desk) SavePlate(ctx context.Context, actor records.Actor, p *records.Plate, why string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.PutPlate(ctx, p, why)
	})
}

// Layers are the office's own reference lines and places.
func (d *Desk) Layers(ctx context.Context, actor records.Actor) (layers []records.Layer, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		layers, err = v.Layers(ctx)
		return err
	})
	return layers, err
}

// SaveLayer writes a set of reference lines.
func (d *Desk) SaveLayer(ctx context.Context, actor records.Actor, l *records.Layer) error {
	if err := d.Permit(actor, Administer); err != nil {
		return err
	}
	l.GeoJSON = bytes.TrimPrefix(l.GeoJSON, []byte("\ufeff")) // a byte-order mark
	if _, err := LayerLines(l.GeoJSON); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.PutLayer(ctx, l) })
}

// PlateOf is a plate with the well that it is linked to, by its place in a
// list of new wells; -1 for none.
type PlateOf struct {
	Plate *records.Plate
	Well  int
}

// AddAll writes new records, their plates and layers in one transaction: all
// or nothing. A record with faults that refuse it stops the whole.
func (d *Desk) AddAll(ctx context.Context, actor records.Actor, wells []*records.Well, plates []PlateOf, layers []records.Layer) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	for _, w := range wells {
		if err := records.FaultError(w.Validate(d.Validation())); err != nil {
			return fmt.Errorf("well %s: %w", w.Number, err)
		}
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		for _, w := range wells {
			if err := tx.PutWell(ctx, w, ""); err != nil {
				return fmt.Errorf("well %s: %w", w.Number, err)
			}
		}
		for _, p := range plates {
			if p.Well >= 0 {
				p.Plate.WellID, p.Plate.LinkedBy, p.Plate.LinkedAt = wells[p.Well].ID, actor.Name, tx.Now()
			}
			if err := tx.PutPlate(ctx, p.Plate, ""); err != nil {
				return fmt.Errorf("plate %s: %w", p.Plate.Number, err)
			}
		}
		for i := range layers {
			if err := tx.PutLayer(ctx, &layers[i]); err != nil {
				return fmt.Errorf("layer %s: %w", layers[i].Name, err)
			}
		}
		return nil
	})
}

// Numbers gives the wells' numbers, or their keys where they have none, in
// the order of ids: for labels.
func (d *Desk) Numbers(ctx context.Context, actor records.Actor, ids []int64) ([]string, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	out := make([]string, len(ids))
	return out, d.store.View(ctx, func(v records.StoreView) error {
		for i, id := range ids {
			w, err := v.Well(ctx, id)
			if err != nil {
				return err
			}
			if out[i] = w.Number; out[i] == "" {
				out[i] = fmt.Sprintf("no. %d", id)
			}
		}
		return nil
	})
}
