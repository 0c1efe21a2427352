package server

import (
	"fmt"
	"math"
	"slices"

	"tallybook/geo/surface"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
)

// scale is how values of what is shown become colours: the edges between the
// bands, in the unit that is shown, and the ramp. It is made from all wells
// that the filter takes, never from the window, so that panning changes no
// colour.
type scale struct {
	levels  []float64
	ramp    draw.Ramp
	title   string
	unit    string
	perBase float64 // shown units in one base unit
}

// mostBands is about how many bands a surface has.
const mostBands = 8

// scaleOf makes the scale for a state.
func scaleOf(st *mapState, span desk.Span, theme draw.Theme) scale {
	unit := unitFor(st.field, st.units)
	s := scale{perBase: unit.FromBase(1), unit: unit.Symbol(), ramp: draw.DepthRamp(theme)}
	if st.field == snapshot.Yield {
		s.ramp = draw.WaterRamp(theme)
	}
	s.title = capital(desk.FieldWords(st.field)) + ", " + s.unit
	switch st.surface {
	case showChance:
		s.levels, s.perBase, s.unit = []float64{10, 20, 30, 40, 50, 60, 70, 80, 90}, 100, "%"
		s.title = fmt.Sprintf("Chance of %s of %s %s or more, %%", desk.FieldWords(st.field), trimFloat(st.reach, 2), unit.Symbol())
		return s
	case showSkill:
		s.levels, s.perBase, s.unit = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6}, 1, ""
		s.title = "What neighbours add (local skill): " + desk.FieldWords(st.field)
		return s
	case showKrigingError:
		s.title = "Standard error of kriging: " + desk.FieldWords(st.field) + ", " + s.unit
	case showRange:
		s.title = "Width of the 8-in-10 range of " + desk.FieldWords(st.field) + ", " + s.unit
	}
	if span.Count == 0 {
		return s
	}
	if st.surface == showRange || st.surface == showKrigingError {
		// A range is hardly wider than what nearly all wells lie within.
		s.levels = surface.Levels(0, max((span.P95-span.P5)*s.perBase, 1e-6), mostBands)
		if len(s.levels) > 0 && s.levels[0] <= 0 {
			s.levels = s.levels[1:]
		}
		return s
	}
	if st.field == snapshot.BedrockElevation { // counted from a datum: small values are none
		s.levels = surface.Levels(span.P3*s.perBase, span.P97*s.perBase, mostBands)
		if len(s.levels) == 0 {
			s.levels = []float64{span.P50 * s.perBase}
		}
		return s
	}
	s.levels = levelsFor(span.P3*s.perBase, span.P50*s.perBase, span.P97*s.perBase)
	return s
}

// levelsFor gives round levels over a range: even steps, or steps of 1, 2 and
// 5 where most values are small and a few are large, as they are in the ground.
func levelsFor(low, middle, high float64) []float64 {
	if high > 4.5*middle && middle > 0 {
		var out []float64
		for _, decade := range []float64{0.01, 0.1, 1, 10, 100, 1000} {
			for _, f := range []float64{1, 2, 5} {
				if v := f * decade; v > max(low, middle/12) && v < high {
					out = append(out, v)
				}
			}
		}
		if len(out) > 2 {
			return out
		}
	}
	if out := surface.Levels(low, high, mostBands); len(out) > 0 {
		return out
	}
	return []float64{low}
}

// share places a value in shown units on the ramp: the middle of its band.
func (s *scale) share(v float64) float64 {
	i, exact := slices.BinarySearch(s.levels, v)
	if exact {
		i++
	}
	return (float64(i) + 0.5) / float64(len(s.levels)+1)
}

// label writes a level.
func (s *scale) label(v float64) string {
	if s.unit == "%" {
		return trimFloat(v, 0) + " %"
	}
	return trimFloat(v, 2)
}

// ends are what stands under the ramp: its two ends and its middle.
func (s *scale) ends() [3]string {
	n := len(s.levels)
	if n == 0 {
		return [3]string{}
	}
	return [3]string{"under " + s.label(s.levels[0]), s.label(s.levels[n/2]), "over " + s.label(s.levels[n-1])}
}

// skillWords says what a measured skill is worth.
func skillWords(skill, se float64) string {
	if math.IsNaN(skill) {
		return "too few wells to measure how good this is"
	}
	figure := fmt.Sprintf(" (skill\u00a0%.2f\u00a0±\u00a0%.2f)", skill, se)
	switch {
	case skill+1.3*se < 0.05:
		return "neighbours tell no more than the area does" + figure
	case skill < 0.05:
		return "neighbours tell hardly more than the area does" + figure
	}
	return "neighbours " + errorCut(skill) + figure
}

// errorCut says what a skill does to the error.
func errorCut(skill float64) string {
	switch {
	case skill >= 0.22 && skill < 0.29:
		return "cut the error by a quarter"
	case skill >= 0.29 && skill < 0.4:
		return "cut the error by a third"
	case skill >= 0.4 && skill < 0.6:
		return "halve the error"
	}
	return fmt.Sprintf("cut the error by %.0f\u00a0%%", skill*100)
}
