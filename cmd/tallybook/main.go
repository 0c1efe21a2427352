// Command tallybook keeps water-well records, learns from them what the ground
// will likely do at the next site, and shows it on a map and as strata columns
// side by side. See --help.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"

	"tallybook/records"
	"tallybook/records/scout"
)

// version is set by the release build.
var version = "development"

// program is the whole command line.
type program struct {
	Demo    demoCommand    `cmd:"" help:"Make the demonstration database if it is absent and serve it."`
	Serve   serveCommand   `cmd:"" help:"Serve a database to the browser on this machine."`
	Import  importCommand  `cmd:"" help:"Take a file of wells into a database."`
	Intakes intakesCommand `cmd:"" help:"List the files that were taken in, or take one back."`
	Correct correctCommand `cmd:"" help:"Make one change alike in many records, or undo one."`
	Find    findCommand    `cmd:"" help:"Look for a number, or for words written in records."`
	Export  exportCommand  `cmd:"" help:"Write the wells as GeoJSON, tables, KML or a GeoPackage."`
	Surface surfaceCommand `cmd:"" help:"Write a surface of a quantity as a grid or as contour lines."`
	Scout   scoutCommand   `cmd:"" help:"Say what the ground will likely do at a place."`
	Score   scoreCommand   `cmd:"" help:"Test every method on wells that are hidden from it."`
	Review  reviewCommand  `cmd:"" help:"Work out how the ground varies, or repeat a review."`
	Plates  platesCommand  `cmd:"" help:"Say which record each plate on a wellhead belongs to."`
	Check   checkCommand   `cmd:"" help:"Check that every record is valid and every row accounted for."`
	Plate   plateCommand   `cmd:"" help:"Make plates for wellheads."`

	// Sections.
	Section sectionCommand `cmd:"" help:"Draw a section through the ground along a line."`

	// Copies.
	Copy copyCommand `cmd:"" help:"Make a copy of a database, or of its layers for a GIS."`

	Layer layerCommand `cmd:"" help:"Add reference lines or named places of your own to the map."`

	// The consultant's judgement.
	Inventory inventoryCommand `cmd:"" help:"List every well within a distance of a place or within an outline."`

	// Ground elevation.
	Ground groundCommand `cmd:"" help:"Load grids of ground elevations, and ask them."`

	Version kong.VersionFlag `help:"Print the version and end."`
}

// console is where a command writes and what it is run with, so that tests
// can run commands in process.
type console struct {
	ctx context.Context
	out io.Writer
	err io.Writer
	tty bool // whether err is a terminal, for progress
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run runs one command line and gives the exit code.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	var p program
	exited := -1
	parser, err := kong.New(&p,
		kong.Name("tallybook"),
		kong.Description("Water-well records: keep them, learn from them, show them.\n\n"+
			"Start with 'tallybook demo', which makes invented data and prints an address to open in a browser. "+
			"With data of your own: 'tallybook import --db mine.db wells.geojson', then 'tallybook serve --db mine.db'."),
		kong.Vars{"version": version, "hazards": strings.Join(scout.HazardWords(), ", ")},
		kong.UsageOnError(),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, Summary: true, WrapUpperBound: 100}),
		kong.Writers(stdout, stderr),
		kong.Exit(func(code int) { exited = code }),
	)
	if err != nil {
		fmt.Fprintln(stderr, "tallybook:", err)
		return exitInternal
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if exited >= 0 {
		return exited
	}
	if err != nil {
		fmt.Fprintf(stderr, "tallybook: %v\nSee 'tallybook --help'.\n", err)
		return exitUsage
	}
	c := &console{ctx: ctx, out: stdout, err: stderr, tty: isTerminal(stderr)}
	err = k.Run(c)
	return report(ctx, err, stderr)
}

// The exit codes.
const (
	exitOK          = 0
	exitInternal    = 1
	exitUsage       = 2
	exitPartial     = 3
	exitNotFound    = 4
	exitConflict    = 5
	exitBusy        = 6
	exitTooLarge    = 7
	exitForbidden   = 8
	exitInterrupted = 130
)

// errPartial ends an import that refused some of its rows.
var errPartial = errors.New("some rows were refused")

// errFound ends a check that found something wrong.
var errFound = records.Errorf(records.Invalid, "problems were found")

// errOutputCut ends what was interrupted while it wrote to standard output,
// where nothing can be taken back.
var errOutputCut = errors.New("interrupted; what was written to standard output is not whole")

// exitOf is the one table from error codes to exit codes.
func exitOf(c records.Code) int {
	switch c {
	case records.Invalid:
		return exitUsage
	case records.NotFound:
		return exitNotFound
	case records.Conflict:
		return exitConflict
	case records.Busy:
		return exitBusy
	case records.TooLarge:
		return exitTooLarge
	case records.Forbidden:
		return exitForbidden
	}
	return exitInternal
}

// report says on stderr what went wrong and gives the exit code. The cause is
// shown too: whoever uses the command line can do something with it.
func report(ctx context.Context, err error, stderr io.Writer) int {
	var e *records.Error
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, errPartial):
		return exitPartial
	case errors.Is(err, errOutputCut):
		fmt.Fprintf(stderr, "tallybook: %v\n", err)
		return exitInterrupted
	case ctx.Err() != nil && errors.Is(err, context.Canceled) && !errors.As(err, &e):
		fmt.Fprintln(stderr, "tallybook: interrupted; nothing was taken in, and no file was written or changed")
		return exitInterrupted
	case errors.As(err, &e):
		fmt.Fprintf(stderr, "tallybook: %s.\n", e)
		return exitOf(e.Code)
	}
	fmt.Fprintf(stderr, "tallybook: %v\n", err)
	return exitInternal
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}
