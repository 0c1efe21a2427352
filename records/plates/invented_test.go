package plates_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"tallybook/records"
)

// invented is a seeded county: holes in clumps and strings, drilled by a score
// of drillers, numbered in the order of their dates, and plates of some of
// them. Nothing of it is real: it lies in the open ocean. What goes wrong on
// plates does so as it does in life (common practice, no source):
// three plates in ten have one wrong field, one in ten has two, and one in ten
// belongs to a hole of which there is no record, though it stands among others
// of its street that have theirs.
type invented struct {
	records list
	plates  []*records.Plate
	truth   []int64 // of each plate: its record's ID, or 0
	wrong   []int   // how many fields are wrong
}

const ft = 0.3048

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x636f756e7479)) }

type inventor struct {
	*rand.Rand
	streets []street
	total   int
}

// street is where wells stand close, drilled by one driller within some weeks.
type street struct {
	lon, lat float64
	depth    float64 // what the ground there asks for, m
	cover    float64 // what has to be cased off, m
	driller  int
	first    int // days
	left     int
}

func exact(v float64) records.DigestValue {
	return records.DigestValue{Value: v, Qualifier: records.Exact}
}

func dateOfDay(n int) records.Date {
	y := 1970 + n/365
	d := n % 365
	return records.Date{Year: y, Month: 1 + d/31, Day: 1 + d%31%28}
}

// invent makes so many records and plates.
func invent(seed uint64, count, plateCount int) *invented {
	return inventWith(seed, count, plateCount, plateCount/10)
}

// inventWith says how many of the plates are of holes without a record.
func inventWith(seed uint64, count, plateCount, absent int) *invented {
	r := &inventor{Rand: newRand(seed), total: count}
	holes := make([]records.Compared, count+absent)
	days := make([]int, len(holes))
	for i := range holes {
		holes[i], days[i] = r.hole()
	}
	// Numbers are given out in the order of the dates, with gaps.
	order := make([]int, len(holes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return days[a] - days[b] })
	number := 10000
	for _, i := range order {
		number += 1 + r.IntN(3)
		holes[i].Number = fmt.Sprintf("W%d", number)
	}
	// Some have a plate; of those some are not in the file.
	out := &invented{}
	chosen := r.Perm(len(holes))[:plateCount]
	gone := map[int]bool{}
	for _, i := range chosen[:absent] {
		gone[i] = true
	}
	ids := make([]int64, len(holes))
	for i := range holes {
		if !gone[i] {
			ids[i] = int64(len(out.records) + 1)
			holes[i].ID, holes[i].Revision = ids[i], 1
			out.records = append(out.records, r.asFiled(holes[i]))
		}
	}
	r.Shuffle(len(chosen), func(a, b int) { chosen[a], chosen[b] = chosen[b], chosen[a] })
	for k, i := range chosen {
		p := r.plate(holes[i], number)
		p.ID = int64(k + 1)
		wrong := 0
		switch v := r.Float64(); {
		case v < 0.30:
			wrong = 1
		case v < 0.40:
			wrong = 2
		}
		out.plates = append(out.plates, p)
		out.truth = append(out.truth, ids[i])
		out.wrong = append(out.wrong, r.spoil(p, holes[i], wrong))
	}
	return out
}

// hole drills one, and tells the day.
func (r *inventor) hole() (records.Compared, int) {
	var s *street
	size := math.Sqrt(float64(r.total)) * 0.002 // degrees: as crowded, however many
	if len(r.streets) > 0 && r.Float64() < 0.55 {
		s = &r.streets[len(r.streets)-1]
	}
	if s == nil || s.left == 0 {
		r.streets = append(r.streets, street{
			lon: -38 + (2*r.Float64()-1)*size*1.3, lat: 34 + (2*r.Float64()-1)*size,
			depth: math.Exp(math.Log(70) + 0.5*r.NormFloat64()), cover: 3 + r.ExpFloat64()*9,
			driller: r.IntN(20), first: int(365 * 40 * math.Sqrt(r.Float64())), left: 1 + r.IntN(12),
		})
		s = &r.streets[len(r.streets)-1]
	}
	s.left--
	day := s.first + r.IntN(45)
	depth := math.Max(8, s.depth*math.Exp(0.22*r.NormFloat64()))
	round := 1.0
	if r.Float64() < 0.45 {
		round = 5
	}
	depthFt := math.Round(depth/ft/round) * round
	casingFt := math.Min(math.Ceil((s.cover*math.Exp(0.2*r.NormFloat64())+4)/ft/1)*1, depthFt-1)
	yield := math.Exp(math.Log(6) + 0.9*r.NormFloat64())
	yield = math.Max(0.5, math.Round(yield*2)/2)
	if yield > 10 {
		yield = math.Round(yield)
	}
	c := records.Compared{
		Lon: s.lon + 0.0008*r.NormFloat64(), Lat: s.lat + 0.0006*r.NormFloat64(), AccuracyM: float32(4 + 8*r.Float64()),
		Completed: dateOfDay(day),
		Depth:     exact(depthFt * ft), Casing: exact(casingFt * ft),
		Static: exact(math.Round(math.Max(2, depthFt*0.12+15*r.NormFloat64())) * ft),
		Yield:  exact(yield * 3.785411784 / 60),
		Driller: fmt.Sprintf("Invented %s", [...]string{"Auger", "Bailey", "Corr", "Dowser", "Ecks", "Flint", "Gravel", "Hollow", "Ingot", "Jarr",
			"Kelly", "Loam", "Marl", "Nodule", "Ochre", "Pebble", "Quarry", "Rodd", "Shale", "Tremie"}[s.driller]),
	}
	c.Pump = exact(math.Max(10, math.Round(depthFt*(0.75+0.15*r.Float64())/5)*5) * ft)
	c.Diameter = exact([]float64{152.4, 152.4, 152.4, 101.6, 203.2}[r.IntN(5)])
	return c, day
}

// asFiled is the record of a hole: less than what is true, and less exact.
func (r *inventor) asFiled(c records.Compared) records.Compared {
	switch v := r.Float64(); {
	case v < 0.06:
		c.Lon, c.Lat, c.AccuracyM = math.NaN(), math.NaN(), 0
	case v < 0.30:
		c.AccuracyM = []float32{50, 100, 250}[r.IntN(3)]
		c.Lon += float64(c.AccuracyM) * 0.6 * r.NormFloat64() / 92000
		c.Lat += float64(c.AccuracyM) * 0.6 * r.NormFloat64() / 111000
	default:
		c.Lon += 4 * r.NormFloat64() / 92000
		c.Lat += 4 * r.NormFloat64() / 111000
	}
	drop := func(v *records.DigestValue, chance float64) {
		if r.Float64() < chance {
			*v = records.DigestValue{}
		}
	}
	drop(&c.Casing, 0.1)
	drop(&c.Static, 0.2)
	drop(&c.Pump, 0.5)
	drop(&c.Diameter, 0.1)
	drop(&c.Yield, 0.08)
	if r.Float64() < 0.08 {
		c.Completed.Day = 0
	}
	if r.Float64() < 0.06 {
		c.Driller = ""
	}
	return c
}

// plate is stamped from what is true.
func (r *inventor) plate(c records.Compared, lastNumber int) *records.Plate {
	p := &records.Plate{Number: c.Number}
	if r.Float64() < 0.35 { // the authority's own series, which the record does not tell
		p.Number = fmt.Sprintf("%d", 10000+r.IntN(lastNumber))
	}
	s := &p.Stamped
	has := func(chance float64) bool { return r.Float64() < chance }
	if has(0.95) {
		s.Date = c.Completed
		if has(0.25) {
			s.Date.Day = 0
		}
	}
	depth := func(v records.DigestValue) records.Amount[records.Depth] { return records.Of(records.Depth(v.Value)) }
	if has(0.96) {
		s.Depth = depth(c.Depth)
	}
	if has(0.7) {
		s.Casing = depth(c.Casing)
	}
	if has(0.8) {
		s.Diameter = records.Of(records.Diameter(c.Diameter.Value))
	}
	if has(0.85) {
		s.Yield = records.Of(records.Flow(c.Yield.Value))
	}
	if has(0.5) {
		s.Static = depth(c.Static)
	}
	if has(0.4) {
		s.PumpDepth = depth(c.Pump)
	}
	if has(0.75) {
		s.Driller = c.Driller
	}
	if has(0.85) {
		acc := 5 + 15*r.Float64()
		if has(0.2) {
			acc = 80
		}
		p.Seen = []records.PlateSighting{{
			Located: true, Lon: c.Lon + acc*0.6*r.NormFloat64()/92000, Lat: c.Lat + acc*0.6*r.NormFloat64()/111000,
			Accuracy: records.Of(records.Length(acc)),
		}}
	}
	return p
}

// spoil makes so many of what a plate says wrong.
func (r *inventor) spoil(p *records.Plate, c records.Compared, n int) int {
	s := &p.Stamped
	done := 0
	for _, field := range r.Perm(8) {
		if done == n {
			break
		}
		switch field {
		case 0:
			p.Number = r.misread(p.Number)
		case 1:
			if s.Date.IsZero() {
				continue
			}
			s.Date = r.misdated(s.Date)
		case 2:
			if !s.Depth.Known() {
				continue
			}
			r.mislength(&s.Depth, s)
		case 3:
			if !s.Casing.Known() {
				continue
			}
			r.mislength(&s.Casing, nil)
		case 4:
			if !s.Yield.Known() {
				continue
			}
			s.Yield = records.Of(s.Yield.Value * records.Flow([]float64{0.5, 2, 10, 0.1, 15.85, 0.7, 1.4}[r.IntN(7)]))
		case 5:
			if !s.Diameter.Known() {
				continue
			}
			s.Diameter = records.Of(records.Diameter([]float64{127, 168.3, 254}[r.IntN(3)]))
		case 6:
			if s.Driller == "" {
				continue
			}
			s.Driller = "Invented Pump Service"
			if r.Float64() < 0.5 {
				s.Driller = "Invented " + string(rune('A'+r.IntN(20))) + "nother"
			}
		case 7:
			if len(p.Seen) == 0 {
				continue
			}
			far := 0.002 * math.Exp(2*r.Float64())
			p.Seen[0].Lat += far * (2*r.Float64() - 1)
			p.Seen[0].Lon += far * (2*r.Float64() - 1)
		}
		done++
	}
	_ = c
	return done
}

func (r *inventor) misread(n string) string {
	b := []byte(n)
	i := len(b) - 1 - r.IntN(min(4, len(b)-1))
	if b[i] < '0' || b[i] > '9' {
		return n + strconv.Itoa(r.IntN(10))
	}
	switch v := r.Float64(); {
	case v < 0.3:
		b[i] = map[byte]byte{'0': '6', '1': '7', '2': '7', '3': '8', '4': '9', '5': '3', '6': '8', '7': '1', '8': '3', '9': '8'}[b[i]]
	case v < 0.5:
		b[i] = '?'
	case v < 0.7:
		b[i], b[i-1] = b[i-1], b[i]
	case v < 0.8:
		b = append(b[:i], b[i+1:]...)
	case v < 0.9:
		b[i] = byte('0' + r.IntN(10))
	default:
		return strconv.Itoa(10000 + r.IntN(90000))
	}
	return string(b)
}

func (r *inventor) misdated(d records.Date) records.Date {
	switch v := r.Float64(); {
	case v < 0.25 && d.Day > 0 && d.Day <= 12:
		d.Day, d.Month = d.Month, d.Day
	case v < 0.5:
		d.Year += 2*r.IntN(2) - 1
	case v < 0.65: // the pump came later
		d.Month += 1 + r.IntN(4)
		if d.Month > 12 {
			d.Month -= 12
			d.Year++
		}
		d.Day = min(d.Day, 28)
	case v < 0.8 && d.Day > 0:
		d.Day = 1 + r.IntN(28)
	default:
		d.Year = 1970 + r.IntN(40)
	}
	return d
}

// mislength spoils a depth; where it is the plate's first it may be that all of
// its lengths are in the other unit.
func (r *inventor) mislength(a *records.Amount[records.Depth], all *records.Stamped) {
	feet := math.Round(float64(a.Value) / ft)
	digits := []byte(strconv.Itoa(int(feet)))
	switch v := r.Float64(); {
	case v < 0.25 && len(digits) > 1:
		i := r.IntN(len(digits))
		digits[i] = byte('0' + r.IntN(10))
		n, _ := strconv.Atoi(string(digits))
		*a = records.Of(records.Depth(float64(n) * ft))
	case v < 0.4 && len(digits) > 1:
		i := 1 + r.IntN(len(digits)-1)
		digits[i], digits[i-1] = digits[i-1], digits[i]
		n, _ := strconv.Atoi(string(digits))
		*a = records.Of(records.Depth(float64(n) * ft))
	case v < 0.55: // from the top of the casing
		*a = records.Of(a.Value + 2*ft)
	case v < 0.7: // metres stamped as if they were feet
		scale := func(a *records.Amount[records.Depth]) {
			if a.Known() {
				*a = records.Of(records.Depth(math.Round(float64(a.Value)) * ft))
			}
		}
		if all == nil {
			scale(a)
			return
		}
		scale(&all.Depth)
		scale(&all.Casing)
		scale(&all.Static)
		scale(&all.PumpDepth)
	default: // deepened since, or another's
		*a = records.Of(records.Depth(math.Round(feet*(0.6+0.9*r.Float64())) * ft))
	}
}
