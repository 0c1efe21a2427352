package server

import (
	"fmt"
	"net/http"
	"strings"

	"tallybook/records"
)

// pastedLog is a log as it was pasted, read into rows of the form.
type pastedLog struct {
	Strata  []map[string]string `json:"strata"`
	Strikes []map[string]string `json:"strikes"`
	Told    string              `json:"told"`
	Refused bool                `json:"refused"`
}

// mostPasted is the longest text that is read as a log, bytes.
const mostPasted = 20000

// readPasted reads a whole log in free text, or cells of a spreadsheet, into
// rows whose bare depths are in unit.
func (s *Server) readPasted(text string, unit records.Unit, f *editForm) pastedLog {
	if len(text) > mostPasted {
		return pastedLog{Refused: true, Told: "This is longer than a log: paste the log of one well."}
	}
	var w records.Well
	told := ""
	if cells := pastedCells(text); cells != nil {
		w.Strata, told = cellStrata(cells, unit)
		if len(w.Strata) == 0 {
			return pastedLog{Refused: true, Told: told}
		}
	} else {
		l := s.desk.Vocabulary().ReadLog(text, unit)
		if l.Refused() {
			reasons := l.Doubts.Reasons()
			for _, u := range l.Unread {
				reasons = append(reasons, fmt.Sprintf("“%s” %s", clipText(strings.TrimSpace(l.Text[u.Start:u.End]), 60), u.Why))
			}
			if len(reasons) == 0 {
				reasons = []string{"no depths are in it"}
			}
			return pastedLog{Refused: true, Told: "Not read into rows: " + strings.Join(reasons, "; ") + ". Mend the text, or type the rows."}
		}
		w.Strata, w.Strikes = l.Strata(s.desk.Vocabulary()), l.Strikes()
		told = pastedTold(l.Doubts.Reasons(), len(l.Unread)+len(l.Remarks)-len(w.Strikes))
	}
	typed := w.Typed(records.TypedOptions{Unit: func(d records.Dimension) records.Unit {
		if d == records.DimLength {
			return unit
		}
		return editUnit(units{f.In})(d)
	}})
	inUnit := &editForm{Typed: typed}
	p := pastedLog{Strata: inUnit.rows("strata"), Strikes: inUnit.rows("strikes"), Told: capital(count(len(w.Strata), "row", "rows")) + " read. " + told}
	for _, rows := range [][]map[string]string{p.Strata, p.Strikes} {
		for _, r := range rows {
			delete(r, ".was") // these come from no row of the record
		}
	}
	return p
}

func pastedTold(doubts []string, other int) string {
	t := ""
	if len(doubts) > 0 {
		t = "Look at them: " + strings.Join(doubts, "; ") + ". "
	}
	if other > 0 {
		t += "What the text says beside the ground is not in the rows; see whether it belongs elsewhere."
	}
	return strings.TrimSpace(t)
}

// pastedCells cuts what was copied from a spreadsheet into rows of cells; nil
// where it is no such thing.
func pastedCells(text string) [][]string {
	if !strings.Contains(text, "\t") {
		return nil
	}
	var out [][]string
	for _, line := range strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n") {
		if strings.TrimSpace(line) != "" {
			out = append(out, strings.Split(line, "\t"))
		}
	}
	return out
}

// cellStrata takes rows of cells for strata: the first cells that hold depths
// are the top and the bottom (one alone is the bottom), the others the words.
// A first row without any depth is a head.
func cellStrata(cells [][]string, unit records.Unit) ([]records.Stratum, string) {
	var out []records.Stratum
	skipped := 0
	for i, row := range cells {
		var depths []records.Amount[records.Depth]
		var words []string
		for _, c := range row {
			c = strings.TrimSpace(c)
			a, err := records.ParseAmount(c, records.DimLength, unit)
			if err == nil && a.Known() && len(words) == 0 && len(depths) < 2 {
				depths = append(depths, records.Amount[records.Depth]{Qualifier: a.Qualifier, Value: records.Depth(a.Value), High: records.Depth(a.High), Given: a.Given})
			} else if c != "" {
				words = append(words, c)
			}
		}
		s := records.Stratum{Description: strings.Join(words, ", ")}
		switch len(depths) {
		case 0:
			if i > 0 {
				skipped++
			}
			continue
		case 1:
			s.Bottom = depths[0]
			if n := len(out); n > 0 {
				s.Top = out[n-1].Bottom
			}
		default:
			s.Top, s.Bottom = depths[0], depths[1]
		}
		out = append(out, s)
	}
	switch {
	case len(out) == 0:
		return nil, "No row of these cells begins with a depth: copy the columns from, to and the words, in that order."
	case skipped > 0:
		return out, capital(count(skipped, "row", "rows")) + " without a depth left out."
	}
	return out, ""
}

// pasteUnit is the unit in which the form's bare depths of strata are.
func (f *editForm) pasteUnit() records.Unit {
	if u, ok := records.DimLength.UnitBySymbol(f.Typed["strata.bottom.unit"]); ok {
		return u
	}
	return editUnit(units{f.In})(records.DimLength)
}

// editPaste reads what was pasted into the rows of the form, behind those that
// hold something.
func (s *Server) editPaste(w http.ResponseWriter, r *http.Request, f *editForm) error {
	text := r.PostForm.Get(formPaste)
	p := s.readPasted(text, f.pasteUnit(), f)
	if strings.TrimSpace(text) == "" {
		p = pastedLog{Refused: true, Told: "Nothing was pasted."}
	}
	if p.Refused {
		return s.editShow(w, r, f, editShown{paste: text, told: p.Told, focus: formPaste})
	}
	for list, rows := range map[string][]map[string]string{"strata": p.Strata, "strikes": p.Strikes} {
		var filled []map[string]string
		for _, row := range f.rows(list) {
			for field, t := range row {
				if field != ".was" && strings.TrimSpace(t) != "" {
					filled = append(filled, row)
					break
				}
			}
		}
		f.setRows(list, append(filled, rows...))
	}
	return s.editShow(w, r, f, editShown{told: p.Told + " Nothing is saved yet.", focus: "strata[0].top", judged: true})
}

// editPasted answers POST /well/pasted for a script.
func (s *Server) editPasted(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	f := readEditForm(r.PostForm, postedID(r), unitsOf(r))
	return sendJSON(w, s.readPasted(r.PostForm.Get(formPaste), f.pasteUnit(), f))
}
