package demo

import (
	"math"
	"math/rand/v2"

	"tallybook/geo/position"
	"tallybook/records"
)

// FieldPlates invents plates that somebody met in the field and could hardly
// read: of some it can be told whose they are, of others only guessed, and some
// are of wells that have no record.
func (t *Township) FieldPlates(today records.Date) []*records.Plate {
	r := rand.New(rand.NewPCG(uint64(len(t.Wells)), 0x706c6174))
	var out []*records.Plate
	add := func(p *records.Plate, at *position.LonLat, accuracyM float64) {
		s := records.PlateSighting{Date: records.Date{Year: today.Year, Month: max(1, today.Month-1)}, By: "invented walker", Legible: p.Number}
		if at != nil {
			plane := position.NewPlane(*at)
			seen := plane.FromXY(accuracyM/2*r.NormFloat64(), accuracyM/2*r.NormFloat64())
			s.Located, s.Lon, s.Lat = true, math.Round(seen.Lon*1e6)/1e6, math.Round(seen.Lat*1e6)/1e6
			s.Accuracy = records.Of(records.Length(accuracyM))
		}
		p.Seen = []records.PlateSighting{s}
		out = append(out, p)
	}
	unread := func() string { // a number with a digit that nobody can read
		text := []byte("20000")
		for i := range text {
			text[i] = byte('0' + r.IntN(10))
		}
		text[0], text[1+r.IntN(3)] = '2', '?'
		return string(text)
	}
	for i := range 12 {
		w := t.Wells[(i*67+13)%len(t.Wells)]
		if !w.Place.Located || !w.TotalDepth.Known() {
			continue
		}
		at := position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}
		switch i % 4 {
		case 0: // the year and the depth alone, somewhere along the road
			add(&records.Plate{Number: unread(), Stamped: records.Stamped{Date: records.Date{Year: w.Completed.Year}, Depth: w.TotalDepth}}, &at, 250)
		case 1: // one digit of the depth misread
			add(&records.Plate{Number: unread(), Stamped: records.Stamped{Depth: feet(float64(w.TotalDepth.Value) + float64(records.Foot.ToBase(30))), Yield: w.Yield, Diameter: inches(6)}}, &at, 120)
		case 2: // off its well, in a drawer of the office
			add(&records.Plate{Number: unread(), Stamped: records.Stamped{Date: w.Completed, Depth: w.TotalDepth}}, nil, 0)
		case 3: // a well that has no record
			far := position.LonLat{Lon: at.Lon + 0.004, Lat: at.Lat - 0.003}
			add(&records.Plate{Number: unread(), Stamped: records.Stamped{Date: records.Date{Year: 1961 + r.IntN(20)}, Depth: feet(float64(records.Foot.ToBase(float64(90 + r.IntN(300)))))}}, &far, 30)
		}
	}
	return out
}
