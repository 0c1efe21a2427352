package server

import (
	"errors"
	"fmt"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

const groundPath = "/office/ground"

// groundPage lists the elevation grids and loads one more.
type groundPage struct {
	Base
	Fault  string
	Cover  facts
	Alert  string
	Apart  listing
	Grids  []groundView
	Out    []groundView
	Form   groundForm
	In     []optionView
	Most   string
	Convey string // the command that makes an ASCII grid of another raster
}

// groundForm is what was typed of a grid to be loaded.
type groundForm struct{ Name, Datum, Unit, SRID, Note string }

// groundView is one grid.
type groundView struct {
	Name, Sub string
	Facts     facts
	Note      string
	Act       string // where its form leads
	Delete    string
}

// groundHome answers /office/ground.
func (s *Server) groundHome(w http.ResponseWriter, r *http.Request) error {
	return s.groundShow(w, r, groundForm{Unit: "m"}, "", http.StatusOK)
}

func (s *Server) groundShow(w http.ResponseWriter, r *http.Request, form groundForm, fault string, status int) error {
	ctx, actor := r.Context(), s.actor(r)
	grids, err := s.desk.GroundGrids(ctx, actor)
	if err != nil {
		return err
	}
	cover, err := s.desk.GroundCover(ctx, actor)
	if err != nil {
		return err
	}
	u := units{unitsOf(r)}
	p := groundPage{Base: s.base(r, "Ground elevation"), Fault: fault, Form: form, Most: fmt.Sprintf("%d GB", desk.MostSent>>30),
		Convey: "gdal_translate -of AAIGrid terrain.tif terrain.asc"}
	p.Here = groundPath
	for _, o := range []choice{{"m", "metres", false}, {"ft", "feet (0.3048 m)", false}, {"us-ft", "US survey feet", false}} {
		p.In = append(p.In, optionView{o.Value, o.Label, o.Value == form.Unit})
	}
	for _, g := range grids {
		v := groundViewOf(u, g, cover)
		if g.State == records.GroundInUse {
			p.Grids = append(p.Grids, v)
		} else {
			p.Out = append(p.Out, v)
		}
	}
	p.Cover, p.Alert = groundCoverWords(u, cover)
	if p.Apart, err = s.groundApart(r, u, cover.Most); err != nil {
		return err
	}
	return s.showAs(w, "ground", p, status)
}

// groundCoverWords say what the grids do for the wells.
func groundCoverWords(u units, c *desk.GroundCover) (f facts, alert string) {
	f.text("wells on the map", grouped(c.Located))
	f.text("with an elevation in their record", grouped(c.Recorded))
	f.add("with one derived from a grid", cell{Text: grouped(c.Derived), More: "their records have none"})
	f.text("without any", grouped(c.Without))
	if c.Held > 0 {
		f.add("record and grid differ by", cell{Text: u.Metres(c.MiddleApartM) + " in the middle", More: "of " + count(c.Held, "well that has both", "wells that have both")})
	}
	if c.Apart > 0 {
		alert = fmt.Sprintf("Of %s the elevation in the record and that of a grid differ by more than %s: look at the place first, then at the unit and the datum.",
			count(c.Apart, "well", "wells"), u.Metres(desk.GroundApartM))
	}
	return f, alert
}

// groundApart lists the wells that differ most.
func (s *Server) groundApart(r *http.Request, u units, most []desk.WellApart) (listing, error) {
	l := listing{Fold: "Those that differ most", Heads: heads("well", "#in the record", "#derived", "#apart", "grid")}
	ids := make([]int64, len(most))
	for i := range most {
		ids[i] = most[i].ID
	}
	names, err := s.desk.Numbers(r.Context(), s.actor(r), ids)
	if err != nil {
		return l, err
	}
	for i, x := range most {
		l.add("", cell{Text: names[i], Href: wellHref(x.ID) + "#place"}, cell{Text: u.Metres(x.OwnM)}, cell{Text: derivedHeight(u, x.DerivedM)}, cell{Text: derivedHeight(u, math.Abs(x.OwnM-x.DerivedM))}, cell{Text: x.Grid})
	}
	return l, nil
}

func groundViewOf(u units, g *records.GroundGrid, c *desk.GroundCover) groundView {
	v := groundView{Name: g.Name, Sub: "from " + orElse(g.Source, "a file without a name"), Note: g.Note, Act: fmt.Sprintf("%s/%d/out?revision=%d", groundPath, g.ID, g.Revision)}
	if g.State == records.GroundOut {
		v.Act = fmt.Sprintf("%s/%d/back?revision=%d", groundPath, g.ID, g.Revision)
		v.Delete = fmt.Sprintf("%s/%d/delete?revision=%d", groundPath, g.ID, g.Revision)
	}
	b := g.Bounds
	v.Facts.add("longitude, degrees", cell{Text: fmt.Sprintf("%.4f to %.4f", b.West, b.East), Class: "figures"})
	v.Facts.add("latitude, degrees", cell{Text: fmt.Sprintf("%.4f to %.4f", b.South, b.North), Class: "figures"})
	v.Facts.add("cells", cell{Text: fmt.Sprintf("%s by %s of %s", grouped(g.Cols), grouped(g.Rows), u.Metres(g.CellM)),
		More: fmt.Sprintf("%.1f %% with a height", 100*float64(g.Filled)/(float64(g.Cols)*float64(g.Rows)))})
	v.Facts.text("heights", derivedHeight(u, g.LowM)+" to "+derivedHeight(u, g.HighM))
	v.Facts.text("counted from", orElse(g.VertDatum, "nobody said"))
	where := fmt.Sprintf("EPSG:%d", g.EPSG)
	if g.Datum == "NAD83" {
		where += ", given on NAD83, which agrees with WGS 84 within one to two metres"
	}
	v.Facts.text("coordinates", where)
	if g.State == records.GroundInUse {
		v.Facts.text("answers for", count(c.By[g.ID], "well", "wells"))
	}
	v.Facts.text("takes", bytesWords(g.Bytes)+" of the database")
	return v
}

// groundLoad takes a grid while it is sent: nothing of it is kept but its
// heights. What is typed stands before the file in the form.
func (s *Server) groundLoad(w http.ResponseWriter, r *http.Request) error {
	c := http.NewResponseController(w)
	until := time.Now().Add(sendingTime)
	if err := errors.Join(c.SetReadDeadline(until), c.SetWriteDeadline(until)); err != nil {
		s.log.Debug("a grid that is sent has the usual time to arrive", "err", err)
	}
	r.Body = http.MaxBytesReader(w, r.Body, desk.MostSent+1<<20)
	form := groundForm{Unit: "m"}
	refuse := func(why string, status int) error { return s.groundShow(w, r, form, why, status) }
	parts, err := r.MultipartReader()
	if err != nil {
		return refuse("No grid came: choose one, then load it.", http.StatusBadRequest)
	}
	prj := ""
	for {
		part, err := parts.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return refuse("No grid came: choose one, then load it.", http.StatusBadRequest)
		case err != nil:
			return refuse("The grid did not arrive whole; load it again.", http.StatusBadRequest)
		}
		if part.FormName() == "file" {
			if part.FileName() == "" {
				return refuse("No grid was chosen: choose one, then load it.", http.StatusBadRequest)
			}
			return s.groundTake(w, r, &form, prj, part, refuse)
		}
		const most = 64<<10 + 1
		text, err := io.ReadAll(io.LimitReader(part, most))
		if err != nil {
			return refuse("The form did not arrive whole; send it again.", http.StatusBadRequest)
		}
		if part.FormName() == "prj" {
			prj = string(text)
			continue
		}
		form.set(part.FormName(), strings.TrimSpace(string(text)))
	}
}

func (f *groundForm) set(name, text string) {
	if into := map[string]*string{"name": &f.Name, "datum": &f.Datum, "unit": &f.Unit, "srid": &f.SRID, "note": &f.Note}[name]; into != nil {
		*into = clipText(text, 500)
	}
}

func (s *Server) groundTake(w http.ResponseWriter, r *http.Request, form *groundForm, prj string, file *multipart.Part, refuse func(string, int) error) error {
	in := desk.GroundLoad{File: file, Name: form.Name, Source: file.FileName(), Note: form.Note, PRJ: prj, Unit: form.Unit, VertDatum: form.Datum}
	if t := strings.TrimPrefix(strings.ToUpper(form.SRID), "EPSG:"); t != "" {
		var err error
		if in.EPSG, err = strconv.Atoi(strings.TrimSpace(t)); err != nil {
			return refuse(fmt.Sprintf("“%s” is no EPSG code: write its number, such as 32619.", clipText(form.SRID, 30)), http.StatusBadRequest)
		}
	}
	if form.Datum == "" {
		return refuse("Say what the heights are counted from: the vertical datum, as the source of the grid names it.", http.StatusBadRequest)
	}
	g, err := s.desk.LoadGround(r.Context(), s.actor(r), in)
	if code := records.CodeOf(err); err != nil && code != records.Internal && code != records.Forbidden {
		return refuse(capital(records.MessageOf(err))+".", say.Status(code))
	}
	if err != nil {
		return err
	}
	return s.done(w, r, groundPath, said{
		Text: fmt.Sprintf("“%s” is loaded: %s with a height.", g.Name, count(int(g.Filled), "cell", "cells")),
		Undo: fmt.Sprintf("%s/%d/out?revision=%d", groundPath, g.ID, g.Revision),
	})
}

// groundAct takes a grid out, puts one back, or deletes one that is out.
func (s *Server) groundAct(w http.ResponseWriter, r *http.Request) error {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil {
		return records.Errorf(records.NotFound, "there is no elevation grid %s", clipText(mux.Vars(r)["id"], 20))
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	revision, err := strconv.ParseInt(r.Form.Get("revision"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "the form does not say which state of the grid it was made from; open %s and do it from there", groundPath)
	}
	ctx, actor := r.Context(), s.actor(r)
	var g *records.GroundGrid
	what := said{}
	switch mux.Vars(r)["act"] {
	case "delete":
		err = s.desk.DeleteGround(ctx, actor, id, revision, "")
		what.Text = "The grid and its heights are deleted."
	case "back":
		if g, err = s.desk.PutBackGround(ctx, actor, id, revision, ""); err == nil {
			what = groundSaid(g, "is in use again", "out")
		}
	default:
		if g, err = s.desk.TakeOutGround(ctx, actor, id, revision, ""); err == nil {
			what = groundSaid(g, "is taken out: nothing is derived from it any more", "back")
		}
	}
	if err != nil {
		return err
	}
	return s.done(w, r, groundPath, what)
}

func groundSaid(g *records.GroundGrid, words, undo string) said {
	return said{Text: fmt.Sprintf("“%s” %s.", g.Name, words),
		Undo: fmt.Sprintf("%s/%d/%s?%s", groundPath, g.ID, undo, url.Values{"revision": {strconv.FormatInt(g.Revision, 10)}}.Encode())}
}

// groundDoc is the grids in a few lines, for the overview of the office.
func (s *Server) groundDoc(r *http.Request) (officeDocView, error) {
	v := officeDocView{ID: "ground", Title: "Ground elevation", Open: groundPath, OpenLabel: "Look at the grids, load one"}
	grids, err := s.desk.GroundGrids(r.Context(), s.actor(r))
	if err != nil {
		return v, err
	}
	u := units{unitsOf(r)}
	for _, g := range grids {
		if g.State == records.GroundInUse {
			v.Facts.add(g.Name, cell{Text: "cells of " + u.Metres(g.CellM), More: "above " + orElse(g.VertDatum, "a datum that nobody named")})
		}
	}
	v.Lead = "Grids that give each well without an elevation a derived one, marked with the grid's name."
	if len(v.Facts) == 0 {
		v.Empty = "No elevation grid is loaded: wells without an elevation in their record have none."
	}
	return v, nil
}

// derivedHeight is an elevation out of a grid, in whole feet or metres: its
// cells know no more.
func derivedHeight(u units, m float64) string {
	unit := u.LengthUnit()
	return u.Figure(unit.FromBase(m), 0) + " " + unit.Symbol()
}
