package records

import (
	"context"
	"math"
	"strings"
)

// Compared is what is compared of a record to tell whether a plate, or
// another record, is of the same hole. It holds names of people: it is for
// computing with, and what is shown of it is for those who may see it.
type Compared struct {
	ID       int64
	Revision int64

	Lon, Lat  float64 // degrees, WGS 84; NaN where not located
	AccuracyM float32 // 0: unknown

	Number, Permit string
	Tag            string // a plate's number that the file it came from gave in a property of its own

	Completed Date
	OtherDate Date // of the last works, else when drilling began

	Depth         DigestValue // total depth, m
	OtherDepth    DigestValue // as first drilled, or as completed, where that differs, m
	Casing        DigestValue // the casing's seat, m
	Static        DigestValue // m
	Pump          DigestValue // set depth, m
	Diameter      DigestValue // of the casing, mm
	OtherDiameter DigestValue // of the hole at its bottom, mm
	Yield         DigestValue // L/s

	Driller, Firm, Licence string
	Owner                  string // private

	Plates int // how many plates are linked to it now
}

// ComparedView streams what is compared of every record.
type ComparedView interface {
	// Compared gives the records in the order of their keys, some at a time,
	// without those of an intake that is not published. The slice is used
	// again after fn returns.
	Compared(ctx context.Context, fn func([]Compared) error) error
}

// Comparison takes from a record what is compared of it.
func (w *Well) Comparison() Compared {
	c := Compared{
		ID: w.ID, Revision: w.Revision, Lon: math.NaN(), Lat: math.NaN(),
		Number: w.Number, Permit: w.PermitNumber, Tag: w.tag(),
		Completed: w.Completed, OtherDate: w.otherDate(),
		Depth: digestValue(w.TotalDepth), Static: digestValue(w.StaticLevel), Pump: digestValue(w.Pump.SetDepth),
		Yield:   digestValue(w.Yield),
		Driller: w.Crew.Driller, Firm: w.Crew.Firm, Licence: w.Crew.Licence, Owner: w.Owner.Name,
		Plates: len(w.Plates),
	}
	if w.Place.Located {
		c.Lon, c.Lat = w.Place.Lon, w.Place.Lat
	}
	if a, ok := w.Place.Accuracy.Number(); ok && a > 0 {
		c.AccuracyM = float32(a)
	}
	if seat, ok := w.CasingSeat(); ok {
		c.Casing = DigestValue{Value: float64(seat), Qualifier: Exact}
	}
	if n := len(w.Casing); n > 0 {
		c.Diameter = digestValue(w.Casing[n-1].Diameter)
	}
	if n := len(w.Bores); n > 0 {
		c.OtherDiameter = digestValue(w.Bores[n-1].Diameter)
	}
	first, _ := w.FirstDrilled()
	for _, other := range [...]Amount[Depth]{first, w.CompletedDepth} {
		if other.Known() && (!w.TotalDepth.Known() || other.Value != w.TotalDepth.Value) {
			c.OtherDepth = digestValue(other)
			break
		}
	}
	return c
}

// otherDate is a second date that a plate may bear.
func (w *Well) otherDate() Date {
	for i := len(w.Works) - 1; i >= 0; i-- {
		if d := w.Works[i].Completed; !d.IsZero() && d != w.Completed {
			return d
		}
	}
	if w.Started != w.Completed {
		return w.Started
	}
	return Date{}
}

// tag finds the number of a plate among the properties that the model has no
// place for.
func (w *Well) tag() string {
	for _, m := range w.Extra {
		name := strings.ToLower(m.Name)
		if !strings.Contains(name, "plate") && !strings.Contains(name, "tag") {
			continue
		}
		if text := strings.Trim(m.JSON, `"`); text != "null" && len(text) <= 40 && !strings.ContainsAny(text, `{[\`) {
			return text
		}
	}
	return ""
}
