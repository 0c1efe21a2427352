package server

import (
	"net/http"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// plateExchangePage shows two plates that may have been exchanged.
type plateExchangePage struct {
	Base
	Name, Back string
	Find       string // address of the form that asks for the other plate
	Sought     string
	None       string
	Several    []plateRefusedView
	Both       []plateSide
	Action     string
	After      []string // how they stand afterwards
	Same       string   // why there is nothing to exchange
}

// plateSide is one of the two plates.
type plateSide struct {
	Name, Href string
	Plate      stampedPlate
	Well       string
	WellHref   string
	Against    part
	ID         int64
	Revision   int64
}

// plateExchange answers GET /plates/{id}/exchange.
func (s *Server) plateExchange(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	a, err := s.plateSide(r, id)
	if err != nil {
		return err
	}
	path := "/plates/" + strconv.FormatInt(id, 10)
	p := plateExchangePage{Base: s.base(r, "Exchange two plates"), Name: a.Name, Back: path, Find: path + "/exchange", Action: path + "/exchange", Sought: strings.TrimSpace(r.URL.Query().Get("number"))}
	other, err := s.otherPlate(r, &p, id)
	if err != nil {
		return err
	}
	if other == 0 {
		return s.show(w, "plateexchange", p)
	}
	b, err := s.plateSide(r, other)
	if err != nil {
		return err
	}
	p.Both = []plateSide{*a, *b}
	switch {
	case a.Well == "" && b.Well == "":
		p.Same = "Neither of the two is linked to a record: there is nothing to exchange."
	case a.WellHref == b.WellHref:
		p.Same = "Both are linked to the same record: there is nothing to exchange."
	default:
		for _, x := range [...][2]*plateSide{{a, b}, {b, a}} {
			t := "Plate " + x[0].Name + " is then linked to no record"
			if x[1].Well != "" {
				t = "Plate " + x[0].Name + " is then linked to record " + x[1].Well
			}
			p.After = append(p.After, t)
		}
	}
	return s.show(w, "plateexchange", p)
}

// otherPlate is the plate to exchange with: named by its key or by the number
// that was typed; 0 where it is still to be chosen.
func (s *Server) otherPlate(r *http.Request, p *plateExchangePage, own int64) (int64, error) {
	if t := r.URL.Query().Get("with"); t != "" {
		n, err := strconv.ParseInt(t, 10, 64)
		if err != nil || n <= 0 || n == own {
			return 0, records.Errorf(records.Invalid, "with=%s is no other plate", clipText(t, 20))
		}
		return n, nil
	}
	if p.Sought == "" {
		return 0, nil
	}
	found, err := s.desk.NumbersLike(r.Context(), s.actor(r), p.Sought, 50)
	if err != nil {
		return 0, err
	}
	for _, m := range found {
		if m.PlateID != 0 && m.PlateID != own {
			p.Several = append(p.Several, plateRefusedView{joinWords(orElse(m.Text, "no number"), m.Note), p.Find + "?with=" + strconv.FormatInt(m.PlateID, 10)})
		}
	}
	if len(p.Several) == 1 {
		for _, m := range found {
			if m.PlateID != 0 && m.PlateID != own {
				return m.PlateID, nil
			}
		}
	}
	if len(p.Several) == 0 {
		p.None = "No other plate has the number " + clipText(p.Sought, 40) + "."
	}
	return 0, nil
}

// plateSide reads a plate with the record that it is linked to.
func (s *Server) plateSide(r *http.Request, id int64) (*plateSide, error) {
	sheet, err := s.desk.PlateSheet(r.Context(), s.actor(r), id)
	if err != nil {
		return nil, err
	}
	u := units{unitsOf(r)}
	x := &plateSide{Name: plateName(sheet.Plate), Href: plateDeskHref(id, "decided"), Plate: stampedOf(u, sheet.Plate), ID: id, Revision: sheet.State.Decision.Revision}
	if w := sheet.Linked; w != nil {
		x.Well, x.WellHref = nameOf(w), wellHref(w.ID)
		x.Against = stampedAgainst(u, sheet.Plate, w)
	}
	return x, nil
}

// plateExchanged exchanges the links of two plates.
func (s *Server) plateExchanged(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	q := r.PostForm
	why := strings.TrimSpace(q.Get("why"))
	a, b := desk.PlateCall{PlateID: id, Why: why}, desk.PlateCall{Why: why}
	if a.Revision, err = plateRevision(q.Get("revision")); err != nil {
		return err
	}
	if b.Revision, err = plateRevision(q.Get("with_revision")); err != nil {
		return err
	}
	if b.PlateID, err = strconv.ParseInt(q.Get("with"), 10, 64); err != nil {
		return records.Errorf(records.Invalid, "%q is no plate", clipText(q.Get("with"), 20))
	}
	done, err := s.desk.ExchangePlates(r.Context(), s.actor(r), a, b)
	if err != nil {
		return err
	}
	back := plateDeskHref(id, "decided")
	return s.done(w, r, back, said{Text: "The two plates have exchanged their records.", Undo: plateUndo(done, back)})
}
