package desk

import (
	"context"

	"tallybook/geo/variogram"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Declustered is the middle of a field, and what it is when crowded wells share
// their say.
type Declustered struct {
	Field          snapshot.Field
	Values, Bounds int
	Marked         int
	variogram.Declustered
	SpacingM, AcrossM float64
}

// DeclusterWells weighs the wells of a field by cells. cellM is the side of the
// cells in metres; 0 lets the values choose among sizes from twice the spacing of
// wells to a third of the way across them, the lowest mean or the highest as seek
// says.
func (d *Desk) DeclusterWells(ctx context.Context, actor records.Actor, f snapshot.Field, filter *snapshot.Filter, cellM float64, seek variogram.Seek) (*Declustered, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	return decluster(ctx, d.Picture(), f, filter, cellM, seek)
}

func decluster(ctx context.Context, pic *snapshot.Picture, f snapshot.Field, filter *snapshot.Filter, cellM float64, seek variogram.Seek) (*Declustered, error) {
	s, err := pic.Select(f, filter)
	if err != nil {
		return nil, selectError(err, f)
	}
	p := exactPoints(s, false, onOwnPlane)
	if len(p.v) < 2 {
		return nil, structureError(variogram.ErrNoSamples)
	}
	out := &Declustered{Field: f, Values: len(p.v), Bounds: p.bounds, Marked: s.LeftOut}
	if out.SpacingM, out.AcrossM, err = variogram.Extent(p.x, p.y, variogram.Sampling{Key: p.key, Seed: structureSeed}); err != nil {
		return nil, err
	}
	if !(out.SpacingM > 0) || !(out.AcrossM > 0) {
		return nil, structureError(variogram.ErrOneSpot)
	}
	c := variogram.Cells{SmallestM: cellM, LargestM: cellM, Seek: seek}
	if cellM == 0 {
		c.LargestM = out.AcrossM / 3
		c.SmallestM = min(max(2*out.SpacingM, variogram.SmallestCell(p.x, p.y)), c.LargestM)
	} else if cellM < variogram.SmallestCell(p.x, p.y) {
		return nil, records.Errorf(records.Invalid, "cells of %.4g m are too small for wells that lie so far apart: use %.4g m or more", cellM, variogram.SmallestCell(p.x, p.y))
	}
	out.Declustered, err = variogram.Decluster(ctx, p.x, p.y, p.v, c)
	out.Weights = nil // a million are not worth keeping
	return out, err
}
