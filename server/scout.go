package server

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// scoutPage is what a driller opens before quoting.
type scoutPage struct {
	Base
	Place  string
	Around string
	Trust  trustView // what was left out, marked unreliable
	Ask    askForm
	// AskFields are the question as hidden fields of a form, all but the sum
	// that is asked about.
	AskFields, AllFields []param
	NoAccess             []param // all but the note on access
	Nobody               string  // why there is nothing to go by; "" where there is
	Short                string  // the answer in a sentence
	Ground               []panelPart
	Hole                 *holeView
	Cost                 *costView
	Store                *storageView
	Load                 *loadView
	Site                 *placeView
	Wells                *scoutWells
	Acts                 scoutActs
	Keep                 keepForm
}

// keepForm is the form that keeps what the page says as a forecast.
type keepForm struct{ Label, Fault string }

// scoutActs are where the reader may go on to.
type scoutActs struct {
	Map   string
	Sheet string // the two pages for a landowner
	Rig   string // go on or stop, once it is being drilled
	Seen  string // enter what was seen here
	Job   string // open a job here
}

// askForm is the question as the page's sentence shows it, in the reader's
// units.
type askForm struct {
	At, In                              string
	Use, People                         string
	Need, Hole, Pipe, Most, Stop, Above string
	FlowUnit, PipeUnit, LengthUnit      string
	VolumeUnit                          string
	Near                                []string
	// Kept is what the sentence does not show: the rest of the question, and
	// the figures that it shows rounded.
	Kept []param
}

func (a *scoutAsk) form(u say.System) askForm {
	f := askForm{
		At: latLon(a.at), In: u.String(), Use: a.use,
		FlowUnit: u.FlowUnit().Symbol(), PipeUnit: u.DiameterUnit().Symbol(), LengthUnit: u.LengthUnit().Symbol(), VolumeUnit: u.VolumeUnit().Symbol(),
		Near: a.query(u)["near"],
	}
	kept := a.query(u)
	for _, shown := range []string{"at", "in", "near", "people", "need", "hole", "pipe", "most", "stop"} {
		kept.Del(shown)
	}
	set := func(name string, into *string, unit records.Unit, base float64) {
		if !(base > 0) {
			return
		}
		*into = trimFloat(unit.FromBase(base), shownDecimals(name))
		if exact := trimFloat(unit.FromBase(base), exactDecimals); exact != *into {
			kept.Set(wasName(name), exact)
		}
	}
	set("need", &f.Need, u.FlowUnit(), a.needLps)
	set("hole", &f.Hole, u.DiameterUnit(), a.holeMM)
	set("pipe", &f.Pipe, u.DiameterUnit(), a.pipeMM)
	set("most", &f.Most, u.LengthUnit(), a.mostM)
	set("stop", &f.Stop, u.LengthUnit(), a.stopM)
	f.Kept = paramsOf(kept)
	if a.above > 0 {
		f.Above = trimFloat(a.above, 2)
	}
	f.People = strconv.Itoa(a.people) // an empty field would ask for the usual number
	return f
}

// scoutWells are the wells that an answer stands on.
type scoutWells struct {
	Map     template.HTML // around the pin
	MapFor  string        // the theme it was coloured for
	MapSrc  string        // where it is coloured anew
	Log     *logDrawing   // the nearest, side by side
	Table   listing
	Seen    listing // what was seen nearby and is no well
	Compare string
}

// How many wells stand side by side on the page, and in its table.
const (
	scoutColumns = 4
	scoutListed  = 12
)

// scoutHome answers /scout.
func (s *Server) scoutHome(w http.ResponseWriter, r *http.Request) error {
	a, err := parseScoutAsk(r.URL.Query(), unitsOf(r))
	if records.CodeOf(err) == records.Invalid {
		if p := s.scoutRefused(r, err); p != nil {
			return s.showAs(w, "scout", p, http.StatusBadRequest)
		}
	}
	if err != nil {
		return err
	}
	if q := r.URL.Query(); added(q) { // its own address, so that reload and Back do not add it again
		half := ""
		if q.Get("half") != "" && q.Get("hazard") != movePin {
			half = "&half=" + url.QueryEscape(q.Get("half"))
		}
		u := unitsOf(r)
		if given, ok := say.Parse(q.Get("in")); ok {
			u = given
		}
		http.Redirect(w, r, a.href("/scout", u, nil)+half+"#place", http.StatusSeeOther)
		return nil
	}
	p, err := s.scoutPageOf(r, a)
	if err != nil {
		return err
	}
	return s.show(w, "scout", p)
}

// scoutRefused is the page for a question with a fault in it: what was typed, to
// be mended where it stands. It is nil where the place itself cannot be read,
// for then there is no spot that a page could be about.
func (s *Server) scoutRefused(r *http.Request, fault error) *scoutPage {
	q, u := r.URL.Query(), unitsOf(r)
	if given, ok := say.Parse(q.Get("in")); ok {
		u = given // what was typed is in these
	}
	sound := url.Values{"at": q["at"], "in": {u.String()}}
	if _, err := parseScoutAsk(sound, u); err != nil {
		return nil
	}
	for name, values := range q {
		for _, v := range values {
			one := url.Values{"at": q["at"], "in": {u.String()}, name: {v}}
			if _, err := parseScoutAsk(one, u); err == nil && name != "at" && name != "in" {
				sound.Add(name, v)
			}
		}
	}
	a, err := parseScoutAsk(sound, u)
	if err != nil {
		return nil // too many things near the pin: each is sound, not all together
	}
	p := &scoutPage{Base: s.base(r, "Scout"), Place: position.Format(a.at, position.DecimalDegrees), Ask: a.form(u)}
	p.Nobody = "This cannot be answered yet: " + records.MessageOf(fault) + ". Mend it below."
	for name, into := range map[string]*string{"people": &p.Ask.People, "need": &p.Ask.Need, "hole": &p.Ask.Hole, "pipe": &p.Ask.Pipe, "most": &p.Ask.Most, "stop": &p.Ask.Stop} {
		if q.Get(name) != "" && !sound.Has(name) {
			*into = q.Get(name)
		}
	}
	p.Acts.Map, p.Acts.Rig, p.Acts.Seen = "/?at="+queryEscape(latLon(a.at)), rigHref(a, u), sightingHref(a.at)
	return p
}

// scoutPageOf answers the question as a page.
func (s *Server) scoutPageOf(r *http.Request, a *scoutAsk) (*scoutPage, error) {
	u := unitsOf(r)
	p := &scoutPage{Base: s.base(r, "Scout"), Place: position.Format(a.at, position.DecimalDegrees), Ask: a.form(u)}
	rest := *a
	rest.above = 0
	p.AskFields, p.AllFields = paramsOf(rest.query(u)), paramsOf(a.query(u))
	rest = *a
	rest.access = ""
	p.NoAccess = paramsOf(rest.query(u))
	p.Acts.Map, p.Acts.Rig = "/?at="+queryEscape(latLon(a.at)), rigHref(a, u)
	p.Acts.Seen, p.Acts.Job = sightingHref(a.at), a.href("/job/new", u, nil)
	sc, err := s.desk.Scouting(r.Context(), s.actor(r), a.ask())
	if records.CodeOf(err) == records.NotFound {
		p.Nobody = records.MessageOf(err)
		return p, nil
	}
	if err != nil {
		return nil, err
	}
	p.Acts.Sheet = a.href("/scout/sheet", u, nil)
	p.Around = aroundWords(sc.Outlook, u)
	p.Trust = trustViewOf(s.desk.Picture(), &sc.Ask.Filter, snapshot.Fields(), func(t records.Trust) string {
		return a.href("/scout", u, func(c *scoutAsk) { c.trust = t })
	})
	theme := themeOf(r)
	for i := range sc.Fields {
		part := panelPartOf(&sc.Fields[i], u, theme, float64(a.needLps))
		if sc.Fields[i].Field == snapshot.TotalDepth {
			part.Title = "How deep others drilled" // for their needs; the reader's own hole follows
		}
		p.Ground = append(p.Ground, part)
	}
	p.Hole = holeViewOf(sc, u, theme)
	p.Short = shortAnswer(sc, u)
	p.Cost = costViewOf(sc, a, theme)
	p.Store = storageViewOf(sc, u, theme)
	if p.Load, err = loadViewOf(sc, u); err != nil {
		return nil, err
	}
	layers, err := s.layers.of(r.Context(), s.desk, s.actor(r), s.desk.Picture().Commit())
	if err != nil {
		return nil, err
	}
	p.Site = placeViewOf(a, layers, sc.Rules, u)
	p.Site.Plan, p.Site.Access = a.planViewOf(r, sc.Rules, u), a.access
	if p.Wells, err = s.scoutWells(r, a, sc.Outlook, theme); err != nil {
		return nil, err
	}
	return p, nil
}

// aroundWords says in a line what an outlook stands on.
func aroundWords(o *desk.Outlook, u say.System) string {
	t := count(o.Around, "well", "wells") + " within " + u.Distance(o.WithinM)
	if len(o.Nearest) > 0 {
		t += " · nearest " + u.Distance(o.Nearest[0].DistanceM)
	}
	if o.FirstYear > 0 {
		t += fmt.Sprintf(" · %d–%d", o.FirstYear, o.LastYear)
	}
	return t
}

// scoutWells draws and lists the nearest wells.
func (s *Server) scoutWells(r *http.Request, a *scoutAsk, o *desk.Outlook, theme draw.Theme) (*scoutWells, error) {
	u := unitsOf(r)
	ws := &scoutWells{}
	st := &mapState{units: u, surface: showNothing, at: &a.at, field: snapshot.Bedrock}
	st.view = draw.View{W: 460, H: 420}
	m, err := s.mapOf(r.Context(), s.actor(r), st, theme)
	if err != nil {
		return nil, err
	}
	ws.Map = template.HTML(m.SVG) //nolint:gosec // escaped by package draw
	ws.MapFor = theme.String()
	ws.MapSrc = "/map.svg?show=none&w=460&h=420&at=" + queryEscape(latLon(a.at)) + "&units=" + u.String()
	nearest := o.Nearest[:min(scoutListed, len(o.Nearest))]
	ids := make([]int64, len(nearest))
	for i, n := range nearest {
		ids[i] = n.ID()
	}
	if len(ids) >= leastCompared {
		side := &sideState{ids: ids[:min(scoutColumns, len(ids))], order: byDistance, at: &a.at}
		c, err := s.compared(r.Context(), s.actor(r), side)
		if err != nil {
			return nil, err
		}
		src := side.href("/compare.svg", nil) + "&units=" + u.String()
		ws.Log = &logDrawing{
			DrawnFor: theme.String(), Wide: template.HTML(s.drawSide(c, u, theme, sideWidth(len(c.wells)))), //nolint:gosec // escaped by package draw
			WideSrc: src, PrintSrc: src + "&theme=print", PrintAlt: "The nearest logs side by side", Class: "side n" + strconv.Itoa(len(c.wells)),
		}
		ws.Compare = side.href("/compare", nil) + "&back=" + queryEscape(r.URL.RequestURI())
	}
	near, err := s.named(r, nearest)
	if err != nil {
		return nil, err
	}
	ws.Table = nearListing(units{u}, near)
	ws.Table = ws.Table.tidy()
	if ws.Seen, err = s.seenNear(r, a.at); err != nil {
		return nil, err
	}
	return ws, nil
}

// paramsOf are the parameters of an address as a form's hidden fields.
func paramsOf(q url.Values) []param {
	var out []param
	for name, values := range q {
		for _, v := range values {
			out = append(out, param{name, v})
		}
	}
	sortParams(out)
	return out
}
