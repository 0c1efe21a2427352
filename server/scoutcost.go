package server

import (
	"fmt"
	"math"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/server/draw"
)

// costView is what the hole costs at the contractor's own rates.
type costView struct {
	Table   string // the rate table's name and dates
	Note    string
	Part    panelPart
	Above   string // the share above a sum that the reader asked about
	Drivers []string
	Bill    listing
	Faults  []string // what is wrong with the table
	Lacks   []string
	Empty   bool // there is no price at all
}

var driverSaid = map[scout.DriverKind]string{
	scout.ByDepth: "how deep the hole goes", scout.ByCasing: "how much casing it takes", scout.ByGrout: "how much grout it takes",
	scout.BySuccess: "whether it is fitted out or sealed", scout.ByRest: "the rest",
}

func costViewOf(s *desk.Scouting, a *scoutAsk, theme draw.Theme) *costView {
	r := &s.Rates
	v := &costView{Table: r.Name, Note: r.Note, Empty: !r.Charges()}
	for _, f := range r.Validate() {
		if f.Severity == records.Refusal {
			v.Faults = append(v.Faults, f.Field+": "+f.Message+"; "+f.Mend)
		}
	}
	if v.Empty || len(v.Faults) > 0 || s.Hole == nil || s.Hole.Cost.Empty() {
		return v
	}
	f := s.Hole
	k := moneyKind(r.Currency)
	v.Part = distPart("cost", "Cost at your rates", &f.Cost, k, theme)
	low := f.Range80()
	if !low.AtLeastHigh {
		v.Part.Headline = k.figure(low.Low) + " – " + k.figure(low.High)
		v.Part.Range = "8 in 10 within; the middle one " + k.figure(f.Cost.Median())
	}
	if low.AtLeastHigh && f.Ceiling > 0 {
		v.Part.Range += "; never more than " + atMost(f.Ceiling, r.Currency) + " under this plan"
	}
	if a.above > 0 {
		from, to := f.ShareAbove(scout.Cents(math.Round(a.above * 100)))
		v.Above = fmt.Sprintf("%s cost more than %s.", shareWords(from, to), money(scout.Cents(math.Round(a.above*100)), r.Currency))
	}
	for _, d := range f.Drivers {
		if d.Share >= 0.05 {
			v.Drivers = append(v.Drivers, fmt.Sprintf("%s: %.0f\u00a0%%", driverSaid[d.What], d.Share*100))
		}
	}
	v.Lacks = f.Missing
	v.Bill = billListing(&f.Middle.Bill, r.Currency)
	v.Bill.Fold = "the middle outcome, line by line (as in " + orElse(f.Middle.Number, fmt.Sprintf("record %d", f.Middle.WellID)) + ")"
	return v
}

// billListing sets out a bill.
func billListing(b *scout.Bill, currency string) listing {
	l := listing{Heads: heads("line", "#quantity", "#each", "#sum")}
	for _, line := range b.Lines {
		what := strings.ReplaceAll(line.Kind.String(), "_", " ")
		if line.What != "" {
			what += ", " + line.What
		}
		quantity, each := "", ""
		if line.Quantity != 0 {
			quantity = trimFloat(line.Quantity, 1) + " " + line.Unit
			if line.Each.Set {
				each = money(line.Each.Cents, currency)
			}
		}
		l.add("", cell{Text: capital(what)}, cell{Text: quantity}, cell{Text: each}, cell{Text: money(line.Cents, currency)})
	}
	l.add("used", cell{Text: "Together"}, cell{}, cell{}, cell{Text: money(b.Total, currency)})
	return l
}
