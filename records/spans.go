package records

import (
	"cmp"
	"math"
	"slices"
)

// span is a stratum as an interval of numbers, metres from ground.
type span struct {
	top, bottom float64
	lo, hi      float64 // where the top may lie; both equal top for a number
	index       int     // of the stratum in Well.Strata
	about       bool    // the top was given as 'about'
}

func (s *span) thick() float64 { return s.bottom - s.top }

// appendSpans appends the record's strata to dst in order of depth. What logs
// leave out is filled in as they are meant to be read: a stratum without a
// top begins where the one above it in the log ends, one without a bottom
// ends where the next begins, the last at the total depth. A bound is taken
// as far as it goes: a bottom of '50+' reaches 50. Strata without numbers,
// above ground or running backwards are left out; Validate speaks of them.
func appendSpans(dst []span, w *Well) []span {
	sorted := true
	for i := range w.Strata {
		s := span{index: i}
		if !s.setTop(w, i) || !s.setBottom(w, i) {
			continue
		}
		if n := len(dst); n > 0 && compareSpans(dst[n-1], s) > 0 {
			sorted = false
		}
		dst = append(dst, s)
	}
	if !sorted {
		slices.SortStableFunc(dst, compareSpans)
	}
	return dst
}

func compareSpans(a, b span) int {
	if c := cmp.Compare(a.top, b.top); c != 0 {
		return c
	}
	return cmp.Compare(a.bottom, b.bottom)
}

func (s *span) setTop(w *Well, i int) bool {
	t := &w.Strata[i].Top
	v := float64(t.Value)
	s.lo, s.top, s.hi = v, v, v
	switch t.Qualifier {
	case About:
		s.about = true
	case LessThan: // begins above v: surely there from v on
		s.lo = 0
	case GreaterThan: // begins below v, nobody knows how far
		s.hi = math.Inf(1)
	case Between:
		s.top, s.hi = float64(t.High), float64(t.High)
	case Missing:
		above := 0.0
		if i > 0 {
			b, ok := w.Strata[i-1].Bottom.Number()
			if !ok {
				return false
			}
			above = float64(b)
		}
		s.lo, s.top, s.hi = above, above, above
	}
	return finite(s.top) && finite(s.lo)
}

func (s *span) setBottom(w *Well, i int) bool {
	b := &w.Strata[i].Bottom
	s.bottom = float64(b.Value) // the lower end of Between
	if b.Qualifier == Missing {
		var below Depth
		var ok bool
		if i+1 < len(w.Strata) {
			below, ok = w.Strata[i+1].Top.Number()
		} else {
			below, ok = w.TotalDepth.Number()
		}
		if !ok {
			return false
		}
		s.bottom = float64(below)
	}
	s.hi = min(s.hi, max(s.top, s.bottom))
	return finite(s.bottom) && s.top >= 0 && s.bottom >= s.top
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
