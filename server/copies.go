package server

import (
	"fmt"
	"net/http"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
)

const copiesPath = "/office/copies"

// copiesPage makes copies of the database, and says how one is restored.
type copiesPage struct {
	Base
	Work  *copyWorkView
	Kinds []copyKindView
	Path  string
	Drop  string
}

// copyWorkView is the copy that is being made, or waits to be downloaded.
type copyWorkView struct {
	Title   string
	Going   bool
	Done    int // percent
	Failed  string
	File    string // address; "" while there is none
	Name    string
	Facts   facts
	Faults  string
	Private string // what the reader is to mind
}

// copyKindView is a kind of copy that can be made.
type copyKindView struct {
	Kind, Title, Lead string
	In, Out           string
	Button            string
	Private           string // label of a box that asks for private things too; "" where there is none
}

func copyKinds() []copyKindView {
	return []copyKindView{
		{Kind: string(desk.CopyWhole), Title: "The whole of it", Lead: "To restore from, and to carry to another machine. Keep it as you keep the database: everything private is in it.",
			In: "records with owners and addresses, every earlier state, plates and what was decided of them, drafts, jobs, forecasts, kept reviews, rates and rules, elevation grids, scans", Out: "files that were sent and not yet taken in",
			Button: "Make a whole copy"},
		{Kind: string(desk.CopyToGive), Title: "To give away", Lead: "A database for somebody else, built afresh from the records, so that nothing private can be left in it.",
			In: "records, plates with their links, sightings without who told of them, reference layers, the counts of intakes", Out: "owners, addresses, telephone numbers, scans, earlier states, drafts, jobs, forecasts, kept reviews, rates and rules, elevation grids, reports of intakes",
			Button: "Make a copy to give away"},
		{Kind: string(desk.CopyForGIS), Title: "Layers for a GIS", Lead: "A SpatiaLite file that any GIS opens. Strata are vertical lines and water strikes points at their heights; each column has a title and a unit, and each layer stands there in feet and gallons a minute too.",
			In: "wells, strata, water strikes, plates, sightings", Out: "what has no place in a layer: construction, tests, earlier states, and all that is private unless you ask for it",
			Button: "Make layers for a GIS", Private: "with owners, their addresses and telephone numbers"},
	}
}

// copiesDoc is the office's overview of copies.
func copiesDoc() officeDocView {
	return officeDocView{ID: "copies", Title: "Copies", Lead: "A copy of the database is made while people work in it: to restore from, to give away, or as layers for a GIS.",
		Open: copiesPath, OpenLabel: "Make a copy, or read how one is restored"}
}

// copiesHome answers /office/copies.
func (s *Server) copiesHome(w http.ResponseWriter, r *http.Request) error {
	work, err := s.desk.CopyWork(s.actor(r))
	if err != nil {
		return err
	}
	p := copiesPage{Base: s.base(r, "Copies"), Kinds: copyKinds(), Path: copiesPath, Drop: copiesPath + "/drop"}
	if work != nil {
		p.Work = copyWorkOf(work)
	}
	return s.show(w, "copies", p)
}

func copyWorkOf(c *desk.CopyWork) *copyWorkView {
	v := &copyWorkView{Name: c.Name}
	title := map[desk.CopyKind]string{desk.CopyWhole: "a whole copy", desk.CopyToGive: "a copy to give away", desk.CopyForGIS: "layers for a GIS"}[c.Kind]
	switch {
	case !c.Over():
		v.Title, v.Going = "Making "+title, true
		if c.Total > 0 {
			v.Done = int(min(99, 100*c.Done/c.Total))
		}
		return v
	case c.Err != nil:
		v.Title, v.Failed = "No copy was made", capital(publicError(c.Err))
		return v
	}
	v.Title, v.File = capital(title)+" is ready", copiesPath+"/"+c.Token
	if c.Kind == desk.CopyForGIS {
		v.Title = capital(title) + " are ready"
	}
	v.Facts.text("made", officeTime(c.Ended))
	v.Facts.text("size", sizeOf(c.Size))
	if c.Kind == desk.CopyForGIS {
		n := c.Made.Layers
		v.Facts.text("wells", grouped(int(n.Wells)))
		v.Facts.text("intervals of strata", grouped(int(n.Strata)))
		v.Facts.text("water strikes", grouped(int(n.Strikes)))
		v.Facts.text("plates", grouped(int(n.Plates)))
		v.Facts.text("sightings", grouped(int(n.Sightings)))
		if n.Flat > 0 {
			v.Facts.add("without a geometry", cell{Text: grouped(int(n.Flat)), More: "intervals and strikes of which no place, depth or ground elevation is known"})
		}
	} else {
		v.Facts.text("records", grouped(int(c.Made.Wells)))
		v.Facts.text("plates", grouped(int(c.Made.Plates)))
		v.Facts.text("sightings", grouped(int(c.Made.Sightings)))
		if c.Made.Scans > 0 {
			v.Facts.add("scans", cell{Text: grouped(int(c.Made.Scans)), More: sizeOf(c.Made.ScansBytes)})
		}
	}
	if check := c.Made.Check; check != nil {
		v.Facts.text("checked", "every record and every index was looked at")
		if !check.Sound() {
			v.Faults = fmt.Sprintf("The check found %s in it. Most likely the database has the same: run 'tallybook check' on it.", count(len(check.Problems)+int(check.More), "problem", "problems"))
		}
	}
	if c.Kind == desk.CopyWhole || c.Private {
		v.Private = "Owners' names and addresses are in it."
	}
	return v
}

// publicError is what a person is told of an error; what is for the log alone
// stays there.
func publicError(err error) string {
	if code := records.CodeOf(err); code == records.Internal {
		return "something went wrong: the program's log says what"
	}
	return err.Error()
}

// copyBegin begins a copy.
func (s *Server) copyBegin(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	kind := desk.CopyKind(r.PostForm.Get("kind"))
	known := false
	for _, k := range copyKinds() {
		known = known || k.Kind == string(kind)
	}
	if !known {
		return records.Errorf(records.Invalid, "there is no copy of the kind %q; choose one on the page of copies", clipText(string(kind), 20))
	}
	if err := s.desk.BeginCopy(r.Context(), s.actor(r), kind, r.PostForm.Get("private") == "yes"); err != nil {
		return err
	}
	http.Redirect(w, r, copiesPath+"#work", http.StatusSeeOther)
	return nil
}

// copyDrop breaks off the copy that is being made, or deletes the last one.
func (s *Server) copyDrop(w http.ResponseWriter, r *http.Request) error {
	if err := s.desk.DropCopy(s.actor(r)); err != nil {
		return err
	}
	return s.done(w, r, copiesPath, said{Text: "The copy is deleted here. The database is as it was."})
}

// downloadTime is how long a copy may take to go over the wire.
const downloadTime = 2 * time.Hour

// copyFile sends a copy.
func (s *Server) copyFile(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.desk.OpenCopy(s.actor(r), mux.Vars(r)["token"])
	if err != nil {
		return err
	}
	defer f.Close()
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(downloadTime)) // where there is none to be set, none ends it
	attachment(w, c.Name, "application/octet-stream")
	http.ServeContent(w, r, "", c.Ended, f)
	return nil
}
