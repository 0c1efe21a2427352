package main

import (
	"fmt"
	"slices"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// trustFlags say whose word counts in what is worked out.
type trustFlags struct {
	MarkedToo bool   `name:"marked-too" help:"Take in what is marked unreliable. Else it is left out, and how much is told."`
	Picks     string `placeholder:"SET" help:"Go by the own picks of bedrock of this set, where it has one."`
}

// trust reads them; a set that nobody has is refused, since it would change
// nothing unseen.
func (t *trustFlags) trust(d *desk.Desk) (records.Trust, error) {
	out := records.Trust{Marked: t.MarkedToo, Picks: t.Picks}
	names := d.Picture().PickSetNames()
	if t.Picks == "" || slices.Contains(names, t.Picks) {
		return out, nil
	}
	if len(names) == 0 {
		return out, records.Errorf(records.NotFound, "--picks %s: nobody has picked bedrock anywhere", t.Picks)
	}
	return out, records.Errorf(records.NotFound, "--picks %s: there is no such set of picks; there are: %s", t.Picks, strings.Join(names, ", "))
}

// leftOut tells on the side how many wells were left out, and on whose picks the
// answer stands.
func leftOut(c *console, p *snapshot.Picture, filter *snapshot.Filter, fields ...snapshot.Field) {
	if n := p.LeftOut(filter, fields...); n > 0 {
		fmt.Fprintf(c.err, "%s left out, marked unreliable (--marked-too takes them in)\n", counted(int64(n), "log"))
	}
	if filter.Picks != "" {
		fmt.Fprintf(c.err, "bedrock as picked in '%s' in %s\n", filter.Picks, counted(int64(p.PickSets()[filter.Picks]), "log"))
	}
}
