package server

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/server/say"
)

// sightingFormPage is the form in which something seen is entered or changed.
type sightingFormPage struct {
	Base
	Heading  string
	Action   string
	Back     string
	Changing bool
	Form     sightingForm
	Refused  string
	Warnings []string
}

// sightingForm is what was typed, with what is wrong with it.
type sightingForm struct {
	At, In, LengthUnit string
	Revision           int64
	Kind               string // as it stands; "" for a new one
	KindWords          string
	Choices            []sightingChoice
	Date, By, Note     string
	Why                string
	Sureness           []choice
	Faults             map[string]string // by field
	More               bool              // what is folded away stands open
}

// sightingChoice is one of the things that may have been seen, with its own
// depth; its button saves it at once.
type sightingChoice struct {
	Kind, Label, Button string
	DepthLabel, Hint    string
	Depth, Fault        string
	Now                 bool // it is entered as this
}

var sightingChoices = [...]sightingChoice{
	{Kind: records.SawLedge, Label: "Rock at the surface, or in a cut", Button: "Rock seen", DepthLabel: "how far down in the cut", Hint: "empty: at the surface"},
	{Kind: records.SawRefusal, Label: "A pit or probe met rock", Button: "Met rock", DepthLabel: "at what depth"},
	{Kind: records.SawNoRefusal, Label: "A pit or probe met no rock", Button: "No rock", DepthLabel: "how deep it went"},
	{Kind: records.SawDryHole, Label: "A dry hole, told by somebody", Button: "Dry hole", DepthLabel: "how deep, if told", Hint: "empty: not told"},
}

// sureness are the choices of how well the place is known, metres; ours, no
// source.
var sureness = [...]struct {
	metres float64
	words  string
}{
	{0, "not said"}, {5, "stood there with a satellite fix"}, {30, "pointed out on the map"}, {150, "somewhere on the lot"}, {500, "somewhere along the road"}, {1500, "told, not shown"},
}

// startSureM is how good a place is that was picked on the map, metres.
const startSureM = 30

// sightingNew answers GET /sighting/new.
func (s *Server) sightingNew(w http.ResponseWriter, r *http.Request) error {
	at, err := position.Parse(r.URL.Query().Get("at"))
	if err != nil {
		return &records.Error{Code: records.Invalid, Field: "at", Message: "the place of what was seen: " + err.Error()}
	}
	see := &records.Sighting{Located: true, Lon: at.At.Lon, Lat: at.At.Lat, Method: "map", Accuracy: records.Of(records.Length(startSureM)), Date: s.desk.Validation().Today}
	u := unitsOf(r)
	return s.sightingShow(w, r, see, formOf(see, u), "", nil, http.StatusOK)
}

// sightingEdit answers GET /sighting/{id}/edit.
func (s *Server) sightingEdit(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	see, err := s.desk.Sighting(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	return s.sightingShow(w, r, see, formOf(see, unitsOf(r)), "", nil, http.StatusOK)
}

// sightingShow writes the form.
func (s *Server) sightingShow(w http.ResponseWriter, r *http.Request, see *records.Sighting, f sightingForm, refused string, warnings []string, status int) error {
	p := sightingFormPage{Base: s.base(r, "Something seen"), Heading: "Something seen here", Action: "/sighting/new", Form: f, Refused: refused, Warnings: warnings,
		Back: "/?at=" + queryEscape(latLon(position.LonLat{Lon: see.Lon, Lat: see.Lat}))}
	if see.ID > 0 {
		p.Heading, p.Action, p.Back, p.Changing = "Change what was seen", sightingPath(see.ID)+"/edit", sightingPath(see.ID), true
	}
	if r.Method == http.MethodPost { // its address cannot be asked for again
		p.Here = p.Back
	}
	return s.showAs(w, "sightingform", p, status)
}

// formOf is the form of a sighting as it stands, in the units u.
func formOf(see *records.Sighting, u say.System) sightingForm {
	f := sightingForm{At: latLon(position.LonLat{Lon: see.Lon, Lat: see.Lat}), In: u.String(), LengthUnit: u.LengthUnit().Symbol(), Revision: see.Revision,
		Kind: see.Kind, Date: see.Date.String(), By: see.By, Note: see.Note, Faults: map[string]string{}}
	if see.Kind != "" {
		f.KindWords = sightingWords(see, u)
	}
	for _, c := range sightingChoices {
		if c.Now = c.Kind == see.Kind; c.Now {
			c.Depth = asTyped(see.Depth, u)
		}
		f.Choices = append(f.Choices, c)
	}
	f.sure(float64(see.Accuracy.Value), u)
	f.More = see.ID > 0
	return f
}

// sure lists how sure one may be of the place, with the present answer chosen.
func (f *sightingForm) sure(now float64, u say.System) {
	found := false
	for _, c := range sureness {
		on := c.metres == now
		found = found || on
		label := c.words
		if c.metres > 0 {
			label += ", within " + u.Distance(c.metres)
		}
		f.Sureness = append(f.Sureness, choice{trimFloat(c.metres, 3), label, on})
	}
	if !found {
		f.Sureness = append(f.Sureness, choice{trimFloat(now, 3), "as it was: within " + u.Distance(now), true})
	}
}

// asTyped is a depth as somebody wrote it, with its unit, else in the reader's.
func asTyped(a records.Amount[records.Depth], u say.System) string {
	if !a.Known() {
		return ""
	}
	if t := strings.TrimSpace(a.Given.Text); t != "" && a.Given.High == "" {
		if s := a.Given.Unit.Symbol(); s != "" && !namesUnit(t) {
			t += " " + s
		}
		return t
	}
	return u.Depth(a)
}

// readSighting reads the form that was sent into a sighting; what is wrong is
// kept beside its field.
func readSighting(q url.Values, see *records.Sighting, u say.System) sightingForm {
	if in, ok := say.Parse(q.Get("in")); ok {
		u = in
	}
	faults := map[string]string{}
	if at, err := position.Parse(q.Get("at")); err != nil {
		faults["at"] = err.Error()
	} else if latLon(at.At) != latLon(position.LonLat{Lon: see.Lon, Lat: see.Lat}) || !see.Located {
		see.Located, see.Lon, see.Lat, see.Given = true, at.At.Lon, at.At.Lat, strings.TrimSpace(q.Get("at"))
	}
	kind := q.Get("kind")
	if kind == "" {
		kind = onlyDepth(q)
	}
	if kind == "" {
		faults["kind"] = "say which of the four it was"
	}
	depthText := strings.TrimSpace(q.Get("depth_" + kind))
	if kind != "" && (kind != see.Kind || depthText != asTyped(see.Depth, u)) {
		if kind != see.Kind { // what the other kind said by itself no longer holds
			see.Bedrock, see.Yield = records.Amount[records.Depth]{}, records.Amount[records.Flow]{}
		}
		a, err := records.ParseAmount(depthText, records.DimLength, u.LengthUnit())
		if err != nil {
			faults["depth_"+kind] = err.Error()
		}
		see.Depth = records.Amount[records.Depth]{Qualifier: a.Qualifier, Value: records.Depth(a.Value), High: records.Depth(a.High), Given: a.Given}
	}
	see.Kind = kind
	date, err := records.ParseDate(strings.TrimSpace(q.Get("date")))
	if t := strings.TrimSpace(q.Get("date")); t == "" {
		see.Date = records.Date{}
	} else if err != nil {
		faults["date"] = err.Error()
	} else {
		see.Date = date
	}
	if t := q.Get("sure"); t != trimFloat(float64(see.Accuracy.Value), 3) {
		m, err := strconv.ParseFloat(t, 64)
		switch {
		case err != nil || !(m >= 0 && m <= 1e5):
			faults["sure"] = "choose one of the list"
		case m == 0:
			see.Accuracy = records.Amount[records.Length]{}
		default:
			see.Accuracy = records.Of(records.Length(m))
		}
	}
	see.By, see.Note = strings.TrimSpace(q.Get("by")), strings.TrimSpace(q.Get("note"))
	f := formOf(see, u)
	f.Faults, f.At, f.Date, f.Why = faults, q.Get("at"), q.Get("date"), strings.TrimSpace(q.Get("why"))
	for i := range f.Choices {
		c := &f.Choices[i]
		c.Depth, c.Fault = q.Get("depth_"+c.Kind), faults["depth_"+c.Kind]
	}
	return f
}

// onlyDepth is the kind whose depth alone was filled in: what somebody means
// who pressed Enter in a field and no button.
func onlyDepth(q url.Values) string {
	kind := ""
	for _, c := range sightingChoices {
		if strings.TrimSpace(q.Get("depth_"+c.Kind)) == "" {
			continue
		}
		if kind != "" {
			return ""
		}
		kind = c.Kind
	}
	return kind
}

// place puts the faults that the record was refused for beside the fields of
// the form; what has no field of its own is given back.
func (f *sightingForm) place(faults []records.Fault) (rest []string) {
	for _, x := range faults {
		t := x.Message
		if x.Mend != "" {
			t += ": " + x.Mend
		}
		field := map[string]string{"lon": "at", "lat": "at", "kind": "kind", "date": "date", "accuracy_m": "sure", "note": "note"}[x.Field]
		if x.Field == "depth_m" || x.Field == "depth_to_bedrock_m" {
			field = "depth_" + f.Kind
		}
		if x.Severity != records.Refusal || field == "" {
			rest = append(rest, t)
			continue
		}
		f.Faults[field] = t
		for i := range f.Choices {
			if c := &f.Choices[i]; "depth_"+c.Kind == field {
				c.Fault = t
			}
		}
	}
	f.More = f.More || f.Faults["date"] != "" || f.Faults["at"] != "" || f.Faults["sure"] != ""
	return rest
}
