package main

import "tallybook/records/desk"

type checkCommand struct {
	dbFlag
}

// Help teaches the command.
func (checkCommand) Help() string {
	return `Reads every record, validates it, holds the spatial index and everything derived
against the records, the counts of each intake against what is there, and every
byte of what is attached against its hash, in the database and in the folder
beside it.
Ends with 0 when all is sound, with 2 when there are problems.

Example:
  tallybook check --db county.db`
}

// Run checks a database.
func (cmd *checkCommand) Run(c *console) error {
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	bar := c.progress("checking")
	r, err := d.Check(c.ctx, desk.LocalPerson(), func(done, total int64) { bar.at(done, total, "") })
	bar.end()
	if err != nil {
		return closeAfter(d, err)
	}
	p := &printer{w: c.out}
	for _, x := range r.Problems {
		if x.WellID != 0 {
			p.f("record %d (%s): ", x.WellID, x.Number)
		}
		p.f("%s\n", x.Fault)
	}
	if r.More > 0 {
		p.f("and %d more problems\n", r.More)
	}
	for _, n := range r.Notes {
		p.f("note: %s\n", n)
	}
	p.f("%s checked, %s, %s to look at\n", counted(r.Wells, "record"), counted(int64(len(r.Problems))+r.More, "problem"), counted(r.Warnings, "thing"))
	if p.err == nil && !r.Sound() {
		p.err = errFound
	}
	return closeAfter(d, p.err)
}
