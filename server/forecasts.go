package server

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// forecastsPage is the record of forecasts against outcomes.
type forecastsPage struct {
	Base
	Kept         []keptRow
	Heads        []string
	Total        int
	Newer, Older string
	Asked        string // how many wait for a yes or no
	Own          ownView
	Past         pastView
}

// keptRow is a kept forecast in a line.
type keptRow struct {
	Name, Href, More string
	Said             []saidOf // in the order of the heads; without a title where nothing was said
	Well, WellHref   string
	Outcome          string
	Quiet            bool // withdrawn
	Proposals        []proposalView
}

// ownView is how the kept forecasts did.
type ownView struct {
	Lead   string
	Table  listing
	Notes  []string
	Charts []chartView
}

// chartView is a chart, the sentence that says what it shows, and its data.
type chartView struct {
	ID, Title, Say string
	SVG            template.HTML
	CSV            string
	Links          []choice // other amounts to ask about
	LinksSaid      string
	Terms          string // the trade's words for it
}

// listedQuantities are those of the list, in its order.
func listedQuantities() []string {
	return []string{snapshot.Bedrock.String(), snapshot.Yield.String(), snapshot.TotalDepth.String(), records.CostQuantity}
}

// keptOnPage is how many kept forecasts are listed at once.
const keptOnPage = 30

// From how many outcomes on a share is told, and the spread of ranks. The
// standard error of a share of 80 % is 9 points at 20 outcomes; at 50 each of
// five bins is to hold ten.
const (
	leastForShare = 20
	leastForRanks = 50
	ownRankBins   = 5
)

// forecastsHome answers /forecasts.
func (s *Server) forecastsHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	from := 0
	if t := q.Get("from"); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil || n < 0 {
			return records.Errorf(records.Invalid, "from=%s is no number of forecasts to leave out", clipText(t, 30))
		}
		from = n
	}
	p := forecastsPage{Base: s.base(r, "Forecasts")}
	if err := s.listKept(r, &p, from); err != nil {
		return err
	}
	scored, err := s.desk.Scorecard(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	p.Own = ownViewOf(desk.OwnScores(scored), len(scored), p.Total, p.Units, themeOf(r))
	if p.Past, err = s.pastViewOf(r, q); err != nil {
		return err
	}
	return s.show(w, "forecasts", p)
}

// listKept fills in the kept forecasts, from one on.
func (s *Server) listKept(r *http.Request, p *forecastsPage, from int) error {
	kept, total, err := s.desk.KeptForecasts(r.Context(), s.actor(r), from, keptOnPage)
	if err != nil {
		return err
	}
	p.Total = total
	for _, name := range listedQuantities() {
		p.Heads = append(p.Heads, quantityTitle(name))
	}
	asked := 0
	for i := range kept {
		row, err := keptRowOf(&kept[i], p.Units, p.Here)
		if err != nil {
			return err
		}
		if len(row.Proposals) > 0 {
			asked++
		}
		p.Kept = append(p.Kept, row)
	}
	if asked > 0 {
		p.Asked = "Near " + count(asked, "forecast", "forecasts") + " a well was drilled since. Say whether it shows what came."
	}
	page := func(from int) string {
		q := url.Values{}
		for k, v := range r.URL.Query() {
			q[k] = v
		}
		q.Set("from", strconv.Itoa(max(from, 0)))
		return "/forecasts?" + q.Encode()
	}
	if from > 0 {
		p.Newer = page(from - keptOnPage)
	}
	if from+keptOnPage < total {
		p.Older = page(from + keptOnPage)
	}
	return nil
}

func keptRowOf(k *desk.KeptForecast, u say.System, here string) (keptRow, error) {
	row := keptRow{Name: forecastName(k.Forecast), Href: forecastPath(k.ID), Quiet: k.Decision.Withdrawn, More: dayOf(k.KeptAt)}
	if k.Label != "" {
		row.More = placeWords(k.Lon, k.Lat) + " · " + row.More
	}
	for _, name := range listedQuantities() {
		said := saidOf{}
		if q, ok := k.Quantity(name); ok {
			var err error
			if said, err = saidOfQuantity(q, scoreOf(k.Score, name), u); err != nil {
				return row, err
			}
		}
		row.Said = append(row.Said, said)
	}
	switch {
	case k.Score != nil:
		row.Well, row.WellHref, row.Outcome = wellLabel(k.Score.Well), wellPath(k.Score.Well.ID), wellWhere(k.Score, u)
	case k.Lost:
		row.Outcome = "its well is no longer on record"
	case len(k.Proposals) > 0:
		row.Outcome = "see below"
	default:
		row.Outcome = "nothing yet"
	}
	if row.Quiet {
		row.Outcome = joinWords("withdrawn", row.Outcome)
	}
	for i := range k.Proposals {
		row.Proposals = append(row.Proposals, proposalOf(&k.Proposals[i], u, here))
	}
	return row, nil
}

// ownViewOf says how the kept forecasts did, or how many outcomes are needed
// before it can be told.
func ownViewOf(own []*desk.OwnScore, scored, kept int, u say.System, theme draw.Theme) ownView {
	v := ownView{}
	switch {
	case kept == 0:
		return v
	case scored == 0:
		v.Lead = fmt.Sprintf("No kept forecast has an outcome yet. From %d outcomes on it is told how often the ranges held; before that it could be luck.", leastForShare)
		return v
	}
	v.Lead = fmt.Sprintf("%s of %s %s an outcome.", grouped(scored), count(kept, "kept forecast", "kept forecasts"), map[bool]string{true: "has", false: "have"}[scored == 1])
	v.Table = listing{Heads: heads("quantity", "#outcomes", "in the range", "8-in-10 ranges held", "better than the area alone", "off by, on the mean")}
	for _, o := range own {
		k := quantityKind(o.Name, o.Unit, u)
		told := o.In + o.Out
		in := cell{Text: fmt.Sprintf("%d of %d", o.In, told)}
		if o.CannotTell > 0 {
			in.More = count(o.CannotTell, "bound cannot tell", "bounds cannot tell")
		}
		share := cell{Text: fmt.Sprintf("%d more needed", leastForShare-told), Class: "quiet"}
		if told >= leastForShare {
			share = cell{Text: percentWords(o.Share, o.ShareSE)}
			if d := o.Share - 0.8; d*d > 4*o.ShareSE*o.ShareSE {
				share.Class = "signal"
			}
		}
		better := cell{Text: "not told yet", Class: "quiet"}
		if o.Scored >= leastForShare {
			better = skillCell(o.Skill, o.SkillSE)
		}
		mean := cell{Text: "–"}
		if finite(o.CRPS) {
			mean = cell{Text: k.figure(o.CRPS), More: "the area " + k.figure(o.AreaCRPS)}
		}
		v.Table.add("", cell{Text: quantityTitle(o.Name)}, cell{Text: grouped(o.Scored)}, in, share, better, mean)
		if o.Scored >= leastForRanks {
			v.Charts = append(v.Charts, ranksChart(ranksAsk{
				id: "own-" + o.Name, title: quantityTitle(o.Name) + ": where in what was expected the outcomes fell",
				held: rankShares(o.Judged, ownRankBins), tested: o.Scored,
			}, theme))
		}
	}
	if len(v.Charts) == 0 {
		v.Notes = append(v.Notes, fmt.Sprintf("From %d outcomes of one kind on, where in its range each one fell is shown as well.", leastForRanks))
	}
	return v
}
