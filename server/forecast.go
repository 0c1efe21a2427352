package server

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// forecastPage is one forecast as it was kept, and what came.
type forecastPage struct {
	Base
	Name      string
	Place     string
	Kept      string
	Withdrawn bool
	Asked     []string
	Parts     []panelPart
	Came      cameView
	Revision  int64 // of the latest decision
	Decided   []decidedView
	Acts      forecastActs
	Path      string // of the forms
}

type forecastActs struct{ Scout, Map, Job string }

// cameView is the outcome of a forecast: the well that is linked, or those
// that may be it, or the way to name one.
type cameView struct {
	Well, Href, Where string
	Lead              string
	Table             listing
	Lost              bool
	Proposals         []proposalView
	Number, Fault     string         // of the form that links a well
	Several           []proposalView // wells that bear the number given
}

// proposalView is a well that may be an outcome.
type proposalView struct {
	UID, Label, Href, Said string
	Proposed               bool   // by the program
	Path, Back             string // of the form, and where it goes on to
	Revision               int64
}

// decidedView is a line of what was decided.
type decidedView struct {
	When, What, Why string
	Revision        int64
	Now             bool
}

// forecastHome answers /forecast/{id}.
func (s *Server) forecastHome(w http.ResponseWriter, r *http.Request) error {
	p, err := s.forecastPageOf(r)
	if err != nil {
		return err
	}
	return s.show(w, "forecast", p)
}

func forecastID(r *http.Request) (int64, error) {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil {
		return 0, records.Errorf(records.NotFound, "there is no forecast %s", clipText(mux.Vars(r)["id"], 30))
	}
	return id, nil
}

// forecastByUID answers /forecast/{uid}: a forecast by its public name.
func (s *Server) forecastByUID(w http.ResponseWriter, r *http.Request) error {
	id, err := s.desk.ForecastIDByUID(r.Context(), s.actor(r), mux.Vars(r)["uid"])
	if err != nil {
		return err
	}
	http.Redirect(w, r, forecastPath(id), http.StatusSeeOther)
	return nil
}

func (s *Server) forecastPageOf(r *http.Request) (*forecastPage, error) {
	id, err := forecastID(r)
	if err != nil {
		return nil, err
	}
	k, decisions, err := s.desk.KeptForecast(r.Context(), s.actor(r), id)
	if err != nil {
		return nil, err
	}
	u := unitsOf(r)
	ask, known := keptAsk(k.Forecast)
	p := &forecastPage{
		Base: s.base(r, "Forecast"), Name: forecastName(k.Forecast), Path: forecastPath(id), Withdrawn: k.Decision.Withdrawn, Revision: k.Decision.Revision,
		Place: placeWords(k.Lon, k.Lat), Kept: fmt.Sprintf("kept %s%s · from the records as of change %s", dayOf(k.KeptAt), byWhom(k.KeptBy), grouped(int(k.DataCommit))),
	}
	for i := range p.Pages {
		p.Pages[i].On = p.Pages[i].Href == "/forecasts"
	}
	p.Acts = forecastActs{Scout: ask.href("/scout", u, nil), Map: "/?at=" + queryEscape(latLon(ask.at)), Job: "/job/new?forecast=" + queryEscape(k.UID)}
	if known {
		p.Asked = questionWords(ask, u)
	}
	for i := range k.Expected {
		q := &k.Expected[i]
		part, err := keptPart(q, scoreOf(k.Score, q.Name), ask.needLps, u, themeOf(r))
		if err != nil {
			return nil, err
		}
		p.Parts = append(p.Parts, part)
	}
	p.Came = cameOf(&k, u)
	p.Decided, err = s.decidedOf(r, decisions)
	return p, err
}

func placeWords(lon, lat float64) string {
	return position.Format(position.LonLat{Lon: lon, Lat: lat}, position.DecimalDegrees)
}

// questionWords says the question that a forecast answered.
func questionWords(a *scoutAsk, u say.System) []string {
	pipe := func(mm float64) string { return u.DiameterFigure(mm) + " " + u.DiameterUnit().Symbol() }
	out := []string{
		u.FlowFigure(a.needLps) + " " + u.FlowUnit().Symbol() + " needed" + forPeople(a.people),
		"a hole of " + pipe(a.holeMM) + ", casing of " + pipe(a.pipeMM) + " outside",
	}
	if a.mostM > 0 {
		out = append(out, "never deeper than "+u.Metres(a.mostM))
	}
	if a.stopM > 0 {
		out = append(out, "stop and call at "+u.Metres(a.stopM))
	}
	if a.tankL > 0 {
		out = append(out, "a tank of "+volumeWords(records.Volume(a.tankL), u))
	}
	if n := len(a.hazards); n > 0 {
		out = append(out, count(n, "thing", "things")+" paced off near the pin")
	}
	if a.access != "" {
		out = append(out, "access: "+a.access)
	}
	return out
}

func forPeople(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return ", for one person"
	}
	return fmt.Sprintf(", for %d people", n)
}

// cameOf is what is known of the outcome.
func cameOf(k *desk.KeptForecast, u say.System) cameView {
	v := cameView{Lost: k.Lost}
	for i := range k.Proposals {
		v.Proposals = append(v.Proposals, proposalOf(&k.Proposals[i], u, forecastPath(k.ID)))
	}
	sc := k.Score
	if sc == nil {
		return v
	}
	v.Well, v.Href, v.Where = wellLabel(sc.Well), wellPath(sc.Well.ID), wellWhere(sc, u)
	held, told := 0, 0
	v.Table = listing{Heads: heads("quantity", "said", "8 in 10 between", "came", "so", "#off by", "#the area alone")}
	for i := range k.Expected {
		q := &k.Expected[i]
		score := scoreOf(sc, q.Name)
		said, err := saidOfQuantity(q, score, u)
		if err != nil {
			continue // KeepForecast takes no such distribution
		}
		if score == nil {
			v.Table.add("", cell{Text: said.Title}, cell{Text: said.Middle, Class: "figures"}, cell{Text: said.Range}, cell{Text: "not on record", Class: "quiet"}, cell{}, cell{}, cell{})
			continue
		}
		if score.Held != desk.CannotTell {
			told++
		}
		class := ""
		switch score.Held {
		case desk.In:
			held++
		case desk.Out:
			class = "signal"
		}
		kind := quantityKind(q.Name, q.Unit, u)
		area := cell{Text: "not kept", Class: "quiet"}
		if !math.IsNaN(score.AreaCRPS) {
			area = cell{Text: kind.figure(score.AreaCRPS)}
		}
		v.Table.add("", cell{Text: said.Title}, cell{Text: said.Middle, Class: "figures"}, cell{Text: said.Range}, cell{Text: said.Came, Class: "strong"},
			cell{Text: said.Held, Class: class, More: rankWords(score)}, cell{Text: kind.figure(score.CRPS)}, area)
	}
	switch told {
	case 0:
		v.Lead = "Nothing that the well says tells whether a range held."
	case 1:
		v.Lead = fmt.Sprintf("%d of 1 range held.", held)
	default:
		v.Lead = fmt.Sprintf("%d of %d ranges held.", held, told)
	}
	return v
}

// rankWords says where in what was expected an outcome fell.
func rankWords(s *desk.QuantityScore) string {
	low, high := s.RankLow*100, s.RankHigh*100
	if s.RankLow == s.RankHigh {
		return fmt.Sprintf("%.0f in 100 expected less", low)
	}
	return fmt.Sprintf("%.0f to %.0f in 100 expected less", low, high)
}

func wellLabel(w *records.Well) string { return orElse(w.Number, fmt.Sprintf("no. %d", w.ID)) }

func wellPath(id int64) string { return "/well/" + strconv.FormatInt(id, 10) }

func wellWhere(s *desk.ForecastScore, u say.System) string {
	where := "on no map"
	if !math.IsNaN(s.DistanceM) {
		where = awayWords(s.DistanceM, u)
	}
	if !s.Well.Completed.IsZero() {
		where += ", completed " + say.Date(s.Well.Completed)
	}
	return where
}

// awayWords says how far from a forecast's place something stands.
func awayWords(m float64, u say.System) string {
	if m < 3 {
		return "at the very spot"
	}
	return u.Distance(m) + " away"
}

func proposalOf(p *desk.Proposal, u say.System, back string) proposalView {
	v := proposalView{
		Path: forecastPath(p.Forecast.ID), Back: back, Revision: p.Forecast.Decision.Revision,
		UID: p.WellUID, Label: orElse(p.Number, fmt.Sprintf("no. %d", p.WellID)), Href: wellPath(p.WellID), Proposed: true,
		Said: awayWords(p.DistanceM, u) + ", completed " + say.Date(p.Completed),
	}
	if !p.Certain {
		v.Said += " (whether after the forecast, its date does not say)"
	}
	return v
}

// decidedOf tells what was decided, the latest first.
func (s *Server) decidedOf(r *http.Request, ds []records.ForecastDecision) ([]decidedView, error) {
	var out []decidedView
	for i, d := range ds {
		before := records.ForecastDecision{}
		if i+1 < len(ds) {
			before = ds[i+1]
		}
		what, err := s.decisionWords(r, &before, &d)
		if err != nil {
			return nil, err
		}
		out = append(out, decidedView{When: officeTime(d.At) + byWhom(d.By), What: what, Why: d.Why, Revision: d.Revision, Now: i == 0})
	}
	return out, nil
}

// decisionWords says what a decision changed.
func (s *Server) decisionWords(r *http.Request, before, now *records.ForecastDecision) (string, error) {
	var parts []string
	switch {
	case now.Withdrawn && !before.Withdrawn:
		parts = append(parts, "withdrawn")
	case before.Withdrawn && !now.Withdrawn:
		parts = append(parts, "taken back in")
	}
	name := func(uid string) (string, error) {
		label, err := s.desk.WellName(r.Context(), s.actor(r), uid)
		if records.CodeOf(err) == records.NotFound {
			return "a well that is no longer on record", nil
		}
		return label, err
	}
	if now.WellUID != before.WellUID {
		uid, words := now.WellUID, " is the outcome"
		if uid == "" {
			uid, words = before.WellUID, " is taken away as the outcome"
		} else if now.How == records.LinkProposed {
			words += ", as proposed"
		}
		label, err := name(uid)
		if err != nil {
			return "", err
		}
		parts = append(parts, label+words)
	}
	for _, uid := range now.Refused {
		if !slices.Contains(before.Refused, uid) && uid != before.WellUID {
			label, err := name(uid)
			if err != nil {
				return "", err
			}
			parts = append(parts, label+" is not the outcome")
		}
	}
	for _, uid := range before.Refused {
		if !slices.Contains(now.Refused, uid) && uid != now.WellUID {
			label, err := name(uid)
			if err != nil {
				return "", err
			}
			parts = append(parts, label+" may be the outcome after all")
		}
	}
	if len(parts) == 0 {
		return "As it was before", nil
	}
	return capital(strings.Join(parts, "; ")), nil
}
