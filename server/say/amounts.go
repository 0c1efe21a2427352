package say

import (
	"tallybook/records"
)

// figures puts an amount into figures: 62, ~62, <10, >100, 50–60, and "" when
// it is missing.
func figures[T ~float64](a records.Amount[T], fig func(float64) string) string {
	switch a.Qualifier {
	case records.Exact:
		return fig(float64(a.Value))
	case records.About:
		return "~" + fig(float64(a.Value))
	case records.LessThan:
		return "<" + fig(float64(a.Value))
	case records.GreaterThan:
		return ">" + fig(float64(a.Value))
	case records.Between:
		lo, hi := fig(float64(a.Value)), fig(float64(a.High))
		if lo == hi {
			return "~" + lo
		}
		return lo + "–" + hi
	}
	return ""
}

// words puts an amount into words, with the words for less and more that suit
// the quantity.
func words[T ~float64](a records.Amount[T], fig func(float64) string, less, more, unit string) string {
	switch a.Qualifier {
	case records.Exact:
		return fig(float64(a.Value)) + unit
	case records.About:
		return "about " + fig(float64(a.Value)) + unit
	case records.LessThan:
		return less + " " + fig(float64(a.Value)) + unit
	case records.GreaterThan:
		return more + " " + fig(float64(a.Value)) + unit
	case records.Between:
		lo, hi := fig(float64(a.Value)), fig(float64(a.High))
		if lo == hi {
			return "about " + lo + unit
		}
		return "between " + lo + " and " + hi + unit
	}
	return "not recorded"
}

func with(figure string, u records.Unit) string {
	if figure == "" {
		return ""
	}
	return figure + " " + u.Symbol()
}

// Depth writes a depth with its unit: '62 ft', '~62 ft', '>100 ft',
// '50–60 ft'. A missing depth is "".
func (s System) Depth(a records.Amount[records.Depth]) string {
	return with(figures(a, s.LengthFigure), s.LengthUnit())
}

// DepthFigure is Depth without the unit, for a column or an axis that names
// it.
func (s System) DepthFigure(a records.Amount[records.Depth]) string {
	return figures(a, s.LengthFigure)
}

// DepthWords says a depth in words: 'about 62 ft', 'deeper than 100 ft',
// 'shallower than 20 ft', 'between 50 and 60 ft', 'not recorded'.
func (s System) DepthWords(a records.Amount[records.Depth]) string {
	return words(a, s.LengthFigure, "shallower than", "deeper than", " "+s.LengthUnit().Symbol())
}

// Level writes a water level: a depth, or for a flowing well how far above
// ground it stands.
func (s System) Level(a records.Amount[records.Depth]) string {
	if v, ok := a.Number(); ok && v < 0 {
		a.Value = -v
		return s.Depth(a) + " above ground"
	}
	return s.Depth(a)
}

// Metres writes a length in metres with the reader's unit.
func (s System) Metres(metres float64) string {
	return with(s.LengthFigure(metres), s.LengthUnit())
}

// Length writes a length with its unit. A missing length is "".
func (s System) Length(a records.Amount[records.Length]) string {
	return with(figures(a, s.LengthFigure), s.LengthUnit())
}

// Height writes an elevation with its unit. A missing one is "".
func (s System) Height(a records.Amount[records.Height]) string {
	return with(figures(a, func(m float64) string { return s.Figure(s.LengthUnit().FromBase(m), 1) }), s.LengthUnit())
}

// Flow writes a flow with its unit: '1½ gpm', '<1 gpm'. A missing flow is "".
func (s System) Flow(a records.Amount[records.Flow]) string {
	return with(figures(a, s.FlowFigure), s.FlowUnit())
}

// Yield writes what a well gives: as Flow, but a measured nothing is 'dry'.
func (s System) Yield(a records.Amount[records.Flow]) string {
	if v, ok := a.Number(); ok && v == 0 {
		return "dry"
	}
	return s.Flow(a)
}

// FlowWords says a flow in words: 'less than 1 gpm', 'not recorded'.
func (s System) FlowWords(a records.Amount[records.Flow]) string {
	return words(a, s.FlowFigure, "less than", "more than", " "+s.FlowUnit().Symbol())
}

// Diameter writes a diameter with its unit: '6⅝ in', '152 mm'. A missing one
// is "".
func (s System) Diameter(a records.Amount[records.Diameter]) string {
	return with(figures(a, s.DiameterFigure), s.DiameterUnit())
}

// Volume writes a volume with its unit, whole from ten up.
func (s System) Volume(a records.Amount[records.Volume]) string {
	u := s.VolumeUnit()
	return with(figures(a, func(l float64) string {
		v := u.FromBase(l)
		if v >= 9.95 {
			return s.Figure(v, 0)
		}
		return s.Figure(v, 1)
	}), u)
}

// Minutes writes a duration: '15 min', '1 h 30 min', '24 h'.
func (s System) Minutes(a records.Amount[records.Minutes]) string {
	return figures(a, func(m float64) string {
		if m < 60 {
			return s.Figure(m, 1) + " min"
		}
		h := float64(int64(m / 60))
		if rest := s.Figure(m-60*h, 0); rest != "0" {
			return s.Figure(h, 0) + " h " + rest + " min"
		}
		return s.Figure(h, 0) + " h"
	})
}
