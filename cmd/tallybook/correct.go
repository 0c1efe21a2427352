package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

type correctCommand struct {
	dbFlag
	Apply  bool   `help:"Change the records. Without it, what would change is told and nothing is written."`
	Why    string `help:"Kept with every record that is changed."`
	Undo   int64  `placeholder:"N" help:"Undo correction N as a whole, and do nothing else."`
	JSON   bool   `name:"json" help:"Answer as JSON."`
	Filter string `placeholder:"TEXT" help:"Only wells that a filter in CQL2 text chooses, by the fields of the web service's collection wells. Kept with the correction."`
	Rule   string `arg:"" optional:"" help:"The correction: JSON, a file of it, or - for standard input. Without it, the corrections that were made are listed."`
}

// Help teaches the command.
func (correctCommand) Help() string {
	return `Makes one change alike in many records, in one piece: all of them or none. What
was written is read anew and never multiplied; a figure that names its own unit,
the driller's words of the ground, and people are left alone. Every correction is
kept and undone as a whole, but for records that somebody worked on since.

A correction says which records it is for (choose; everything when left out) and
what is changed (rule):

  {"choose": {"driller": "invented", "from_year": 1984, "to_year": 1986,
              "intake": 3, "words": "blue clay", "has": "yield", "lacks": "strata",
              "within": [-38.8, 44.2, -38.7, 44.3],
              "of": "total_depth", "least": 10, "most": 300},
   "rule":   {"kind": "unit", "field": "total_depth", "from": "ft", "to": "m"}}

Kinds of rules: unit (a quantity taken in one unit was given in another), text (a
name or a word), datum (coordinates were given on another), material (what the
driller's words for a stratum mean), mark_unreliable (field: all, strata, yield or
position; to: the reason; what is so marked is left out of surfaces, estimates and
scores) and unmark (field: the same, or * for whatever is marked). Limits are in
the quantity's base unit.

With --filter, or "filter" in choose, the database chooses the wells by what their
records say, as for export (see there), and reads no others: quicker in a large
one. What choose says holds besides.

Examples:
  tallybook correct --db county.db rule.json
  tallybook correct --db county.db --apply --why "the book was in metres" rule.json
  tallybook correct --db county.db --filter "total_depth_ft BETWEEN 200 AND 300" rule.json
  tallybook correct --db county.db --undo 4`
}

// Run looks what a correction would do, makes it, undoes one or lists them.
func (cmd *correctCommand) Run(c *console) error {
	var rule records.Correction
	if cmd.Rule != "" {
		text, err := cmd.text()
		if err != nil {
			return err
		}
		if rule, err = records.ParseCorrection(text); err != nil {
			return err
		}
	}
	if err := cmd.choose(&rule); err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.run(c, d, rule))
}

// choose takes the filter into the rule.
func (cmd *correctCommand) choose(rule *records.Correction) error {
	filter := strings.TrimSpace(cmd.Filter)
	switch {
	case filter == "":
		return nil
	case cmd.Rule == "" || cmd.Undo != 0:
		return records.Errorf(records.Invalid, "--filter chooses the records of a correction: give the correction too, as JSON or a file of it")
	case rule.Choose.Filter != "":
		return records.Errorf(records.Invalid, "the correction has a filter already: give one, or join the two with AND")
	}
	rule.Choose.Filter = filter
	return nil
}

// longestRule is how much of a file is read.
const longestRule = 1 << 20

func (cmd *correctCommand) text() ([]byte, error) {
	switch {
	case cmd.Rule == "-":
		return io.ReadAll(io.LimitReader(os.Stdin, longestRule))
	case len(cmd.Rule) > 0 && cmd.Rule[0] == '{':
		return []byte(cmd.Rule), nil
	}
	text, err := os.ReadFile(cmd.Rule)
	if err != nil {
		return nil, records.WrapError(records.NotFound, err, "%s cannot be read: give the correction as JSON, or a file of it", cmd.Rule)
	}
	return text, nil
}

func (cmd *correctCommand) run(c *console, d *desk.Desk, rule records.Correction) error {
	me := desk.LocalPerson()
	p := &printer{w: c.out}
	switch {
	case cmd.Undo != 0:
		done, err := d.UndoCorrection(c.ctx, me, cmd.Undo)
		if err != nil {
			return err
		}
		p.f("correction %d undone: %s as before, %d left because somebody has worked on them\n", done.ID, counted(done.Records-done.Left, "record"), done.Left)
		return p.err
	case cmd.Rule == "":
		return cmd.list(c, d, p)
	}
	bar := c.progress("looking")
	look, err := d.RehearseCorrection(c.ctx, me, rule, func(n int64) { bar.at(n, 0, fmt.Sprintf("%d records", n)) })
	bar.end()
	if err != nil {
		return err
	}
	if cmd.JSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		if err := e.Encode(lookJSON(look)); err != nil {
			return err
		}
	} else {
		for _, r := range look.Records[:min(len(look.Records), mostTold)] {
			for _, ch := range r.Changes {
				p.f("%s %s: %s, to be %s\n", r.Number, ch.Field, orNothing(ch.Was), orNothing(ch.Is))
			}
			for _, f := range r.Faults {
				p.f("  then: %s\n", f)
			}
		}
		for _, r := range look.Kept[:min(len(look.Kept), mostTold)] {
			for _, f := range r.Faults {
				p.f("%s is left: %s\n", r.Number, f)
			}
		}
		p.f("%d looked at, %d meant, %d would change, %d left as they are\n", look.Looked, look.Chosen, look.Changed, look.Refused)
	}
	if !cmd.Apply || look.Changed == 0 {
		return p.err
	}
	done, err := d.ApplyCorrection(c.ctx, me, rule, cmd.Why, look.Commit)
	if err != nil {
		return err
	}
	if !cmd.JSON {
		p.f("correction %d: %s changed; --undo %d takes it back\n", done.ID, counted(done.Records, "record"), done.ID)
	}
	return p.err
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

// correctionJSON is what a correction would do.
type correctionJSON struct {
	Looked  int64                  `json:"looked_at"`
	Chosen  int64                  `json:"meant"`
	Changed int64                  `json:"would_change"`
	Warned  int64                  `json:"with_warnings"`
	Refused int64                  `json:"left"`
	Records []correctionRecordJSON `json:"first_records"`
}

type correctionRecordJSON struct {
	Well    int64             `json:"well"`
	Number  string            `json:"number"`
	Changes []correctionField `json:"changes"`
	Faults  []string          `json:"faults"`
}

type correctionField struct {
	Field string `json:"field"`
	Was   string `json:"was"`
	Is    string `json:"is"`
}

func lookJSON(l *desk.CorrectionLook) correctionJSON {
	out := correctionJSON{Looked: l.Looked, Chosen: l.Chosen, Changed: l.Changed, Warned: l.Warned, Refused: l.Refused, Records: []correctionRecordJSON{}}
	for _, r := range append(l.Records[:len(l.Records):len(l.Records)], l.Kept...) {
		one := correctionRecordJSON{Well: r.WellID, Number: r.Number, Changes: []correctionField{}, Faults: []string{}}
		for _, ch := range r.Changes {
			one.Changes = append(one.Changes, correctionField{ch.Field, ch.Was, ch.Is})
		}
		for _, f := range r.Faults {
			one.Faults = append(one.Faults, f.String())
		}
		out.Records = append(out.Records, one)
	}
	return out
}

// plainJSON is JSON of one line for a person: < and > as they are.
func plainJSON(v any) (string, error) {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return strings.TrimSpace(b.String()), err
}

func (cmd *correctCommand) list(c *console, d *desk.Desk, p *printer) error {
	list, err := d.Corrections(c.ctx, desk.LocalPerson())
	if err != nil {
		return err
	}
	for _, one := range list {
		rule, err := plainJSON(one.Correction)
		if err != nil {
			return err
		}
		state := ""
		if !one.UndoneAt.IsZero() {
			state = fmt.Sprintf(", undone %s by %s", one.UndoneAt.Format("2006-01-02"), one.UndoneBy)
		}
		p.f("%d  %s by %s, %s%s%s  %s\n", one.ID, one.At.Format("2006-01-02"), one.By, counted(one.Records, "record"), state, noted(one.Why), rule)
	}
	if len(list) == 0 {
		p.f("no correction was made\n")
	}
	return p.err
}
