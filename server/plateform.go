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

// plateFormPage is the form in which a plate that was seen is entered, seen
// again, or changed.
type plateFormPage struct {
	Base
	Heading, Sub  string
	Action, Back  string
	Form          plateForm
	Refused       string
	Warnings      []string
	Known         []plateKnown // plates that have this number already
	Changing      bool
	Button        string
	Caution       bool
	OfPlate       bool // what is stamped is asked for
	MoreSightings bool
}

// plateKnown is a plate that has the number already.
type plateKnown struct {
	ID               int64
	Name, Href, Said string
}

// plateForm is what was typed, with what is wrong with it.
type plateForm struct {
	In       string // units
	Revision int64
	Number   plateInput
	Stamped  []plateInput
	Office   []plateInput // authority, series
	Seen     []plateSeenForm
	Why      string
}

// plateInput is one field.
type plateInput struct {
	Name, Label, Hint, Value, Fault string
	Mode                            string // the keyboard that a phone shows
}

// plateSeenForm is one sighting in the form.
type plateSeenForm struct {
	Prefix, Title      string
	At, Accuracy, Date plateInput
	Legible, By, Note  plateInput
	Out                bool // it is to be taken out
	New                bool
}

// stampedFields are the quantities that a plate bears.
var stampedFields = [...]struct{ name, label, hint string }{
	{"depth", "depth", ""}, {"casing", "casing", ""}, {"diameter", "diameter", ""}, {"yield", "yield", "5, <1, dry"}, {"static", "static level", ""}, {"pump", "pump at", ""},
}

// typedAmount is a quantity as somebody wrote it, with its unit, else as shown.
func typedAmount[T ~float64](a records.Amount[T], shown string) string {
	if t := strings.TrimSpace(a.Given.Text); a.Known() && t != "" && a.Given.High == "" {
		if s := a.Given.Unit.Symbol(); s != "" && !namesUnit(t) {
			t += " " + s
		}
		return t
	}
	return shown
}

// readAmount takes what was typed, unless it says what stood there before.
func readAmount[T ~float64](to *records.Amount[T], typed, shown string, d records.Dimension, u records.Unit) string {
	typed = strings.TrimSpace(typed)
	if typed == shown {
		return ""
	}
	a, err := records.ParseAmount(typed, d, u)
	if err != nil {
		return err.Error()
	}
	*to = records.Amount[T]{Qualifier: a.Qualifier, Value: T(a.Value), High: T(a.High), Given: a.Given}
	return ""
}

// stampedValue is what is typed for a quantity of the plate.
func stampedValue(s *records.Stamped, name string, u say.System) string {
	switch name {
	case "depth":
		return typedAmount(s.Depth, u.Depth(s.Depth))
	case "casing":
		return typedAmount(s.Casing, u.Depth(s.Casing))
	case "diameter":
		return typedAmount(s.Diameter, u.Diameter(s.Diameter))
	case "yield":
		return typedAmount(s.Yield, u.Yield(s.Yield))
	case "static":
		return typedAmount(s.Static, u.Level(s.Static))
	case "pump":
		return typedAmount(s.PumpDepth, u.Depth(s.PumpDepth))
	}
	return ""
}

// readStamped takes a quantity of the plate from what was typed.
func readStamped(s *records.Stamped, name, typed string, u say.System) string {
	was := stampedValue(s, name, u)
	switch name {
	case "depth":
		return readAmount(&s.Depth, typed, was, records.DimLength, u.LengthUnit())
	case "casing":
		return readAmount(&s.Casing, typed, was, records.DimLength, u.LengthUnit())
	case "diameter":
		return readAmount(&s.Diameter, typed, was, records.DimDiameter, u.DiameterUnit())
	case "yield":
		return readAmount(&s.Yield, typed, was, records.DimFlow, u.FlowUnit())
	case "static":
		return readAmount(&s.Static, typed, was, records.DimLength, u.LengthUnit())
	case "pump":
		return readAmount(&s.PumpDepth, typed, was, records.DimLength, u.LengthUnit())
	}
	return ""
}

// stampedUnit is said behind the label of a quantity.
func stampedUnit(name string, u say.System) string {
	switch name {
	case "diameter":
		return u.DiameterUnit().Symbol()
	case "yield":
		return u.FlowUnit().Symbol()
	}
	return u.LengthUnit().Symbol()
}

// plateFormOf is the form of a plate as it stands. from is the first sighting
// that is shown.
func plateFormOf(p *records.Plate, u say.System, from int) plateForm {
	f := plateForm{In: u.String(), Revision: p.Revision}
	f.Number = plateInput{Name: "number", Label: "Number on the plate", Hint: "type ? for each digit that cannot be read", Value: p.Number}
	f.Office = []plateInput{
		{Name: "authority", Label: "Whose plate", Hint: "the office or firm stamped on it", Value: p.Authority},
		{Name: "series", Label: "Series", Value: p.Series},
		{Name: "driller", Label: "Driller", Value: p.Stamped.Driller},
	}
	f.Stamped = []plateInput{{Name: "date", Label: "date", Hint: "as 2004-06-15 or 2004", Value: p.Stamped.Date.String()}}
	for _, x := range stampedFields {
		f.Stamped = append(f.Stamped, plateInput{Name: x.name, Label: x.label + ", " + stampedUnit(x.name, u), Hint: x.hint, Value: stampedValue(&p.Stamped, x.name, u)})
	}
	for i := from; i < len(p.Seen); i++ {
		f.Seen = append(f.Seen, seenFormOf(&p.Seen[i], i, u))
	}
	return f
}

func seenFormOf(s *records.PlateSighting, i int, u say.System) plateSeenForm {
	at := "s" + strconv.Itoa(i) + "_"
	f := plateSeenForm{Prefix: at, Title: "Sighting " + strconv.Itoa(i+1)}
	place := ""
	if s.Located {
		place = latLon(position.LonLat{Lon: s.Lon, Lat: s.Lat})
	}
	f.At = plateInput{Name: at + "at", Label: "Where it was seen", Hint: "latitude, longitude, or any other form", Value: place}
	f.Accuracy = plateInput{Name: at + "accuracy", Label: "Good to within, " + u.LengthUnit().Symbol(), Value: typedAmount(s.Accuracy, u.Length(s.Accuracy))}
	f.Date = plateInput{Name: at + "date", Label: "When", Hint: "as 2026-06-15", Value: s.Date.String()}
	f.Legible = plateInput{Name: at + "legible", Label: "What could be read, as it stands there", Value: s.Legible}
	f.By = plateInput{Name: at + "by", Label: "Who saw it", Hint: "kept private", Value: s.By}
	f.Note = plateInput{Name: at + "note", Label: "Note", Value: s.Note}
	return f
}

// readPlateForm reads the form that was sent into a plate. What is wrong stands
// beside its field; it says whether anything is.
func readPlateForm(q url.Values, p *records.Plate, u say.System, from int, ofPlate bool) (f plateForm, wrong bool) {
	faults := map[string]string{}
	note := func(name, fault string) {
		if fault != "" {
			faults[name] = fault
		}
	}
	date := func(name string, to *records.Date) {
		t := strings.TrimSpace(q.Get(name))
		if t == "" {
			*to = records.Date{}
			return
		}
		d, err := records.ParseDate(t)
		if err != nil {
			note(name, err.Error())
			return
		}
		*to = d
	}
	if ofPlate {
		p.Number, p.Authority, p.Series = strings.TrimSpace(q.Get("number")), strings.TrimSpace(q.Get("authority")), strings.TrimSpace(q.Get("series"))
		p.Stamped.Driller = strings.TrimSpace(q.Get("driller"))
		date("date", &p.Stamped.Date)
		for _, x := range stampedFields {
			note(x.name, readStamped(&p.Stamped, x.name, q.Get(x.name), u))
		}
	}
	for i := from; i < len(p.Seen); i++ {
		s, at := &p.Seen[i], "s"+strconv.Itoa(i)+"_"
		note(at+"at", readSeenPlace(s, q.Get(at+"at")))
		note(at+"accuracy", readAmount(&s.Accuracy, q.Get(at+"accuracy"), typedAmount(s.Accuracy, u.Length(s.Accuracy)), records.DimLength, u.LengthUnit()))
		date(at+"date", &s.Date)
		s.Legible, s.By, s.Note = strings.TrimSpace(q.Get(at+"legible")), strings.TrimSpace(q.Get(at+"by")), strings.TrimSpace(q.Get(at+"note"))
	}
	f = plateFormOf(p, u, from)
	f.Why = strings.TrimSpace(q.Get("why"))
	f.typed(q, faults)
	return f, len(faults) > 0
}

// readSeenPlace takes the place of a sighting, unless it is as it was.
func readSeenPlace(s *records.PlateSighting, typed string) string {
	typed = strings.TrimSpace(typed)
	switch {
	case typed == "":
		s.Located, s.Lon, s.Lat = false, 0, 0
		return ""
	case s.Located && typed == latLon(position.LonLat{Lon: s.Lon, Lat: s.Lat}):
		return ""
	}
	at, err := position.Parse(typed)
	if err != nil {
		return err.Error()
	}
	s.Located, s.Lon, s.Lat = true, at.At.Lon, at.At.Lat
	return ""
}

// typed puts what was typed back into the fields that are wrong.
func (f *plateForm) typed(q url.Values, faults map[string]string) {
	set := func(in *plateInput) {
		if fault, is := faults[in.Name]; is {
			in.Value, in.Fault = q.Get(in.Name), fault
		}
	}
	f.each(set)
	for i := range f.Seen {
		f.Seen[i].Out = q.Get(f.Seen[i].Prefix+"out") != ""
	}
}

// each hands out every field.
func (f *plateForm) each(fn func(*plateInput)) {
	fn(&f.Number)
	for i := range f.Office {
		fn(&f.Office[i])
	}
	for i := range f.Stamped {
		fn(&f.Stamped[i])
	}
	for i := range f.Seen {
		s := &f.Seen[i]
		for _, in := range []*plateInput{&s.At, &s.Accuracy, &s.Date, &s.Legible, &s.By, &s.Note} {
			fn(in)
		}
	}
}

// place puts the faults that the plate was refused for beside the fields; what
// has no field of its own is given back.
func (f *plateForm) place(faults []records.Fault) (rest []string) {
	for _, x := range faults {
		t := x.Message
		if x.Mend != "" {
			t += ": " + x.Mend
		}
		name, placed := plateFieldOf(x.Field), false
		f.each(func(in *plateInput) {
			if x.Severity == records.Refusal && in.Name == name {
				in.Fault, placed = t, true
			}
		})
		if !placed {
			rest = append(rest, t)
		}
	}
	return rest
}

// platePlain names what changed of a plate; "" for what is a decision.
func platePlain(path string) string {
	switch {
	case path == "evidence":
		return ""
	case strings.HasPrefix(path, "seen"):
		return "where it was seen"
	case strings.HasPrefix(path, "stamped."):
		return plateFieldWord(plateFieldOf(path))
	}
	return plainWord(path)
}

// plateFieldOf is the field of the form that a property stands in.
func plateFieldOf(path string) string {
	if rest, ok := strings.CutPrefix(path, "seen["); ok {
		i, what, _ := strings.Cut(rest, "]")
		what = strings.TrimPrefix(what, ".")
		switch what {
		case "lon", "lat", "position":
			what = "at"
		case "accuracy_m":
			what = "accuracy"
		}
		return "s" + i + "_" + what
	}
	path = strings.TrimPrefix(path, "stamped.")
	switch {
	case strings.HasPrefix(path, "total_depth"):
		return "depth"
	case strings.HasPrefix(path, "casing"):
		return "casing"
	case strings.HasPrefix(path, "static"):
		return "static"
	case strings.HasPrefix(path, "pump"):
		return "pump"
	}
	name, _, _ := strings.Cut(path, "_")
	return name
}

// plateFormShow writes the form.
func (s *Server) plateFormShow(w http.ResponseWriter, r *http.Request, p plateFormPage, status int) error {
	p.Base = s.base(r, p.Heading)
	if r.Method == http.MethodPost { // its address cannot be asked for again
		p.Here = p.Back
	}
	return s.showAs(w, "plateform", p, status)
}
