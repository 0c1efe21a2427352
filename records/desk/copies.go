package desk

import (
	"context"
	"errors"
	"math"

	"tallybook/geo/position"
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
	Kind    CopyKind
	Private bool // for CopyForGIS: with what only some may see
	// Filter is for CopyForGIS: only wells that it chooses (package cql2), with
	// what belongs to them; no sightings then. "": all.
	Filter   string
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
	if ask.Filter != "" && ask.Kind != CopyForGIS {
		return out, records.Errorf(records.Invalid, "a copy of the database holds all records; a filter is for a copy for a GIS, or for export")
	}
	if _, err := wellsWhere(ask.Filter); err != nil {
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

// layersAtOnce is how many wells are held while the elevation grids are asked
// for them.
const layersAtOnce = 512

// layering writes the layers of one state.
type layering struct {
	desk    *Desk
	out     *exchange.Layers
	sources []*groundSource
	part    []*records.Well
	found   map[int64]GroundAt // of the wells in part
}

// writeLayers streams all records, plates and sightings of one state.
func (d *Desk) writeLayers(ctx context.Context, sink records.LayerSink, ask CopyAsk) (exchange.LayerCounts, error) {
	l := &layering{desk: d}
	var err error
	l.out, err = exchange.NewLayers(sink, exchange.LayerOptions{Private: ask.Private, Reader: d.vocabulary, Label: d.materialLabel, Ground: l.groundOf})
	if err != nil {
		return exchange.LayerCounts{}, errors.Join(err, sink.Drop())
	}
	if err := d.store.View(ctx, func(v records.StoreView) error { return l.all(ctx, v, ask) }); err != nil {
		return l.out.Counts, errors.Join(err, sink.Drop())
	}
	return l.out.Counts, l.out.Close()
}

func (l *layering) all(ctx context.Context, v records.StoreView, ask CopyAsk) error {
	total, err := v.CountWells(ctx)
	if err != nil {
		return err
	}
	if l.sources, err = l.desk.ground.sources(ctx, v); err != nil {
		return err
	}
	where, err := wellsWhere(ask.Filter)
	if err != nil {
		return err
	}
	chosen := map[int64]bool{} // where there is a filter
	err = v.EachWellWhere(ctx, nil, where, func(w *records.Well) error {
		if where != nil {
			chosen[w.ID] = true
		}
		if !ask.Private {
			blankPrivate(w)
		}
		if l.part = append(l.part, w); len(l.part) < layersAtOnce {
			return nil
		}
		if ask.Progress != nil {
			ask.Progress(l.out.Counts.Wells, total)
		}
		return l.flush(ctx, v)
	})
	if err == nil {
		err = l.flush(ctx, v)
	}
	if err == nil {
		err = v.EachPlate(ctx, func(p *records.Plate) error {
			if where != nil && !chosen[p.WellID] {
				return nil
			}
			return l.out.WritePlate(p)
		})
	}
	if err != nil || where != nil {
		return err
	}
	seen, err := v.Sightings(ctx, nil)
	for _, s := range seen {
		if err == nil {
			err = l.out.WriteSighting(s)
		}
	}
	return err
}

// flush asks the elevation grids for the wells that are held, and writes them.
func (l *layering) flush(ctx context.Context, v records.StoreView) error {
	if len(l.sources) > 0 {
		places, found := make([]position.LonLat, len(l.part)), make([]GroundAt, len(l.part))
		for i, w := range l.part {
			places[i] = position.LonLat{Lon: math.NaN(), Lat: math.NaN()}
			if _, own := w.Place.Elevation.Number(); w.Place.Located && !own {
				places[i] = position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}
			}
		}
		if err := l.desk.ground.read(ctx, v, l.sources, places, found); err != nil {
			return err
		}
		l.found = make(map[int64]GroundAt, len(l.part))
		for i, w := range l.part {
			l.found[w.ID] = found[i]
		}
	}
	for _, w := range l.part {
		if err := l.out.Write(w); err != nil {
			return err
		}
	}
	l.part = l.part[:0]
	return nil
}

func (l *layering) groundOf(w *records.Well) (exchange.GroundLevel, bool) {
	at := l.found[w.ID]
	return exchange.GroundLevel{M: records.Height(at.ElevationM), Datum: at.Datum, From: "grid " + at.Grid}, at.OK
}

func (d *Desk) materialLabel(code string) string {
	if m, ok := d.vocabulary.Material(code); ok {
		return m.Label
	}
	return code
}
