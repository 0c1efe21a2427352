package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/stamp"
)

type plateCommand struct {
	Print platePrintCommand `cmd:"" help:"Draw plates at true size, as PDF or SVG."`
}

// Help teaches the command.
func (plateCommand) Help() string {
	return `Draws plates to be printed or engraved. Which record a plate belongs to is
decided with 'tallybook plates'.

Example:
  tallybook plate print --db county.db --out w7.pdf --size 80x50 W-7`
}

type platePrintCommand struct {
	dbFlag
	Numbers []string `arg:"" name:"number" help:"Numbers of plates or of records."`
	Out     string   `required:"" placeholder:"FILE" help:"Where to write; a name that ends in .pdf or .svg says which."`
	Size    string   `placeholder:"WxH" help:"Size in millimetres, such as 80x50; the office's where it is left out."`
	For     string   `enum:",label,engraver" default:"" placeholder:"TOOL" help:"What makes the plate: label (a label printer) or engraver (lines alone)."`
	Paper   string   `enum:",letter,legal,a4,a3" default:"" placeholder:"PAPER" help:"Put them on sheets of letter, legal, a4 or a3; without it each plate is a page of its own size."`
}

// Help teaches the command.
func (platePrintCommand) Help() string {
	return `Draws what the records say of each number at its true size, with a QR code that
leads to the record: below the office's public address if it has set one, else it
holds the plain number. What is stamped is set on the page of the office.
Nothing is written where a plate cannot be made; the reason is said.

Print at 100 %, and hold every figure against the record first.

Examples:
  tallybook plate print --db county.db --out w7.pdf --size 80x50 W-7
  tallybook plate print --db county.db --out sheet.pdf --paper letter W-7 W-8 W-9
  tallybook plate print --db county.db --out w7.svg --for engraver W-7`
}

// Run draws the plates.
func (cmd *platePrintCommand) Run(c *console) error {
	ext := strings.ToLower(filepath.Ext(cmd.Out))
	if ext != ".pdf" && ext != ".svg" {
		return records.Errorf(records.Invalid, "--out %s: name a file that ends in .pdf or .svg", cmd.Out)
	}
	if err := apart("--out", cmd.Out, cmd.DB); err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	plates, err := cmd.lay(c, d)
	if err != nil {
		return closeAfter(d, err)
	}
	data, err := cmd.draw(plates, ext)
	if err == nil {
		err = writeFile(cmd.Out, 0o644, func(w io.Writer) error {
			_, err := w.Write(data)
			return err
		})
	}
	if err == nil {
		fmt.Fprintln(c.err, counted(int64(len(plates)), "plate"), "written")
	}
	return closeAfter(d, err)
}

// format is the office's, with what the command line asks otherwise.
func (cmd *platePrintCommand) format(c *console, d *desk.Desk) (records.PlateFormat, error) {
	kept, err := d.PlateFormat(c.ctx, desk.LocalPerson())
	if err != nil {
		return records.PlateFormat{}, err
	}
	f := kept.Value.Filled()
	if cmd.Size != "" {
		w, h, ok := strings.Cut(cmd.Size, "x")
		var errW, errH error
		f.WidthMM, errW = strconv.ParseFloat(w, 64)
		f.HeightMM, errH = strconv.ParseFloat(h, 64)
		if !ok || errW != nil || errH != nil {
			return f, records.Errorf(records.Invalid, "--size %s: write width and height in millimetres, such as 80x50", cmd.Size)
		}
	}
	if cmd.For != "" {
		f.Tool = records.PlateTool(cmd.For)
	}
	_, faults := records.ParsePlateFormat(f.AppendJSON(nil))
	return f, records.FaultError(faults)
}

// lay finds what is to be drawn and lays it out: all of it or nothing.
func (cmd *platePrintCommand) lay(c *console, d *desk.Desk) ([]*stamp.Drawing, error) {
	f, err := cmd.format(c, d)
	if err != nil {
		return nil, err
	}
	found, faults, err := d.NumbersToPrint(c.ctx, desk.LocalPerson(), cmd.Numbers)
	if err != nil {
		return nil, err
	}
	var out []*stamp.Drawing
	for i := range found {
		var stamped *records.Stamped
		if found[i].Plate != nil {
			stamped = &found[i].Plate.Stamped
		}
		drawing, wrong := stamp.Lay(stamp.Of(found[i].Number, found[i].Well, stamped, f), f)
		for _, x := range wrong {
			x.Field = found[i].Number
			faults = append(faults, x)
		}
		out = append(out, drawing)
	}
	return out, records.FaultError(faults)
}

// draw makes the file.
func (cmd *platePrintCommand) draw(plates []*stamp.Drawing, ext string) ([]byte, error) {
	at := time.Now().UTC().Truncate(24 * time.Hour)
	if cmd.Paper == "" {
		if ext == ".pdf" {
			return stamp.PDF(plates, at)
		}
		if len(plates) > 1 {
			return nil, records.Errorf(records.Invalid, "--out %s: an SVG holds one page: give --paper, or one number, or write a .pdf", cmd.Out)
		}
		return plates[0].SVG(), nil
	}
	paper, ok := stamp.PaperOf(cmd.Paper)
	if !ok {
		return nil, records.Errorf(records.Invalid, "--paper %s is not known", cmd.Paper)
	}
	sheet, err := stamp.NewSheet(paper, plates)
	if err != nil {
		return nil, err
	}
	if ext == ".pdf" {
		return sheet.PDF(at)
	}
	if sheet.Pages() > 1 {
		return nil, records.Errorf(records.Invalid, "--out %s: an SVG holds one page, and these plates need %d: write a .pdf", cmd.Out, sheet.Pages())
	}
	return sheet.SVG(0), nil
}
