package server

import (
	"fmt"
	"math"
	"strings"
	"time"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// quantityTitle is what a forecast's quantity is called.
func quantityTitle(name string) string {
	if f, err := snapshot.ParseField(name); err == nil {
		return capital(desk.FieldWords(f))
	}
	switch name {
	case desk.CasingQuantity:
		return "Casing below ground"
	case records.CostQuantity:
		return "Cost"
	}
	return capital(strings.ReplaceAll(name, "_", " "))
}

// quantityKind is how a forecast's quantity is written; its values are in the
// unit that it was kept in.
func quantityKind(name, unit string, u say.System) partKind {
	switch {
	case name == records.CostQuantity:
		return partKind{unit, func(v float64) string { return say.RoughMoney(v*100, unit) }, func(v float64) float64 { return v }}
	case unit == "m":
		return lengthKind(u)
	case unit == "L/s":
		flow := u.FlowUnit()
		return partKind{longUnit(flow), func(v float64) string { return u.Flow(records.Of(records.Flow(v))) }, flow.FromBase}
	}
	return partKind{unit, func(v float64) string { return trimFloat(v, 2) + " " + unit }, func(v float64) float64 { return v }}
}

// saidOf is what was said of one quantity, and what came.
type saidOf struct {
	Title         string
	Middle, Range string
	Came          string // "": nothing is known of it
	Held          string
	Out           bool // outside the range: to be noticed
}

// saidOfQuantity puts what was expected into a middle and a range; score is
// nil where nothing was found.
func saidOfQuantity(q *records.ForecastQuantity, score *desk.QuantityScore, u say.System) (saidOf, error) {
	d, _, err := desk.ExpectedOf(q)
	if err != nil {
		return saidOf{}, err
	}
	k := quantityKind(q.Name, q.Unit, u)
	v := saidOf{Title: quantityTitle(q.Name), Middle: "~" + k.figure(d.Median()), Range: rangeWords(d.Range80(), k)}
	if math.IsInf(d.Median(), 1) {
		_, from, _ := d.UpperUnknown()
		v.Middle = "more than " + k.figure(from)
	}
	if score != nil {
		v.Came, v.Held, v.Out = cameWords(q, score.Found, u), heldWords(score.Held), score.Held == desk.Out
	}
	return v, nil
}

// rangeWords writes a range: '25 to 70 ft', and of an end that is only a limit
// that it is one.
func rangeWords(r predict.Range, k partKind) string {
	low, high := k.figure(r.Low), k.figure(r.High)
	switch {
	case r.AtLeastHigh && r.High > r.Low:
		return low + " to more than " + high
	case r.AtLeastHigh:
		return low + " or more"
	case r.AtMostLow:
		return "up to " + high
	}
	if i := strings.LastIndex(low, " "); i > 0 && strings.HasSuffix(high, low[i:]) {
		low = low[:i]
	}
	return low + " to " + high
}

func heldWords(h desk.Held) string {
	switch h {
	case desk.In:
		return "in the range"
	case desk.Out:
		return "outside"
	}
	return "cannot be told"
}

// cameWords writes what was found of a quantity.
func cameWords(q *records.ForecastQuantity, y records.DigestValue, u say.System) string {
	switch {
	case q.Name == records.CostQuantity:
		return say.Money(int64(math.Round(y.Value*100)), q.Unit)
	case q.Unit == "m":
		return u.Depth(records.Amount[records.Depth]{Qualifier: y.Qualifier, Value: records.Depth(y.Value), High: records.Depth(y.High)})
	case q.Unit == "L/s":
		return u.Yield(records.Amount[records.Flow]{Qualifier: y.Qualifier, Value: records.Flow(y.Value), High: records.Flow(y.High)})
	}
	return trimFloat(y.Value, 2) + " " + q.Unit
}

// keptPart shows a kept distribution as the scouting page showed it, with what
// came marked in it.
func keptPart(q *records.ForecastQuantity, score *desk.QuantityScore, needLps float64, u say.System, theme draw.Theme) (panelPart, error) {
	d, _, err := desk.ExpectedOf(q)
	if err != nil {
		return panelPart{}, err
	}
	var came *cameMark
	if score != nil {
		came = &cameMark{score.Found.Value, "came: " + cameWords(q, score.Found, u)}
	}
	var p panelPart
	if field, err := snapshot.ParseField(q.Name); err == nil {
		p = fieldPart(field, &d, came, u, theme, needLps)
	} else {
		p = distPartCame(q.Name, quantityTitle(q.Name), &d, came, quantityKind(q.Name, q.Unit, u), theme)
	}
	if q.Verdict != "" {
		skill := math.NaN()
		if q.Basis != nil && q.Basis.Skill != nil {
			skill = *q.Basis.Skill
		}
		p.judge(q.Verdict, skill)
	}
	if b := q.Basis; b != nil {
		p.Basis = append(p.Basis, fmt.Sprintf("%s of this were on record; %d voted, and %d of the area had %.0f\u00a0%% of the weight.",
			count(b.Wells, "well", "wells"), b.Voters, b.AreaWells, b.AreaShare*100),
			fmt.Sprintf("The nearest stood %s away; the area reached %s.", u.Distance(b.NearestM), u.Distance(b.AreaRadiusM)))
		if b.Bounds > 0 {
			p.Basis = append(p.Basis, count(b.Bounds, "well said only a bound.", "wells said only a bound."))
		}
		if b.Skill != nil && b.SkillSE != nil {
			p.Basis = append(p.Basis, fmt.Sprintf("Local skill %.2f ± %.2f, on %s.", *b.Skill, *b.SkillSE, count(b.Tests, "hidden well", "hidden wells")))
		}
		if b.FirstYear > 0 {
			p.Basis = append(p.Basis, fmt.Sprintf("The voters were drilled %d to %d.", int(b.FirstYear), int(b.LastYear)))
		}
	}
	return p, nil
}

// scoreOf finds the score of a quantity; nil where nothing was found of it.
func scoreOf(s *desk.ForecastScore, name string) *desk.QuantityScore {
	if s == nil {
		return nil
	}
	for i := range s.Scores {
		if s.Scores[i].Name == name {
			return &s.Scores[i]
		}
	}
	return nil
}

// dayOf writes the day of a moment.
func dayOf(t time.Time) string { return say.Date(records.DateOf(t)) }

// forecastName is what a forecast is called: its label, else its place.
func forecastName(f *records.Forecast) string {
	return orElse(f.Label, placeWords(f.Lon, f.Lat))
}
