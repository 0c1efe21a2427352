package server

import (
	"fmt"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/server/stamp"
)

// platesPrintPage is a sheet of many plates before it is printed.
type platesPrintPage struct {
	Base
	Numbers string
	Ask     printAsk
	Papers  []optionView
	Found   string
	Faults  []string
	Paper   bool // there is a page to be shown
	Drawing template.HTML
	Page    string
	Earlier string
	Later   string
	SVG     string
	PDF     string
	Leads   string
}

// printedOn is the day that a file bears.
func (s *Server) printedOn() time.Time {
	d := s.desk.Validation().Today
	return time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC)
}

// askedNumbers reads numbers, one a line or parted by commas; each once.
func askedNumbers(text string) []string {
	seen := map[string]bool{}
	var out []string
	for _, n := range strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' || r == ',' || r == ';' || r == '\t' }) {
		if n = strings.TrimSpace(n); n != "" && !seen[n] {
			seen[n] = true
			out = append(out, n)
		}
	}
	return out
}

// sheetAsked lays out the plates that an address asks for. sheet is nil where
// there is nothing to print.
func (s *Server) sheetAsked(r *http.Request) (sheet *stamp.Sheet, ask printAsk, f records.PlateFormat, faults []records.Fault, err error) {
	q := r.URL.Query()
	f, ask, faults, err = s.formatAsked(r)
	if err != nil {
		return nil, ask, f, nil, err
	}
	paper, ok := stamp.PaperOf(orElse(q.Get("paper"), s.usualPaper(r)))
	if !ok {
		return nil, ask, f, nil, records.Errorf(records.Invalid, "paper=%s is no paper that is known: choose letter, legal, a4 or a3", clipText(q.Get("paper"), 20))
	}
	ask.query.Set("paper", paper.Word)
	numbers := askedNumbers(q.Get("numbers"))
	if len(numbers) == 0 || len(faults) > 0 {
		return nil, ask, f, faults, nil
	}
	ask.query.Set("numbers", strings.Join(numbers, ","))
	found, faults, err := s.desk.NumbersToPrint(r.Context(), s.actor(r), numbers)
	if err != nil {
		return nil, ask, f, nil, err
	}
	var plates []*stamp.Drawing
	for i := range found {
		d, wrong := stamp.Lay(stampOf(&found[i], found[i].Number, f), f)
		if d == nil {
			for _, x := range wrong {
				x.Field = found[i].Number
				faults = append(faults, x)
			}
			continue
		}
		plates = append(plates, d)
	}
	if len(plates) == 0 {
		return nil, ask, f, faults, nil
	}
	sheet, err = stamp.NewSheet(paper, plates)
	if records.CodeOf(err) == records.Invalid && err != nil {
		faults, err = append(faults, records.Fault{Severity: records.Refusal, Message: records.MessageOf(err)}), nil
	}
	return sheet, ask, f, faults, err
}

// usualPaper goes with the reader's units.
func (s *Server) usualPaper(r *http.Request) string {
	if unitsOf(r).String() == "si" {
		return "a4"
	}
	return "letter"
}

// platesPrint answers /plates/print.
func (s *Server) platesPrint(w http.ResponseWriter, r *http.Request) error {
	sheet, ask, f, faults, err := s.sheetAsked(r)
	if err != nil {
		return err
	}
	p := platesPrintPage{Base: s.base(r, "Print plates"), Ask: ask, Numbers: strings.Join(askedNumbers(r.URL.Query().Get("numbers")), "\n"), Leads: leadsWords(f.PublicBase)}
	for _, x := range stamp.Papers() {
		p.Papers = append(p.Papers, optionView{x.Word, x.Label, x.Word == ask.query.Get("paper")})
	}
	for _, x := range faults {
		words := capital(x.Message)
		if x.Field != "" && x.Field != "size" {
			words = "“" + clipText(x.Field, 60) + "” " + x.Message
		}
		if x.Mend != "" {
			words += ": " + x.Mend
		}
		p.Faults = append(p.Faults, words+".")
	}
	if sheet == nil {
		if len(faults) > 0 {
			return s.showAs(w, "platesprint", p, http.StatusUnprocessableEntity)
		}
		return s.show(w, "platesprint", p)
	}
	page, err := printedPage(r, sheet)
	if err != nil {
		return err
	}
	p.Paper = true
	p.Drawing = template.HTML(sheet.SVG(page - 1)) //nolint:gosec // every text in it was escaped by package stamp
	p.Found = count(len(sheet.Plates), "plate", "plates") + ", " + count(sheet.Pages(), "page", "pages") + " of at most " + strconv.Itoa(sheet.PerPage()) + "."
	if sheet.Pages() > 1 {
		p.Page = fmt.Sprintf("page %d of %d", page, sheet.Pages())
	}
	if page > 1 {
		p.Earlier = ask.with("/plates/print", "page", strconv.Itoa(page-1))
	}
	if page < sheet.Pages() {
		p.Later = ask.with("/plates/print", "page", strconv.Itoa(page+1))
	}
	p.PDF, p.SVG = ask.with("/plates/print.pdf"), ask.with("/plates/print.svg", "page", strconv.Itoa(page))
	return s.show(w, "platesprint", p)
}

// printedPage is the page asked for, from 1.
func printedPage(r *http.Request, sheet *stamp.Sheet) (int, error) {
	t := orElse(r.URL.Query().Get("page"), "1")
	n, err := strconv.Atoi(t)
	if err != nil || n < 1 || n > sheet.Pages() {
		return 0, records.Errorf(records.NotFound, "there is no page %s: there are %d", clipText(t, 20), sheet.Pages())
	}
	return n, nil
}

// platesPrintFile gives the sheet as a file. What could not be found keeps it
// back: nobody should think that all were printed.
func (s *Server) platesPrintFile(w http.ResponseWriter, r *http.Request) error {
	sheet, _, _, faults, err := s.sheetAsked(r)
	if err != nil {
		return err
	}
	if sheet == nil && len(faults) == 0 {
		return records.Errorf(records.Invalid, "there is no plate to print: name some at /plates/print")
	}
	if len(faults) > 0 && r.URL.Query().Get("without") == "" || sheet == nil {
		return records.FaultError(faults)
	}
	form := mux.Vars(r)["form"]
	if form == "pdf" {
		data, err := sheet.PDF(s.printedOn())
		if err != nil {
			return err
		}
		return sendPlates(w, data, form, "plates")
	}
	page, err := printedPage(r, sheet)
	if err != nil {
		return err
	}
	return sendPlates(w, sheet.SVG(page-1), form, fmt.Sprintf("plates-%d", page))
}

// printHref is where a record's plate is printed: the last that it has, else one
// of its own.
func printHref(w *records.Well) string {
	if n := len(w.Plates); n > 0 {
		return plateHref(w.Plates[n-1].ID) + "/print"
	}
	return wellHref(w.ID) + "/plate"
}
