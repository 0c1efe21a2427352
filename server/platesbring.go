package server

import (
	"encoding/csv"
	"errors"
	"net/http"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/server/say"
)

// platesBringPage takes in a table of plates.
type platesBringPage struct {
	Base
	Systems  []choice
	Orders   []choice
	Done     bool
	Rehearse bool
	Counts   string
	Rows     []platesBringRow
	More     string
	Undo     string // address that a form is sent to
	Refused  string // the refused rows as a table that can be mended and sent again
}

type platesBringRow struct {
	Number int64
	Cells  string
	Why    []string
}

// mostPlatesFile is the largest table of plates that a page takes, bytes.
const mostPlatesFile = 32 << 20

// mostRefusedShown is how many refused rows a page lists.
const mostRefusedShown = 200

func (s *Server) platesBringPage(r *http.Request, units, order string) platesBringPage {
	p := platesBringPage{Base: s.base(r, "Bring in plates")}
	if units == "" {
		units = unitsOf(r).String()
	}
	p.Systems = []choice{{"us", "feet, inches, gallons a minute", units != "si"}, {"si", "metres, millimetres, litres a minute", units == "si"}}
	p.Orders = []choice{{"", "year first, or with the month in letters", order == ""}, {"mdy", "month, day, year", order == "mdy"}, {"dmy", "day, month, year", order == "dmy"}}
	return p
}

// platesBringHome answers GET /plates/bring.
func (s *Server) platesBringHome(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, "platesbring", s.platesBringPage(r, "", ""))
}

// platesBring answers POST /plates/bring.
func (s *Server) platesBring(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, mostPlatesFile)
	err := r.ParseMultipartForm(4 << 20)
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return records.Errorf(records.TooLarge, "the file holds more than %d MB; cut it in two, or bring it in by the command line", mostPlatesFile>>20)
	case err != nil:
		return records.WrapError(records.Invalid, err, "the form could not be read; go back and send it again")
	}
	defer func() {
		if err := r.MultipartForm.RemoveAll(); err != nil {
			s.log.Warn("a file that was sent is left behind", "err", err)
		}
	}()
	file, _, err := r.FormFile("file")
	if err != nil {
		return records.Errorf(records.Invalid, "no file came with the form; choose one and send it again")
	}
	u, ok := say.Parse(r.PostForm.Get("in"))
	if !ok {
		u = unitsOf(r)
	}
	o := importer.PlateOptions{Lengths: u.LengthUnit(), Diameters: u.DiameterUnit(), Flows: u.FlowUnit(), Order: r.PostForm.Get("order")}
	rehearse := r.PostForm.Get("do") != "take"
	done, err := s.desk.BringPlates(r.Context(), s.actor(r), file, o, rehearse)
	if err != nil {
		return err
	}
	p := s.platesBringPage(r, u.String(), o.Order)
	p.Here = "/plates/bring"
	p.Done, p.Rehearse = true, rehearse
	p.Counts = broughtWords(done, rehearse)
	if done.Table != "" {
		p.Undo = "/plates/bring/undo?table=" + queryEscape(done.Table)
	}
	for i := range done.Refused {
		if i == mostRefusedShown {
			p.More = "The first " + grouped(mostRefusedShown) + " of " + count(len(done.Refused), "refused row", "refused rows") + " are listed; all of them stand in the table below."
			break
		}
		row := &done.Refused[i]
		x := platesBringRow{Number: row.Number, Cells: strings.Join(row.Cells, " · ")}
		for _, f := range row.Faults {
			f.Field = plateFieldWords(f.Field)
			x.Why = append(x.Why, f.String())
		}
		p.Rows = append(p.Rows, x)
	}
	if p.Refused, err = refusedTable(done); err != nil {
		return err
	}
	return s.show(w, "platesbring", p)
}

// plateFieldWords puts the path of what a plate says in words; a column's name
// stays as it is.
func plateFieldWords(path string) string {
	stamped, ok := strings.CutPrefix(path, "stamped.")
	if !ok {
		return path
	}
	return fieldWords(stamped) + " on the plate"
}

// platesBroughtUndo takes back what a table brought.
func (s *Server) platesBroughtUndo(w http.ResponseWriter, r *http.Request) error {
	n, err := s.desk.UndoBrought(r.Context(), s.actor(r), r.URL.Query().Get("table"))
	if err != nil {
		return err
	}
	return s.done(w, r, "/plates", said{Text: "Taken back: " + count(n, "plate is", "plates are") + " as before the table came. Those that somebody worked on since are left."})
}

// broughtWords counts what came of a table.
func broughtWords(b *desk.PlatesBrought, rehearse bool) string {
	verb := " taken in"
	if rehearse {
		verb = " would be taken in"
	}
	t := count(int(b.Read), "row", "rows") + " read: " + count(int(b.New), "new plate", "new plates") + " and " + count(int(b.SeenAgain), "plate seen again", "plates seen again") + verb + ", " + count(len(b.Refused), "row", "rows") + " refused."
	if b.Warned > 0 {
		t += " " + capital(count(int(b.Warned), "row has", "rows have")) + " something doubtful."
	}
	return t
}

// refusedTable writes the refused rows as they came, with the reason behind.
func refusedTable(b *desk.PlatesBrought) (string, error) {
	if len(b.Refused) == 0 {
		return "", nil
	}
	var t strings.Builder
	w := csv.NewWriter(&t)
	for i := range b.Refused {
		row := &b.Refused[i]
		var why []string
		for _, f := range row.Faults {
			why = append(why, f.String())
		}
		if err := w.Write(append(append([]string{}, row.Cells...), "row "+grouped(int(row.Number))+": "+strings.Join(why, "; "))); err != nil {
			return "", err
		}
	}
	w.Flush()
	return t.String(), w.Error()
}
