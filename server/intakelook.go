package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// lookPage shows what a file is.
type lookPage struct {
	Base
	Head     sentHead
	Fault    string // why it cannot be read
	Mend     bool
	Facts    facts
	Notes    []string
	Sheets   []sheetView
	Table    bool
	Revision int64
	CopyOf   []copyChoice
	Next     string // the button's words
}

// sheetView is one table of the file, its first rows as they stand.
type sheetView struct {
	ID, Title, Lead string
	Notes           []string
	Columns         listing
	Heads           []string
	Rows            [][]string
}

// copyChoice is an intake that the file may be a later copy of.
type copyChoice struct {
	ID, Label, Said string
	On              bool
}

// intakeLook answers /intake/{token}: the file as it stands.
func (s *Server) intakeLook(w http.ResponseWriter, r *http.Request) error {
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	l, err := s.desk.LookAtSent(r.Context(), s.actor(r), f.Token)
	if err != nil && records.CodeOf(err) == records.Internal {
		return err
	}
	p := lookPage{Base: s.base(r, f.Name), Revision: f.Revision, Table: l != nil && l.Format != importer.GeoJSON, Next: "Go on to the columns"}
	p.Head = sentHeadOf(f, p.Table, "Look")
	if err != nil {
		p.Fault = records.MessageOf(err) + "."
		if !strings.HasPrefix(p.Fault, f.Name) { // a file's name stays as it is written
			p.Fault = capital(p.Fault)
		}
		return s.show(w, "intakelook", p)
	}
	if !p.Table {
		p.Next = "Go on to the rehearsal"
	}
	p.Facts.text("what it is", formatWords(l))
	p.Facts.text("how its rows stand", l.Layout)
	p.Facts.text("written as", l.Encoding)
	p.Facts.text("size", bytesWords(l.Bytes))
	p.Notes = l.Notes
	for i := range l.Sheets {
		p.Sheets = append(p.Sheets, sheetViewOf(&l.Sheets[i], i))
	}
	if err := s.copyChoices(r, f, &p); err != nil {
		return err
	}
	return s.show(w, "intakelook", p)
}

func formatWords(l *importer.Look) string {
	switch {
	case l.Format == importer.GeoJSON:
		return "GeoJSON"
	case l.Format == importer.CSV:
		return "a table of text (CSV)"
	}
	return "a workbook (" + strings.ToUpper(l.Format.String()) + ")"
}

// sheetViewOf shows a table.
func sheetViewOf(sh *importer.SheetLook, i int) sheetView {
	v := sheetView{ID: fmt.Sprintf("sheet-%d", i+1), Title: orElse(sh.Name, "The table"), Notes: sh.Notes}
	if sh.Header == 0 && sh.Name == "" {
		v.Title = "The features"
	}
	features := sh.Header == 0
	v.Lead = "Taken for: " + sh.Role.Label()
	if features {
		v.Lead = "Each feature is a well"
	} else if sh.Why != "" {
		v.Lead += ", " + sh.Why
	}
	rows := count(int(sh.Looked), "row", "rows")
	switch {
	case sh.Whole:
		v.Lead += ". It holds " + rows + "."
	case sh.Spread:
		v.Lead += fmt.Sprintf(". %s were looked at, from all over it.", capital(rows))
	default:
		v.Lead += fmt.Sprintf(". The first %s were looked at.", rows)
	}
	v.Columns = listing{Heads: heads("column", "such as", "#filled", "seems to be", "why")}
	for k := range sh.Columns {
		c := &sh.Columns[k]
		v.Heads = append(v.Heads, c.Name)
		filled := ""
		if sh.Looked > 0 {
			filled = fmt.Sprintf("%d %%", (100*c.Filled+sh.Looked/2)/sh.Looked)
		}
		v.Columns.add("", cell{Text: c.Name, Class: "strong"}, cell{Text: clipText(strings.Join(c.Samples, " · "), 90), Class: "quiet"}, cell{Text: filled},
			cell{Text: meaningWords(c, features), More: c.Kind}, cell{Text: c.Why, Class: "quiet"})
	}
	for _, row := range sh.Head {
		cells := make([]string, len(sh.Columns))
		for k := range cells {
			if k < len(row) {
				cells[k] = clipText(row[k], 60)
			}
		}
		v.Rows = append(v.Rows, cells)
	}
	return v
}

// meaningWords says what a column seems to mean.
func meaningWords(c *importer.ColumnLook, feature bool) string {
	if feature && knownProperty(c.Name) {
		return fieldWords(c.Name)
	}
	if c.Field == "" {
		return "not known: kept as it stands"
	}
	in := strings.TrimSpace(strings.Join([]string{c.Unit, c.Datum, c.Order}, " "))
	if in != "" {
		in = ", " + strings.Join(strings.Fields(in), " ")
	}
	return fieldSaid(c.Field) + in
}

// copyChoices offers the intakes that the file may be a later copy of.
func (s *Server) copyChoices(r *http.Request, f *desk.Sent, p *lookPage) error {
	before, err := s.desk.CameBefore(r.Context(), s.actor(r), f)
	if err != nil || len(before) == 0 {
		return err
	}
	p.CopyOf = []copyChoice{{ID: "0", Label: "New: its wells are not here yet", On: f.CopyOf == 0}}
	const most = 8
	for i := range before {
		b := &before[i]
		if i >= most && b.Batch.ID != f.CopyOf {
			continue
		}
		c := copyChoice{ID: strconv.FormatInt(b.Batch.ID, 10), Label: "A later copy of “" + b.Batch.Source + "”", On: b.Batch.ID == f.CopyOf,
			Said: fmt.Sprintf("intake %d, %s, %s", b.Batch.ID, dayOf(b.Batch.StartedAt), count(int(b.Batch.Accepted), "row accepted", "rows accepted"))}
		switch {
		case b.Same:
			c.Said += "; this very file came in then"
		case b.Named:
			c.Said += "; its name is alike"
		}
		p.CopyOf = append(p.CopyOf, c)
	}
	return nil
}

// intakeKind takes whether the file is new or a later copy.
func (s *Server) intakeKind(w http.ResponseWriter, r *http.Request) error {
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	of, err := strconv.ParseInt(orElse(r.PostForm.Get("copy_of"), "0"), 10, 64)
	if err != nil || of < 0 {
		return records.Errorf(records.Invalid, "%q is no intake", clipText(r.PostForm.Get("copy_of"), 20))
	}
	if of != f.CopyOf {
		m, err := mappingOf(f)
		if err != nil {
			return err
		}
		if _, err := s.desk.ChooseSent(r.Context(), s.actor(r), f.Token, f.Revision, m, f.Named, of); err != nil {
			return err
		}
	}
	to := sentPath(f.Token) + "/columns"
	if r.PostForm.Get("table") == "" {
		to = sentPath(f.Token) + "/report"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// mappingOf is the mapping that was chosen of a file, nil for none.
func mappingOf(f *desk.Sent) (*importer.Mapping, error) {
	if f.Mapping == "" {
		return nil, nil
	}
	return importer.ReadMapping([]byte(f.Mapping))
}
