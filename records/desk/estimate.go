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
	Nearest   []snapshot.Neighbour // the nearest wells, whatever they say
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
	o.Nearest = p.Nearest(at, nearestShown, filter.Takes)
	for _, n := range p.Around(at, MileM, filter.Takes) {
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
		e, err := m.At(predict.Site{At: at}, predict.LeaveOut{})
		if err != nil {
			return nil, err
		}
		o.Fields = append(o.Fields, FieldOutlook{Field: f, Estimate: e, Model: m})
	}
	if len(o.Fields) == 0 && len(o.Nearest) == 0 {
		return nil, records.Errorf(records.NotFound, "there is no located well to go by; take some in first")
	}
	return o, nil
}
