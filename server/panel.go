package server

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// panel is the quick estimate for the place asked about.
type panel struct {
	Place   string
	Around  string // what it stands on, in a line
	Close   string
	Parts   []panelPart
	Nearest []panelWell
	Compare string
	Scout   string // the whole answer
	Seen    string // enter what was seen here
	Add     string // enter the record of a well that stands here
	Caution string
}

// panelPart is the estimate of one field.
type panelPart struct {
	Title    string
	Headline string
	Range    string
	Plot     template.HTML
	Verdict  string
	Alert    bool // the verdict is to be noticed
	Cares    []string
	Basis    []string // the numbers behind it
}

// panelWell is one of the nearest wells.
type panelWell struct {
	Label, Where, Found, Href, Toggle string
	In                                bool
}

const cautionWords = "Estimates from records, not a promise. Local code and a licensed driller decide. Call before you dig: buried and overhead lines."

func lonLat(lon, lat float64) *position.LonLat {
	return &position.LonLat{Lon: math.Round(lon*1e6) / 1e6, Lat: math.Round(lat*1e6) / 1e6}
}

func noFilter() (snapshot.Filter, filterForm) { return snapshot.Filter{}, filterForm{} }

// scoutPanel estimates the place asked about.
func (s *Server) scoutPanel(r *http.Request, st *mapState, theme draw.Theme) (*panel, error) {
	p := &panel{
		Place:   position.Format(*st.at, position.DecimalDegrees),
		Close:   st.href(func(n *mapState) { n.at = nil }),
		Caution: cautionWords,
		Scout:   scoutHref(*st.at, st.filter.Trust),
		Seen:    sightingHref(*st.at),
		Add:     "/well/new?at=" + queryEscape(latLon(*st.at)),
	}
	o, err := s.desk.Scout(r.Context(), s.actor(r), *st.at, &st.filter)
	if records.CodeOf(err) == records.NotFound {
		p.Around = "no wells to go by: take some in first, or show more of them"
		return p, nil
	}
	if err != nil {
		return nil, err
	}
	u := st.units
	p.Around = aroundWords(o, u)
	for i := range o.Fields {
		p.Parts = append(p.Parts, panelPartOf(&o.Fields[i], u, theme, usualNeed()))
	}
	return p, s.panelWells(r, st, o, p)
}

// usualNeed is the flow that is asked for where the reader named none, L/s: the
// same on the map's panel and on the scouting page.
func usualNeed() float64 { return records.GallonPerMinute.ToBase(startNeedGPM) }

// panelPartOf says one field's estimate in words, figures and dots; need is
// the flow that is asked for, L/s.
func panelPartOf(f *desk.FieldOutlook, u say.System, theme draw.Theme, need float64) panelPart {
	part := fieldPart(f.Field, f.Best(), nil, u, theme, need)
	part.judge(f.Skill.Verdict.String(), f.Skill.Skill)
	part.care(f)
	part.basis(f, u)
	return part
}

// cameMark is what was found, to be marked among what was expected: a value in
// the base unit, and words.
type cameMark struct {
	value float64
	said  string
}

// fieldPart says what is expected of a field in words, figures and dots; came
// is nil where nothing was found yet.
func fieldPart(field snapshot.Field, best *predict.Distribution, came *cameMark, u say.System, theme draw.Theme, need float64) panelPart {
	unit := unitFor(field, u)
	r := best.Range80()
	figure := func(v float64) string { return fieldFigure(field, u, v) }
	part := panelPart{Title: capital(desk.FieldWords(field)), Headline: "~" + figure(best.Median()), Range: eightInTen(r, figure)}
	if math.IsInf(best.Median(), 1) {
		part.Headline = "more than " + figure(r.Low)
	}
	dots := best.Dots(20)
	plot := &draw.DotPlot{Unit: longUnit(unit), Log: field == snapshot.Yield, Water: field == snapshot.Yield,
		Figure: func(v float64) string { return trimFloat(v, 2) }}
	for _, v := range dots {
		plot.Values = append(plot.Values, unit.FromBase(v))
	}
	if field == snapshot.Yield {
		reached := 0
		for _, v := range dots {
			if v >= need {
				reached++
			}
		}
		plot.Need, plot.Needed = unit.FromBase(need), figure(need)
		plot.Least = unit.FromBase(records.GallonPerMinute.ToBase(0.1))
		plot.Unit += ", log scale"
		part.Headline = fmt.Sprintf("%d in 20 reach %s", reached, figure(need))
		part.Range += "; half give " + figure(best.Median()) + " or more"
	}
	if came != nil {
		plot.Came, plot.CameSaid = unit.FromBase(came.value), came.said
	}
	plot.Title = part.Title + ": twenty equally likely outcomes. " + part.Range + "."
	part.Plot = template.HTML(draw.Dots(plot, theme, "dots-"+field.String())) //nolint:gosec // escaped by package draw
	return part
}

// eightInTen says a range, and of an end that is only a limit that it is one.
func eightInTen(r predict.Range, figure func(v float64) string) string {
	switch {
	case r.AtLeastHigh && r.AtMostLow:
		return "between less than " + figure(r.Low) + " and more than " + figure(r.High) + "; the records do not say how far"
	case r.AtLeastHigh && r.High > r.Low:
		return "9 in 10 above " + figure(r.Low) + "; the upper end lies above " + figure(r.High) + ", how far the records do not say"
	case r.AtLeastHigh:
		return "9 in 10 above " + figure(r.Low) + "; how far above, the records do not say"
	case r.AtMostLow && r.High > r.Low:
		return "9 in 10 below " + figure(r.High) + "; the lower end lies below " + figure(r.Low)
	case r.AtMostLow:
		return "9 in 10 below " + figure(r.High)
	}
	return "8 in 10 between " + figure(r.Low) + " and " + figure(r.High)
}

// judge says what the neighbours are worth.
func (p *panelPart) judge(verdict string, skill float64) {
	switch verdict {
	case predict.TheyTell.String():
		p.Verdict = "The neighbours tell: they " + errorCut(skill) + "."
	case predict.NoMoreThanArea.String():
		p.Verdict, p.Alert = "The neighbours say no more here than the area as a whole.", true
	default:
		p.Verdict = "The neighbours may tell something here; the records cannot say."
	}
}

func (p *panelPart) care(f *desk.FieldOutlook) {
	if f.Basis.Far() {
		p.Cares = append(p.Cares, "No well stands within 4 km: such ranges have held less than they promise.")
	}
	if f.Basis.Few() {
		p.Cares = append(p.Cares, fmt.Sprintf("Only %s of this in all: take it with care.", count(f.Basis.Wells, "record", "records")))
	}
}

func (p *panelPart) basis(f *desk.FieldOutlook, u say.System) {
	b := &f.Basis
	p.Basis = append(p.Basis,
		fmt.Sprintf("%d nearest wells vote, the closest loudest; %d of the area have %.0f\u00a0%% of the weight.", b.Voters, b.AreaWells, b.AreaShare*100),
		fmt.Sprintf("Nearest %s; the area reaches %s.", u.Distance(b.NearestM), u.Distance(b.AreaRadiusM)))
	if b.Bounds > 0 {
		p.Basis = append(p.Basis, fmt.Sprintf("%s only a bound (deeper than, less than), used as one.", count(b.Bounds, "well says", "wells say")))
	}
	if !math.IsNaN(f.Skill.Skill) {
		p.Basis = append(p.Basis, fmt.Sprintf("Local skill %.2f ± %.2f, on %d wells within %s hidden one by one.", f.Skill.Skill, f.Skill.SE, f.Skill.Tests, u.Distance(f.Skill.WithinM)))
	}
	if c := f.Model.Report.Adjusted; c.Tested > 0 {
		p.Basis = append(p.Basis, fmt.Sprintf("The 8-in-10 range held %.0f\u00a0%% of %s hidden wells.", c.Share*100, grouped(c.Tested)))
	}
	if f.LikenessM > 0 {
		if g := f.Model.Params().Gamma; g < 1 {
			p.Basis = append(p.Basis, fmt.Sprintf("Taken to be in the rock of the nearest well that names one, %s off; wells in other rock count %.2g.", u.Distance(f.LikenessM), g))
		}
	}
	if !math.IsNaN(b.FirstYear) {
		p.Basis = append(p.Basis, fmt.Sprintf("The voters were drilled %d to %d.", int(b.FirstYear), int(b.LastYear)))
	}
}

// longUnit is a unit spelled out, for axes.
func longUnit(u records.Unit) string {
	switch u {
	case records.Foot:
		return "feet"
	case records.Metre:
		return "metres"
	case records.GallonPerMinute:
		return "gallons a minute"
	case records.LitrePerMinute:
		return "litres a minute"
	}
	return u.Symbol()
}

// panelWells lists the nearest wells, with a link that puts each into the
// tray or takes it out.
func (s *Server) panelWells(r *http.Request, st *mapState, o *desk.Outlook, p *panel) error {
	nearest := o.Nearest[:min(8, len(o.Nearest))]
	ids := make([]int64, len(nearest))
	for i, n := range nearest {
		ids[i] = n.ID()
	}
	labels, err := s.desk.Numbers(r.Context(), s.actor(r), ids)
	if err != nil {
		return err
	}
	in := map[int64]bool{}
	for _, id := range st.tray {
		in[id] = true
	}
	for i, n := range nearest {
		id := n.ID()
		dg := n.Digest()
		w := panelWell{
			Label: labels[i], Href: "/well/" + strconv.FormatInt(id, 10), In: in[id],
			Where: st.units.Distance(n.DistanceM) + " " + say.Bearing(n.BearingDeg),
			Found: foundWords(&dg, st.units),
		}
		w.Toggle = st.href(func(c *mapState) {
			if in[id] {
				c.tray = without(c.tray, id)
			} else if len(c.tray) < mostTray {
				c.tray = append(c.tray, id)
			}
		})
		p.Nearest = append(p.Nearest, w)
	}
	if len(ids) > 1 {
		p.Compare = "/compare?order=distance&at=" + queryEscape(trimFloat(st.at.Lat, 6)+","+trimFloat(st.at.Lon, 6)) + "&ids=" + joinIDs(ids[:min(4, len(ids))])
	}
	return nil
}

// foundWords says what a well found, in a line.
func foundWords(d *records.Digest, u say.System) string {
	var t string
	add := func(s string) {
		if s == "" {
			return
		}
		if t != "" {
			t += " · "
		}
		t += s
	}
	depth := func(v records.DigestValue) string {
		return u.Depth(records.Amount[records.Depth]{Qualifier: v.Qualifier, Value: records.Depth(v.Value), High: records.Depth(v.High)})
	}
	if v := depth(d.Bedrock); v != "" {
		add("rock " + v)
	}
	add(u.Yield(records.Amount[records.Flow]{Qualifier: d.Yield.Qualifier, Value: records.Flow(d.Yield.Value), High: records.Flow(d.Yield.High)}))
	if v := depth(d.TotalDepth); v != "" {
		add("depth " + v)
	}
	if d.Year > 0 {
		add(strconv.Itoa(int(d.Year)))
	}
	return t
}
