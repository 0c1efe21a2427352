package main

import "tallybook/records/desk"

type intakesCommand struct {
	dbFlag
	Withdraw int64 `placeholder:"N" help:"Take intake N back as a whole; records that somebody worked on since stay."`
}

// Help teaches the command.
func (intakesCommand) Help() string {
	return `Lists the files that were taken in, with their counts. One that came in with the
wrong columns or units is taken back with --withdraw and imported again.

Examples:
  tallybook intakes --db county.db
  tallybook intakes --db county.db --withdraw 3`
}

// Run lists the intakes or takes one back.
func (cmd *intakesCommand) Run(c *console) error {
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	p := &printer{w: c.out}
	if cmd.Withdraw != 0 {
		back, err := d.Withdraw(c.ctx, desk.LocalPerson(), cmd.Withdraw)
		if err != nil {
			return closeAfter(d, err)
		}
		p.f("intake %d taken back: %d records taken out, %d left because somebody worked on them\n", cmd.Withdraw, back.Removed, back.Left)
		if back.Back > 0 {
			p.f("%d records that it had changed are as they were before\n", back.Back)
		}
		return closeAfter(d, p.err)
	}
	batches, err := d.Intakes(c.ctx, desk.LocalPerson())
	if err != nil {
		return closeAfter(d, err)
	}
	for _, b := range batches {
		p.f("%d  %s  %s  %s: %d read, %d accepted, %d of them with warnings, %d refused\n",
			b.ID, b.StartedAt.Format("2006-01-02 15:04"), b.State, b.Source, b.Read, b.Accepted, b.Warned, b.Refused)
		if b.CopyOf != 0 {
			p.f("    a later copy of intake %d: %d new, %d changed, %d with nothing new, %d where the office says otherwise, %d gone from it\n",
				b.CopyOf, b.Accepted-b.Changed-b.Same, b.Changed, b.Same, b.Clashes, b.Gone)
		}
	}
	if len(batches) == 0 {
		p.f("no file was taken in yet\n")
	}
	return closeAfter(d, p.err)
}
