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

// file is every record, packed: about a hundred bytes each.
type file struct {
	id       []int64
	revision []int32
	lon, lat []float64
	accuracy []float32
	text     string   // the numbers, one behind another
	ends     []uint32 // of each of a record's three numbers
	dates    [][2]day
	values   [valueCount]column
	crew     [][nameCount]int32
	owner    []int32

	crews  *names
	owners *names
}

// column is one amount of every record. Upper ends of ranges are rare and kept
// aside.
type column struct {
	value     []float32
	qualifier []uint8
	high      map[int32]float32
}

func (c *column) add(v records.DigestValue) {
	if v.Qualifier == records.Between {
		if c.high == nil {
			c.high = map[int32]float32{}
		}
		c.high[int32(len(c.value))] = float32(v.High)
	}
	c.value = append(c.value, float32(v.Value))
	c.qualifier = append(c.qualifier, uint8(v.Qualifier))
}

func (c *column) at(i int32) records.DigestValue {
	v := records.DigestValue{Value: float64(c.value[i]), Qualifier: records.Qualifier(c.qualifier[i])}
	if v.Qualifier == records.Between {
		v.High = float64(c.high[i])
	}
	return v
}

// readFile packs the records of a source.
func readFile(ctx context.Context, s Source, o *Options) (*file, error) {
	f := &file{crews: newNames(), owners: newNames()}
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
	f.id = append(f.id, c.ID)
	f.revision = append(f.revision, int32(c.Revision))
	f.lon, f.lat = append(f.lon, c.Lon), append(f.lat, c.Lat)
	f.accuracy = append(f.accuracy, c.AccuracyM)
	for _, n := range [...]string{c.Number, c.Permit, c.Tag} {
		if len(n) <= 2*maxNumber {
			text.WriteString(n)
		}
		f.ends = append(f.ends, uint32(text.Len()))
	}
	f.dates = append(f.dates, [2]day{dayOf(c.Completed), dayOf(c.OtherDate)})
	for i, v := range [valueCount]records.DigestValue{
		valueDepth: c.Depth, valueOtherDepth: c.OtherDepth, valueCasing: c.Casing, valueStatic: c.Static,
		valuePump: c.Pump, valueDiameter: c.Diameter, valueOtherDiameter: c.OtherDiameter, valueYield: c.Yield,
	} {
		f.values[i].add(v)
	}
	crew := [nameCount]int32{f.crews.id(c.Driller), f.crews.id(c.Firm), f.crews.id(c.Licence)}
	for i, id := range crew {
		if id != 0 && (i == 0 || crew[i-1] != id) {
			f.crews.count[id]++
		}
	}
	f.crew = append(f.crew, crew)
	owner := int32(0)
	if o.Owners {
		owner = f.owners.id(c.Owner)
		f.owners.count[owner]++
	}
	f.owner = append(f.owner, owner)
}

func (f *file) len() int { return len(f.id) }

func (f *file) located(i int32) bool { return !math.IsNaN(f.lon[i]) }

func (f *file) number(i int32, which int) string {
	k := 3*int(i) + which
	from := uint32(0)
	if k > 0 {
		from = f.ends[k-1]
	}
	return f.text[from:f.ends[k]]
}

// side spreads a record out to be compared.
func (f *file) side(i int32, s *side) {
	s.spots = s.spot[:0]
	if f.located(i) {
		a := float64(f.accuracy[i])
		if a <= 0 {
			a = recordAccuracyM
		}
		s.spots = append(s.spots, spot{f.lon[i], f.lat[i], math.Max(a, leastAccuracyM)})
	}
	for k := range s.numbers {
		s.numbers[k] = f.number(i, k)
	}
	s.dates, s.names, s.owner = f.dates[i], f.crew[i], f.owner[i]
	for k := range s.values {
		s.values[k] = f.values[k].at(i)
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
