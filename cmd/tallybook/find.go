package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

type findCommand struct {
	dbFlag
	From  int    `help:"Records completed in this year or later."`
	To    int    `help:"Records completed in this year or earlier."`
	Class string `enum:",soil,transition,rock,void,unknown" default:"" help:"Records whose strata hold this class of ground: soil, transition, rock, void or unknown."`
	Plate bool   `help:"Records with a plate alone."`
	Limit int    `default:"20" help:"How many records of those that hold the words are listed."`
	JSON  bool   `name:"json" help:"Answer as JSON."`
	Text  string `arg:"" help:"A number of a well, permit, plate or parcel, or words written in records."`
}

// Help teaches the command.
func (findCommand) Help() string {
	return `Looks for the text among the numbers of wells, permits, plates and parcels, the
names of the office's own layers, and the words written in records: logs,
remarks, drillers, owners. All words must be there; the last may be the beginning
of one; words between quotation marks must stand together. The latest written
come first. Ends with 4 where nothing is found.

Examples:
  tallybook find --db county.db NF-0012
  tallybook find --db county.db '"blue clay" boulders' --from 1990 --class rock`
}

// foundJSON is what is found, as JSON.
type foundJSON struct {
	Numbers []foundNumber `json:"numbers"`
	Words   []foundWords  `json:"words"`
	// Count is of all records that hold the words, counted up to 10,000.
	Count int64 `json:"records_with_words"`
}

type foundNumber struct {
	Kind  string   `json:"kind"`
	Text  string   `json:"text"`
	Well  int64    `json:"well,omitempty"`
	Plate int64    `json:"plate,omitempty"`
	Lon   *float64 `json:"lon"`
	Lat   *float64 `json:"lat"`
	Note  string   `json:"note,omitempty"`
}

type foundWords struct {
	Well    int64  `json:"well"`
	UID     string `json:"uid"`
	Number  string `json:"number"`
	Passage string `json:"passage"`
}

// Run looks for the text.
func (cmd *findCommand) Run(c *console) error {
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	out, err := cmd.find(c, d)
	if err := closeAfter(d, err); err != nil {
		return err
	}
	if len(out.Numbers) == 0 && len(out.Words) == 0 {
		err = records.Errorf(records.NotFound, "nothing is found for %q", cmd.Text)
	}
	if cmd.JSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		if werr := e.Encode(out); werr != nil {
			return werr
		}
		return err
	}
	p := &printer{w: c.out}
	for _, n := range out.Numbers {
		p.f("%s %s%s\n", strings.ReplaceAll(n.Kind, "_", " "), n.Text, noted(n.Note))
	}
	for _, w := range out.Words {
		p.f("%s: %s\n", w.Number, w.Passage)
	}
	if n := int64(len(out.Words)); out.Count > n {
		all := fmt.Sprint(out.Count)
		if out.Count >= records.MostCounted {
			all = "more than " + all
		}
		p.f("%d of %s records that hold it; --limit lists more\n", n, all)
	}
	if p.err != nil {
		return p.err
	}
	return err
}

func (cmd *findCommand) find(c *console, d *desk.Desk) (*foundJSON, error) {
	out := &foundJSON{Numbers: []foundNumber{}, Words: []foundWords{}}
	me := desk.LocalPerson()
	limit := max(cmd.Limit, 1)
	if cmd.From == 0 && cmd.To == 0 && cmd.Class == "" && !cmd.Plate {
		f, err := d.Find(c.ctx, me, cmd.Text, limit)
		if err != nil {
			return nil, err
		}
		for _, m := range f.Matches {
			n := foundNumber{Kind: m.Kind, Text: m.Text, Well: m.WellID, Plate: m.PlateID, Note: m.Note}
			if m.Known {
				n.Lon, n.Lat = &m.Lon, &m.Lat
			}
			out.Numbers = append(out.Numbers, n)
		}
	}
	if len(desk.SearchedWords(cmd.Text)) == 0 {
		return out, nil
	}
	bar := c.progress("reading words")
	err := d.IndexWords(c.ctx, me, func(n int64) { bar.at(n, 0, fmt.Sprintf("%d records", n)) })
	bar.end()
	if err != nil {
		return nil, err
	}
	ask := desk.WordsAsk{Text: cmd.Text, FromYear: cmd.From, ToYear: cmd.To, Class: cmd.Class, Plate: cmd.Plate, Limit: limit}
	found, err := d.FindWords(c.ctx, me, ask)
	if err != nil {
		return nil, err
	}
	out.Count = found.Count
	for _, h := range found.Hits {
		w := foundWords{Well: h.Well.ID, UID: h.Well.UID, Number: h.Well.Number}
		for _, piece := range h.Passage {
			w.Passage += piece.Text
		}
		out.Words = append(out.Words, w)
	}
	return out, nil
}
