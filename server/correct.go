package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
)

// correctSuch is a filter that can be given.
const correctSuch = "completed < DATE('1990-01-01') AND total_depth_ft BETWEEN 200 AND 300"

// correctPage is where one change is made alike to many records.
type correctPage struct {
	Base
	Kinds  []correctKind
	Kind   string
	Ask    correctAsk
	Fields []choice
	Lists  correctLists
	Fault  string
	// FilterFault is what is wrong with the filter, FilterSuch one that can be given.
	FilterFault, FilterSuch string
	Look                    *correctLook
	Done                    []correctDone
}

// correctKind is a kind of rule, as a tab.
type correctKind struct {
	Label, Href string
	On          bool
}

// correctAsk is the form as it was filled in.
type correctAsk struct {
	Driller, Intake, FromYear, ToYear, Words, Has, Lacks, Within, Filter string
	Field, From, To                                                      string
}

// correctLists are what may be typed into a field, as the browser offers it.
type correctLists struct{ Units, Datums, Materials []string }

// correctLook is what the correction would do.
type correctLook struct {
	Sub     string
	Nothing string
	List    listing
	Kept    listing
	More    string
	MapHref string
	Keep    []param // the correction as hidden fields
	Label   string  // of the button that applies it
}

// correctDone is one that was applied.
type correctDone struct {
	What, When string
	Why        string
	State      string
	Undo       string
}

var correctKinds = [...]struct{ kind, label string }{
	{records.CorrectUnit, "a unit"}, {records.CorrectText, "a name or a word"}, {records.CorrectDatum, "a datum"}, {records.CorrectMaterial, "what words of the ground mean"},
	{records.CorrectMark, "logs not to be relied on"}, {records.CorrectUnmark, "marks to be taken off"},
}

// correctOf reads the form; ok is false where nothing is asked yet.
func correctOf(q url.Values) (c records.Correction, ask correctAsk, ok bool, err error) {
	get := func(name string) string { return strings.TrimSpace(q.Get(name)) }
	ask = correctAsk{Driller: get("driller"), Intake: get("intake"), FromYear: get("from_year"), ToYear: get("to_year"), Words: get("words"), Has: get("has"), Lacks: get("lacks"), Within: get("within"), Filter: get("filter"),
		Field: get("field"), From: get("from"), To: get("to")}
	if !q.Has("to") {
		return c, ask, false, nil
	}
	c.Choose = records.CorrectionChoice{Driller: ask.Driller, Words: ask.Words, Has: ask.Has, Lacks: ask.Lacks, Filter: ask.Filter}
	for _, n := range []struct {
		name, text, example string
		into                func(int64)
	}{
		{"the intake", ask.Intake, "3", func(v int64) { c.Choose.Batch = v }},
		{"the first year", ask.FromYear, "1987", func(v int64) { c.Choose.FromYear = int(v) }},
		{"the last year", ask.ToYear, "1991", func(v int64) { c.Choose.ToYear = int(v) }},
	} {
		if n.text == "" {
			continue
		}
		v, perr := strconv.ParseInt(n.text, 10, 32)
		if perr != nil || v < 1 {
			return c, ask, true, records.Errorf(records.Invalid, "%s: %q is no whole number; write one such as %s", n.name, clipText(n.text, 20), n.example)
		}
		n.into(v)
	}
	if c.Choose.Within, err = boxOf(ask.Within); err != nil {
		return c, ask, true, err
	}
	c.Rule = records.CorrectionRule{Kind: q.Get("kind"), Field: ask.Field, From: ask.From, To: ask.To}
	return c, ask, true, c.Check()
}

// correctHome answers /correct.
func (s *Server) correctHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	p := correctPage{Base: s.base(r, "Correct many"), Kind: q.Get("kind")}
	if p.Kind == "" {
		p.Kind = records.CorrectUnit
	}
	known := false
	for _, k := range correctKinds {
		known = known || k.kind == p.Kind
		p.Kinds = append(p.Kinds, correctKind{Label: k.label, Href: "/correct?kind=" + k.kind, On: k.kind == p.Kind})
	}
	if !known {
		return records.Errorf(records.Invalid, "kind=%s is no kind of correction", clipText(p.Kind, 20))
	}
	c, ask, asked, err := correctOf(q)
	p.Ask = ask
	if ask.Field == "" && p.Kind == records.CorrectUnit {
		ask.Field = "total_depth" // what is most often in a wrong unit
	}
	for _, f := range records.CorrectionFields(p.Kind) {
		p.Fields = append(p.Fields, choice{Value: f, Label: correctFieldWords(p.Kind, f), On: f == ask.Field})
	}
	if p.Kind == records.CorrectUnit {
		seen := map[string]bool{}
		for _, f := range records.CorrectionFields(records.CorrectUnit) {
			for _, u := range records.CorrectionUnits(f) {
				if !seen[u] {
					seen[u] = true
					p.Lists.Units = append(p.Lists.Units, u)
				}
			}
		}
	}
	p.Lists.Datums = []string{"WGS 84", "NAD83", "NAD27"}
	for _, m := range s.desk.Vocabulary().All() {
		p.Lists.Materials = append(p.Lists.Materials, m.Code)
	}
	p.FilterSuch = correctSuch
	if ferr := desk.CheckFilter(ask.Filter); ferr != nil {
		p.FilterFault = capital(records.MessageOf(ferr)) + "."
	}
	status := http.StatusOK
	switch {
	case records.CodeOf(err) == records.Invalid:
		p.Fault, status = records.MessageOf(err), http.StatusUnprocessableEntity
	case err != nil:
		return err
	case p.FilterFault != "":
		status = http.StatusUnprocessableEntity
	case asked:
		if p.Look, err = s.correctLook(r, c); records.CodeOf(err) == records.TooLarge {
			p.Fault, status, err = records.MessageOf(err), http.StatusUnprocessableEntity, nil
		}
		if err != nil {
			return err
		}
	}
	if p.Done, err = s.correctionsDone(r); err != nil {
		return err
	}
	return s.showAs(w, "correct", p, status)
}

func (s *Server) correctLook(r *http.Request, c records.Correction) (*correctLook, error) {
	look, err := s.desk.RehearseCorrection(r.Context(), s.actor(r), c, nil)
	if err != nil {
		return nil, err
	}
	v := &correctLook{}
	v.Sub = count(int(look.Chosen), "record is meant", "records are meant") + " of " + lookedWords(&c, look) + "; " + count(int(look.Changed), "would change", "would change")
	if look.Warned > 0 {
		v.Sub += ", " + grouped(int(look.Warned)) + " of them with something to look at then"
	}
	if look.Refused > 0 {
		v.Sub += "; " + count(int(look.Refused), "is left as it is", "are left as they are")
	}
	v.List = listing{Heads: heads("record", "what changes", "was", "is to be", "to look at")}
	for _, rec := range look.Records {
		for i, ch := range rec.Changes {
			row := []cell{{}, {Text: fieldWords(ch.Field)}, {Text: ch.Was}, {Text: ch.Is}, {}}
			if i == 0 {
				row[0] = cell{Text: orElse(rec.Number, fmt.Sprintf("no. %d", rec.WellID)), Href: wellHref(rec.WellID)}
				row[4] = cell{Text: faultsWords(rec.Faults), Class: "signal"}
			}
			v.List.add("", row...)
		}
	}
	v.List = v.List.tidy()
	v.Kept = listing{Caption: "Left as they are", Heads: heads("record", "why")}
	for _, rec := range look.Kept {
		v.Kept.add("", cell{Text: orElse(rec.Number, fmt.Sprintf("no. %d", rec.WellID)), Href: wellHref(rec.WellID)}, cell{Text: faultsWords(rec.Faults)})
	}
	if n := int(look.Changed) - len(look.Records); n > 0 {
		v.More = "and " + grouped(n) + " more, alike"
	}
	if look.Changed == 0 {
		v.Nothing = "Nothing would change."
		return v, nil
	}
	if look.Located {
		v.MapHref = "/?at=" + queryEscape(fmt.Sprintf("%.5f, %.5f", (look.Bounds.South+look.Bounds.North)/2, (look.Bounds.West+look.Bounds.East)/2))
	}
	rule, err := json.Marshal(c)
	if err != nil {
		return nil, err
	}
	v.Keep = []param{{"correction", string(rule)}, {"seen", strconv.FormatInt(look.Commit, 10)}}
	v.Label = "Change " + count(int(look.Changed), "record", "records")
	return v, nil
}

// lookedWords says among which records those that are meant were looked for.
func lookedWords(c *records.Correction, look *desk.CorrectionLook) string {
	n := grouped(int(look.Looked))
	switch {
	case c.Choose.Filter == "":
		return n
	case c.Choose.Within != nil:
		return "the " + n + " in the box that the filter chooses"
	}
	return "the " + n + " that the filter chooses"
}

func faultsWords(faults []records.Fault) string {
	var out []string
	for _, f := range faults {
		out = append(out, f.Message)
	}
	return strings.Join(out, "; ")
}

// correctSave answers the form that applies a correction.
func (s *Server) correctSave(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	c, err := records.ParseCorrection([]byte(r.PostForm.Get("correction")))
	if err != nil {
		return err
	}
	seen, err := strconv.ParseInt(r.PostForm.Get("seen"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "the form does not say what was looked at; look again")
	}
	done, err := s.desk.ApplyCorrection(r.Context(), s.actor(r), c, strings.TrimSpace(r.PostForm.Get("why")), seen)
	if err != nil {
		return err
	}
	return s.done(w, r, "/correct?kind="+c.Rule.Kind, said{Text: count(int(done.Records), "record is", "records are") + " corrected.", Undo: fmt.Sprintf("/correction/%d/undo", done.ID)})
}

// correctUndo answers /correction/{id}/undo.
func (s *Server) correctUndo(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	done, err := s.desk.UndoCorrection(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	text := "Undone: " + count(int(done.Records-done.Left), "record is as it was", "records are as they were") + "."
	if done.Left > 0 {
		text += " " + count(int(done.Left), "record was", "records were") + " left, since somebody has worked on them."
	}
	return s.done(w, r, "/correct?kind="+done.Correction.Rule.Kind, said{Text: text})
}

// correctionsDone lists what was corrected.
func (s *Server) correctionsDone(r *http.Request) ([]correctDone, error) {
	list, err := s.desk.Corrections(r.Context(), s.actor(r))
	if err != nil {
		return nil, err
	}
	var out []correctDone
	for i := range list {
		c := &list[i]
		d := correctDone{What: correctionWords(&c.Correction), When: officeTime(c.At) + byWhom(c.By), Why: c.Why, State: count(int(c.Records), "record", "records")}
		if c.UndoneAt.IsZero() {
			d.Undo = fmt.Sprintf("/correction/%d/undo", c.ID)
		} else {
			d.State += ", undone " + officeTime(c.UndoneAt) + byWhom(c.UndoneBy)
			if c.Left > 0 {
				d.State += " but for " + grouped(int(c.Left))
			}
		}
		out = append(out, d)
	}
	return out, nil
}

// correctionWords says a correction in a sentence.
func correctionWords(c *records.Correction) string {
	r := &c.Rule
	var t string
	switch r.Kind {
	case records.CorrectUnit:
		t = fieldWords(r.Field) + ": taken as " + r.From + ", given in " + r.To
	case records.CorrectDatum:
		t = "coordinates: taken on " + orElse(r.From, "no datum") + ", given on " + r.To
	case records.CorrectMaterial:
		t = "“" + clipText(r.From, 60) + "” is " + orElse(r.To, "read by the program")
	case records.CorrectMark:
		t = capital(draw.DoubtPhrase(r.Field)) + ": not to be relied on, “" + clipText(r.To, 100) + "”"
	case records.CorrectUnmark:
		t = "Marks taken off: " + correctFieldWords(r.Kind, r.Field)
	default:
		t = fieldWords(r.Field) + ": “" + clipText(orElse(r.From, "nothing"), 60) + "” to “" + clipText(orElse(r.To, "nothing"), 60) + "”"
	}
	o := &c.Choose
	var of []string
	if o.Driller != "" {
		of = append(of, "by "+clipText(o.Driller, 60))
	}
	if o.Batch != 0 {
		of = append(of, fmt.Sprintf("of intake %d", o.Batch))
	}
	if o.FromYear != 0 || o.ToYear != 0 {
		of = append(of, "of the years "+orElse(yearText(o.FromYear), "…")+" to "+orElse(yearText(o.ToYear), "…"))
	}
	if o.Words != "" {
		of = append(of, "with “"+clipText(o.Words, 60)+"” in the log")
	}
	if o.Has != "" {
		of = append(of, "with "+fieldWords(o.Has))
	}
	if o.Lacks != "" {
		of = append(of, "without "+fieldWords(o.Lacks))
	}
	if b := o.Within; b != nil {
		of = append(of, fmt.Sprintf("between %g and %g east, %g and %g north", b[0], b[2], b[1], b[3]))
	}
	if o.Filter != "" {
		of = append(of, "filtered by "+clipText(o.Filter, 300))
	}
	if len(of) == 0 {
		return t
	}
	return t + "; " + strings.Join(of, ", ")
}

// boxOf reads a box of degrees; nil where nothing is typed.
func boxOf(text string) (*[4]float64, error) {
	if text == "" {
		return nil, nil
	}
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' })
	var b [4]float64
	ok := len(parts) == len(b)
	for i := 0; ok && i < len(b); i++ {
		v, err := strconv.ParseFloat(parts[i], 64)
		b[i], ok = v, err == nil
	}
	if !ok {
		return nil, records.Errorf(records.Invalid, "the box: %q is not four numbers; write west, south, east, north in degrees, such as -72.6, 44.1, -72.4, 44.3", clipText(text, 60))
	}
	return &b, nil
}

// correctFieldWords is what a rule of a kind changes, in words.
func correctFieldWords(kind, field string) string {
	switch {
	case kind == records.CorrectUnmark && field == "*":
		return "whatever is marked"
	case kind == records.CorrectMark || kind == records.CorrectUnmark:
		return draw.DoubtPhrase(field)
	}
	return fieldWords(field)
}

func yearText(y int) string {
	if y == 0 {
		return ""
	}
	return strconv.Itoa(y)
}
