package desk

import (
	"context"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

func (m *Model) project(r snapshot.Row) (x, y float64) {
	lon, lat, _ := r.Position()
	return m.Selection.Projection.Forward(position.LonLat{Lon: lon, Lat: lat})
}

// Outlook is what the ground will likely do at a place, one entry for each
// field that any well says something of.
type Outlook struct {
	At        position.LonLat
	Fields    []FieldOutlook
	Nearest   []snapshot.Neighbour // the nearest wells whose place is known, whatever they say
	WithinM   float64              // the distance within which Around counts
	Around    int
	FirstYear int // of those around; 0 when none is dated
	LastYear  int
}

// FieldOutlook is the estimate of one field.
type FieldOutlook struct {
	Field snapshot.Field
	predict.Estimate
	Model *Model
	// Likeness is the category that the site is taken to have (a rock unit, see
	// snapshot.Picture.RockUnit), from the nearest well that has one, LikenessM
	// away; 0 where likeness plays no part.
	Likeness  uint16
	LikenessM float64
}

// likenessWithinM is how far a well may be to lend a site its rock unit. Ours,
// no source.
const likenessWithinM = 2000

// presumed is the category of each point, as Scout takes it; nil where
// likeness plays no part.
func (m *Model) presumed(ctx context.Context, points []position.LonLat) ([]uint16, error) {
	if !m.Observations().Alike() {
		return nil, nil
	}
	out := make([]uint16, len(points))
	err := inParallel(ctx, len(points), func(from, to int) error {
		for i := from; i < to; i++ {
			out[i], _, _ = m.Observations().PresumedCategory(points[i], likenessWithinM)
		}
		return nil
	})
	return out, err
}

// MileM is the distance around a place within which wells are counted.
const MileM = 1609.344

// nearestShown is how many of the nearest wells an outlook lists.
const nearestShown = 12

// Scout estimates every field at a place.
func (d *Desk) Scout(ctx context.Context, actor records.Actor, at position.LonLat, filter *snapshot.Filter) (*Outlook, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if err := at.Valid(); err != nil {
		return nil, &records.Error{Code: records.Invalid, Message: err.Error()}
	}
	p := d.Picture()
	o := &Outlook{At: at, WithinM: MileM}
	o.Nearest = p.Nearest(at, nearestShown, filter.Placed)
	for _, n := range p.Around(at, MileM, filter.Placed) {
		o.Around++
		if y := int(n.Year()); y > 0 {
			if o.FirstYear == 0 || y < o.FirstYear {
				o.FirstYear = y
			}
			o.LastYear = max(o.LastYear, y)
		}
	}
	for _, f := range snapshot.Fields() {
		m, err := d.Model(ctx, f, filter)
		if records.CodeOf(err) == records.NotFound {
			continue
		}
		if err != nil {
			return nil, err
		}
		fo := FieldOutlook{Field: f, Model: m}
		fo.Likeness, fo.LikenessM, _ = m.Observations().PresumedCategory(at, likenessWithinM)
		if fo.Estimate, err = m.At(predict.Site{At: at, Category: fo.Likeness}, predict.LeaveOut{}); err != nil {
			return nil, err
		}
		o.Fields = append(o.Fields, fo)
	}
	if len(o.Fields) == 0 && len(o.Nearest) == 0 {
		return nil, records.Errorf(records.NotFound, "there is no located well to go by; take some in first")
	}
	return o, nil
}
