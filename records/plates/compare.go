package plates

import (
	"iter"
	"maps"
	"math"
	"slices"

	"tallybook/records/linkage"
)

// judge compares two sides. One is used by one goroutine at a time.
type judge struct {
	crews, owners *nameJudge
	withOwner     bool
	left          [3][maxNumber]byte // the numbers of the left side, folded
	leftKeys      [3][]byte
}

func newJudge(f *file, withOwner bool) *judge {
	return &judge{crews: newNameJudge(f.crews), owners: newNameJudge(f.owners), withOwner: withOwner}
}

// begin is told the left side of the pairs to come.
func (j *judge) begin(l *side) {
	for i, n := range l.numbers {
		j.leftKeys[i] = numberKey(n, j.left[i][:])
	}
}

// chosen says which of several entries of a side was compared.
type chosen struct{ left, right [fieldCount]int }

// pattern compares two sides, the left one being that of begin.
func (j *judge) pattern(l, r *side, which *chosen) linkage.Pattern {
	p := linkage.NoPattern
	put := func(field, level, left, right int) {
		p = p.With(field, level)
		if which != nil {
			which.left[field], which.right[field] = left, right
		}
	}
	level, a, b := compareSpots(l.spots, r.spots)
	put(fieldPlace, level, a, b)
	if level != missing {
		p = p.With(fieldStanding, standingOf(apartM(&l.spots[a], &r.spots[b])))
		p = p.With(fieldPrecision, precisionOf(jointM(&l.spots[a], &r.spots[b])))
	}
	level, a, b = j.numbers(r)
	put(fieldNumber, level, a, b)
	level, a, b = compareDates(l.dates, r.dates)
	put(fieldDate, level, a, b)
	level, a, b = missing, 0, 0
	for x, m := range l.names {
		for y, n := range r.names {
			if d := j.crews.compare(m, n); d < level {
				level, a, b = d, x, y
			}
		}
	}
	put(fieldDriller, level, a, b)
	level, a, b = bestLength(l, r, valueDepth, valueOtherDepth)
	put(fieldDepth, level, a, b)
	put(fieldCasing, compareLengths(l.values[valueCasing], r.values[valueCasing], casingTolerance), 0, 0)
	put(fieldPump, compareLengths(l.values[valuePump], r.values[valuePump], pumpTolerance), 0, 0)
	put(fieldStatic, compareLengths(l.values[valueStatic], r.values[valueStatic], staticTolerance), 0, 0)
	level, a, b = missing, 0, 0
	for _, x := range [...]int{valueDiameter, valueOtherDiameter} {
		for _, y := range [...]int{valueDiameter, valueOtherDiameter} {
			if d := compareDiameters(l.values[x], r.values[y]); d < level {
				level, a, b = d, x, y
			}
		}
	}
	put(fieldDiameter, level, a, b)
	put(fieldYield, compareYields(l.values[valueYield], r.values[valueYield]), 0, 0)
	if j.withOwner {
		put(fieldOwner, j.owners.compare(l.owner, r.owner), 0, 0)
	}
	return p
}

func standingOf(apartM float64) int {
	for l, most := range standingM {
		if apartM <= most {
			return l
		}
	}
	return standingFar
}

func precisionOf(jointM float64) int {
	for l, most := range [...]float64{15, 40, 120} {
		if jointM <= most {
			return l
		}
	}
	return 3
}

func bestLength(l, r *side, which ...int) (level, a, b int) {
	level, a, b = missing, which[0], which[0]
	for _, x := range which {
		for _, y := range which {
			if d := compareLengths(l.values[x], r.values[y], depthTolerance); d < level {
				level, a, b = d, x, y
			}
		}
	}
	return level, a, b
}

func (j *judge) numbers(r *side) (level, a, b int) {
	level = missing
	var room [maxNumber]byte
	for y := range r.numbers {
		if r.numbers[y] == "" {
			continue
		}
		key := numberKey(r.numbers[y], room[:])
		for x, left := range j.leftKeys {
			if d := compareNumbers(left, key); d < level {
				level, a, b = d, x, y
			}
		}
	}
	return level, a, b
}

// rarity holds how common things are in the file, to weigh agreement on what
// is rare higher.
type rarity struct {
	records  float64
	depth    map[int]int32 // how many records have a depth, by feet
	depthAvg float64       // the chance that two records have the same
	nameAvg  float64       // that two have the same driller
	keyAvg   float64       // how many records have a record's number, on average
	placeAvg float64       // records on a square metre about a place, on average
	year     map[int]int32 // how many records are of a year
	yearAvg  float64       // the chance that two records are of the same
}

func newRarity(f *file, keys *keyIndex) *rarity {
	r := &rarity{records: math.Max(1, float64(f.len())), depth: map[int]int32{}, year: map[int]int32{}}
	for i := range int32(f.len()) {
		if d := f.row[i].dates[0]; d != 0 {
			r.year[d.date().Year]++
		}
		if v := f.value(i, valueDepth); v.Qualifier != 0 && !v.Qualifier.IsBound() {
			r.depth[feetOf(v.Value)]++
		}
	}
	r.depthAvg = sameChance(maps.Values(r.depth))
	r.yearAvg = sameChance(maps.Values(r.year))
	r.nameAvg = sameChance(slices.Values(f.crews.count))
	r.keyAvg = keys.meanShare()
	return r
}

// sameChance is the chance that two drawn at random fall together, of how many
// there are of each kind.
func sameChance(counts iter.Seq[int32]) float64 {
	sum, squares := 0.0, 0.0
	for n := range counts {
		sum += float64(n)
		squares += float64(n) * float64(n)
	}
	return squares / math.Max(1, sum*sum)
}

func feetOf(m float64) int { return int(math.Round(m / metresPerFoot)) }

// most is how far one field's rarity can move a weight, in bits.
const most = 5

func rarer(average, own float64) float64 {
	if average <= 0 || own <= 0 {
		return 0
	}
	return math.Max(-most, math.Min(most, math.Log2(average/own)))
}

// leftRarity is what of a pair's rarity depends on the left side alone.
type leftRarity struct {
	depth   float64
	year    [2]float64
	place   [3]float64 // records on a square metre about each spot
	numbers [3]float64 // how many records have each number
}

// adjust gives what a pair's weight gains because what agrees is rare.
func (r *rarity) adjust(f *file, l, right *side, left *leftRarity, p linkage.Pattern, which *chosen) float64 {
	sum := 0.0
	for _, field := range [...]int{fieldPlace, fieldNumber, fieldDate, fieldDriller, fieldDepth} {
		sum += r.adjustOne(f, l, right, left, p, which, field)
	}
	return sum
}

// adjustOne is what one field adds to adjust.
func (r *rarity) adjustOne(f *file, l, right *side, left *leftRarity, p linkage.Pattern, which *chosen, field int) float64 {
	switch level := p.Level(field); {
	case field == fieldDepth && level == lengthEqual:
		return local(left.depth, p)
	case field == fieldDate && level <= dateNear:
		return left.year[which.left[field]]
	case field == fieldNumber && level == numberEqual:
		return rarer(r.keyAvg, left.numbers[which.left[field]])
	case field == fieldDriller && level == nameEqual:
		if n := float64(f.crews.count[l.names[which.left[field]]]); n > 0 {
			return local(rarer(r.nameAvg, n/r.records), p)
		}
	case field == fieldPlace && level < placeFar:
		return rarer(r.placeAvg, left.place[which.left[field]])
	}
	return 0
}

// local takes back what rarity adds among wells near each other: what is rare
// elsewhere is common in its street. Where nobody knows how near they are it is
// not added either.
func local(adjust float64, p linkage.Pattern) float64 {
	switch p.Level(fieldStanding) {
	case standingFar:
		return adjust
	case missing:
		return math.Min(0, adjust)
	}
	return 0
}

// left looks at a left side; own is the record that it is, or -1. out is
// written over.
func (r *rarity) left(l *side, own int32, g *grid, keys *keyIndex, leftKeys [3][]byte, out *leftRarity) {
	out.depth, out.year, out.numbers = 0, [2]float64{}, [3]float64{}
	if v := l.values[valueDepth]; v.Qualifier != 0 && !v.Qualifier.IsBound() {
		out.depth = rarer(r.depthAvg, (float64(r.depth[feetOf(v.Value)])+1)/r.records)
	}
	for i, d := range l.dates {
		if d != 0 {
			out.year[i] = rarer(r.yearAvg, (float64(r.year[d.date().Year])+1)/r.records)
		}
	}
	for i := range l.spots {
		out.place[i] = g.densityM2(&l.spots[i], own)
	}
	for i, k := range leftKeys {
		if len(k) > 0 {
			out.numbers[i] = math.Max(1, float64(keys.count(hashKey('N', k))))
		}
	}
}
