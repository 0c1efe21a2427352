package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/server/say"
)

type reviewCommand struct {
	dbFlag
	trustFlags
	Settings string `type:"path" placeholder:"FILE" help:"Ask with the settings of this review's file, and say whether its numbers come out the same."`
	Out      string `placeholder:"PATH" help:"Write the numbers: FILE.json as one review, or a new folder of CSV tables with review.json beside them."`
	JSON     bool   `name:"json" help:"Print the whole review as JSON."`

	Field   string            `enum:"depth_to_bedrock,yield,total_depth" default:"depth_to_bedrock" help:"The quantity: depth_to_bedrock, yield or total_depth."`
	Units   string            `enum:"us,si" default:"us" help:"Units of the amounts below, in which columns are round too: us or si. Numbers are written in metres and litres a second."`
	At      string            `placeholder:"POSITION" help:"Wells within --radius of this place."`
	Radius  string            `default:"1" help:"Miles or kilometres around --at."`
	Box     string            `placeholder:"W,S,E,N" help:"Wells in this box, degrees."`
	Outline string            `type:"path" placeholder:"FILE" help:"Wells inside the polygons of this GeoJSON file."`
	From    *float64          `placeholder:"YEAR" help:"Drilled in this year or later."`
	To      *float64          `placeholder:"YEAR" help:"Drilled in this year or earlier."`
	Use     string            `placeholder:"USE" help:"Used for this alone, such as domestic."`
	Met     string            `placeholder:"CODE" help:"That met this material of the vocabulary."`
	Scale   string            `enum:",linear,log" default:"" help:"Scale of the distribution: linear or log; chosen by the data where it is not said."`
	Pairs   float64           `placeholder:"LENGTH" help:"How far apart wells may stand to count as neighbours, feet or metres."`
	Set     map[string]string `placeholder:"PART.SETTING=VALUE" help:"A setting of one part."`
	Title   string            `help:"What the review is of, for the file."`
	Author  string            `help:"Who answers for it, for the file."`
}

// Help teaches the command.
func (reviewCommand) Help() string {
	return `Works out how the ground varies: what the records hold, how a quantity spreads,
how it goes with depth, material, years and distance. It prints the figures of
each question; --out writes every number behind every chart.

With --settings it takes the file of a review (from its page, or from --out),
asks the same of this database, and says whether every number is the same, with
the first difference of each question. The exit code is then 0 where all are
the same and 5 where not.

Examples:
  tallybook review --db county.db --field yield --at "44.25,-38.75" --radius 3 --out study
  tallybook review --db copy.db --settings study/review.json`
}

// Run works the review.
func (cmd *reviewCommand) Run(c *console) error {
	var before *review.Document
	if cmd.Settings != "" {
		text, err := readSmall(cmd.Settings)
		if err != nil {
			return err
		}
		if before, err = review.Parse(text); err != nil {
			return err
		}
	}
	d, err := c.openDesk(cmd.DB, opening{picture: true})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.work(c, d, before))
}

// mostReviewFile is the longest file of a review or an outline that is read,
// bytes.
const mostReviewFile = 64 << 20

func readSmall(path string) (text []byte, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, records.WrapError(records.NotFound, err, "%s cannot be opened", path)
	}
	defer func() { err = closeAfter(f, err) }()
	text, err = io.ReadAll(io.LimitReader(f, mostReviewFile+1))
	if err != nil {
		return nil, records.WrapError(records.Invalid, err, "%s cannot be read", path)
	}
	if len(text) > mostReviewFile {
		return nil, records.Errorf(records.TooLarge, "%s is longer than %d MB", path, mostReviewFile>>20)
	}
	return text, nil
}

func (cmd *reviewCommand) work(c *console, d *desk.Desk, before *review.Document) error {
	var set *review.Settings
	if before != nil {
		set = before.Settings
	} else {
		trust, err := cmd.trust(d)
		if err != nil {
			return err
		}
		if set, err = cmd.settings(); err != nil {
			return err
		}
		set.MarkedToo, set.Picks = trust.Marked, trust.Picks
	}
	bar := c.progress("working")
	doc, err := d.Review(c.ctx, desk.LocalPerson(), set, func(step string, done, total int) { bar.at(int64(done), int64(total), step) })
	bar.end()
	if err != nil {
		return err
	}
	doc.Title, doc.Author = cmd.Title, cmd.Author
	if before != nil && cmd.Title == "" {
		doc.Title, doc.Author, doc.Note = before.Title, before.Author, before.Note
	}
	if cmd.Out != "" {
		if err := cmd.write(doc); err != nil {
			return err
		}
	}
	switch {
	case cmd.JSON:
		text, err := doc.Bytes()
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(c.out, "%s\n", text)
		return err
	case before != nil && len(before.Answers) > 0:
		return compareReviews(c, before, doc)
	}
	return printReview(c, doc)
}

// settings reads the flags.
func (cmd *reviewCommand) settings() (*review.Settings, error) {
	u, _ := say.Parse(cmd.Units)
	s := &review.Settings{Quantity: cmd.Field, Units: cmd.Units, DrilledFrom: cmd.From, DrilledTo: cmd.To, Use: cmd.Use, Met: cmd.Met, Scale: cmd.Scale, Parts: cmd.Set}
	if cmd.Pairs != 0 {
		s.PairsWithinM = u.LengthUnit().ToBase(cmd.Pairs)
	}
	s.Defaults()
	switch {
	case cmd.Box != "":
		var box [4]float64
		parts := strings.Split(cmd.Box, ",")
		for i := range box {
			var err error
			if len(parts) != len(box) {
				err = strconv.ErrSyntax
			} else if box[i], err = strconv.ParseFloat(strings.TrimSpace(parts[i]), 64); math.IsNaN(box[i]) || math.IsInf(box[i], 0) {
				err = strconv.ErrSyntax
			}
			if err != nil {
				return nil, records.Errorf(records.Invalid, "--box %s: give west, south, east and north in degrees, parted by commas", cmd.Box)
			}
		}
		s.Where = &review.Where{Box: &box}
	case cmd.At != "":
		at, err := position.Parse(cmd.At)
		if err != nil {
			return nil, records.WrapError(records.Invalid, err, "--at %s", cmd.At)
		}
		radius, err := strconv.ParseFloat(cmd.Radius, 64)
		if err != nil {
			return nil, records.Errorf(records.Invalid, "--radius %s is not a number", cmd.Radius)
		}
		unit := 1609.344
		if u == say.SI {
			unit = 1000
		}
		s.Where = &review.Where{Centre: &[2]float64{at.At.Lon, at.At.Lat}, RadiusM: radius * unit}
	case cmd.Outline != "":
		text, err := readSmall(cmd.Outline)
		if err != nil {
			return nil, err
		}
		if _, err := review.ParseOutline(text); err != nil {
			return nil, err
		}
		s.Where = &review.Where{Outline: text, Name: filepath.Base(cmd.Outline)}
	}
	return s, nil
}

// write writes one file, or a folder of tables.
func (cmd *reviewCommand) write(doc *review.Document) error {
	const mode = 0o644
	text, err := doc.Bytes()
	if err != nil {
		return err
	}
	if strings.EqualFold(filepath.Ext(cmd.Out), ".json") {
		return writeFile(cmd.Out, mode, func(w io.Writer) error { _, err := w.Write(text); return err })
	}
	if entries, err := os.ReadDir(cmd.Out); err == nil && len(entries) > 0 {
		return records.Errorf(records.Invalid, "--out %s: the folder is not empty; name a new one, or FILE.json", cmd.Out)
	}
	if err := os.MkdirAll(cmd.Out, 0o755); err != nil {
		return records.WrapError(records.Invalid, err, "--out %s: the folder cannot be made", cmd.Out)
	}
	for _, a := range doc.Answers {
		tables := []*review.Table{a.FiguresTable()}
		for i := range a.Tables {
			tables = append(tables, &a.Tables[i])
		}
		for _, t := range tables {
			if err := writeFile(filepath.Join(cmd.Out, a.Part+"-"+t.Name+".csv"), mode, t.WriteCSV); err != nil {
				return err
			}
		}
	}
	return writeFile(filepath.Join(cmd.Out, "review.json"), mode, func(w io.Writer) error { _, err := w.Write(text); return err })
}

// compareReviews says whether the numbers of two reviews are the same.
func compareReviews(c *console, before, now *review.Document) error {
	p := &printer{w: c.out}
	asked := map[string]bool{}
	for _, a := range before.Answers {
		asked[a.Part] = true
	}
	var answers []*review.Answer
	for _, a := range now.Answers {
		if asked[a.Part] {
			answers = append(answers, a)
		}
	}
	switch {
	case before.Data.Digest == now.Data.Digest && before.Data.Logs == now.Data.Logs:
		p.f("The records are the same: %s, fingerprint %.16s.\n", counted(int64(now.Data.Wells), "well"), now.Data.Digest)
	default:
		p.f("The records differ: %d wells then, %d now.\n", before.Data.Wells, now.Data.Wells)
	}
	if before.Data.Words != now.Data.Words {
		p.f("Logs are read by other words now (vocabulary %s, then %s).\n", now.Data.Words, before.Data.Words)
	}
	differ := review.Compare(before.Answers, answers)
	if len(differ) == 0 {
		p.f("Every number is the same, in %s.\n", counted(int64(len(before.Answers)), "answer"))
		return p.err
	}
	for _, d := range differ {
		p.f("%s\n", d)
	}
	if p.err != nil {
		return p.err
	}
	return records.Errorf(records.Conflict, "%d of %d answers are not the same", len(differ), len(before.Answers))
}

// printReview prints the figures of each question.
func printReview(c *console, doc *review.Document) error {
	p := &printer{w: c.out}
	p.f("%d of %d wells; data of state %d, fingerprint %.16s\n", doc.Data.Wells, doc.Data.Of, doc.Data.Commit, doc.Data.Digest)
	for _, a := range doc.Answers {
		p.f("\n%s\n", a.Part)
		if a.TooFew != "" {
			p.f("  too few to say: %s\n", a.TooFew)
		}
		rows := [][]string{}
		for _, f := range a.Figures {
			v := f.Value.String()
			if x := f.Value.Value(); !math.IsNaN(x) {
				v = strconv.FormatFloat(x, 'g', 6, 64)
			}
			if f.More {
				v = "more than " + v
			}
			rows = append(rows, []string{"  " + f.Name, v})
		}
		p.table(rows)
	}
	return p.err
}
