package server

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// reviewPage is the page on how the ground varies.
type reviewPage struct {
	Base
	Fields    []choice
	Uses      []choice
	Mets      []choice
	Plates    []choice
	Layers    []choice
	Scales    []choice
	Picks     []choice
	Marked    []choice
	Trust     trustView
	Form      *reviewForm
	Trouble   string // what of the form could not be read
	DepthUnit string
	FlowUnit  string
	FarUnit   string
	Wells     []string // which wells
	Lead      string
	Working   string
	Done      int
	Refresh   string
	Parts     []reviewPartView
	Reset     string
	Query     string // the whole of what is asked, for the form that keeps it
	Beside    []pageLink
	Kept      listing
}

// reviewPartView is one question, its answer in a sentence and a drawing, and
// its numbers.
type reviewPartView struct {
	Name, Title string
	Say         string
	Notes       []string
	Caution     string
	TooFew      string
	Waiting     string
	Wide        template.HTML
	Narrow      template.HTML // for a phone
	Links       []choice
	LinksSaid   string
	Choices     []partLinks // further rows of choices
	Chosen      bool        // one of them was made
	Table       listing
	Terms       string // the trade's and the statistics' words for it
	Drawing     string // addresses
	CSV         string
	More        []choice // further tables
}

// Sizes of a part's drawings.
const (
	reviewWide   = 620.0
	reviewNarrow = 350.0
)

// reviewWait is how long a page waits for its parts; a file waits longer.
const (
	reviewWait     = 1500 * time.Millisecond
	reviewFileWait = 90 * time.Second
)

// reviewReading is how an answer is to be shown.
type reviewReading struct {
	*Server
	units say.System
	set   *review.Settings
	field snapshot.Field
	kind  partKind // of the quantity
	theme draw.Theme
	w     float64 // of the drawing
	id    string  // prefix of the drawing's ids
	href  func(change func(*review.Settings)) string
	fixed bool // a kept review: nothing of it can be asked otherwise
}

func (s *Server) reading(r *http.Request, set *review.Settings) *reviewReading {
	u := unitsOf(r)
	v := &reviewReading{Server: s, units: u, set: set, field: set.Field(), theme: themeOf(r), w: reviewWide}
	v.kind = v.kindOf(v.field)
	v.href = func(change func(*review.Settings)) string {
		c := *set
		c.Parts = map[string]string{}
		for k, t := range set.Parts {
			c.Parts[k] = t
		}
		change(&c)
		return "/review?" + reviewQuery(&c, u).Encode()
	}
	return v
}

// kindOf is how amounts of a field are written.
func (v *reviewReading) kindOf(f snapshot.Field) partKind {
	if f == snapshot.Yield {
		flow := v.units.FlowUnit()
		return partKind{longUnit(flow), func(x float64) string { return v.units.Flow(records.Of(records.Flow(x))) }, flow.FromBase}
	}
	return lengthKind(v.units)
}

// reviewHome answers /review.
func (s *Server) reviewHome(w http.ResponseWriter, r *http.Request) error {
	set, form, err := s.reviewAsk(r)
	p := reviewPage{Base: s.base(r, "How the ground varies"), Form: form, Refresh: r.URL.RequestURI(), Reset: "/review"}
	p.DepthUnit, p.FlowUnit, p.FarUnit = p.Units.LengthUnit().Symbol(), p.Units.FlowUnit().Symbol(), map[bool]string{true: "km", false: "mi"}[p.Units == say.SI]
	if records.CodeOf(err) == records.Invalid && err != nil {
		p.Trouble = capital(records.MessageOf(err)) + "."
		set, err = &review.Settings{Units: p.Units.String()}, nil
		set.Defaults()
	}
	if err != nil {
		return err
	}
	p.Query = r.URL.RawQuery
	if err := s.reviewControls(r, &p, set); err != nil {
		return err
	}
	if p.Trouble != "" {
		var b bytes.Buffer
		if err := s.pages.render(&b, "review", p); err != nil {
			return err
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(http.StatusBadRequest)
		_, err := w.Write(b.Bytes())
		return ignoreGone(err)
	}
	p.Reset = "/review?field=" + set.Quantity
	st, err := s.desk.ReviewSoon(r.Context(), s.actor(r), set, reviewWait)
	if err != nil {
		return err
	}
	p.Wells = s.reviewWells(set, p.Units)
	p.Lead = fmt.Sprintf("%s of %s on record", count(st.Data.Wells, "well", "wells"), grouped(st.Data.Of))
	switch {
	case st.Data.Of == 0:
		p.Lead = "No wells are on record yet"
	case !form.Active && st.Data.Wells == st.Data.Of:
		p.Lead, p.Wells = "All "+count(st.Data.Of, "well", "wells")+" on record", nil
		if st.Data.Of == 1 {
			p.Lead = "The only well on record"
		}
	}
	filter, err := s.desk.ReviewFilter(s.actor(r), set)
	if err != nil {
		return err
	}
	p.Trust = trustViewOf(s.desk.Picture(), filter, []snapshot.Field{set.Field()}, func(t records.Trust) string {
		return s.reading(r, set).href(func(c *review.Settings) { c.MarkedToo, c.Picks = t.Marked, t.Picks })
	})
	if st.Working {
		p.Working, p.Done = reviewWorking(st)
	}
	s.reviewShow(&p, s.reading(r, set), st)
	p.Beside = reviewBeside(form)
	if p.Kept, err = s.reviewsKept(r); err != nil {
		return err
	}
	return s.show(w, "review", p)
}

// reviewWorking says how far a review is.
func reviewWorking(st *desk.ReviewState) (words string, done int) {
	words = "Some parts are still being worked: " + st.Step
	if st.Total > 0 {
		done = 100 * st.Done / st.Total
		words += fmt.Sprintf(", %d\u00a0%%", done)
	}
	return words + ".", done
}

// reviewControls fills in the form's choices.
func (s *Server) reviewControls(r *http.Request, p *reviewPage, set *review.Settings) error {
	for _, f := range snapshot.Fields() {
		p.Fields = append(p.Fields, choice{f.String(), desk.FieldWords(f), f == set.Field()})
	}
	p.Uses = append(p.Uses, choice{"", "any use", p.Form.Use == ""})
	for _, u := range records.PurposeWords() {
		p.Uses = append(p.Uses, choice{u, plainWord(u), u == p.Form.Use})
	}
	p.Mets = append(p.Mets, choice{"", "any ground", p.Form.Met == ""})
	for _, m := range s.desk.Vocabulary().All() {
		p.Mets = append(p.Mets, choice{m.Code, m.Label, m.Code == p.Form.Met})
	}
	p.Plates = []choice{{"", "with a plate or without", p.Form.Plate == ""}, {"yes", "with a plate", p.Form.Plate == "yes"}, {"no", "without a plate", p.Form.Plate == "no"}}
	layers, err := s.desk.Layers(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	for _, l := range layers {
		if l.Kind == "boundary" || l.Kind == "parcel" || l.Kind == "other" {
			id := fmt.Sprint(l.ID)
			p.Layers = append(p.Layers, choice{id, l.Name, id == p.Form.Layer})
		}
	}
	if len(p.Layers) > 0 {
		p.Layers = append([]choice{{"", "no area of the office's own", p.Form.Layer == ""}}, p.Layers...)
	}
	p.Picks, p.Marked = trustChoices(s.desk.Picture(), records.Trust{Marked: set.MarkedToo, Picks: set.Picks})
	p.Scales = []choice{{"", "a scale that fits", set.Scale == ""}, {"linear", "a plain scale", set.Scale == "linear"}, {"log", "a logarithmic scale", set.Scale == "log"}}
	return nil
}

// reviewShow fills in the parts.
func (s *Server) reviewShow(p *reviewPage, v *reviewReading, st *desk.ReviewState) {
	q := reviewQuery(v.set, v.units)
	q.Set("units", v.units.String())
	for _, part := range s.desk.ReviewParts() {
		p.Parts = append(p.Parts, v.part(part, st.Answers[part.Name], st.Errs[part.Name], "/review/", "?"+q.Encode()))
	}
}

// part shows one part; its files stand under base with a query.
func (v *reviewReading) part(part review.Part, a *review.Answer, err error, base, query string) reviewPartView {
	out := reviewPartView{Name: part.Name, Title: part.Title}
	switch {
	case err != nil:
		out.TooFew = capital(records.MessageOf(err)) + "."
		return out
	case a == nil:
		out.Waiting = "Being worked. Look again in a moment."
		return out
	}
	shown, ok := reviewViews()[part.Name]
	if !ok || a.TooFew != "" {
		out.TooFew = "Too few to say: " + a.TooFew + "."
		return out
	}
	wide := *v
	wide.w, wide.id = reviewWide, "w-"+part.Name
	shown(a, &wide, &out)
	narrow, phone := *v, reviewPartView{Title: part.Title}
	narrow.w, narrow.id = reviewNarrow, "n-"+part.Name
	shown(a, &narrow, &phone)
	out.Narrow = phone.Wide
	for name := range v.set.Parts {
		out.Chosen = out.Chosen || strings.HasPrefix(name, part.Name+".")
	}
	if v.fixed {
		out.Links = nil
	}
	out.Drawing, out.CSV = base+part.Name+".svg"+query, base+part.Name+".csv"+query
	more := "&table="
	if query == "" {
		more = "?table="
	}
	for i, t := range a.Tables {
		if i > 0 {
			out.More = append(out.More, choice{out.CSV + more + url.QueryEscape(t.Name), strings.ReplaceAll(t.Name, "_", " "), false})
		}
	}
	return out
}

// svgOf makes the drawing of a part to be kept.
func (v *reviewReading) svgOf(a *review.Answer) ([]byte, error) {
	shown, ok := reviewViews()[a.Part]
	if !ok || a.TooFew != "" {
		return nil, records.Errorf(records.NotFound, "there is no drawing of this part: %s", orElse(a.TooFew, "it has none"))
	}
	out := reviewPartView{}
	for _, p := range v.desk.ReviewParts() {
		if p.Name == a.Part {
			out.Title = p.Title
		}
	}
	v.id = a.Part
	shown(a, v, &out)
	return []byte(out.Wide), nil
}

// reviewFile answers /review/PART.svg and /review/PART.csv.
func (s *Server) reviewFile(w http.ResponseWriter, r *http.Request) error {
	set, _, err := s.reviewAsk(r)
	if err != nil {
		return err
	}
	part, form := mux.Vars(r)["part"], mux.Vars(r)["form"]
	a, err := s.desk.ReviewPart(r.Context(), s.actor(r), set, part, reviewFileWait)
	if err != nil {
		return err
	}
	if a == nil {
		return records.Errorf(records.Busy, "this part is still being worked; ask again in a minute")
	}
	return s.sendPart(w, r, s.reading(r, set), a, form)
}

// sendPart sends the drawing or a table of a part.
func (s *Server) sendPart(w http.ResponseWriter, r *http.Request, v *reviewReading, a *review.Answer, form string) error {
	if form == "svg" {
		data, err := v.svgOf(a)
		if err != nil {
			return err
		}
		name := ""
		if r.URL.Query().Get("download") != "" {
			name = "review-" + a.Part + ".svg"
		}
		return sendSVG(w, r, data, etagOfBytes(data), name)
	}
	if a.TooFew != "" && len(a.Tables) == 0 {
		return records.Errorf(records.NotFound, "there are no numbers of this part: %s", a.TooFew)
	}
	t := &a.Tables[0]
	name := "review-" + a.Part
	if asked := r.URL.Query().Get("table"); asked != "" {
		if t = a.Table(asked); len(t.Columns) == 0 {
			return records.Errorf(records.NotFound, "part %s has no table %q", a.Part, clipText(asked, 40))
		}
		name += "-" + t.Name
	}
	var data bytes.Buffer
	if err := t.WriteCSV(&data); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Disposition", `attachment; filename="`+name+`.csv"`)
	_, err := w.Write(data.Bytes())
	return ignoreGone(err)
}
