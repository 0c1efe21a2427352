package records

import (
	"cmp"
	"math"
	"slices"
)

// Derive makes the digest of a record with the default rules: what maps,
// surfaces and scouting need of it. r reads the ground of the strata (nil
// understands none); rock gives the code of a rock unit by its name (nil: no
// codes). Picks of bedrock are those of DerivePicks.
func Derive(w *Well, r Reader, rock func(name string) uint16) Digest {
	return DefaultPickRules().Digest(w, r, rock)
}

// Digest is Derive with rules of an office's own.
//
// Depth and yield are as first drilled; the yield is missing for wells that
// do not count for it. The static level is the one the record stands for, or
// the earliest reading of the series. The year is that of the first drilling's
// completion, of the completion, or of the start, the first that is known.
// A number of the digest that is a bound in the record is missing, unless the
// digest can say so (DigestValue).
func (r PickRules) Digest(w *Well, read Reader, rock func(name string) uint16) Digest {
	var spanRoom [32]span
	var groundRoom [32]Ground
	spans := appendSpans(spanRoom[:0], w)
	grounds := appendGrounds(groundRoom[:0], w, read)
	p := r.judge(w, spans, grounds)
	depth, yield := w.FirstDrilled()
	if !w.CountsForYield() {
		yield = Amount[Flow]{}
	}
	d := Digest{
		ID: w.ID, Revision: w.Revision, Key: KeyOf(w.UID),
		Lon: math.NaN(), Lat: math.NaN(),
		Bedrock:    digestValue(p.used),
		Yield:      digestValue(yield),
		TotalDepth: digestValue(depth),
		FirstRockM: number32(p.strata.first),
		CasingM:    NaN32(),
		StaticM:    number32(w.staticLevel()),
		GroundM:    number32(w.Place.Elevation),
		Year:       float32(w.firstCompleted().DecimalYear()),
		Purpose:    WordIndex(purposeWords, w.Purpose),
		Setting:    WordIndex(settingWords, w.Setting),
		Materials:  materialsMet(grounds),
		StrikesM:   w.firstStrikes(),
	}
	if w.Place.Located {
		d.Lon, d.Lat = w.Place.Lon, w.Place.Lat
	}
	d.AccuracyM = accuracyOf(w.Place.Accuracy)
	if seat, ok := w.CasingSeat(); ok {
		d.CasingM = float32(seat)
	}
	if rock != nil && w.Rock != "" {
		d.Rock = rock(w.Rock)
	}
	if len(w.Plates) > 0 {
		d.Flags |= HasPlate
	}
	if len(spans) > 0 {
		d.Flags |= HasStrata
	}
	if p.clash.any() {
		d.Flags |= PicksDisagree
	}
	d.Flags |= w.Doubts()
	if d.Own = w.ownBedrocks(); d.Own != nil {
		d.Flags |= HasOwnBedrock
	}
	return d
}

// KeyOf turns a UID into 64 bits spread evenly over their range, the same on
// every machine and in every version: the FNV-1a hash of its bytes, finished
// by the mixing step of SplitMix64 (Steele, Lea and Flood, 2014), because
// FNV's upper bits alone are not even on short texts.
func KeyOf(uid string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(uid) {
		h = (h ^ uint64(uid[i])) * 1099511628211
	}
	h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
	h = (h ^ h>>27) * 0x94d049bb133111eb
	return h ^ h>>31
}

func digestValue[T ~float64](a Amount[T]) DigestValue {
	if !finite(float64(a.Value)) || !finite(float64(a.High)) {
		return DigestValue{}
	}
	return DigestValue{Value: float64(a.Value), High: float64(a.High), Qualifier: a.Qualifier}
}

func number32[T ~float64](a Amount[T]) float32 {
	if v, ok := a.Number(); ok {
		return float32(v)
	}
	return NaN32()
}

// accuracyOf is how far off a position may be, metres; 0 where nobody says.
func accuracyOf(a Amount[Length]) float32 {
	switch a.Qualifier {
	case Missing:
		return 0
	case Between:
		return float32(a.High)
	}
	return float32(a.Value)
}

// lastMaterialBit stands for every material whose index has no bit of its
// own: the sixty-fourth and further ones of a long vocabulary.
const lastMaterialBit = 63

func materialsMet(grounds []Ground) uint64 {
	var set uint64
	for i := range grounds {
		set |= 1 << min(grounds[i].Index, lastMaterialBit)
	}
	return set
}

// staticLevel is the level that the record stands for, else the earliest
// dated reading of the series, else its first.
func (w *Well) staticLevel() Amount[Depth] {
	if w.StaticLevel.Known() {
		return w.StaticLevel
	}
	best := -1
	for i := range w.StaticLevels {
		l := &w.StaticLevels[i]
		if _, ok := l.Depth.Number(); !ok {
			continue
		}
		if best < 0 || !l.Date.IsZero() && (w.StaticLevels[best].Date.IsZero() || l.Date.Compare(w.StaticLevels[best].Date) < 0) {
			best = i
		}
	}
	if best < 0 {
		return Amount[Depth]{}
	}
	return w.StaticLevels[best].Depth
}

// firstCompleted is when the hole was first drilled, as far as is known.
func (w *Well) firstCompleted() Date {
	if len(w.Works) > 0 && w.Works[0].Kind == "drill" && !w.Works[0].Completed.IsZero() {
		return w.Works[0].Completed
	}
	if !w.Completed.IsZero() {
		return w.Completed
	}
	return w.Started
}

// firstStrikes gives the depths of the shallowest strikes in order.
func (w *Well) firstStrikes() [3]float32 {
	out := [3]float32{NaN32(), NaN32(), NaN32()}
	var room [16]Depth
	depths := room[:0]
	for i := range w.Strikes {
		if v, ok := w.Strikes[i].Depth.Number(); ok && finite(float64(v)) {
			depths = append(depths, v)
		}
	}
	slices.SortFunc(depths, func(a, b Depth) int { return cmp.Compare(a, b) })
	for i := range min(len(out), len(depths)) {
		out[i] = float32(depths[i])
	}
	return out
}
