package server

import (
	"fmt"
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/say"
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// percentWords writes a share with its standard error: '79 % ± 2'.
func percentWords(share, se float64) string {
	if !finite(share) {
		return "–"
	}
	if !finite(se) || se <= 0 {
		return fmt.Sprintf("%.0f\u00a0%%", share*100)
	}
	decimals := 0
	if se < 0.0095 {
		decimals = 1
	}
	return fmt.Sprintf("%.*f\u00a0%% ± %.*f", decimals, share*100, decimals, max(se*100, 0.1))
}

// skillCell says how much better than the area alone forecasts did.
func skillCell(skill, se float64) cell {
	if !finite(skill) {
		return cell{Text: "cannot be told", Class: "quiet"}
	}
	switch {
	case finite(se) && math.Abs(skill) < 2*se:
		return cell{Text: "no better, no worse", More: percentWords(skill, se) + " less error"}
	case skill < 0:
		return cell{Text: "worse", More: percentWords(-skill, se) + " more error", Class: "signal"}
	}
	return cell{Text: percentWords(skill, se) + " less error"}
}

// lessErrorWords is skillCell as part of a sentence.
func lessErrorWords(skill, se float64) string {
	switch {
	case !finite(skill):
		return "it cannot be told whether the neighbours say more than the area alone"
	case finite(se) && math.Abs(skill) < 2*se:
		return "no better and no worse than the area alone, as far as so many wells can tell (" + percentWords(skill, se) + " less error)"
	case skill < 0:
		return percentWords(-skill, se) + " more error than the area alone would have made"
	}
	return percentWords(skill, se) + " less error than the area alone would have made"
}

// pastHeld is how often the ranges held, each set as it would have been then:
// from five years on that hold enough forecasts, as thenKnown says; before
// that as they are set today.
func pastHeld(sheet *desk.PastSheet) (held predict.Coverage, thenKnown bool) {
	if c := sheet.Choices; c != nil && len(c.Choices) > 0 && c.Choices[0].Coverage.Tested > 0 {
		return c.Choices[0].Coverage, true
	}
	return sheet.All.Coverage, false
}

// pastLead is the score of the past in a sentence.
func pastLead(sheet *desk.PastSheet, f snapshot.Field) string {
	held, then := pastHeld(sheet)
	t := fmt.Sprintf("Of %s forecast from those drilled before them, 8-in-10 ranges of %s held %s.",
		count(held.Tested, "well", "wells"), desk.FieldWords(f), percentWords(held.Share, held.SE()))
	if !then {
		t += " The ranges are as they are set today: too few wells stood before to set them as they would have been then."
	}
	return t
}

// pastThen says which wells the sentence is of, and what ranges as they are
// set today would have held of all.
func pastThen(sheet *desk.PastSheet) string {
	if _, then := pastHeld(sheet); !then {
		return ""
	}
	all := sheet.All.Coverage
	return fmt.Sprintf("These are the wells of %d to %d, each with its range set by what was known before its year. Ranges as they are set today, tried on all %s since %d, held %s.",
		sheet.Choices.FirstYear, sheet.Choices.LastYear, count(len(sheet.Forecasts), "well", "wells"), sheet.Forecasts[0].Year, percentWords(all.Share, all.SE()))
}

// pastJudged says whether that is as it should be.
func pastJudged(c predict.Coverage) (words string, alert bool) {
	d, se := c.Share-0.8, c.SE()
	switch {
	case !finite(d):
		return "Bounds leave it open how often they held.", false
	case math.Abs(d) <= 2*se:
		return "That is what they promise, as near as so many wells can tell.", false
	case d < 0:
		return "That is less than they promise: the ground turned out more various than the records before had shown.", true
	}
	return "That is more than they promise: the ranges are wider than they need be.", false
}

// pastOf says what was left out of the score, and why.
func pastOf(sheet *desk.PastSheet) []string {
	var out []string
	if n := len(sheet.Forecasts); n < sheet.Candidates {
		out = append(out, fmt.Sprintf("%s were drawn from %s.", grouped(n), grouped(sheet.Candidates)))
	}
	if n := sheet.Model.Selection.LeftOut; n > 0 {
		out = append(out, capital(leftOutWords(n, false))+".")
	}
	if sheet.Undated > 0 {
		out = append(out, count(sheet.Undated, "well bears", "wells bear")+" no date and can be set before or after no other.")
	}
	if sheet.TooEarly > 0 {
		out = append(out, count(sheet.TooEarly, "well has", "wells have")+" fewer than 20 before them.")
	}
	if n := sheet.All.CannotTell; n > 0 {
		out = append(out, "Of "+count(n, "well", "wells")+" a bound (deeper than, less than) leaves open whether the range held; the share allows for it.")
	}
	return out
}

// amountWords writes an amount of a field: '5 gpm'.
func amountWords(f snapshot.Field, base float64, u say.System) string {
	unit := unitFor(f, u)
	return trimFloat(unit.FromBase(base), 1) + " " + unit.Symbol()
}

// roundIn says whether an amount is a round figure in the reader's unit.
func roundIn(f snapshot.Field, base float64, u say.System) bool {
	v := unitFor(f, u).FromBase(base) * 2
	return math.Abs(v-math.Round(v)) < 1e-6
}

// usualAmount is the amount that is asked about where the reader named none.
func usualAmount(f snapshot.Field, amounts []float64, u say.System) float64 {
	if len(amounts) == 0 {
		return 0
	}
	wanted := amounts[len(amounts)/2]
	if f == snapshot.Yield {
		wanted = records.GallonPerMinute.ToBase(defaultReachGPM)
	}
	best := amounts[0]
	for _, a := range amounts {
		if math.Abs(math.Log(a/wanted)) < math.Abs(math.Log(best/wanted)) {
			best = a
		}
	}
	return best
}
