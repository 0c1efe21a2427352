package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/sqlite"
)

type copyCommand struct {
	dbFlag
	Out     string `required:"" placeholder:"FILE" help:"The copy: a new file."`
	Private bool   `help:"Everything, private things too: a copy to restore from. With --for-gis: owners' columns too."`
	Filter  string `placeholder:"TEXT" help:"With --for-gis: only wells that a filter in CQL2 text chooses (see export), with their strata, strikes and plates; no sightings."`
	ForGIS  bool   `name:"for-gis" help:"A file of layers for a GIS rather than a database: wells, strata as vertical lines, water strikes, plates, sightings."`
}

// Help teaches the command.
func (copyCommand) Help() string {
	return `Writes a copy of a database as it stands at this moment, also while a server has
it open and people write to it. The copy is compact, is checked as 'check' does,
and gets its name only when it is whole; a file that is there is never written
over.

Without --private it is a copy to give away, built afresh: records, plates with
their links, sightings, reference layers and the counts of intakes are in it.
Owners, addresses, telephone numbers, scans, earlier states, drafts, jobs,
forecasts, kept reviews, rates and other settings, elevation grids, decisions
about plates and duplicates, and the row reports of intakes are not; records
begin at revision 1.

With --private it is everything, for yourself: earlier states, drafts, jobs and
scans are in it (those that lie beside the database go beside the copy, in
FILE.attached). Only files that were sent and not yet taken in are not. To
restore it, end the server, put the copy in the place of the database, with its
folder, and start again.

With --for-gis it is a SpatiaLite file that any GIS opens. Heights are metres
above the vertical datum that each row names, and elevation_from says whether the
ground's is the record's own or that of a loaded grid; a row without either has
no geometry. The views ending in _us say the same in feet and gallons a minute.

Examples:
  tallybook copy --db county.db --out to-give.db
  tallybook copy --db county.db --private --out backup.db
  tallybook copy --db county.db --for-gis --out county-gis.sqlite`
}

// Run makes the copy.
func (cmd *copyCommand) Run(c *console) error {
	if err := absent(cmd.Out); err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.make(c, d))
}

func (cmd *copyCommand) make(c *console, d *desk.Desk) error {
	mode := fs.FileMode(0o644)
	if cmd.Private {
		mode = 0o600
	}
	file, err := newDraft(cmd.Out, mode)
	if err != nil {
		return err
	}
	ask := desk.CopyAsk{Kind: cmd.kind(), Private: cmd.Private, Filter: cmd.Filter, Path: file.Name()}
	bar := c.progress("copying")
	ask.Progress = func(done, total int64) { bar.at(done, total, "") }
	made, err := d.MakeCopy(c.ctx, desk.LocalPerson(), ask)
	bar.end()
	if err != nil {
		return errors.Join(err, file.drop(), os.RemoveAll(sqlite.FolderBeside(file.Name())))
	}
	if err := file.keepNew(cmd.Out); err != nil {
		return errors.Join(err, os.RemoveAll(sqlite.FolderBeside(file.Name())))
	}
	return cmd.report(c, made)
}

func (cmd *copyCommand) kind() desk.CopyKind {
	switch {
	case cmd.ForGIS:
		return desk.CopyForGIS
	case cmd.Private:
		return desk.CopyWhole
	}
	return desk.CopyToGive
}

func (cmd *copyCommand) report(c *console, made desk.CopyMade) error {
	p := &printer{w: c.out}
	if cmd.ForGIS {
		n := made.Layers
		p.f("%s: %s, %s, %s, %s, %s\n", cmd.Out, counted(n.Wells, "well"), counted(n.Strata, "interval"), counted(n.Strikes, "water strike"), counted(n.Plates, "plate"), counted(n.Sightings, "sighting"))
		if n.Flat > 0 {
			p.f("%s of strata and strikes without a geometry: no place, depth or ground elevation is known\n", counted(n.Flat, "row"))
		}
		if !cmd.Private {
			p.f("owners and addresses are not in it\n")
		}
		return p.err
	}
	p.f("%s: %s, %s, %s, checked\n", cmd.Out, counted(made.Wells, "record"), counted(made.Plates, "plate"), counted(made.Sightings, "sighting"))
	if cmd.Private {
		p.f("in it: earlier states, drafts, jobs, settings, and %s (%.1f MB); not in it: files sent and not yet taken in\n", counted(made.Scans, "scan"), float64(made.ScansBytes)/1e6)
	} else {
		p.f("not in it: owners, addresses, scans, earlier states, drafts, jobs, forecasts, kept reviews, settings, elevation grids, reports of intakes\n")
	}
	if made.Check.Sound() || p.err != nil {
		return p.err
	}
	for _, x := range made.Check.Problems {
		p.f("%s\n", x.Fault)
	}
	return records.Errorf(records.Invalid, "the copy is made, and holds %s: look with 'tallybook check' whether the database has the same", counted(int64(len(made.Check.Problems))+made.Check.More, "problem"))
}

// absent refuses a name that is taken.
func absent(path string) error {
	for _, name := range []string{path, sqlite.FolderBeside(path)} {
		if _, err := os.Lstat(name); err == nil {
			return records.Errorf(records.Conflict, "%s is there already, and a copy is never written over anything: name another file", name)
		}
	}
	return nil
}

// keepNew puts the file in its place, which must be free, and what lies beside
// it too. A name cannot be taken in between: a link is made or refused as a
// whole.
func (d *draft) keepNew(path string) error {
	err := errors.Join(d.Sync(), d.Close())
	if err == nil {
		err = os.Chmod(d.Name(), d.mode)
	}
	if err == nil {
		if err = absent(path); err != nil {
			return errors.Join(err, d.remove())
		}
		if _, beside := os.Stat(sqlite.FolderBeside(d.Name())); beside == nil {
			err = os.Rename(sqlite.FolderBeside(d.Name()), sqlite.FolderBeside(path))
		}
	}
	if err == nil {
		if err = os.Link(d.Name(), path); err != nil && !errors.Is(err, os.ErrExist) {
			// A file system without links.
			if err = absent(path); err == nil {
				return d.renamed(path)
			}
		}
	}
	if err != nil {
		return errors.Join(d.failed(err), d.remove())
	}
	return errors.Join(d.remove(), syncDir(filepath.Dir(path)))
}

func (d *draft) renamed(path string) error {
	if err := os.Rename(d.Name(), path); err != nil {
		return errors.Join(d.failed(err), d.remove())
	}
	return syncDir(filepath.Dir(path))
}

// syncDir has the names in a folder written, where the system can.
func syncDir(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return nil // it may be written and not read
	}
	_ = f.Sync() // not every system can
	return f.Close()
}
