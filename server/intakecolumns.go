package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// columnsPage is the form that says what the columns of a file mean.
type columnsPage struct {
	Base
	Head     sentHead
	Refused  []string // what does not fit
	Notes    []string
	Revision int64
	Sheets   []sheetForm
	Fields   []string // what may be typed for a column
	In       []string // units, orders, datums
	Known    []knownMapping
	Using    string // the remembered mapping that stands in the form
	Name     string
	Habits   []proposalLine // what its rows together speak for
}

// proposalLine is a decision that the rows speak for, for a person to take.
type proposalLine struct{ Do, Why, Rows string }

func (p *columnsPage) propose(all []importer.Proposal) {
	for i := range all {
		p.Habits = append(p.Habits, proposalLine{Do: fmt.Sprintf("apply:%d", i), Why: capital(all[i].Why), Rows: count(int(all[i].Rows), "row", "rows")})
	}
}

// knownMapping is a remembered mapping that is offered.
type knownMapping struct {
	Name, Href, Said string
	Revision         int64
}

// sheetForm is the form of one table.
type sheetForm struct {
	Index               int
	Name, Title, Why    string
	Role, Key           []choice
	Header              string
	Columns             []columnForm
	Splits              []splitForm
	Joins               []joinForm
	Rules, RulesSaid    string // what was decided of its positions, as JSON and in words
	More                bool   // its splits and joins stand open
	ColumnNames, ListID string
}

// columnForm is a line of the form: a column and what it means.
type columnForm struct {
	ID, Prefix, Name string
	Samples, Why     string
	Holds, In        string
	Unknown          string
	Ditto, Made      bool
	Rules, RulesSaid string // what was decided of it beside, as JSON and in words
	Fault            string
}

type splitForm struct{ Prefix, Column, By, Pattern, Into string }

type joinForm struct{ Prefix, Columns, With, Into string }

// intakeColumns answers /intake/{token}/columns: the form, filled as it was
// chosen, by a remembered mapping that is asked for, or as guessed.
func (s *Server) intakeColumns(w http.ResponseWriter, r *http.Request) error {
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	l, known, err := s.lookAndKnown(r, f)
	if err != nil {
		return err
	}
	m, err := mappingOf(f)
	if err != nil {
		return err
	}
	using, notes := f.Named, []string(nil)
	if name := r.URL.Query().Get("mapping"); name != "" {
		k := namedMapping(known, name)
		if k == nil {
			return records.Errorf(records.NotFound, "no mapping is remembered under the name %q", clipText(name, 80))
		}
		using = k.Name
		m, notes = k.Mapping.Applied(l)
	}
	if m == nil {
		var before *records.Batch
		if m, before, err = s.desk.MappingBefore(r.Context(), s.actor(r), f, l); err != nil {
			return err
		}
		if m != nil {
			m, notes = m.Applied(l)
			notes = append(notes, fmt.Sprintf("The form is filled in as intake %d, “%s”, was read.", before.ID, before.Source))
		}
	}
	if m == nil {
		m = importer.Guess(l)
	}
	p := s.columnsPageOf(r, f, l, m, known)
	p.Using, p.Name = using, using
	// What does not fit is told when the form is sent.
	if t, err := s.desk.TrySent(r.Context(), s.actor(r), f.Token, m); err == nil {
		notes = append(notes, t.Notes...)
		p.propose(t.Proposals)
	}
	p.Notes = notes
	return s.show(w, "intakecolumns", p)
}

func (s *Server) lookAndKnown(r *http.Request, f *desk.Sent) (*importer.Look, []desk.NamedMapping, error) {
	l, err := s.desk.LookAtSent(r.Context(), s.actor(r), f.Token)
	if err != nil {
		return nil, nil, err
	}
	known, err := s.desk.Mappings(r.Context(), s.actor(r), l)
	return l, known, err
}

func namedMapping(known []desk.NamedMapping, name string) *desk.NamedMapping {
	for i := range known {
		if known[i].Name == name {
			return &known[i]
		}
	}
	return nil
}

// columnsPageOf fills the form.
func (s *Server) columnsPageOf(r *http.Request, f *desk.Sent, l *importer.Look, m *importer.Mapping, known []desk.NamedMapping) *columnsPage {
	p := &columnsPage{Base: s.base(r, f.Name), Head: sentHeadOf(f, true, "Columns"), Revision: f.Revision, Fields: fieldOptions(), In: inOptions()}
	for i := range known {
		k := &known[i]
		p.Known = append(p.Known, knownMapping{Name: k.Name, Href: sentPath(f.Token) + "/columns?mapping=" + url.QueryEscape(k.Name),
			Revision: k.Revision, Said: fmt.Sprintf("%d of its %d columns are here", k.There, k.All)})
	}
	for i := range l.Sheets {
		sh := &l.Sheets[i]
		sm := m.SheetFor(sh.Name, len(l.Sheets) == 1)
		if sm == nil {
			sm = &importer.SheetMapping{Sheet: sh.Name, Role: importer.Skip}
		}
		p.Sheets = append(p.Sheets, sheetFormOf(i, sh, sm))
	}
	return p
}

// spareParts is how many empty lines are offered for cuts and joins.
const spareParts = 2

func sheetFormOf(i int, sh *importer.SheetLook, sm *importer.SheetMapping) sheetForm {
	prefix := fmt.Sprintf("s%d.", i)
	v := sheetForm{Index: i, Name: sh.Name, Title: orElse(sh.Name, "The columns"), Why: sh.Why, More: len(sm.Splits)+len(sm.Joins) > 0, ListID: fmt.Sprintf("cols-%d", i)}
	for _, role := range importer.Roles() {
		v.Role = append(v.Role, choice{Value: string(role), Label: role.Label(), On: role == sm.Role})
	}
	v.Key = []choice{{Label: "none: a well a row"}}
	v.Rules, v.RulesSaid = sheetRules(sm)
	if sm.Header > 0 {
		v.Header = strconv.Itoa(sm.Header)
	}
	byName := map[string]*importer.ColumnMapping{}
	for k := range sm.Columns {
		byName[sm.Columns[k].Column] = &sm.Columns[k]
	}
	line := func(name string, c *importer.ColumnLook) {
		n := len(v.Columns)
		f := columnForm{ID: fmt.Sprintf("s%d-c%d", i, n), Prefix: fmt.Sprintf("%sc%d.", prefix, n), Name: name, Made: c == nil}
		if c != nil {
			f.Samples, f.Why = clipText(strings.Join(c.Samples, " · "), 70), c.Why
			v.Key = append(v.Key, choice{Value: name, Label: name, On: name == sm.Key})
		}
		f.fill(byName[name])
		v.Columns = append(v.Columns, f)
	}
	for k := range sh.Columns {
		line(sh.Columns[k].Name, &sh.Columns[k])
	}
	for _, x := range sm.Splits {
		for _, name := range x.Into {
			line(name, nil)
		}
	}
	for _, x := range sm.Joins {
		line(x.Into, nil)
	}
	for n := range len(sm.Splits) + spareParts {
		f := splitForm{Prefix: fmt.Sprintf("%sx%d.", prefix, n)}
		if n < len(sm.Splits) {
			x := &sm.Splits[n]
			f.Column, f.By, f.Pattern, f.Into = x.Column, x.By, x.Pattern, strings.Join(x.Into, ", ")
		}
		v.Splits = append(v.Splits, f)
	}
	for n := range len(sm.Joins) + spareParts {
		f := joinForm{Prefix: fmt.Sprintf("%sj%d.", prefix, n)}
		if n < len(sm.Joins) {
			x := &sm.Joins[n]
			f.Columns, f.With, f.Into = strings.Join(x.Columns, ", "), x.With, x.Into
		}
		v.Joins = append(v.Joins, f)
	}
	return v
}

// fill sets a line to what a mapping says of the column.
func (f *columnForm) fill(c *importer.ColumnMapping) {
	switch {
	case c == nil:
		return
	case c.LeaveOut:
		f.Holds = outColumn
	case c.Field != "":
		f.Holds = fieldSaid(c.Field)
	}
	f.In = strings.TrimSpace(strings.Join([]string{c.Unit, c.Order, c.Datum}, " "))
	f.In = strings.Join(strings.Fields(f.In), " ")
	f.Unknown, f.Ditto = strings.Join(c.Unknown, ", "), c.Ditto
	f.Rules, f.RulesSaid = columnRules(c)
}

// intakeMap takes the form. "show" fills it anew, "use" keeps it and goes on.
func (s *Server) intakeMap(w http.ResponseWriter, r *http.Request) error {
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	l, known, err := s.lookAndKnown(r, f)
	if err != nil {
		return err
	}
	sent := readColumns(r.PostForm, l)
	do, tried := r.PostForm.Get("do"), (*desk.Tried)(nil)
	var misfit error
	if len(sent.faults) == 0 {
		tried, misfit = s.desk.TrySent(r.Context(), s.actor(r), f.Token, sent.mapping)
		if n, ok := strings.CutPrefix(do, "apply:"); ok && tried != nil {
			applyProposal(sent.mapping, tried.Proposals, n)
			tried, misfit = s.desk.TrySent(r.Context(), s.actor(r), f.Token, sent.mapping)
		}
	}
	p := s.columnsPageOf(r, f, l, sent.mapping, known)
	p.mark(sent)
	p.Using, p.Name = r.PostForm.Get("using"), strings.TrimSpace(r.PostForm.Get("name"))
	if rev, err := strconv.ParseInt(r.PostForm.Get("revision"), 10, 64); err == nil {
		p.Revision = rev
	}
	switch {
	case len(sent.faults) > 0:
		p.Refused = append(p.Refused, "Some columns are said to hold what is not known here: see below.")
	case misfit != nil && records.CodeOf(misfit) == records.Internal:
		return misfit
	case misfit != nil:
		p.Refused = append(p.Refused, capital(records.MessageOf(misfit))+".")
	default:
		p.Notes = tried.Notes
		p.propose(tried.Proposals)
	}
	if do != "use" || len(p.Refused) > 0 {
		if len(p.Refused) > 0 {
			w.WriteHeader(http.StatusUnprocessableEntity)
		}
		return s.show(w, "intakecolumns", p)
	}
	if r.PostForm.Get("remember") != "" {
		if err := s.remember(r, p, sent.mapping, known); err != nil {
			if records.CodeOf(err) == records.Internal {
				return err
			}
			p.Refused = append(p.Refused, capital(records.MessageOf(err))+".")
			w.WriteHeader(http.StatusUnprocessableEntity)
			return s.show(w, "intakecolumns", p)
		}
	}
	named := p.Name
	if k := namedMapping(known, named); k == nil && r.PostForm.Get("remember") == "" {
		named = ""
	}
	if _, err := s.desk.ChooseSent(r.Context(), s.actor(r), f.Token, p.Revision, sent.mapping, named, f.CopyOf); err != nil {
		return err
	}
	// Mapped, it is rehearsed at once: that is what it was mapped for.
	if err := s.desk.RehearseSent(r.Context(), s.actor(r), f.Token); err != nil && records.CodeOf(err) != records.Busy {
		return err
	}
	http.Redirect(w, r, sentPath(f.Token)+"/report", http.StatusSeeOther)
	return nil
}

// intakeForget forgets a remembered mapping, or takes that back.
func (s *Server) intakeForget(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	name, back := r.Form.Get("name"), r.Form.Get("back")
	if !localPath(back) {
		back = "/intake"
	}
	if r.Form.Get("again") != "" {
		if err := s.desk.BringBackMapping(r.Context(), s.actor(r), name); err != nil {
			return err
		}
		return s.done(w, r, back, said{Text: "“" + clipText(name, 80) + "” is remembered again."})
	}
	revision, err := strconv.ParseInt(r.Form.Get("revision"), 10, 64)
	if err != nil || revision < 1 {
		return records.Errorf(records.Invalid, "the form does not say which mapping is forgotten; go back and look at it again")
	}
	if err := s.desk.SaveMapping(r.Context(), s.actor(r), name, nil, revision); err != nil {
		return err
	}
	return s.done(w, r, back, said{Text: "“" + clipText(name, 80) + "” is forgotten.", Undo: "/intake/mapping?" + url.Values{"name": {name}, "again": {"1"}, "back": {back}}.Encode()})
}

// applyProposal writes a decision that the rows speak for into the mapping, for
// the table that it is of.
func applyProposal(m *importer.Mapping, all []importer.Proposal, n string) {
	i, err := strconv.Atoi(n)
	if err != nil || i < 0 || i >= len(all) {
		return
	}
	all[i].ApplyTo(m)
}

// remember keeps the mapping under the name that was typed.
func (s *Server) remember(r *http.Request, p *columnsPage, m *importer.Mapping, known []desk.NamedMapping) error {
	revision := int64(0)
	if k := namedMapping(known, p.Name); k != nil {
		if p.Using != p.Name {
			return records.Errorf(records.Conflict, "a mapping is remembered under the name %q already: take another name, or use that one first and change it", p.Name)
		}
		revision = k.Revision
	}
	return s.desk.SaveMapping(r.Context(), s.actor(r), p.Name, m, revision)
}

// mark shows what is wrong with the lines of the form, as they were typed.
func (p *columnsPage) mark(sent *columnsSent) {
	for i := range p.Sheets {
		for k := range p.Sheets[i].Columns {
			c := &p.Sheets[i].Columns[k]
			if t, ok := sent.typed[sheetColumn{i, c.Name}]; ok {
				c.Holds, c.In = t.holds, t.in
			}
			c.Fault = sent.faults[sheetColumn{i, c.Name}]
		}
	}
}
