package main

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/say"
)

// forward forecasts the wells on record from those before them.
func (cmd *scoreCommand) forward(c *console, d *desk.Desk, f snapshot.Field) error {
	if cmd.By != "site" {
		return records.Errorf(records.Invalid, "--by block does not go with --forward, which hides later wells: leave one of them out")
	}
	unit := cmd.unit(f)
	var thresholds []float64
	for _, t := range cmd.AtLeast {
		if !(t > 0) || math.IsInf(t, 0) {
			return records.Errorf(records.Invalid, "--at-least %g is no amount: give a number above zero, in %s", t, unit.Symbol())
		}
		thresholds = append(thresholds, unit.ToBase(t))
	}
	trust, err := cmd.trust(d)
	if err != nil {
		return err
	}
	filter := &snapshot.Filter{Trust: trust}
	leftOut(c, d.Picture(), filter, f)
	bar := c.progress("forecasting")
	s, err := d.ScorePast(c.ctx, desk.LocalPerson(), f, filter, thresholds, func(step string, done, total int) {
		bar.at(int64(done), int64(total), step)
	})
	bar.end()
	if err != nil {
		return err
	}
	a, err := pastAnswerOf(s, f)
	if err != nil {
		return err
	}
	if cmd.JSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		return e.Encode(a)
	}
	return a.table(c, f, unit)
}

// unit is that of the table.
func (cmd *scoreCommand) unit(f snapshot.Field) records.Unit {
	u, _ := say.Parse(cmd.Units)
	switch {
	case f == snapshot.Yield:
		return u.FlowUnit()
	case u == say.US:
		return records.Foot
	}
	return records.Metre
}

// pastAnswer is the forecasts of the past as numbers, in the field's base unit.
// An end that is unknown, or a number that cannot be had, is null.
type pastAnswer struct {
	Field       string            `json:"field"`
	Unit        string            `json:"unit"`
	Forecast    int               `json:"forecast"`
	Candidates  int               `json:"candidates"`
	Undated     int               `json:"undated"`
	TooEarly    int               `json:"too_early"`
	Kappa       float64           `json:"kappa"`
	Gamma       float64           `json:"gamma"`
	RankLow     float64           `json:"rank_low"`
	RankHigh    float64           `json:"rank_high"`
	All         pastSums          `json:"all"`
	Years       []pastSums        `json:"years"`
	Ranks       []float64         `json:"ranks"`
	Choices     []pastChoice      `json:"range_choices,omitempty"`
	Reliability []pastReliability `json:"reliability,omitempty"`
}

type pastSums struct {
	Year       int      `json:"year,omitempty"`
	Wells      int      `json:"wells"`
	Inside     int      `json:"inside"`
	Outside    int      `json:"outside"`
	CannotTell int      `json:"cannot_tell"`
	Coverage   *float64 `json:"coverage"`
	CRPS       *float64 `json:"crps"`
	AreaCRPS   *float64 `json:"area_crps"`
	Skill      *float64 `json:"skill"`
	SkillSE    *float64 `json:"skill_se"`
	Width      *float64 `json:"width"`
}

type pastChoice struct {
	Ranks        string   `json:"ranks_from"`
	RecencyYears float64  `json:"recency_years"`
	Coverage     *float64 `json:"coverage"`
	Width        *float64 `json:"width"`
	RangeScore   *float64 `json:"range_score"`
	Change       *float64 `json:"range_score_change"`
	SE           *float64 `json:"range_score_se"`
	CRPS         *float64 `json:"crps"`
	CRPSChange   *float64 `json:"crps_change"`
	CRPSSE       *float64 `json:"crps_se"`
	Best         bool     `json:"best"`
	first, last  int
	scored       int
}

type pastReliability struct {
	AtLeast float64   `json:"at_least"`
	Tested  int       `json:"tested"`
	Open    int       `json:"open"`
	Bins    []pastBin `json:"bins"`
}

type pastBin struct {
	From     float64  `json:"from"`
	To       float64  `json:"to"`
	Tested   int      `json:"tested"`
	Forecast *float64 `json:"forecast"`
	Observed *float64 `json:"observed"`
	Low      *float64 `json:"bar_low"`
	High     *float64 `json:"bar_high"`
	Within   bool     `json:"consistent"`
}

func pastAnswerOf(s *desk.PastScore, f snapshot.Field) (*pastAnswer, error) {
	a := &pastAnswer{
		Field: f.String(), Unit: unitName(f), Forecast: len(s.Forecasts), Candidates: s.Candidates, Undated: s.Undated, TooEarly: s.TooEarly,
		Kappa: s.Params.Kappa, Gamma: s.Params.Gamma, RankLow: s.RankLow, RankHigh: s.RankHigh, Ranks: s.RankHistogram(10),
	}
	all, err := s.Overall()
	if err != nil {
		return nil, err
	}
	a.All = pastSumsOf(0, all)
	years, err := s.Past.Years()
	if err != nil {
		return nil, err
	}
	for _, y := range years {
		a.Years = append(a.Years, pastSumsOf(y.Year, y.PastSummary))
	}
	if s.Choices != nil {
		for k, c := range s.Choices.Choices {
			a.Choices = append(a.Choices, pastChoice{
				Ranks: c.Ranks.String(), RecencyYears: c.RecencyYears, Coverage: number(c.Coverage.Share), Width: number(c.Width),
				RangeScore: number(c.RangeScore), Change: number(c.Change), SE: number(c.SE),
				CRPS: number(c.CRPS), CRPSChange: number(c.CRPSChange), CRPSSE: number(c.CRPSSE), Best: k == s.Choices.Best,
				first: s.Choices.FirstYear, last: s.Choices.LastYear, scored: s.Choices.Scored,
			})
		}
	}
	for _, r := range s.Reliability(10) {
		p := pastReliability{AtLeast: r.Threshold, Tested: r.Tested, Open: r.Open}
		for _, b := range r.Bins {
			p.Bins = append(p.Bins, pastBin{b.From, b.To, b.Tested, number(b.Forecast), number(b.Observed), number(b.Low), number(b.High), b.Consistent()})
		}
		a.Reliability = append(a.Reliability, p)
	}
	return a, nil
}

func pastSumsOf(year int, s predict.PastSummary) pastSums {
	return pastSums{
		Year: year, Wells: s.Tested, Inside: s.Inside, Outside: s.Outside, CannotTell: s.CannotTell, Coverage: number(s.Coverage.Share),
		CRPS: number(s.CRPS), AreaCRPS: number(s.AreaCRPS), Skill: number(s.Skill), SkillSE: number(s.SkillSE), Width: number(s.Width),
	}
}

// cell writes a number, or a dash for none.
func cell(v *float64, format string, scale float64) string {
	if v == nil {
		return "–"
	}
	return fmt.Sprintf(format, *v*scale)
}

func (a *pastAnswer) table(c *console, f snapshot.Field, unit records.Unit) error {
	p := &printer{w: c.out}
	per := unit.FromBase(1)
	p.f("%s, %s: each well forecast from the wells of earlier years alone\n", desk.FieldWords(f), unit.Symbol())
	if a.Forecast < a.Candidates {
		p.f("%d wells drawn from %d", a.Forecast, a.Candidates)
	} else {
		p.f("%s", counted(int64(a.Forecast), "well"))
	}
	p.f("; not forecast: %d without a date, %d with too few wells before them\n\n", a.Undated, a.TooEarly)
	rows := [][]string{{"year", "wells", "in range", "out", "cannot tell", "held", "CRPS", "area's", "skill", "width"}}
	add := func(name string, s pastSums) {
		skill := cell(s.Skill, "%.2f", 1)
		if s.Wells < 20 {
			skill = "–" // one well's luck
		}
		rows = append(rows, []string{
			name, fmt.Sprint(s.Wells), fmt.Sprint(s.Inside), fmt.Sprint(s.Outside), fmt.Sprint(s.CannotTell), cell(s.Coverage, "%.0f %%", 100),
			cell(s.CRPS, "%.2f", per), cell(s.AreaCRPS, "%.2f", per), skill, cell(s.Width, "%.1f", per),
		})
	}
	for _, y := range a.Years {
		add(fmt.Sprint(y.Year), y)
	}
	add("all", a.All)
	p.table(rows)
	p.f("\nheld: how often the 80 %% range held what was found. skill: 1 would be perfect, 0 no better than the area")
	if a.All.Skill != nil && a.All.SkillSE != nil {
		p.f("; over all %.2f ± %.2f", *a.All.Skill, *a.All.SkillSE)
	}
	p.f(".\n\nOf what was found, so much fell into each tenth of its forecast (10 %% each when forecasts are what they say):\n ")
	for _, n := range a.Ranks {
		p.f(" %.0f %%", 100*n/float64(a.Forecast))
	}
	p.f("\n")
	a.choicesTable(p, per)
	a.reliabilityTable(p, unit)
	return p.err
}

func (a *pastAnswer) choicesTable(p *printer, per float64) {
	if a.Choices == nil {
		p.f("\nWhich past wells had best set the ranges cannot be told: fifteen years in a row never hold 200 forecasts.\n")
		return
	}
	first := a.Choices[0]
	p.f("\nWhich wells had best set the ranges, judged on %d to %d by what was known before each year:\n", first.first, first.last)
	rows := [][]string{{"ranks from", "recency", "held", "width", "range score", "change", "CRPS", ""}}
	for _, c := range a.Choices {
		recency, mark, change := "off", "", "–"
		if c.RecencyYears > 0 {
			recency = fmt.Sprintf("%g years", c.RecencyYears)
		}
		if c.Best {
			mark = "← best"
		}
		if c.SE != nil && *c.SE > 0 {
			change = cell(c.Change, "%+.2f", per) + cell(c.SE, " ± %.2f", per)
		}
		rows = append(rows, []string{c.Ranks, recency, cell(c.Coverage, "%.1f %%", 100), cell(c.Width, "%.1f", per), cell(c.RangeScore, "%.2f", per), change, cell(c.CRPS, "%.3f", per), mark})
	}
	p.table(rows)
	p.f("\nrange score: the width, and ten times what was found outside it; smaller is better; on %s whose number is known. Recency is chosen by the CRPS, then the ranks by the range score; a change under 1.3 of its standard errors changes nothing.\n", counted(int64(first.scored), "well"))
}

func (a *pastAnswer) reliabilityTable(p *printer, unit records.Unit) {
	for _, r := range a.Reliability {
		p.f("\nchance of %.3g %s or more, as forecast and as it came; the bar holds nine of ten if forecasts are right:\n", unit.FromBase(r.AtLeast), unit.Symbol())
		rows := [][]string{{"forecast", "wells", "mean", "came", "bar", ""}}
		for _, b := range r.Bins {
			bar, mark := "–", ""
			if b.Tested > 0 {
				bar = cell(b.Low, "%.0f", 100) + " to " + cell(b.High, "%.0f %%", 100)
			}
			if !b.Within {
				mark = "outside"
			}
			rows = append(rows, []string{
				fmt.Sprintf("%.0f to %.0f %%", 100*b.From, 100*b.To), fmt.Sprint(b.Tested), cell(b.Forecast, "%.0f %%", 100), cell(b.Observed, "%.0f %%", 100),
				bar, mark,
			})
		}
		p.table(rows)
		if r.Open > 0 {
			p.f("%s left out: a bound leaves open whether it came.\n", counted(int64(r.Open), "well"))
		}
	}
}

// table writes rows in columns set to the right, the first to the left.
func (p *printer) table(rows [][]string) {
	if p.err != nil {
		return
	}
	widest := 0
	for _, r := range rows {
		widest = max(widest, len([]rune(r[0])))
	}
	w := tabwriter.NewWriter(p.w, 0, 0, 2, ' ', tabwriter.AlignRight)
	inner := &printer{w: w}
	for _, r := range rows {
		r = slices.Clone(r)
		r[0] += strings.Repeat(" ", widest-len([]rune(r[0])))
		inner.f("%s\t\n", strings.Join(r, "\t"))
	}
	if inner.err == nil {
		inner.err = w.Flush()
	}
	p.err = inner.err
}
