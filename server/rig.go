package server

import (
	"net/http"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/say"
)

// rigPage is the page beside the drill: go on or stop, and whether the casing
// is enough.
type rigPage struct {
	Base
	Place  string
	Acts   rigActs
	Ask    rigForm
	Rods   *rigRods
	Nobody string // why there is nothing to go by
	Cares  []string
	Casing *rigAnswer
	GoOn   *rigAnswer
	Ahead  []rigAhead
	Chart  *rigChart
	Ways   *rigWays
	Basis  []string
	Around string
}

// rigActs are where the reader may go on to.
type rigActs struct{ Scout, Map string }

// rigForm is the question as the page's form shows it.
type rigForm struct {
	At, In   string
	Fields   []rigField
	More     []rigField // folded away
	MoreOpen bool
	Faulty   bool
}

// rigField is one field with what was typed and what is wrong with it.
type rigField struct {
	Name, Label, Hint, Unit, Text, Fault, Mode string
	// WasName and Was are the figure that Text shows rounded; Was is "" where it
	// shows all of it.
	WasName, Was string
}

// rigRods are links that drill on by a rod.
type rigRods struct {
	Links []rigRod
	Note  string
}

type rigRod struct{ Label, More, Href string }

// rigAnswer is an answer in the largest letters of the page.
type rigAnswer struct {
	Title string
	Big   string
	Words string
	Range string
	Notes []string
	Alert bool
	Long  bool // Big is words and no count
}

// usualRodM is the length of a rod where the office has not stated its own:
// 20 ft (common practice, no source).
const usualRodM = 6.096

// rigHome answers /rig.
func (s *Server) rigHome(w http.ResponseWriter, r *http.Request) error {
	u := unitsOf(r)
	a, err := parseRigAsk(r.URL.Query(), u)
	if err != nil {
		return err
	}
	p := rigPage{Base: s.base(r, "At the rig"), Place: position.Format(a.at, position.DecimalDegrees), Ask: a.form(u)}
	p.Acts = rigActs{Scout: a.scout().href("/scout", u, nil), Map: "/?at=" + queryEscape(latLon(a.at))}
	if !a.asked() {
		return s.show(w, "rig", p)
	}
	at, err := s.desk.AtTheRig(r.Context(), s.actor(r), a.ask(u))
	if records.CodeOf(err) == records.NotFound {
		p.Nobody = records.MessageOf(err)
		return s.show(w, "rig", p)
	}
	if err != nil {
		return err
	}
	theme := themeOf(r)
	p.Around = joinWords(aroundWords(at.Outlook, u), trustLine(s.desk.Picture(), &at.Ask.Filter, snapshot.Fields()))
	p.Rods = rodsOf(a, at, u)
	p.Cares = rigCares(at)
	p.Casing = casingAnswer(at, u)
	p.GoOn = goOnAnswer(at, u)
	for i := range at.Prospect.Ahead {
		p.Ahead = append(p.Ahead, aheadOf(at, &at.Prospect.Ahead[i], u))
	}
	p.Chart = rigChartOf(at, u, theme)
	p.Ways = rigWaysOf(at, u)
	p.Basis = rigBasis(at, u)
	return s.show(w, "rig", p)
}

// form fills the fields: as they were typed where one is at fault, else in the
// reader's units.
func (a *rigAsk) form(u say.System) rigForm {
	f := rigForm{At: latLon(a.at), In: u.String(), Faulty: len(a.faults) > 0}
	if f.Faulty {
		u, f.In = a.in, a.in.String()
	}
	for i := range rigNumbers {
		n := &rigNumbers[i]
		field := rigField{Name: n.name, Label: n.label, Hint: n.hint, Unit: n.unit(u).Symbol(), Fault: a.faults[n.name], Mode: "decimal"}
		field.WasName, field.Was = wasName(n.name), a.typed.Get(wasName(n.name))
		if field.Text = a.typed.Get(n.name); !f.Faulty || field.Text == "" {
			field.Text, field.Was = a.text(n, u)
		}
		f.add(field, n.more)
	}
	people := rigField{Name: "people", Label: "People who will use it", Text: a.typed.Get("people"), Fault: a.faults["people"], Mode: "numeric"}
	if people.Text == "" {
		people.Text = trimFloat(float64(a.people), 0)
	}
	f.add(people, true)
	return f
}

func (f *rigForm) add(field rigField, more bool) {
	if more {
		f.More = append(f.More, field)
		f.MoreOpen = f.MoreOpen || field.Fault != "" || field.Name == "rock" && field.Text != ""
		return
	}
	f.Fields = append(f.Fields, field)
}

// text is a field's value in the units u, and the figure that was rounded to
// show it; "" where nothing is known, and where nothing was rounded.
func (a *rigAsk) text(n *rigNumber, u say.System) (shown, was string) {
	base, known := a.base(n.name)
	if !known {
		return "", ""
	}
	v := n.unit(u).FromBase(base)
	shown = trimFloat(v, shownDecimals(n.name))
	if was = trimFloat(v, exactDecimals); was == shown {
		was = ""
	}
	return shown, was
}

// base is a figure of the question in base units.
func (a *rigAsk) base(name string) (v float64, known bool) {
	switch name {
	case "depth":
		return a.depthM, a.depthM > 0
	case "yield":
		return a.yield, a.yield > 0 || a.typed.Get("yield") != ""
	case "need":
		return a.needLps, true
	case "casing":
		l, ok := a.casing.Number()
		return float64(l), ok
	case "rock":
		d, ok := a.rock.Number()
		return float64(d), ok
	case "hole":
		return a.holeMM, true
	case "pipe":
		return a.pipeMM, true
	}
	return 0, false
}

// rodsOf are the links that add a rod, and one that takes it back.
func rodsOf(a *rigAsk, at *desk.AtTheRig, u say.System) *rigRods {
	rod, own := at.Practice.Rod.Number()
	r := &rigRods{}
	if !own || rod <= 0 {
		rod = usualRodM
		r.Note = "A rod is taken as " + u.Metres(float64(rod)) + ": the office has not stated its own."
	}
	add := func(label string, by float64) {
		r.Links = append(r.Links, rigRod{label, "to " + u.Metres(a.depthM+by), a.href(u, by)})
	}
	add("Next rod", float64(rod))
	add("Two rods", 2*float64(rod))
	if a.depthM > float64(rod) {
		add("A rod back", -float64(rod))
	}
	return r
}
