package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// pastView is the score on the wells that are on record, each forecast from
// those of earlier years.
type pastView struct {
	Fields  []choice // which quantity is shown
	Lead    string
	Judged  string
	Then    string // which wells that is of
	Alert   bool   // the judgement is to be noticed
	LeftOut []string
	Why     string // there is no score of this quantity
	Stale   string
	Working string // how far it is; "" when nothing is under way
	Done    int    // of a hundred; 0 where that is not known
	Refresh string
	Summary listing // of all quantities
	Charts  []chartView
	Ranges  listing
	Wells   string // the forecasts one by one, as a table
}

// pastWait is how long a page waits for a score that is being worked: that of
// a township is there by then.
const pastWait = 700 * time.Millisecond

// pastFieldOf reads which quantity is asked about.
func pastFieldOf(q url.Values) (snapshot.Field, error) {
	if t := q.Get("field"); t != "" {
		return snapshot.ParseField(t)
	}
	return snapshot.Bedrock, nil
}

// pastAddress is the address of the page for a quantity and an amount, in
// base units.
func pastAddress(f snapshot.Field, atLeast float64) string {
	q := url.Values{"field": {f.String()}}
	if atLeast > 0 {
		q.Set("amount", strconv.FormatFloat(atLeast, 'g', 6, 64))
	}
	return "/forecasts?" + q.Encode() + "#past"
}

// pastViewOf looks up how far the score of the past is, and shows what there
// is of it.
func (s *Server) pastViewOf(r *http.Request, q url.Values) (pastView, error) {
	f, err := pastFieldOf(q)
	if err != nil {
		return pastView{}, err
	}
	amount, _, err := numberOf(q, "amount")
	if err != nil {
		return pastView{}, err
	}
	u := unitsOf(r)
	v := pastView{Refresh: r.URL.RequestURI() + "#past"}
	states := map[snapshot.Field]desk.PastState{}
	for _, field := range append([]snapshot.Field{f}, snapshot.Fields()...) {
		if _, seen := states[field]; seen {
			continue
		}
		wait := pastWait
		if field != f {
			wait = 0
		}
		if states[field], err = s.desk.PastSoon(r.Context(), s.actor(r), field, wait); err != nil {
			return v, err
		}
	}
	for _, field := range snapshot.Fields() {
		v.Fields = append(v.Fields, choice{Value: pastAddress(field, 0), Label: desk.FieldWords(field), On: field == f})
		// The one that is under way, rather than one that waits for it.
		if st := states[field]; st.Working && (v.Working == "" || st.Total > 0) {
			v.Working, v.Done = pastWorking(&st, field)
		}
	}
	v.Summary = pastSummary(states, u)
	st := states[f]
	if st.Err != nil {
		v.Why = capital(records.MessageOf(st.Err)) + "."
	}
	if st.Sheet == nil {
		return v, nil
	}
	if st.Stale {
		v.Stale = "Records have changed since this was worked."
	}
	v.show(st.Sheet, f, amount, u, themeOf(r))
	return v, nil
}

// pastWorking says how far a score is.
func pastWorking(st *desk.PastState, f snapshot.Field) (words string, done int) {
	words = "The past of " + desk.FieldWords(f) + " is being worked: " + st.Step
	if st.Total > 0 {
		done = 100 * st.Done / st.Total
		words += fmt.Sprintf(", %d\u00a0%%", done)
	}
	return words + ".", done
}

// pastSummary sets the quantities beside each other.
func pastSummary(states map[snapshot.Field]desk.PastState, u say.System) listing {
	l := listing{Heads: heads("quantity", "#wells forecast", "8-in-10 ranges held", "better than the area alone", "middle width of the ranges")}
	for _, f := range snapshot.Fields() {
		name := cell{Text: capital(desk.FieldWords(f)), Href: pastAddress(f, 0)}
		st := states[f]
		switch {
		case st.Sheet != nil:
			a := &st.Sheet.All
			c, _ := pastHeld(st.Sheet)
			held := cell{Text: percentWords(c.Share, c.SE())}
			if c.Tested < len(st.Sheet.Forecasts) {
				held.More = "of " + grouped(c.Tested)
			}
			if _, alert := pastJudged(c); alert {
				held.Class = "signal"
			}
			width := cell{Text: "open at its end", Class: "quiet"}
			if finite(a.Width) {
				width = cell{Text: fieldFigure(f, u, a.Width)}
			}
			l.add("", name, cell{Text: grouped(len(st.Sheet.Forecasts))}, held, skillCell(a.Skill, a.SkillSE), width)
		case st.Err != nil:
			l.add("", name, cell{}, cell{Text: "no score", Class: "quiet"})
		default:
			l.add("", name, cell{}, cell{Text: "being worked", Class: "quiet"})
		}
	}
	return l
}

// show fills in the score of one quantity.
func (v *pastView) show(sheet *desk.PastSheet, f snapshot.Field, amount float64, u say.System, theme draw.Theme) {
	v.Lead = pastLead(sheet, f)
	held, _ := pastHeld(sheet)
	v.Judged, v.Alert = pastJudged(held)
	v.Then = pastThen(sheet)
	v.LeftOut = pastOf(sheet)
	csv := func(of string) string { return "/forecasts/past.csv?field=" + f.String() + "&of=" + of }
	v.Wells = csv("wells")
	years := heldChart(sheet, theme)
	years.CSV = csv("years")
	better := betterChart(sheet, theme)
	better.CSV = csv("years")
	ranks := ranksChart(ranksAsk{id: "ranks", title: "Where in what was expected did the wells fall?", held: sheet.Ranks, tested: len(sheet.Forecasts)}, theme)
	ranks.CSV = csv("ranks")
	v.Charts = []chartView{years, ranks}
	if rel := chosenAmount(sheet, f, amount, u); rel != nil {
		chances := chancesChart(rel, f, u, theme)
		chances.CSV = csv("chances")
		chances.LinksSaid = "The chance of so much or more:"
		for i := range sheet.Chances {
			t := sheet.Chances[i].Threshold
			if roundIn(f, t, u) {
				chances.Links = append(chances.Links, choice{Value: "/forecasts?field=" + f.String() + "&amount=" + strconv.FormatFloat(t, 'g', 6, 64) + "#chances", Label: amountWords(f, t, u), On: t == rel.Threshold})
			}
		}
		v.Charts = append(v.Charts, chances)
	}
	v.Charts = append(v.Charts, better)
	v.Ranges = rangeChoices(sheet, f, u)
}

// chosenAmount is the amount that the reader named, else a usual one; nil
// where there is none.
func chosenAmount(sheet *desk.PastSheet, f snapshot.Field, amount float64, u say.System) *predict.PastReliability {
	var amounts []float64
	byAmount := map[float64]*predict.PastReliability{}
	for i := range sheet.Chances {
		t := sheet.Chances[i].Threshold
		if roundIn(f, t, u) || amount > 0 {
			amounts = append(amounts, t)
			byAmount[t] = &sheet.Chances[i]
		}
	}
	if len(amounts) == 0 {
		return nil
	}
	if amount > 0 {
		best := amounts[0]
		for _, t := range amounts {
			if diff(t, amount) < diff(best, amount) {
				best = t
			}
		}
		return byAmount[best]
	}
	return byAmount[usualAmount(f, amounts, u)]
}

func diff(a, b float64) float64 { return max(a, b) - min(a, b) }

// rangeChoices tells which way to set ranges would have served best.
func rangeChoices(sheet *desk.PastSheet, f snapshot.Field, u say.System) listing {
	l := listing{Fold: "which wells had best set the ranges", Heads: heads("ranges set by", "older wells count less", "#held", "middle width", "width and misses together", "judged")}
	if sheet.Choices == nil {
		return l
	}
	for k, c := range sheet.Choices.Choices {
		recency := "no"
		if c.RecencyYears > 0 {
			recency = fmt.Sprintf("yes, over %g years", c.RecencyYears)
		}
		width := cell{Text: "open at its end", Class: "quiet"}
		if finite(c.Width) {
			width = cell{Text: fieldFigure(f, u, c.Width)}
		}
		best, class := cell{}, ""
		if k == sheet.Choices.Best {
			best, class = cell{Text: "served best"}, "used"
		}
		l.add(class, cell{Text: capital(c.Ranks.String())}, cell{Text: recency}, cell{Text: percentWords(c.Coverage.Share, c.Coverage.SE())},
			width, cell{Text: fieldFigure(f, u, c.RangeScore)}, best)
	}
	l.Caption = fmt.Sprintf("Judged on %d to %d, each year by what was known before it", sheet.Choices.FirstYear, sheet.Choices.LastYear)
	return l
}
