package figuring

import (
	"math"
	"slices"

	"tallybook/records"
)

// handbookVolumes is where the contents of round holes are printed.
var handbookVolumes = Source{"MIL-HDBK-1164, table 1 (gallons a foot); the factor 0.0408 is pi/4 x 12/231", Read}

// litresPerMetre is the content of one metre of a round hole: pi/4 d^2.
func litresPerMetre(d records.Diameter) float64 {
	return math.Pi / 4 * float64(d) * float64(d) / 1000
}

// Holds is what a length of round hole or casing holds, in litres: pi/4 d^2 a
// metre with d the inside diameter (0.0408 d^2 gallons a foot, d in inches).
// A nominal pipe size is no inside diameter: see SteelPipes.
func Holds(inside records.Diameter, of records.Length) (Figure[records.Volume], error) {
	if err := firstOf(someDiameter("inside_mm", "the inside diameter", inside), anyLength("length_m", "the length", of)); err != nil {
		return Figure[records.Volume]{}, err
	}
	return Figure[records.Volume]{
		Value: records.Volume(litresPerMetre(inside) * float64(of)),
		Working: Working{
			Title:   "what a round hole holds",
			Formula: "pi/4 x inside diameter^2 x length (0.0408 x inches^2 gallons a foot)",
			Inputs:  []Input{across("inside diameter", inside), length("length", of)},
			Sources: []Source{handbookVolumes},
			Limits:  "a smooth round hole; a nominal pipe size is not its inside diameter, and pipes standing in the hole take up room",
		},
	}, nil
}

// Annulus is the space between a hole and the casing in it, in litres:
// pi/4 (D^2 - d^2) a metre with D the hole and d the casing's outside
// diameter. It agrees with Well.AnnulusVolume, which does the sum on a record.
func Annulus(hole, outside records.Diameter, of records.Length) (Figure[records.Volume], error) {
	err := firstOf(someDiameter("hole_mm", "the hole's diameter", hole),
		someDiameter("casing_outside_mm", "the casing's outside diameter", outside),
		anyLength("length_m", "the length", of))
	if err == nil && outside >= hole {
		err = bad("casing_outside_mm", "the casing is as wide as the hole or wider: give the hole first, both in the same unit, and the casing's outside diameter")
	}
	if err != nil {
		return Figure[records.Volume]{}, err
	}
	return Figure[records.Volume]{
		Value: records.Volume((litresPerMetre(hole) - litresPerMetre(outside)) * float64(of)),
		Working: Working{
			Title:   "annulus between hole and casing",
			Formula: "pi/4 x (hole^2 - casing outside^2) x length (0.0408 x (D^2 - d^2) gallons a foot, inches)",
			Inputs:  []Input{across("hole", hole), across("casing outside", outside), length("length", of)},
			Sources: []Source{{"geometry; a well supplier's bulletin works the same sum", Copied}},
			Limits:  "a smooth hole of the bit's size: washed-out ground takes more, see the overrun; couplings and centralizers are not taken off",
			Caution: "local rules ask for a least width of annulus and a least depth of seal; they come first",
		},
	}, nil
}

// Round is a stretch of hole, or of casing, of one diameter.
type Round struct {
	From, To records.Depth
	Across   records.Diameter // bit size of a bore, inside diameter of a casing
}

// Hole is a hole as it stands or is planned: bores and the casing set in them.
type Hole struct {
	Bores  []Round
	Casing []Round
}

// Standing is the water between the static level and the pump's intake, in
// litres: the sum over stretches of pi/4 d^2, with d the inside of the
// narrowest casing where there is one and else the widest bore. Water above
// the top of the hole is left out. Errors: an intake above the level, a
// stretch that runs upward, or a part of the way with no diameter.
func (h Hole) Standing(level, intake records.Depth) (Figure[records.Volume], error) {
	top, err := h.check(level, intake)
	if err != nil {
		return Figure[records.Volume]{}, err
	}
	sum := 0.0
	err = h.stretches(max(level, top), intake, func(of Round) {
		sum += litresPerMetre(of.Across) * float64(of.To-of.From)
	})
	if err != nil {
		return Figure[records.Volume]{}, err
	}
	return Figure[records.Volume]{
		Value: records.Volume(sum),
		Working: Working{
			Title:   "water standing above the pump",
			Formula: "sum over stretches of pi/4 x inside diameter^2 x length, from the static level to the pump's intake",
			Inputs:  []Input{length("static level", level), length("pump intake", intake)},
			Sources: []Source{handbookVolumes},
			Limits:  "the static level falls in dry seasons and with neighbours' pumping; drop pipe and cable take up a little; water outside the casing is not counted",
			Caution: "never set a pump so that it can draw the level to its intake without a cut-off that stops it",
		},
	}, nil
}

// LevelAfter is the depth of the water after so much of what stands between
// the level and the intake was drawn; the intake's where all of it was.
func (h Hole) LevelAfter(level, intake records.Depth, taken records.Volume) (records.Depth, error) {
	top, err := h.check(level, intake)
	if err == nil {
		err = anyVolume("drawn_l", "the volume drawn", taken)
	}
	if err != nil {
		return 0, err
	}
	at, left := max(level, top), float64(taken)
	err = h.stretches(at, intake, func(of Round) {
		perMetre := litresPerMetre(of.Across)
		step := min(float64(of.To-of.From), left/perMetre)
		at, left = at+records.Depth(step), left-step*perMetre
	})
	return min(at, intake), err
}

func (h Hole) check(level, intake records.Depth) (top records.Depth, err error) {
	if err := firstOf(anyDepth("static_level_m", "the static level", level), anyDepth("intake_m", "the pump's intake", intake)); err != nil {
		return 0, err
	}
	if len(h.Bores)+len(h.Casing) == 0 {
		return 0, bad("bores", "the hole has no diameter: give at least one bore")
	}
	top = records.Depth(math.Inf(1))
	for _, all := range [][]Round{h.Bores, h.Casing} {
		for _, r := range all {
			err := firstOf(anyDepth("from_m", "the top of a stretch", r.From), anyDepth("to_m", "the bottom of a stretch", r.To), someDiameter("across_mm", "the diameter of a stretch", r.Across))
			if err == nil && r.To <= r.From {
				err = bad("to_m", "a stretch ends where it begins or above: give its top first, depths down from the ground")
			}
			if err != nil {
				return 0, err
			}
			top = min(top, r.From)
		}
	}
	if intake < max(level, top) {
		return 0, bad("intake_m", "the pump's intake is above the static level: no water stands over it; set it deeper or look at the level")
	}
	return top, nil
}

// stretches calls each for every part of the way within which the diameter
// does not change, from the top down.
func (h Hole) stretches(from, to records.Depth, each func(Round)) error {
	cuts := []records.Depth{from, to}
	for _, all := range [][]Round{h.Bores, h.Casing} {
		for _, r := range all {
			for _, d := range []records.Depth{r.From, r.To} {
				if d > from && d < to {
					cuts = append(cuts, d)
				}
			}
		}
	}
	slices.Sort(cuts)
	for i := 1; i < len(cuts); i++ {
		a, b := cuts[i-1], cuts[i]
		if a == b {
			continue
		}
		d, ok := h.insideAt((a + b) / 2)
		if !ok {
			return bad("bores", "the hole's diameter is not known all the way from the static level to the pump: give a bore that reaches it")
		}
		each(Round{a, b, d})
	}
	return nil
}

func (h Hole) insideAt(depth records.Depth) (records.Diameter, bool) {
	narrowest, widest := records.Diameter(math.Inf(1)), records.Diameter(0)
	for _, c := range h.Casing {
		if c.From <= depth && depth < c.To {
			narrowest = min(narrowest, c.Across)
		}
	}
	if !math.IsInf(float64(narrowest), 1) {
		return narrowest, true
	}
	for _, b := range h.Bores {
		if b.From <= depth && depth < b.To {
			widest = max(widest, b.Across)
		}
	}
	return widest, widest > 0
}

// Recovery is the inflow into a hole whose level rose while nothing was
// pumped, in L/s: what the rise holds over the time it took.
func Recovery(inside records.Diameter, rise records.Length, took records.Minutes) (Figure[records.Flow], error) {
	err := firstOf(someDiameter("inside_mm", "the inside diameter", inside), anyLength("rise_m", "the rise", rise), someMinutes("took_min", "the time of the rise", took))
	if err != nil {
		return Figure[records.Flow]{}, err
	}
	return Figure[records.Flow]{
		Value: records.Flow(litresPerMetre(inside) * float64(rise) / (float64(took) * 60)),
		Working: Working{
			Title:   "inflow from the rise of the level",
			Formula: "rise x what a length of the hole holds / time",
			Inputs:  []Input{across("inside diameter", inside), length("rise", rise), minutes("time", took)},
			Sources: []Source{{"continuity of volume", Computed}},
			Limits:  "the mean over the rise: inflow slackens as the level nears rest; take off the room of pipe in the hole where it matters",
		},
	}, nil
}
