package draw_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// randomWell makes a well out of a seed, with the slips that files have:
// values that are missing, bounds, in the wrong order, far too large, not a
// number.
func randomWell(rng *rand.Rand, words string) *records.Well {
	scale := math.Pow(10, rng.Float64()*4-1) // from decimetres to kilometres
	depth := func() records.Amount[records.Depth] {
		v := records.Depth(rng.Float64() * scale)
		switch rng.IntN(16) {
		case 0:
			return records.Amount[records.Depth]{}
		case 1:
			return records.Roughly(v)
		case 2:
			return records.MoreThan(v)
		case 3:
			return records.Under(v)
		case 4:
			return records.Within(v, v+records.Depth(rng.Float64()*scale))
		case 5:
			return records.Of(-v / 20)
		case 6:
			return records.Of(records.Depth([...]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 0}[rng.IntN(6)]))
		}
		return records.Of(v)
	}
	flow := func() records.Amount[records.Flow] {
		v := records.Flow(math.Exp(rng.NormFloat64()))
		return []records.Amount[records.Flow]{{}, records.Of(v), records.Of[records.Flow](0), records.Under(v), records.MoreThan(v), records.Within(v, 2*v),
			records.Of(records.Flow(math.NaN())), records.Of(records.Flow(1e300))}[rng.IntN(8)]
	}
	diameter := func() records.Amount[records.Diameter] {
		v := records.Diameter(rng.Float64() * 400)
		return []records.Amount[records.Diameter]{{}, records.Of(v), records.Roughly(v), records.Of(records.Diameter(math.NaN()))}[rng.IntN(4)]
	}
	text := func() string {
		kinds := []string{"", words, "granite", "till with boulders", "sand & gravel, water", "mud seam", "void"}
		return kinds[rng.IntN(len(kinds))]
	}
	w := &records.Well{Number: text(), Purpose: text(), TotalDepth: depth(), StaticLevel: depth(), Yield: flow(),
		Completed: records.Date{Year: rng.IntN(3000)}, StrikesAs: []string{"", "gain", "running_total", words}[rng.IntN(4)],
		Pump: records.Pump{SetDepth: depth()}}
	if rng.IntN(2) == 0 {
		w.Place = records.Place{Elevation: records.Of(records.Height(rng.NormFloat64() * 500)), VertDatum: text()}
	}
	at := 0.0
	for range rng.IntN(50) {
		s := records.Stratum{Top: depth(), Bottom: depth(), Description: text(), Color: text()}
		if rng.IntN(4) > 0 { // mostly in order
			next := at + math.Abs(rng.NormFloat64())*scale/20
			s.Top, s.Bottom = records.Of(records.Depth(at)), records.Of(records.Depth(next))
			at = next
		}
		w.Strata = append(w.Strata, s)
	}
	for range rng.IntN(4) {
		w.Casing = append(w.Casing, records.Casing{From: depth(), To: depth(), Diameter: diameter(), Material: text(), DriveShoe: yes()})
		w.Grout = append(w.Grout, records.Grout{From: depth(), To: depth(), Material: text()})
		w.Screens = append(w.Screens, records.Screen{From: depth(), To: depth(), Slot: diameter()})
		w.Bores = append(w.Bores, records.Bore{From: depth(), To: depth(), Diameter: diameter()})
		w.Strikes = append(w.Strikes, records.Strike{Depth: depth(), Flow: flow()})
		w.Rods = append(w.Rods, records.Rod{From: depth(), To: depth(), Time: records.Of(records.Minutes(rng.Float64() * 30))})
	}
	return w
}

// FuzzColumn draws wells of every kind and asks of each drawing all that a
// drawing must be: well-formed, safe, legible, the same twice.
func FuzzColumn(f *testing.F) {
	f.Add(uint64(1), "clay", 820.0, uint8(0))
	f.Add(uint64(2), "<b>\"'&\x00\xff💧شق", 350.0, uint8(7))
	for seed := range uint64(24) {
		f.Add(seed+10, "hard grey rock with seams of something that takes many words to say", 300+float64(seed)*29, uint8(seed))
	}
	f.Fuzz(func(t *testing.T, seed uint64, words string, width float64, choice uint8) {
		rng := rand.New(rand.NewPCG(seed, 7))
		if len(words) > 5000 {
			words = words[:5000]
		}
		var columns []draw.ColumnData
		for range 1 + rng.IntN(3) {
			picks := records.Picks{FirstRock: records.Pick{Depth: randomWell(rng, "").TotalDepth},
				Bedrock: records.Pick{Depth: randomWell(rng, "").TotalDepth, Why: words}, Disagree: rng.IntN(2) == 0}
			columns = append(columns, draw.ColumnOf(randomWell(rng, words), picks, testVocab()))
		}
		o := draw.Options{Prefix: "f", Units: say.System(choice & 1), Theme: draw.Theme(choice % 3), Width: width,
			Hang: draw.Hang(choice >> 1 & 1), Join: choice&4 != 0}
		d := check(t, draw.Column(columns[0], o), "f")
		if len(columns[0].Strata) == 0 && len(columns[0].Unplaced) == 0 && columns[0].HoleM > 0.02 && !contains(d, "no strata were logged") {
			t.Error("it does not say that no strata were logged")
		}
		check(t, draw.SideBySide(columns, o), "f")
	})
}

// contains says whether a drawing says words, on one line or, where it is
// narrow, on several.
func contains(d *drawing, words string) bool {
	var all []string
	for _, b := range d.texts {
		all = append(all, b.text)
	}
	return strings.Contains(strings.Join(all, " "), words)
}
