package desk

import (
	"context"
	"errors"

	"tallybook/records"
	"tallybook/records/exchange"
)

// CopyKind says what a copy is for.
type CopyKind string

// The kinds of copies.
const (
	CopyWhole  CopyKind = "whole"  // everything, to be restored from
	CopyToGive CopyKind = "given"  // records without what is private, built afresh
	CopyForGIS CopyKind = "layers" // a file of layers for a GIS
)

// CopyAsk says which copy is to be made, and where: a file that is new or
// empty.
type CopyAsk struct {
	Kind     CopyKind
	Private  bool // for CopyForGIS: with what only some may see
	Path     string
	Progress func(done, total int64) // may be nil
}

// CopyMade says what was written.
type CopyMade struct {
	records.Copied
	Layers exchange.LayerCounts // of CopyForGIS
	// Check is what looking at the copy came to; nil for CopyForGIS.
	Check *CheckReport
}

// MakeCopy writes a copy of the database as it stands, whatever is written
// meanwhile, and checks it.
func (d *Desk) MakeCopy(ctx context.Context, actor records.Actor, ask CopyAsk) (CopyMade, error) {
	var out CopyMade
	if err := d.permitCopy(actor, ask); err != nil {
		return out, err
	}
	store, ok := d.store.(records.CopyStore)
	if !ok {
		return out, records.Errorf(records.Internal, "this store cannot be copied here; copy it with its own means")
	}
	if ask.Kind == CopyForGIS {
		sink, err := store.NewLayers(ask.Path)
		if err != nil {
			return out, err
		}
		out.Layers, err = d.writeLayers(ctx, sink, ask)
		return out, err
	}
	o := records.CopyOptions{Progress: ask.Progress}
	if ask.Kind == CopyToGive {
		o.Wash = func(w *records.Well) { exchange.Wash(w) }
	}
	var err error
	if out.Copied, err = store.CopyTo(ctx, ask.Path, o); err != nil {
		return out, err
	}
	out.Check, err = d.checkCopy(ctx, actor, store, ask.Path, out.Wells)
	return out, err
}

func (d *Desk) permitCopy(actor records.Actor, ask CopyAsk) error {
	err := d.Permit(actor, GiveOut)
	if err == nil && (ask.Private || ask.Kind == CopyWhole) {
		err = d.Permit(actor, SeePrivate)
	}
	if err == nil && ask.Kind == CopyWhole { // rates and the office's settings are in it
		err = d.Permit(actor, Administer)
	}
	return err
}

// checkCopy looks at a copy as at any database.
func (d *Desk) checkCopy(ctx context.Context, actor records.Actor, store records.CopyStore, path string, wells int64) (*CheckReport, error) {
	s, err := store.OpenCopy(ctx, path)
	if err != nil {
		return nil, err
	}
	c, err := Open(ctx, Options{Store: s, Vocabulary: d.vocabulary, Now: d.now, Log: d.log, NoPicture: true})
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	r, err := c.Check(ctx, actor, nil)
	if err = errors.Join(err, c.Close()); err != nil {
		return nil, err
	}
	if r.Wells != wells {
		return nil, records.Errorf(records.Internal, "the copy holds %d records of %d", r.Wells, wells)
	}
	return r, nil
}

// writeLayers streams all records, plates and sightings of one state.
func (d *Desk) writeLayers(ctx context.Context, sink records.LayerSink, ask CopyAsk) (exchange.LayerCounts, error) {
	out, err := exchange.NewLayers(sink, exchange.LayerOptions{Private: ask.Private, Reader: d.vocabulary, Label: d.materialLabel})
	if err != nil {
		return exchange.LayerCounts{}, errors.Join(err, sink.Drop())
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		total, err := v.CountWells(ctx)
		if err != nil {
			return err
		}
		err = v.EachWell(ctx, nil, func(w *records.Well) error {
			if !ask.Private {
				blankPrivate(w)
			}
			if ask.Progress != nil && out.Counts.Wells%500 == 0 {
				ask.Progress(out.Counts.Wells, total)
			}
			return out.Write(w)
		})
		if err != nil {
			return err
		}
		if err := v.EachPlate(ctx, out.WritePlate); err != nil {
			return err
		}
		seen, err := v.Sightings(ctx, nil)
		for _, s := range seen {
			if err == nil {
				err = out.WriteSighting(s)
			}
		}
		return err
	})
	if err != nil {
		return out.Counts, errors.Join(err, sink.Drop())
	}
	return out.Counts, out.Close()
}

func (d *Desk) materialLabel(code string) string {
	if m, ok := d.vocabulary.Material(code); ok {
		return m.Label
	}
	return code
}
