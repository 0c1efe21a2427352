package main

import (
	"fmt"
	"math"
	"strings"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// holeFlags are the hole that is asked for.
type holeFlags struct {
	Need   string `placeholder:"FLOW" default:"5gpm" help:"Flow at which drilling stops, such as 5gpm or 20L/min."`
	People int    `default:"4" help:"People who live from it: what a day must carry (300 L each)."`
	Hole   string `placeholder:"SIZE" default:"6in" help:"Diameter of the hole below the casing."`
	Casing string `placeholder:"SIZE" default:"6.625in" help:"Outside diameter of the casing."`
	Most   string `placeholder:"DEPTH" help:"Never drill deeper. Default: as the office says, else 500ft."`
	Stop   string `placeholder:"DEPTH" help:"Stop and call the customer at this depth."`
	Tank   string `placeholder:"VOLUME" help:"A tank to try, such as 500gal."`
}

// litresAPerson is the water used by one person in a day: 300 L (Domestic
// Wells, Groundwater Project 2022, Box 1, after Dieter and Maupin 2017).
const litresAPerson = 300

// quantityFlag reads a quantity with its unit; "" is 0.
func quantityFlag(name, text string, dim records.Dimension) (float64, error) {
	if text == "" {
		return 0, nil
	}
	a, err := records.ParseAmount(text, dim, records.NoUnit)
	if v, ok := a.Number(); err == nil && ok && v > 0 {
		return v, nil
	}
	example := map[records.Dimension]string{records.DimFlow: "5gpm", records.DimDiameter: "6in", records.DimLength: "300ft", records.DimVolume: "500gal"}[dim]
	return 0, &records.Error{Code: records.Invalid, Field: name, Message: fmt.Sprintf("--%s %q: write a number above 0 with its unit, such as %s", name, text, example)}
}

func (h *holeFlags) ask() (desk.ScoutAsk, error) {
	ask := desk.ScoutAsk{Shape: "two-peaks", Daily: records.Volume(max(h.People, 0)) * litresAPerson}
	for _, q := range []struct {
		name, text string
		dim        records.Dimension
		set        func(float64)
	}{
		{"need", h.Need, records.DimFlow, func(v float64) { ask.Need = records.Flow(v) }},
		{"hole", h.Hole, records.DimDiameter, func(v float64) { ask.Hole = records.Diameter(v) }},
		{"casing", h.Casing, records.DimDiameter, func(v float64) { ask.Casing = records.Diameter(v) }},
		{"most", h.Most, records.DimLength, func(v float64) { ask.MaxDepth = records.Depth(v) }},
		{"stop", h.Stop, records.DimLength, func(v float64) { ask.CallDepth = records.Depth(v) }},
		{"tank", h.Tank, records.DimVolume, func(v float64) { ask.Tank = records.Volume(v) }},
	} {
		v, err := quantityFlag(q.name, q.text, q.dim)
		if err != nil {
			return ask, err
		}
		q.set(v)
	}
	return ask, nil
}

// percent says a share that may be open; never none or all where it is neither.
func percent(low, high float64) string {
	whole := func(share float64) float64 {
		const sum = 1e-9 // rounding of sums
		if v := math.Round(share * 100); share > sum && share < 1-sum {
			return min(max(v, 1), 99)
		}
		return math.Round(share * 100)
	}
	a, b := whole(low), whole(high)
	if a == b {
		return fmt.Sprintf("%.0f %%", a)
	}
	return fmt.Sprintf("%.0f to %.0f %%", a, b)
}

// holeText tells of the hole that is asked for.
func holeText(p *printer, s *desk.Scouting, u say.System) {
	if s.NoReplay != nil {
		p.f("\nThe hole you asked for\n  %s\n", records.MessageOf(s.NoReplay))
		return
	}
	f := s.Hole
	need := u.Flow(records.Of(f.Plan.Need))
	p.f("\nA hole for %s, never deeper than %s\n", need, u.Estimate(float64(f.Plan.MaxDepth)))
	p.f("  %s reach it, by the %s that speak for this place\n", percent(f.MetLow, f.MetHigh), counted(int64(f.Basis.Outcomes), "record"))
	quantile(p, "depth to drill", &f.Depth, u.Estimate)
	quantile(p, "casing below ground", &f.Casing, u.Estimate)
	if !f.Sacks.Empty() {
		quantile(p, "grout", &f.Sacks, func(v float64) string { return counted(int64(math.Round(v)), "sack") })
	}
	if f.Plan.CallDepth > 0 {
		low, high := f.CallShare()
		p.f("  %s come to the call at %s\n", percent(low, high), u.Estimate(float64(f.Plan.CallDepth)))
	}
	if !f.Cost.Empty() {
		quantile(p, "cost", &f.Cost, func(v float64) string { return say.RoughMoney(v, s.Rates.Currency) })
		p.f("    by %q%s\n", s.Rates.Name, noted(s.Rates.Note))
	} else {
		p.f("  no cost: the office has no rates\n")
	}
	for _, m := range append(s.Practice.Lacks(), f.Missing...) {
		p.f("  not stated: %s\n", m)
	}
	if st := s.Storage; st != nil {
		p.f("  a day of %s is carried in %s of such wells", u.Volume(records.Of(st.Pattern.Volume())), percent(st.Alone, st.Alone))
		if st.Tank > 0 {
			p.f("; with a tank of %s in %s", u.Volume(records.Of(st.Tank)), percent(st.WithTank, st.WithTank))
		}
		p.f("\n")
	}
}

func noted(note string) string {
	if note == "" {
		return ""
	}
	return " (" + note + ")"
}

// quantile tells a distribution in a line.
func quantile(p *printer, what string, d *predict.Distribution, figure func(float64) string) {
	r := d.RangeAt(0.1, 0.9)
	high := figure(r.High)
	if r.AtLeastHigh {
		high = "more than " + figure(r.High)
	}
	middle := "more than half beyond " + figure(r.Low)
	if m := d.Median(); !math.IsInf(m, 1) {
		middle = "about " + figure(m)
	}
	p.f("  %s: %s; 8 in 10 between %s and %s\n", what, middle, figure(r.Low), high)
}

// scoutHole is the hole asked for, in JSON; units stand in the names, money is
// in cents of the currency.
type scoutHole struct {
	NeedLps   float64    `json:"need_lps"`
	MaxDepthM float64    `json:"greatest_depth_m"`
	Outcomes  int        `json:"records"`
	Effective float64    `json:"effective_records"`
	MetLow    float64    `json:"need_met_at_least"`
	MetHigh   float64    `json:"need_met_at_most"`
	Depth     spread     `json:"depth_to_drill_m"`
	Casing    spread     `json:"casing_m"`
	Sacks     *spread    `json:"grout_sacks,omitempty"`
	Cost      *spread    `json:"cost_cents,omitempty"`
	Currency  string     `json:"currency,omitempty"`
	Rates     string     `json:"rates,omitempty"`
	Day       *scoutDay  `json:"day,omitempty"`
	Lacks     []string   `json:"not_stated,omitempty"`
	Refused   string     `json:"refused,omitempty"`
	Loads     []loadLine `json:"load,omitempty"`
}

// spread is a distribution in three numbers and twenty equally likely ones;
// null where the records only say 'more than'.
type spread struct {
	P10    *float64   `json:"p10"`
	Median *float64   `json:"median"`
	P90    *float64   `json:"p90"`
	Dots   []*float64 `json:"equally_likely"`
}

type scoutDay struct {
	Litres   float64 `json:"day_l"`
	Alone    float64 `json:"carried"`
	TankL    float64 `json:"tank_l,omitempty"`
	WithTank float64 `json:"carried_with_tank,omitempty"`
	Cracked  float64 `json:"carried_after_hydrofracture"`
}

type loadLine struct {
	Item   string   `json:"item"`
	Middle *float64 `json:"middle"`
	Upper  float64  `json:"upper"`
	Unit   string   `json:"unit,omitempty"`
}

func spreadOf(d *predict.Distribution) spread {
	s := spread{P10: number(d.Quantile(0.1)), Median: number(d.Median()), P90: number(d.Quantile(0.9))}
	for _, v := range d.Dots(20) {
		s.Dots = append(s.Dots, number(v))
	}
	return s
}

func holeJSON(s *desk.Scouting) (*scoutHole, error) {
	if s.NoReplay != nil {
		return &scoutHole{Refused: records.MessageOf(s.NoReplay)}, nil
	}
	f := s.Hole
	h := &scoutHole{
		NeedLps: float64(f.Plan.Need), MaxDepthM: float64(f.Plan.MaxDepth), Outcomes: f.Basis.Outcomes, Effective: f.Basis.Effective,
		MetLow: f.MetLow, MetHigh: f.MetHigh, Depth: spreadOf(&f.Depth), Casing: spreadOf(&f.Casing),
		Lacks: append(s.Practice.Lacks(), f.Missing...),
	}
	if !f.Sacks.Empty() {
		sacks := spreadOf(&f.Sacks)
		h.Sacks = &sacks
	}
	if !f.Cost.Empty() {
		cost := spreadOf(&f.Cost)
		h.Cost, h.Currency, h.Rates = &cost, s.Rates.Currency, strings.TrimSpace(s.Rates.Name+noted(s.Rates.Note))
	}
	if st := s.Storage; st != nil {
		h.Day = &scoutDay{Litres: float64(st.Pattern.Volume()), Alone: st.Alone, TankL: float64(st.Tank), WithTank: st.WithTank, Cracked: st.Fractured}
	}
	spare, _ := s.Practice.Spares.Number()
	load, err := scout.LoadOutOf(f, &s.Rates, scout.Spares{Rods: int(spare), Sticks: int(spare)})
	if err != nil {
		return nil, err
	}
	for _, line := range load.Upper.Lines {
		l := loadLine{Item: line.Item, Upper: line.Quantity, Unit: line.Unit.Symbol()}
		for _, m := range load.Middle.Lines {
			if m.Item == line.Item {
				l.Middle = number(m.Quantity)
			}
		}
		h.Loads = append(h.Loads, l)
	}
	return h, nil
}
