package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"tallybook/records"
	"tallybook/records/importer"
)

// report says how the file was read and counts its rows.
func (cmd *importCommand) report(c *console, b *records.Batch, src *importer.Source, told []string, u *unread) error {
	p := &printer{w: c.out}
	for _, n := range append(told, src.Notes()...) {
		p.f("note: %s\n", n)
	}
	for _, t := range src.Tables() {
		switch name := cmpName(t.Sheet); {
		case t.Role == importer.Wells:
			p.f("note: %s: %s of wells\n", name, counted(t.Rows, "row"))
		default:
			p.f("note: %s: %s of %s, %d of them with their wells, %d without a well\n", name, counted(t.Rows, "row"), t.Role.Label(), t.WithWell, t.Alone)
		}
	}
	if words := u.words(); words != "" {
		p.f("note: kept with the records and given back on export, but not understood: %s\n", words)
	}
	if b.CopyOf != 0 {
		p.f("a later copy of intake %d: %d new, %d changed, %d with nothing new; %d where the office says otherwise and its word stands; %d gone from the copy, which stay\n",
			b.CopyOf, b.Accepted-b.Changed-b.Same, b.Changed, b.Same, b.Clashes, b.Gone)
	}
	if cmd.Rehearse {
		p.f("rehearsed, and nothing written: %d read, %d would be accepted, %d of them with warnings, %d refused\n", b.Read, b.Accepted, b.Warned, b.Refused)
	} else {
		p.f("%d read, %d accepted, %d of them with warnings, %d refused\n", b.Read, b.Accepted, b.Warned, b.Refused)
	}
	if p.err == nil && b.Refused > 0 {
		return errPartial
	}
	return p.err
}

func cmpName(sheet string) string {
	if sheet == "" {
		return "the table"
	}
	return fmt.Sprintf("sheet %q", sheet)
}

// look says what the file holds, and writes the guessed mapping.
func (cmd *importCommand) look(c *console, o importer.Options) error {
	o.Columns, o.Units, o.Mapping = nil, nil, nil
	l, err := importer.LookAt(cmd.Source, o)
	if err != nil {
		return err
	}
	p := &printer{w: c.err}
	p.f("%s: %s", l.Name, l.Layout)
	if l.Encoding != "" {
		p.f(", in %s", l.Encoding)
	}
	p.f("\n")
	for _, n := range l.Notes {
		p.f("note: %s\n", n)
	}
	for i := range l.Sheets {
		lookSheet(p, &l.Sheets[i])
	}
	if p.err == nil {
		_, p.err = c.out.Write(importer.Guess(l).JSON())
	}
	return p.err
}

// lookSheet says what one table holds.
func lookSheet(p *printer, s *importer.SheetLook) {
	p.f("\n%s: %s (%s)", cmpName(s.Name), s.Role.Label(), s.Why)
	if s.Header > 1 {
		p.f("; the names of the columns stand in row %d", s.Header)
	}
	if s.Key != "" {
		p.f("; %q says which well a row belongs to", s.Key)
	}
	switch {
	case s.Whole:
		p.f("; %s, all looked at\n", counted(s.Looked, "row"))
	case s.Spread:
		p.f("; %s looked at, from all over the file\n", counted(s.Looked, "row"))
	default:
		p.f("; the first %s looked at\n", counted(s.Looked, "row"))
	}
	for _, n := range s.Notes {
		p.f("note: %s\n", n)
	}
	w := tabwriter.NewWriter(p.w, 0, 4, 2, ' ', 0)
	for i := range s.Columns {
		c := &s.Columns[i]
		means := strings.Join(strings.Fields(strings.Join([]string{c.Field, c.Unit, c.Datum, c.Order}, " ")), " ")
		switch {
		case means == "" && c.Name == s.Key && s.Role != importer.Wells:
			means = "joins the sheets"
		case means == "":
			means = "kept as it stands"
		}
		if _, err := fmt.Fprintf(w, "  %s\t%s\t%d of %d filled\t%s\t(%s)\n", oneLine(c.Name, 30), means, c.Filled, s.Looked, oneLine(strings.Join(c.Samples, " | "), 40), c.Why); err != nil && p.err == nil {
			p.err = err
		}
	}
	if err := w.Flush(); err != nil && p.err == nil {
		p.err = err
	}
}

// oneLine shortens a text for a line of a table.
func oneLine(s string, most int) string {
	r := []rune(strings.Join(strings.Fields(s), " "))
	if len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return string(r)
}
