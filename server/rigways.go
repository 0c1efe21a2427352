package server

import (
	"fmt"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/figuring"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// rigWays holds going on against what else could be done.
type rigWays struct {
	Lead     string
	Table    listing
	Cautions []string
}

const openHoleCaution = "An open hole swallows a child or a tool: cover, cap and mark it before anybody leaves it."

// rigWaysOf sets the ways beside each other; nil where no day was asked about
// or the need is met.
func rigWaysOf(at *desk.AtTheRig, u say.System) *rigWays {
	if len(at.Ways) == 0 {
		return nil
	}
	v := &rigWays{Cautions: []string{openHoleCaution}}
	v.Lead = fmt.Sprintf("A day here asks %s, %s. ", volumeWords(at.Day.Volume(), u), at.Day.Name)
	if at.Supply.Hole > 0 {
		v.Lead += fmt.Sprintf("The hole holds about %s above the pump, with water standing at %s as in the neighbours.", volumeWords(at.Supply.Hole, u), u.Estimate(at.Static))
	} else {
		v.Lead += "Nothing is counted as standing in the hole: no static level is known, or the hole does not reach far enough below it."
	}
	v.Table = listing{Heads: heads("what to do", "gives", "stores", "carries the day", "costs")}
	for i := range at.Ways {
		w := &at.Ways[i]
		v.Table.add("", wayCell(w, u), cell{Text: flowSpan(w.YieldLow, w.YieldHigh, u), Class: "water"}, cell{Text: volumeWords(w.Stored, u)}, cell{Text: carriesWords(w)}, cell{Text: wayCost(w, at.Rates.Currency)})
		if w.Kind == scout.Fracture {
			v.Cautions = append(v.Cautions, fractureCaution(at))
		}
	}
	v.Table = v.Table.tidy()
	return v
}

func wayCell(w *scout.Way, u say.System) cell {
	switch w.Kind {
	case scout.Stop:
		return cell{Text: "Stop here"}
	case scout.Deepen:
		c := cell{Text: "Drill " + u.Metres(float64(w.Length)) + " more", More: "meets the need: the records cannot tell"}
		if w.Told {
			c.More = fmt.Sprintf("meets the need: %d in 20", inTwenty(w.Chance.Value))
		}
		return c
	case scout.AddTank:
		if w.Tank > 0 {
			return cell{Text: "Stop, and set a tank of " + volumeWords(w.Tank, u)}
		}
		if w.AtLow {
			return cell{Text: "Stop, and set a tank", More: "none is needed for the day"}
		}
		return cell{Text: "Stop, and set a tank", More: "no tank carries it: the hole gives less in a day than a day asks"}
	}
	return cell{Text: "Stop, and fracture it later", More: "as reported of wells worth fracturing; some gain nothing", Why: capital(w.Source)}
}

func flowSpan(low, high records.Flow, u say.System) string {
	if low == high {
		return flowWords(low, u)
	}
	return u.FlowFigure(float64(low)) + " to " + flowWords(high, u)
}

// carriesWords says whether the day is carried, at the low and at the high
// flow of a way.
func carriesWords(w *scout.Way) string {
	switch {
	case w.AtLow && w.Kind == scout.Deepen:
		return "yes, even if it comes in dry"
	case w.AtLow:
		return "yes"
	case w.AtHigh && w.Kind == scout.Deepen:
		return "only with the gain that is to be expected"
	case w.AtHigh:
		return "only at the high end"
	}
	return "no"
}

func wayCost(w *scout.Way, currency string) string {
	if !w.Price.Set {
		return ""
	}
	return money(w.Price.Cents, currency)
}

// fractureCaution is what stands beside every word of fracturing.
func fractureCaution(at *desk.AtTheRig) string {
	for _, g := range figuring.FractureGains() {
		if f, err := figuring.AfterFracture(at.Supply.Yield, g); err == nil && f.Working.Caution != "" {
			return "Fracturing: " + f.Working.Caution + "."
		}
	}
	return "Fracturing works under high pressure: for those licensed for it, by local rule."
}
