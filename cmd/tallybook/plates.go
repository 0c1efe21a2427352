package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/server/say"
)

type platesCommand struct {
	dbFlag
	Do    string `arg:"" enum:"list,match,link,refuse,later,none,exchange,undo,bring" help:"list, match, link, refuse, later, none, exchange, undo or bring."`
	What  string `arg:"" optional:"" placeholder:"PLATE" help:"The plate, by number or public name; of undo the name that the decision, or the table that was brought in, was given; of bring a table (CSV)."`
	With  string `arg:"" optional:"" placeholder:"RECORD" help:"The record, by number or public name; of exchange the other plate."`
	Show  string `enum:"waiting,likely,unsure,none,doubtful,aside,decided,all" default:"waiting" help:"Which plates are listed: waiting, likely, unsure, none, doubtful, aside, decided or all."`
	Why   string `help:"Why it is decided so; kept with the decision."`
	Units string `enum:"us,si" default:"us" help:"Of a table to be brought in: units where neither column nor value names one."`
	Order string `enum:",ymd,mdy,dmy" default:"" help:"Of a table to be brought in: the order of dates such as 6/7/2004."`
	Try   bool   `name:"try" help:"Of a table to be brought in: read and count it, write nothing."`
	JSON  bool   `name:"json" help:"Answer as JSON."`
}

// Help teaches the command.
func (platesCommand) Help() string {
	return `Plates are the tags on wellheads. 'list' tells where each stands, 'match' which
records one may belong to and why, field by field. The others decide, as the
page does: each decision is kept with its reasons, prints its name, and is taken
back with 'undo' and that name. 'bring' takes in a table of plates; rows read
are new plates, plates seen again and rows refused, and it ends with 3 when rows
were refused.

Examples:
  tallybook plates --db county.db list --show likely --json
  tallybook plates --db county.db match '40?17'
  tallybook plates --db county.db link 40117 NF-0372 --why "number on the report"
  tallybook plates --db county.db exchange 40577 40578
  tallybook plates --db county.db bring plates.csv --try`
}

// Run does what is asked.
func (cmd *platesCommand) Run(c *console) error {
	d, err := c.openDesk(cmd.DB, opening{picture: cmd.Do != "bring" && cmd.Do != "undo"})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.run(c, d))
}

func (cmd *platesCommand) run(c *console, d *desk.Desk) error {
	switch cmd.Do {
	case "list":
		return cmd.list(c, d)
	case "match":
		return cmd.match(c, d)
	case "bring":
		return cmd.bring(c, d)
	case "undo":
		if cmd.What == "" {
			return records.Errorf(records.Invalid, "name the decision that is to be undone")
		}
		if strings.HasPrefix(cmd.What, "table-") {
			return cmd.tableBack(c, d)
		}
		return cmd.done(c, "undone")(d.UndoPlates(c.ctx, desk.LocalPerson(), cmd.What))
	}
	call, err := cmd.call(c, d, cmd.What)
	if err != nil {
		return err
	}
	switch cmd.Do {
	case "later":
		return cmd.done(c, "set aside")(d.SetPlate(c.ctx, desk.LocalPerson(), call, records.PlateLater))
	case "none":
		return cmd.done(c, "said to have no record")(d.SetPlate(c.ctx, desk.LocalPerson(), call, records.PlateNoRecord))
	case "exchange":
		other, err := cmd.call(c, d, cmd.With)
		if err != nil {
			return err
		}
		return cmd.done(c, "exchanged")(d.ExchangePlates(c.ctx, desk.LocalPerson(), call, other))
	}
	if call.WellID, err = cmd.well(c, d); err != nil {
		return err
	}
	if cmd.Do == "refuse" {
		return cmd.done(c, "refused; the two are not proposed again")(d.RefusePlate(c.ctx, desk.LocalPerson(), call))
	}
	return cmd.done(c, "linked")(d.LinkPlates(c.ctx, desk.LocalPerson(), []desk.PlateCall{call}))
}

// done tells what was decided and its name.
func (cmd *platesCommand) done(c *console, words string) func(*desk.PlateDone, error) error {
	return func(done *desk.PlateDone, err error) error {
		if err != nil {
			return err
		}
		if cmd.JSON {
			return writeJSON(c, map[string]any{"done": words, "decision": done.Act, "plates": done.Plates})
		}
		p := &printer{w: c.out}
		p.f("%s: %s, decision %s\n", words, counted(int64(len(done.Plates)), "plate"), done.Act)
		return p.err
	}
}

// writeJSON writes an answer as JSON.
func writeJSON(c *console, v any) error {
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// one finds the one plate or well that a number or public name stands for.
func (cmd *platesCommand) one(c *console, d *desk.Desk, text, thing string) (records.Match, error) {
	if strings.TrimSpace(text) == "" {
		return records.Match{}, records.Errorf(records.Invalid, "name the %s, by its number or public name", thing)
	}
	find := d.PlateIDByUID
	if thing == "record" {
		find = d.WellIDByUID
	}
	if id, err := find(c.ctx, desk.LocalPerson(), strings.ToLower(text)); err == nil {
		return records.Match{WellID: id, PlateID: id}, nil
	} else if records.CodeOf(err) != records.NotFound {
		return records.Match{}, err
	}
	found, err := d.NumbersLike(c.ctx, desk.LocalPerson(), text, 50)
	if err != nil {
		return records.Match{}, err
	}
	var all []records.Match
	var names []string
	for _, m := range found {
		if (m.Kind == "plate") == (thing == "plate") {
			all, names = append(all, m), append(names, m.Text)
		}
	}
	switch len(all) {
	case 0:
		return records.Match{}, records.Errorf(records.NotFound, "there is no %s with the number %q", thing, text)
	case 1:
		return all[0], nil
	}
	return records.Match{}, records.Errorf(records.Conflict, "%q may be any of %s: give the rest of it, or the public name", text, strings.Join(names, ", "))
}

// call begins a decision about a plate.
func (cmd *platesCommand) call(c *console, d *desk.Desk, text string) (desk.PlateCall, error) {
	m, err := cmd.one(c, d, text, "plate")
	if err != nil {
		return desk.PlateCall{}, err
	}
	sheet, err := d.PlateSheet(c.ctx, desk.LocalPerson(), m.PlateID)
	if err != nil {
		return desk.PlateCall{}, err
	}
	return desk.PlateCall{PlateID: m.PlateID, Revision: sheet.State.Decision.Revision, Why: cmd.Why}, nil
}

func (cmd *platesCommand) well(c *console, d *desk.Desk) (int64, error) {
	m, err := cmd.one(c, d, cmd.With, "record")
	return m.WellID, err
}

// plateLine is a plate in the list, as JSON.
type plateLine struct {
	Plate       int64   `json:"plate"`
	Number      string  `json:"number,omitempty"`
	Sort        string  `json:"sort"`
	State       string  `json:"state"`
	Linked      int64   `json:"linked,omitempty"`
	Best        int64   `json:"likeliest,omitempty"`
	Probability float64 `json:"probability,omitempty"`
	Next        float64 `json:"next_probability,omitempty"`
}

// list tells where the plates stand.
func (cmd *platesCommand) list(c *console, d *desk.Desk) error {
	b, err := cmd.board(c, d)
	if err != nil {
		return err
	}
	var lines []plateLine
	for i := range b.Entries {
		e := &b.Entries[i]
		if cmd.Show == "all" || cmd.Show == "waiting" && e.Kind.Waits() || cmd.Show == e.Kind.String() {
			lines = append(lines, plateLine{e.ID, e.Number, e.Kind.String(), e.State, e.WellID, e.Best, e.Probability, e.Next})
		}
	}
	if cmd.JSON {
		return writeJSON(c, map[string]any{"plates": lines, "in_all": len(b.Entries), "waiting": b.Waiting(), "threshold": b.Threshold})
	}
	p := &printer{w: c.out}
	for _, l := range lines {
		p.f("%d  %s  %s", l.Plate, l.Number, l.Sort)
		if l.Linked != 0 {
			p.f("  linked to record %d", l.Linked)
		}
		if l.Best != 0 {
			p.f("  record %d, %.1f %%", l.Best, 100*l.Probability)
		}
		p.f("\n")
	}
	p.f("%d of %s to decide\n", b.Waiting(), counted(int64(len(b.Entries)), "plate"))
	return p.err
}

// board waits for the matching, which on a large database is done in the
// background, and gives where the plates stand.
func (cmd *platesCommand) board(c *console, d *desk.Desk) (*desk.PlateBoard, error) {
	if err := d.AwaitPlates(c.ctx, desk.LocalPerson()); err != nil {
		return nil, err
	}
	return d.PlateBoard(c.ctx, desk.LocalPerson())
}

// match tells which records a plate may belong to, and why.
func (cmd *platesCommand) match(c *console, d *desk.Desk) error {
	m, err := cmd.one(c, d, cmd.What, "plate")
	if err != nil {
		return err
	}
	if err := d.AwaitPlates(c.ctx, desk.LocalPerson()); err != nil {
		return err
	}
	s, err := d.PlateSheet(c.ctx, desk.LocalPerson(), m.PlateID)
	if err != nil {
		return err
	}
	if cmd.JSON {
		return writeJSON(c, map[string]any{"plate": m.PlateID, "number": s.Plate.Number, "state": s.State.State(), "linked": s.Plate.WellID, "records": s.Candidates, "no_record": s.None, "threshold": s.Threshold})
	}
	u, _ := say.Parse(cmd.Units)
	p := &printer{w: c.out}
	p.f("plate %s: %s\n", s.Plate.Number, s.State.State())
	for i := range s.Candidates {
		x := &s.Candidates[i]
		p.f("\nrecord %s, %.1f %%  %s\n", x.Number, 100*x.Probability, u.Depth(x.Well.TotalDepth))
		for _, f := range x.Fields {
			if f.Agreement != "missing" {
				p.f("  %s\n", f.Words)
			}
		}
	}
	p.f("\nthat its record is not in the file: %.1f %%\n", 100*s.None)
	return p.err
}

// tableBack takes back what a table brought.
func (cmd *platesCommand) tableBack(c *console, d *desk.Desk) error {
	n, err := d.UndoBrought(c.ctx, desk.LocalPerson(), cmd.What)
	if err != nil {
		return err
	}
	p := &printer{w: c.out}
	p.f("taken back: %s\n", counted(int64(n), "plate"))
	return p.err
}

// bring takes in a table of plates.
func (cmd *platesCommand) bring(c *console, d *desk.Desk) (err error) {
	f, err := os.Open(cmd.What)
	if err != nil {
		return records.WrapError(records.Invalid, err, "the table %q cannot be read", cmd.What)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	u, _ := say.Parse(cmd.Units)
	b, err := d.BringPlates(c.ctx, desk.LocalPerson(), f, importer.PlateOptions{Lengths: u.LengthUnit(), Diameters: u.DiameterUnit(), Flows: u.FlowUnit(), Order: cmd.Order}, cmd.Try)
	if err != nil {
		return err
	}
	for i := range b.Refused {
		for _, x := range b.Refused[i].Faults {
			if _, err := fmt.Fprintf(c.err, "row %d: %s\n", b.Refused[i].Number, x); err != nil {
				return err
			}
		}
	}
	if cmd.JSON {
		err = writeJSON(c, map[string]any{"read": b.Read, "new": b.New, "seen_again": b.SeenAgain, "refused": len(b.Refused), "written": !cmd.Try, "table": b.Table})
	} else {
		p := &printer{w: c.out}
		verb := "taken in"
		if cmd.Try {
			verb = "would be taken in"
		}
		p.f("%s read: %d new and %d seen again %s, %d refused\n", counted(b.Read, "row"), b.New, b.SeenAgain, verb, len(b.Refused))
		if b.Table != "" {
			p.f("all of it is taken back with: plates undo %s\n", b.Table)
		}
		err = p.err
	}
	if err == nil && len(b.Refused) > 0 {
		err = errPartial
	}
	return err
}
