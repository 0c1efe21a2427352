package server

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/stamp"
)

// plateSizes are those that are offered beside the office's own, millimetres;
// ours, no source.
var plateSizes = [...][2]float64{{60, 30}, {80, 50}, {100, 70}, {120, 80}}

// printAsk is how a plate is asked for.
type printAsk struct {
	Sizes         []optionView
	Tools         []optionView
	Width, Height string // typed by hand
	query         url.Values
}

// platePrintPage is a plate before it is printed.
type platePrintPage struct {
	Base
	Heading, Sub string
	Back         string
	Action       string
	Ask          printAsk
	Number       string
	AskNumber    bool
	Faults       []string
	Fits         *officeLink // another size that would do
	Drawing      template.HTML
	Facts        facts
	Missing      string // what the record does not say
	Holds        string
	Leads        string // said of the code
	SVG, PDF     string
	Make         *plateMake
	Existing     *officeLink
}

// plateMake is the form that puts a plate on record.
type plateMake struct {
	Action   string
	Revision int64
	Number   string
}

// formatAsked is the office's format with what the address asks otherwise.
func (s *Server) formatAsked(r *http.Request) (records.PlateFormat, printAsk, []records.Fault, error) {
	kept, err := s.desk.PlateFormat(r.Context(), s.actor(r))
	if err != nil {
		return records.PlateFormat{}, printAsk{}, nil, err
	}
	f := kept.Value
	if kept.Revision == 0 && f.Units == "" {
		f.Units = unitsOf(r).String()
	}
	f = f.Filled()
	q := r.URL.Query()
	ask := printAsk{Width: clipText(strings.TrimSpace(q.Get("w")), 12), Height: clipText(strings.TrimSpace(q.Get("h")), 12), query: url.Values{}}
	own := [2]float64{f.WidthMM, f.HeightMM}
	size := q.Get("size")
	var faults []records.Fault
	switch {
	case size == "typed" || size == "" && ask.Width+ask.Height != "":
		size = "typed"
		f.WidthMM, f.HeightMM = millimetres(ask.Width), millimetres(ask.Height)
		if f.WidthMM <= 0 || f.HeightMM <= 0 {
			faults = append(faults, records.Fault{Severity: records.Refusal, Field: "size", Message: "width and height are to be two numbers of millimetres", Mend: "write them like 76.2 and 50.8"})
		}
		ask.query.Set("w", ask.Width)
		ask.query.Set("h", ask.Height)
	case size != "":
		w, h, _ := strings.Cut(size, "x")
		if f.WidthMM, f.HeightMM = millimetres(w), millimetres(h); f.WidthMM <= 0 || f.HeightMM <= 0 {
			return f, ask, nil, records.Errorf(records.Invalid, "size=%s is no size; write it like 80x50, in millimetres", clipText(size, 40))
		}
	}
	if size != "" {
		ask.query.Set("size", size)
	}
	if t := q.Get("tool"); t != "" {
		f.Tool = records.PlateTool(t)
		ask.query.Set("tool", t)
	}
	if len(faults) == 0 {
		_, faults = records.ParsePlateFormat(f.AppendJSON(nil))
		faults = onlyRefusals(faults)
	}
	ask.offer(size, own, f.Tool)
	return f, ask, faults, nil
}

// onlyRefusals leaves out what is only doubtful.
func onlyRefusals(faults []records.Fault) (out []records.Fault) {
	for _, f := range faults {
		if f.Severity == records.Refusal {
			out = append(out, f)
		}
	}
	return out
}

// millimetres reads a number; 0 where it is none.
func millimetres(t string) float64 {
	n, ok := plainNumber(strings.TrimSuffix(strings.TrimSpace(t), "mm"))
	if !ok {
		return 0
	}
	v, err := strconv.ParseFloat(n, 64)
	if err != nil {
		return 0
	}
	return v
}

func sizeWord(w, h float64) string { return trimFloat(w, 3) + "x" + trimFloat(h, 3) }

// offer sets out what may be chosen.
func (a *printAsk) offer(size string, own [2]float64, tool records.PlateTool) {
	ownWord, known := sizeWord(own[0], own[1]), size == "typed"
	a.Sizes = append(a.Sizes, optionView{ownWord, stamp.SizeWords(own[0], own[1]) + " mm, the office's", size == "" || size == ownWord})
	known = known || size == "" || size == ownWord
	for _, s := range plateSizes {
		if s == own {
			continue
		}
		word := sizeWord(s[0], s[1])
		a.Sizes = append(a.Sizes, optionView{word, stamp.SizeWords(s[0], s[1]) + " mm", size == word})
		known = known || size == word
	}
	if !known {
		a.Sizes = append(a.Sizes, optionView{size, strings.Replace(size, "x", " × ", 1) + " mm", true})
	}
	a.Sizes = append(a.Sizes, optionView{"typed", "as typed", size == "typed"})
	for _, t := range []struct {
		tool  records.PlateTool
		label string
	}{{records.PlateLabel, "a label printer"}, {records.PlateEngraver, "an engraver: lines alone"}} {
		a.Tools = append(a.Tools, optionView{string(t.tool), t.label, t.tool == tool})
	}
}

// with is an address with what was asked.
func (a *printAsk) with(path string, more ...string) string {
	q := url.Values{}
	for k, v := range a.query {
		q[k] = v
	}
	for i := 0; i+1 < len(more); i += 2 {
		q.Set(more[i], more[i+1])
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// stampOf is the plate of what is to be printed.
func stampOf(p *desk.ToPrint, number string, f records.PlateFormat) stamp.Plate {
	var stamped *records.Stamped
	if p.Plate != nil {
		stamped = &p.Plate.Stamped
	}
	return stamp.Of(number, p.Well, stamped, f)
}

// platePrint answers /plate/{id}/print.
func (s *Server) platePrint(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	found, err := s.desk.PlateToPrint(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	p := platePrintPage{Heading: "Print plate " + plateName(found.Plate), Back: plateHref(id), Action: plateHref(id) + "/print", Number: found.Number}
	switch {
	case found.Well != nil:
		p.Sub = "Its figures are those of record " + nameOf(found.Well) + " as it stands now."
	default:
		p.Sub = "It is linked to no record, so its figures are those that were read on it."
	}
	return s.showPrint(w, r, p, &found)
}

// wellPlate answers /well/{id}/plate: a plate for a record.
func (s *Server) wellPlate(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	found, err := s.desk.WellToPrint(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	p := s.wellPrintPage(r, &found)
	return s.showPrint(w, r, p, &found)
}

func (s *Server) wellPrintPage(r *http.Request, found *desk.ToPrint) platePrintPage {
	w := found.Well
	p := platePrintPage{
		Heading: "A plate for " + nameOf(w), Sub: "Its figures are those of the record as it stands now.", Back: wellHref(w.ID), Action: wellHref(w.ID) + "/plate",
		Number: plateNumberAsked(r, w), AskNumber: true,
	}
	if n := len(w.Plates); n > 0 {
		last := &w.Plates[n-1]
		p.Existing = &officeLink{"Print plate " + plateName(last) + " again", plateHref(last.ID) + "/print"}
	}
	return p
}

// plateNumberAsked is the number for a record's plate: as typed, else its own.
func plateNumberAsked(r *http.Request, w *records.Well) string {
	if n := strings.TrimSpace(r.FormValue("number")); n != "" {
		return clipText(n, 60)
	}
	return orElse(w.Number, w.PermitNumber)
}

// showPrint writes the page of one plate.
func (s *Server) showPrint(w http.ResponseWriter, r *http.Request, p platePrintPage, found *desk.ToPrint) error {
	p.Base = s.base(r, p.Heading)
	f, ask, faults, err := s.formatAsked(r)
	if err != nil {
		return err
	}
	p.Ask = ask
	if p.AskNumber && p.Number != orElse(found.Well.Number, found.Well.PermitNumber) {
		p.Ask.query.Set("number", p.Number)
	}
	what := stampOf(found, p.Number, f)
	var d *stamp.Drawing
	if len(faults) == 0 {
		if d, faults = stamp.Lay(what, f); d == nil {
			p.Fits = p.fits(what, f)
		}
	}
	for _, x := range faults {
		p.Faults = append(p.Faults, capital(x.Message)+": "+x.Mend+".")
	}
	for _, l := range what.Lines {
		p.Facts.text(l.Label, l.Value)
	}
	p.Missing = missingWords(what, f)
	p.Holds, p.Leads = what.Code, leadsWords(f.PublicBase)
	if p.AskNumber && what.Number != found.Well.Number {
		p.Leads += " Until it is put on record, this number leads to nothing."
	}
	if d == nil {
		return s.showAs(w, "plateprint", p, http.StatusUnprocessableEntity)
	}
	p.Drawing = template.HTML(d.SVG()) //nolint:gosec // every text in it was escaped by package stamp
	p.SVG, p.PDF = p.Ask.with(p.Action+".svg"), p.Ask.with(p.Action+".pdf")
	if p.AskNumber && s.desk.Permit(s.actor(r), desk.Edit) == nil {
		p.Make = &plateMake{Action: p.Ask.with(p.Action), Revision: found.Well.Revision, Number: what.Number}
	}
	return s.show(w, "plateprint", p)
}

// fits finds the smallest offered size on which a plate can be made.
func (p *platePrintPage) fits(what stamp.Plate, f records.PlateFormat) *officeLink {
	for _, s := range plateSizes {
		if s[0]*s[1] <= f.WidthMM*f.HeightMM {
			continue
		}
		f.WidthMM, f.HeightMM = s[0], s[1]
		if d, _ := stamp.Lay(what, f); d != nil {
			ask := p.Ask
			return &officeLink{"It fits on " + stamp.SizeWords(s[0], s[1]) + " mm", ask.with(p.Action, "size", sizeWord(s[0], s[1]))}
		}
	}
	return nil
}

// missingWords tells which of the office's fields have nothing to stamp.
func missingWords(what stamp.Plate, f records.PlateFormat) string {
	has := map[string]bool{}
	for _, l := range what.Lines {
		has[l.Label] = true
	}
	var missing []string
	for _, w := range f.Fields {
		if !has[stamp.FieldLabel(w)] {
			missing = append(missing, plateFieldLabels[w])
		}
	}
	if len(missing) == 0 {
		return ""
	}
	return "Not recorded, so not stamped: " + strings.Join(missing, ", ") + "."
}

func leadsWords(base records.PublicBase) string {
	if base == "" {
		return "The office has set no public address, so the code holds the number alone and leads nowhere by itself."
	}
	if _, faults := records.ParsePublicBase(string(base)); len(faults) > 0 {
		return "Take care: " + faults[0].Message + "."
	}
	return "A telephone's camera opens it, as long as the address is kept up."
}

// platePrintFile gives a plate as a file.
func (s *Server) platePrintFile(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	found, err := s.desk.PlateToPrint(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	return s.sendPlate(w, r, &found, found.Number)
}

// wellPlateFile gives a record's plate as a file.
func (s *Server) wellPlateFile(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	found, err := s.desk.WellToPrint(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	return s.sendPlate(w, r, &found, plateNumberAsked(r, found.Well))
}

func (s *Server) sendPlate(w http.ResponseWriter, r *http.Request, found *desk.ToPrint, number string) error {
	f, _, faults, err := s.formatAsked(r)
	if err != nil {
		return err
	}
	if err := records.FaultError(faults); err != nil {
		return err
	}
	d, faults := stamp.Lay(stampOf(found, number, f), f)
	if d == nil {
		return records.FaultError(faults)
	}
	data := d.SVG()
	form := mux.Vars(r)["form"]
	if form == "pdf" {
		if data, err = d.PDF(s.printedOn()); err != nil {
			return err
		}
	}
	return sendPlates(w, data, form, "plate-"+fileWord(number))
}

// sendPlates sends a drawing to be kept as a file.
func sendPlates(w http.ResponseWriter, data []byte, form, name string) error {
	h := w.Header()
	h.Set("Content-Type", map[string]string{"svg": "image/svg+xml; charset=utf-8", "pdf": "application/pdf"}[form])
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s.%s"`, name, form))
	h.Set("Cache-Control", "no-store")
	_, err := w.Write(data)
	return ignoreGone(err)
}

// fileWord is a number as part of a file's name.
func fileWord(number string) string {
	t := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '-' || r == '.' {
			return r
		}
		return '-'
	}, clipText(number, 40))
	return orElse(strings.Trim(t, "-."), "1")
}

// wellPlateMake puts a plate on record that is made for a well.
func (s *Server) wellPlateMake(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	revision, err := strconv.ParseInt(r.PostForm.Get("revision"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "the form does not say which state of the record it was made from; open %s/plate again", wellHref(id))
	}
	ctx, actor := r.Context(), s.actor(r)
	found, err := s.desk.WellToPrint(ctx, actor, id)
	if err != nil {
		return err
	}
	f, ask, faults, err := s.formatAsked(r)
	if err != nil {
		return err
	}
	number := plateNumberAsked(r, found.Well)
	if len(faults) == 0 {
		_, faults = stamp.Lay(stampOf(&found, number, f), f)
	}
	if err := records.FaultError(faults); err != nil {
		return err
	}
	pl := &records.Plate{Number: number, Stamped: stamp.StampedOf(found.Well, f)}
	if err := s.desk.MakePlate(ctx, actor, id, revision, pl); err != nil {
		return err
	}
	ask.query.Del("number")
	undo := fmt.Sprintf("%s/unmake?revision=%d&well=%d", plateHref(pl.ID), pl.Revision, id)
	return s.done(w, r, ask.with(plateHref(pl.ID)+"/print"), said{Text: "Plate " + pl.Number + " is on record, linked to " + nameOf(found.Well) + ".", Undo: undo})
}

// plateUnmake takes a plate out that was put on record a moment ago.
func (s *Server) plateUnmake(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, errA := strconv.ParseInt(r.URL.Query().Get("revision"), 10, 64)
	well, errB := strconv.ParseInt(r.URL.Query().Get("well"), 10, 64)
	if errA != nil || errB != nil || well <= 0 {
		return records.Errorf(records.Invalid, "the address does not say which plate is to be taken out; open %s", plateHref(id))
	}
	if err := s.desk.UnmakePlate(r.Context(), s.actor(r), id, revision); err != nil {
		return err
	}
	return s.done(w, r, wellHref(well)+"/plate", said{Text: "The plate was taken out again."})
}
