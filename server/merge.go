package server

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// mergePage is two records of one well, about to become one.
type mergePage struct {
	Base
	Refused       string // why nothing was merged
	Faults        listing
	Keep, Out     mergeSide
	Swap          string // keeps the other one instead
	Ways          []sideChoice
	How           string
	Kinds         []mergeKind // of works, where the second is a report of later ones
	Kind          string
	Open          []mergeMatter // both speak, not alike
	Rest          []mergeMatter // only one speaks, or one adds to the other
	Same          []fact
	CanLikely     bool // something is suggested that is not chosen
	Why, Back     string
	Log           logDrawing
	Decided       string // what was decided of the two before
	Chosen, Still int
}

// mergeSide is one of the two records.
type mergeSide struct {
	ID, Revision int64
	Name, Sub    string
	Href         string
	Plates       string // those that move along
}

// mergeKind is a kind of works to choose.
type mergeKind struct {
	Word, Label string
	On          bool
}

// mergeMatter is one matter with its choices.
type mergeMatter struct {
	Name, Label string
	A, B        mergeWord
	Both        bool   // both can stand
	BothOn      bool   // and that is chosen
	Likely      string // which one is likelier, and why
	Fault       string
	Private     bool
	ID          string
}

// mergeWord is what one record says of a matter.
type mergeWord struct {
	On    bool
	None  bool
	Parts []fact
	Rows  []string
}

// workLabels say the kinds of works as the form has them.
var workLabels = []mergeKind{
	{Word: "deepen", Label: "deepened"}, {Word: "hydrofracture", Label: "hydrofractured"}, {Word: "rehabilitate", Label: "mended or cleaned"},
	{Word: "redrill", Label: "drilled anew in the same hole"}, {Word: "decommission", Label: "sealed"},
}

func splitPath(id int64) string { return "/merge/" + strconv.FormatInt(id, 10) + "/split" }

// mergeHref is the address where two records are merged.
func mergeHref(keep, out int64, how, kind, back string) string {
	q := url.Values{"a": {strconv.FormatInt(keep, 10)}, "b": {strconv.FormatInt(out, 10)}}
	if how != "" && how != records.MergedFields {
		q.Set("as", how)
	}
	if kind != "" {
		q.Set("kind", kind)
	}
	if back != "" {
		q.Set("back", back)
	}
	return "/merge?" + q.Encode()
}

// mergeAsk reads from a form or an address which two records are merged, and
// how.
func mergeAsk(q url.Values) (ask desk.MergeAsk, err error) {
	for _, x := range []struct {
		name string
		to   *int64
	}{{"a", &ask.Keep}, {"b", &ask.Out}} {
		if *x.to, err = strconv.ParseInt(q.Get(x.name), 10, 64); err != nil || *x.to <= 0 {
			return ask, records.Errorf(records.Invalid, "%s=%s is no record; open a record and choose the other from there", x.name, clipText(q.Get(x.name), 20))
		}
	}
	ask.How = orElse(q.Get("as"), records.MergedFields)
	switch ask.How {
	case records.MergedFields, records.MergedTwin:
	case records.MergedWorks:
		ask.Works = q.Get("kind")
		known := false
		for _, k := range workLabels {
			known = known || k.Word == ask.Works
		}
		if !known {
			ask.Works = "deepen"
		}
	default:
		return ask, records.Errorf(records.Invalid, "as=%s is no way to merge; use fields, works or twin", clipText(ask.How, 20))
	}
	return ask, nil
}

// mergeHome answers GET /merge.
func (s *Server) mergeHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	if q.Get("b") == "" && q.Get("with") != "" {
		return s.mergeWith(w, r)
	}
	ask, err := mergeAsk(q)
	if err != nil {
		return err
	}
	return s.mergeShow(w, r, &ask, &mergePage{Back: backOf(r)}, http.StatusOK)
}

// mergeShow shows the two records with what was chosen so far.
func (s *Server) mergeShow(w http.ResponseWriter, r *http.Request, ask *desk.MergeAsk, p *mergePage, status int) error {
	o, err := s.desk.OfferMerge(r.Context(), s.actor(r), ask.Keep, ask.Out, ask.Works)
	if err != nil {
		return err
	}
	p.Base = s.base(r, "Merge two records")
	p.Keep, p.Out = sideOf(o.Keep.Well), sideOf(o.Out.Well)
	p.How, p.Kind = ask.How, ask.Works
	p.Swap = mergeHref(ask.Out, ask.Keep, ask.How, ask.Works, p.Back)
	for _, way := range []struct{ how, label string }{
		{records.MergedFields, "field by field"}, {records.MergedWorks, "the second tells of later works"}, {records.MergedTwin, "the second is a copy by mistake"},
	} {
		p.Ways = append(p.Ways, sideChoice{way.label, mergeHref(ask.Keep, ask.Out, way.how, "", p.Back), way.how == ask.How})
	}
	if ask.How == records.MergedWorks {
		for _, k := range workLabels {
			k.On = k.Word == ask.Works
			p.Kinds = append(p.Kinds, k)
		}
	}
	if ask.How != records.MergedTwin {
		p.matters(o, ask.Choose)
	}
	p.Decided = decisionWords(&o.Decision)
	u, theme := unitsOf(r), themeOf(r)
	c, err := s.compared(r.Context(), s.actor(r), &sideState{ids: []int64{ask.Keep, ask.Out}, order: asGiven})
	if err != nil {
		return err
	}
	src := fmt.Sprintf("/compare.svg?ids=%d%%2C%d&units=%s", ask.Keep, ask.Out, u)
	p.Log = logDrawing{
		DrawnFor: theme.String(), Wide: template.HTML(s.drawSide(c, u, theme, sideWidth(2))), //nolint:gosec // every text in it was escaped by package draw
		WideSrc: src, PrintSrc: src + "&theme=print&w=" + strconv.Itoa(leastSide), PrintAlt: "The two logs drawn side by side", Class: "side n2",
	}
	return s.showAs(w, "merge", p, status)
}

func sideOf(w *records.Well) mergeSide {
	side := mergeSide{ID: w.ID, Revision: w.Revision, Name: nameOf(w), Sub: wellSub(w), Href: wellHref(w.ID)}
	var plates []string
	for i := range w.Plates {
		plates = append(plates, plateName(&w.Plates[i]))
	}
	side.Plates = strings.Join(plates, ", ")
	return side
}

// matters sets out what is to be chosen, what is taken as it stands, and what
// is the same.
func (p *mergePage) matters(o *desk.MergeOffer, choose map[string]records.Word) {
	for i := range o.Matters {
		m := &o.Matters[i]
		if m.Same {
			if m.A != "" {
				c := mergeCell(m.A)
				if m.Private {
					c.Class = "private" // left off paper
				}
				p.Same = append(p.Same, fact{capital(matterName(m)), c})
			}
			continue
		}
		side, chosen := choose[m.Name], true
		if side == "" {
			chosen = false
			switch {
			case m.Clashes():
			case m.A == "":
				side = records.SecondWord
			case m.B == "":
				side = records.FirstWord
			default:
				side = records.BothWords
			}
		}
		v := mergeMatter{
			Name: m.Name, Label: capital(matterName(m)), Both: m.CanJoin, Private: m.Private, ID: "m-" + strings.ReplaceAll(m.Name, ".", "-"),
			A: wordOf(m.A, m.PartsA, m.RowsA, side == records.FirstWord), B: wordOf(m.B, m.PartsB, m.RowsB, side == records.SecondWord),
			BothOn: side == records.BothWords,
		}
		if !m.Clashes() {
			p.Rest = append(p.Rest, v)
			continue
		}
		v.Likely = p.likely(m)
		if chosen {
			p.Chosen++
		} else {
			p.Still++
			p.CanLikely = p.CanLikely || m.Suggested != ""
			if p.Refused != "" {
				v.Fault = "Choose one: both records speak of this, and not alike."
			}
		}
		p.Open = append(p.Open, v)
	}
}

func (p *mergePage) likely(m *records.Matter) string {
	switch m.Suggested {
	case records.FirstWord:
		return "Likelier " + p.Keep.Name + ": " + m.Reason + "."
	case records.SecondWord:
		return "Likelier " + p.Out.Name + ": " + m.Reason + "."
	case records.BothWords:
		return "Likely both: " + m.Reason + "."
	}
	return "Nothing here speaks for one or the other."
}

// matterName is what a matter is called.
func matterName(m *records.Matter) string {
	switch m.Name {
	case "crew.driller":
		return "driller and licence"
	case "extra":
		return "kept as it came"
	case "finish.inspector":
		return "inspection"
	case "strikes":
		return "water strikes"
	}
	return fieldWords(strings.TrimPrefix(m.Name, "site."))
}

func wordOf(words string, parts []records.Said, rows [][]records.Said, on bool) mergeWord {
	out := mergeWord{On: on, None: words == ""}
	for _, part := range parts {
		out.Parts = append(out.Parts, fact{part.Name, mergeCell(part.Words)})
	}
	if len(out.Parts) == 1 {
		out.Parts[0].Label = ""
	}
	for _, row := range rows {
		out.Rows = append(out.Rows, rowSaid(row))
	}
	return out
}

// codeWord is a word of a closed list, as records hold it.
var codeWord = regexp.MustCompile(`^[a-z]+(_[a-z]+)+$`)

// mergeCell is what one record says of a property, as a person would.
func mergeCell(words string) cell {
	if codeWord.MatchString(words) {
		return cell{Text: plainWord(words)}
	}
	return changeCell(words)
}

// rowSaid writes a row of a list in a line: what was written of each quantity,
// and words without their property's name.
func rowSaid(row []records.Said) string {
	var out []string
	for _, p := range row {
		c := mergeCell(p.Words)
		name := strings.ReplaceAll(withoutUnit(p.Name), "_", " ")
		switch p.Name {
		case "description", "material", "note", "remark", "method", "kind", "date", "name":
			out = append(out, c.Text)
		default:
			out = append(out, name+" "+c.Text)
		}
	}
	return strings.Join(out, ", ")
}

// decisionWords say what was decided of two records, and by whom.
func decisionWords(d *records.PairDecision) string {
	words := verdictWords[d.Verdict]
	if d.Revision == 0 || words == "" {
		return ""
	}
	t := capital(words) + ", " + officeTime(d.At) + byWhom(d.By)
	if d.Why != "" {
		t += ": " + d.Why
	}
	return t + "."
}

// verdictWords say a verdict as something that was decided.
var verdictWords = map[string]string{
	records.PairMerged: "the same hole, merged", records.PairWorks: "the same hole, later works", records.PairTwin: "one was a copy by mistake",
	records.PairDifferent: "two different wells", records.PairUnsure: "set aside, not sure", records.PairOpen: "open again",
}

// mergeWith finds the other record by what somebody typed: its number, permit
// or plate.
func (s *Server) mergeWith(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	with := strings.TrimSpace(q.Get("with"))
	found, err := s.desk.Find(r.Context(), s.actor(r), with, 20)
	if err != nil {
		return err
	}
	a, err := strconv.ParseInt(q.Get("a"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "a=%s is no record; open a record and choose the other from there", clipText(q.Get("a"), 20))
	}
	others := map[int64]bool{}
	for _, m := range found.Matches {
		if m.WellID != 0 && m.WellID != a {
			others[m.WellID] = true
		}
	}
	for b := range others {
		if len(others) == 1 {
			http.Redirect(w, r, mergeHref(a, b, "", "", backOf(r)), http.StatusSeeOther)
			return nil
		}
	}
	if len(others) == 0 {
		return records.Errorf(records.NotFound, "no other record answers to “%s”: type its number, permit or plate as it is recorded", clipText(with, 60))
	}
	return records.Errorf(records.Invalid, "%d records answer to “%s”: type the number of one of them in full", len(others), clipText(with, 60))
}
