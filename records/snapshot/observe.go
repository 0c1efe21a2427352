package snapshot

import (
	"math"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
)

// Selection is the wells and sightings of a picture that say something of a
// field, as the estimates read them: predict's observation i is Rows[i].
// Sightings come last; Row.Sighting tells them from wells.
type Selection struct {
	Rows         []Row
	Observations *predict.Observations
	Projection   position.TransverseMercator
	// LeftOut is how many would have been among them, but are marked
	// unreliable; Picked how many are here by an own pick and not by their log.
	LeftOut, Picked int

	field  Field
	filter *Filter
}

// Value is what a row says of the selection's field.
func (s *Selection) Value(i int) records.DigestValue { return s.filter.Value(s.Rows[i], s.field) }

// logUnitOf is the value that counts as one on the scale on which estimates
// work (predict.ObservationOptions): a metre, and a US gallon a minute.
func logUnitOf(f Field) float64 {
	if f == Yield {
		return records.GallonPerMinute.ToBase(1)
	}
	return 1
}

// Select gathers the located wells and sightings with a value or a bound of field that
// filter takes, on one stated projection for all of them. An error of package
// predict comes back when there is nothing to observe or a value is no
// quantity.
func (p *Picture) Select(f Field, filter *Filter) (*Selection, error) {
	s := &Selection{field: f, filter: &Filter{}}
	if filter != nil {
		kept := *filter
		s.filter = &kept
	}
	west, east := math.Inf(1), math.Inf(-1)
	south, north := math.Inf(1), math.Inf(-1)
	p.eachEvidence(func(r Row) bool {
		lon, lat, located := r.Position()
		if !located {
			return true
		}
		if filter.Value(r, f).Qualifier == records.Missing {
			if filter.leavesOut(r, f) && filter.Takes(r) {
				s.LeftOut++
			}
			return true
		}
		if !filter.Takes(r) {
			return true
		}
		if f == Bedrock && r.OwnBedrock(s.filter.Picks).Qualifier != records.Missing {
			s.Picked++
		}
		s.Rows = append(s.Rows, r)
		west, east = min(west, lon), max(east, lon)
		south, north = min(south, lat), max(north, lat)
		return true
	})
	if len(s.Rows) == 0 {
		return s, predict.ErrTooFew
	}
	s.Projection = position.ForExtent(west, south, east, north)
	categories := f == Yield
	obs, err := predict.NewObservations(len(s.Rows), func(i int) predict.Observation {
		return s.observation(i, f, categories)
	}, s.Projection, predict.ObservationOptions{Unit: logUnitOf(f)})
	s.Observations = obs
	return s, err
}

func (s *Selection) observation(i int, f Field, categories bool) predict.Observation {
	r := s.Rows[i]
	lon, lat, _ := r.Position()
	at := position.LonLat{Lon: lon, Lat: lat}
	x, y := s.Projection.Forward(at)
	v := s.Value(i)
	o := predict.Observation{
		At: at, XM: x, YM: y, Value: v.Value, High: v.High, Bound: BoundOf(v.Qualifier),
		Year: math.NaN(), AccuracyM: float64(r.c.accuracyM[r.i]), Key: r.Key(),
	}
	if y := r.Year(); y != 0 {
		o.Year = y
	}
	if categories {
		o.Category = r.c.rock[r.i]
	}
	return o
}

// BoundOf is a qualifier as the estimates read it; 'about' counts as a value.
func BoundOf(q records.Qualifier) predict.Bound {
	switch q {
	case records.LessThan:
		return predict.LessThan
	case records.GreaterThan:
		return predict.GreaterThan
	case records.Between:
		return predict.Between
	}
	return predict.Exact
}
