package plates

import (
	"context"
	"math"
	"strings"

	"tallybook/records"
)

// The amounts that are compared.
const (
	valueDepth = iota
	valueOtherDepth
	valueCasing
	valueStatic
	valuePump
	valueDiameter
	valueOtherDiameter
	valueYield
	valueCount
)

// nameCount is how many names of a record are told apart: driller, firm,
// licence.
const nameCount = 3

// spot is a place, degrees, and how good it is, metres.
type spot struct {
	lon, lat  float64
	accuracyM float64
}

// Where nobody wrote how good a position is. Our own (common practice, no
// source): a record's was mostly taken from a map, a plate's with a receiver.
const (
	recordAccuracyM = 100
	plateAccuracyM  = 20
	leastAccuracyM  = 4
)

// side is one of the two entries that are compared.
type side struct {
	spots   []spot
	numbers [3]string
	dates   [2]day
	values  [valueCount]records.DigestValue
	names   [nameCount]int32
	owner   int32
	spot    [3]spot // room for spots
}

// file is every record, packed: about a hundred and fifty bytes each.
type file struct {
	id   []int64
	row  []row
	text string // the numbers, one behind another
	high map[int32][valueCount]float32

	crews  *names
	owners *names
}

// row is what is compared of one record, in one piece, since records are come
// by in no order. Upper ends of ranges are rare and kept aside.
type row struct {
	lon, lat  float64 // NaN where not located
	accuracy  float32
	revision  int32
	ends      [4]uint32 // of its three numbers, in the text
	dates     [2]day
	crew      [nameCount]int32
	owner     int32
	value     [valueCount]float32
	qualifier [valueCount]uint8
}

func (f *file) value(i int32, which int) records.DigestValue {
	r := &f.row[i]
	v := records.DigestValue{Value: float64(r.value[which]), Qualifier: records.Qualifier(r.qualifier[which])}
	if v.Qualifier == records.Between {
		v.High = float64(f.high[i][which])
	}
	return v
}

// readFile packs the records of a source.
func readFile(ctx context.Context, s Source, o *Options) (*file, error) {
	f := &file{crews: newNames(), owners: newNames(), high: map[int32][valueCount]float32{}}
	var text strings.Builder
	err := s.Compared(ctx, func(page []records.Compared) error {
		for i := range page {
			c := &page[i]
			if o.Taken != nil && o.Taken(c.ID) {
				continue
			}
			f.add(c, &text, o)
		}
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	if int64(text.Len()) > math.MaxUint32 || len(f.id) > math.MaxInt32/2 {
		return nil, records.Errorf(records.TooLarge, "there are more records than can be compared at once")
	}
	f.text = text.String()
	return f, nil
}

func (f *file) add(c *records.Compared, text *strings.Builder, o *Options) {
	i := int32(len(f.id))
	f.id = append(f.id, c.ID)
	f.row = append(f.row, row{lon: c.Lon, lat: c.Lat, accuracy: c.AccuracyM, revision: int32(c.Revision)})
	r := &f.row[i]
	r.ends[0] = uint32(text.Len())
	for k, n := range [...]string{c.Number, c.Permit, c.Tag} {
		if len(n) <= 2*maxNumber {
			text.WriteString(n)
		}
		r.ends[k+1] = uint32(text.Len())
	}
	r.dates = [2]day{dayOf(c.Completed), dayOf(c.OtherDate)}
	for k, v := range [valueCount]records.DigestValue{
		valueDepth: c.Depth, valueOtherDepth: c.OtherDepth, valueCasing: c.Casing, valueStatic: c.Static,
		valuePump: c.Pump, valueDiameter: c.Diameter, valueOtherDiameter: c.OtherDiameter, valueYield: c.Yield,
	} {
		r.value[k], r.qualifier[k] = float32(v.Value), uint8(v.Qualifier)
		if v.Qualifier == records.Between {
			high := f.high[i]
			high[k] = float32(v.High)
			f.high[i] = high
		}
	}
	r.crew = [nameCount]int32{f.crews.id(c.Driller), f.crews.id(c.Firm), f.crews.id(c.Licence)}
	for k, id := range r.crew {
		if id != 0 && (k == 0 || r.crew[k-1] != id) {
			f.crews.count[id]++
		}
	}
	if o.Owners {
		r.owner = f.owners.id(c.Owner)
		f.owners.count[r.owner]++
	}
}

func (f *file) len() int { return len(f.id) }

func (f *file) located(i int32) bool { return !math.IsNaN(f.row[i].lon) }

func (f *file) number(i int32, which int) string {
	return f.text[f.row[i].ends[which]:f.row[i].ends[which+1]]
}

// accuracyM is how good a record's position is, or is taken to be.
func (f *file) accuracyM(i int32) float64 {
	a := float64(f.row[i].accuracy)
	if a <= 0 {
		a = recordAccuracyM
	}
	return math.Max(a, leastAccuracyM)
}

// side spreads a record out to be compared.
func (f *file) side(i int32, s *side) {
	r := &f.row[i]
	s.spots = s.spot[:0]
	if f.located(i) {
		s.spots = append(s.spots, spot{r.lon, r.lat, f.accuracyM(i)})
	}
	for k := range s.numbers {
		s.numbers[k] = f.number(i, k)
	}
	s.dates, s.names, s.owner = r.dates, r.crew, r.owner
	for k := range s.values {
		s.values[k] = f.value(i, k)
	}
}

// plateSide spreads a plate out to be compared. A driller that no record
// names gets a number too.
func (f *file) plateSide(p *records.Plate, s *side) {
	*s = side{}
	s.spots = s.spot[:0]
	s.numbers[0] = p.Number
	for i := range p.Seen {
		seen := &p.Seen[i]
		if seen.Located && len(s.spots) < len(s.spot) {
			a, ok := seen.Accuracy.Number()
			if !ok || a <= 0 {
				a = plateAccuracyM
			}
			s.spots = append(s.spots, spot{seen.Lon, seen.Lat, math.Max(float64(a), leastAccuracyM)})
		}
		if n := seen.Legible; n != "" && n != p.Number && len(n) <= maxNumber && !strings.ContainsAny(n, " \t\n,;") {
			if s.numbers[1] == "" {
				s.numbers[1] = n
			} else if s.numbers[1] != n {
				s.numbers[2] = n
			}
		}
	}
	st := &p.Stamped
	s.dates = [2]day{dayOf(st.Date)}
	set := func(which int, q records.Qualifier, value, high float64) {
		if !math.IsNaN(value) && !math.IsInf(value, 0) && !math.IsNaN(high) && !math.IsInf(high, 0) {
			s.values[which] = records.DigestValue{Value: value, High: high, Qualifier: q}
		}
	}
	set(valueDepth, st.Depth.Qualifier, float64(st.Depth.Value), float64(st.Depth.High))
	set(valueCasing, st.Casing.Qualifier, float64(st.Casing.Value), float64(st.Casing.High))
	set(valueStatic, st.Static.Qualifier, float64(st.Static.Value), float64(st.Static.High))
	set(valuePump, st.PumpDepth.Qualifier, float64(st.PumpDepth.Value), float64(st.PumpDepth.High))
	set(valueDiameter, st.Diameter.Qualifier, float64(st.Diameter.Value), float64(st.Diameter.High))
	set(valueYield, st.Yield.Qualifier, float64(st.Yield.Value), float64(st.Yield.High))
	s.names[0] = f.crews.id(st.Driller)
}
