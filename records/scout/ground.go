package scout

import (
	"cmp"
	"math"
	"slices"

	"tallybook/records"
)

// Ground is a stretch of hole in ground of one class.
type Ground struct {
	Top, Bottom records.Depth
	Class       records.Class
}

// groundOf reads the record's strata by class, from the top down, without
// overlap: where two layers overlap the upper one in the log gives way. A
// layer without a top begins where the one before it ends, one without a
// bottom ends where the next begins, the last at the total depth; a limit is
// taken as far as it goes.
func groundOf(w *records.Well, read records.Reader) []Ground {
	if read == nil {
		return nil
	}
	var out []Ground
	for i := range w.Strata {
		s := &w.Strata[i]
		top, okTop := reach(s.Top)
		if !okTop && i > 0 {
			top, okTop = reach(w.Strata[i-1].Bottom)
		} else if !okTop {
			top, okTop = 0, true
		}
		bottom, okBottom := reach(s.Bottom)
		if !okBottom && i+1 < len(w.Strata) {
			bottom, okBottom = reach(w.Strata[i+1].Top)
		} else if !okBottom {
			bottom, okBottom = reach(w.TotalDepth)
		}
		if okTop && okBottom && bottom > max(top, 0) {
			out = append(out, Ground{Top: max(top, 0), Bottom: bottom, Class: read.Ground(s).Class})
		}
	}
	slices.SortStableFunc(out, func(a, b Ground) int { return cmp.Compare(a.Top, b.Top) })
	kept := out[:0]
	for _, g := range out {
		if n := len(kept); n > 0 && kept[n-1].Bottom > g.Top {
			kept[n-1].Bottom = g.Top
			if kept[n-1].Bottom <= kept[n-1].Top {
				kept = kept[:n-1]
			}
		}
		kept = append(kept, g)
	}
	return kept
}

// reach is the depth that an amount speaks of, whatever its qualifier.
func reach(a records.Amount[records.Depth]) (records.Depth, bool) {
	return a.Value, a.Known() && finite(float64(a.Value))
}

// appendCharged appends the ground from the surface to a depth as it is charged
// for: soil, transition or rock without a gap. What was not logged, not understood
// or empty is soil above bedrock and rock below it.
func appendCharged(out, ground []Ground, bedrock, depth records.Depth) []Ground {
	add := func(top, bottom records.Depth, c records.Class) {
		if !(bottom > top) {
			return
		}
		if n := len(out); n > 0 && out[n-1].Class == c && out[n-1].Bottom == top {
			out[n-1].Bottom = bottom
			return
		}
		out = append(out, Ground{Top: top, Bottom: bottom, Class: c})
	}
	presume := func(top, bottom records.Depth) {
		add(top, min(bottom, bedrock), records.ClassSoil)
		add(max(top, bedrock), bottom, records.ClassRock)
	}
	at := records.Depth(0)
	for _, g := range ground {
		if g.Top >= depth {
			break
		}
		presume(at, g.Top)
		switch bottom := min(g.Bottom, depth); g.Class {
		case records.ClassSoil, records.ClassTransition, records.ClassRock:
			add(g.Top, bottom, g.Class)
		default:
			presume(g.Top, bottom)
		}
		at = max(at, min(g.Bottom, depth))
	}
	if math.IsInf(float64(depth), 1) {
		return out
	}
	presume(at, depth)
	return out
}
