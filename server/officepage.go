package server

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// officeSheetPage is the form of one document.
type officeSheetPage struct {
	Base
	Doc      string // its word in addresses
	Path     string
	Heading  string
	Lead     string
	Empty    string // said where there is none yet
	Begin    *officeLink
	State    string // since when it holds, and by whom
	Unsaved  string // what the form holds that is not saved
	Refused  string // why it was not saved
	Faults   []string
	Lacks    []string
	Revision int64
	Was      string // units of the figures as typed
	In       []optionView
	Ask      *unitsAsk
	Parts    []officePartView
	Why      string
	Back     string
	Examples []officeExample
	Offered  []string // words for what a distance is from
	Earlier  []officeEarlier
	Pasted   string
	PasteBad []string
}

// officeLink leads somewhere.
type officeLink struct{ Label, Href string }

// officeSent is what a form that came back is shown with.
type officeSent struct {
	form     *officeForm
	faults   *officeFaults
	lacks    []string
	extra    map[string]int
	focus    string
	unsaved  string
	refused  string
	why      string
	ask      *unitsAsk
	pasted   string
	pasteBad []string
	revision int64 // that the person saw; below 0: the one that holds
	status   int
}

// officeSheetHome answers /office/rates and its like: the document as it
// stands, or one to begin from.
func (s *Server) officeSheetHome(w http.ResponseWriter, r *http.Request) error {
	doc, err := officeDocOf(mux.Vars(r)["sheet"])
	if err != nil {
		return err
	}
	sent := officeSent{revision: -1}
	switch from := r.URL.Query().Get("from"); {
	case from == "":
	case from == "example" && doc.invent != nil:
		sent.form, _ = doc.sheet.fill(doc.invent())
		sent.unsaved = "This is the invented example. Nothing is saved yet: change what is not yours, then save."
	default:
		revision, err := strconv.ParseInt(from, 10, 64)
		if err != nil {
			return records.Errorf(records.Invalid, "from=%s names no earlier table; open one from the list at the foot of the page", clipText(from, 40))
		}
		earlier, err := s.officeEarlierText(r, doc, revision)
		if err != nil {
			return err
		}
		sent.form, _ = doc.sheet.fill([]byte(earlier))
		sent.unsaved = fmt.Sprintf("This is revision %d, opened to look at and to change. Nothing is saved yet.", revision)
	}
	return s.officeShow(w, r, doc, sent)
}

// officeShow writes the page of a document.
func (s *Server) officeShow(w http.ResponseWriter, r *http.Request, doc *officeDoc, sent officeSent) error {
	kept, err := doc.kept(r.Context(), s.desk, s.actor(r))
	if err != nil {
		return err
	}
	p := officeSheetPage{
		Base: s.base(r, doc.title), Doc: doc.word, Path: doc.path(), Heading: doc.title, Lead: doc.lead, Unsaved: sent.unsaved, Refused: sent.refused,
		Lacks: sent.lacks, Revision: kept.Revision, Ask: sent.ask, Why: sent.why, Back: officeBack(r), Pasted: sent.pasted, PasteBad: sent.pasteBad,
	}
	p.Here = doc.path()
	if sent.revision >= 0 {
		p.Revision = sent.revision
	}
	form := sent.form
	switch {
	case form != nil:
	case kept.Revision == 0:
		form = doc.sheet.blank(tableUnits(p.Base.Units))
		p.Empty = doc.empty
		if doc.invent != nil {
			p.Begin = &officeLink{doc.begin, doc.path() + "?from=example" + andBack(p.Back)}
		}
	default:
		var ok bool
		if form, ok = doc.sheet.fill([]byte(kept.Text)); !ok {
			p.Pasted = kept.Text
		}
		sent.faults = faultsOf(nil, kept.Faults)
		_, _, p.Lacks = doc.check([]byte(kept.Text))
	}
	if kept.Revision > 0 {
		p.State = "As set " + officeTime(kept.At) + byWhom(kept.By)
	}
	p.Parts = form.view(sent.faults, sent.extra, sent.focus)
	p.Faults = append(p.Faults, sent.faults.take(unitsPath, nil)...)
	p.Faults = append(p.Faults, sent.faults.rest()...)
	p.Was = form.units.String()
	chosen := form.units
	if sent.ask != nil {
		chosen = parseUnits(sent.ask.New)
	}
	for _, u := range []scout.Units{scout.US, scout.SI} {
		p.In = append(p.In, optionView{u.String(), unitsWords(u), u == chosen})
	}
	if chosen == 0 {
		p.In = append([]optionView{{"", "choose", true}}, p.In...)
	}
	if doc.word == "rules" {
		p.Examples = officeExamples()
		for _, c := range hazardChoices() {
			p.Offered = append(p.Offered, c.Label)
		}
	}
	if p.Earlier, err = s.officeEarlier(r, doc, kept, p.Back); err != nil {
		return err
	}
	return s.showAs(w, "officesheet", p, sent.status)
}

// showAs is show with a status of its own; 0 is 200.
func (s *Server) showAs(w http.ResponseWriter, name string, view any, status int) error {
	if status == 0 || status == http.StatusOK {
		return s.show(w, name, view)
	}
	var b bytes.Buffer
	if err := s.pages.render(&b, name, view); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, err := w.Write(b.Bytes())
	return ignoreGone(err)
}

func tableUnits(u say.System) scout.Units {
	if u == say.SI {
		return scout.SI
	}
	return scout.US
}

// officeBack is where the reader came from to mend something.
func officeBack(r *http.Request) string {
	if b := r.PostForm.Get("back"); localPath(b) {
		return b
	}
	return backOf(r)
}

func andBack(back string) string {
	if back == "" {
		return ""
	}
	return "&back=" + url.QueryEscape(back)
}

// officePost answers a form: it saves it, or does what another of its buttons
// says and saves nothing.
func (s *Server) officePost(w http.ResponseWriter, r *http.Request) error {
	doc, err := officeDocOf(mux.Vars(r)["sheet"])
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	form, blanks := doc.sheet.read(r.PostForm)
	sent := officeSent{form: form, extra: blanks, unsaved: "Nothing of this is saved yet.", why: strings.TrimSpace(r.PostForm.Get("why"))}
	if sent.revision, err = strconv.ParseInt(r.PostForm.Get("revision"), 10, 64); err != nil || sent.revision < 0 {
		return records.Errorf(records.Invalid, "the form does not say which revision it was made from; open %s again", doc.path())
	}
	wanted, act := parseUnits(r.PostForm.Get(unitsPath)), r.PostForm.Get("do")
	switch act {
	case "units:leave":
		return s.officeShow(w, r, doc, sent)
	case "units:keep":
		form.units = wanted
	case "units:convert":
		if n := form.convert(wanted); n > 0 {
			sent.unsaved = fmt.Sprintf("The figures are now in %s, but for %s that could not be read. Nothing of this is saved yet.", unitsWords(wanted), count(n, "figure", "figures"))
		} else {
			sent.unsaved = "The figures are now in " + unitsWords(wanted) + ". Nothing of this is saved yet."
		}
	default:
		if wanted != form.units && wanted != 0 {
			if sent.ask = form.asksUnits(wanted); sent.ask != nil {
				return s.officeShow(w, r, doc, sent)
			}
			form.units = wanted
		}
	}
	if act == "" || act == "save" {
		return s.officeSave(w, r, doc, sent)
	}
	verb, rest, _ := strings.Cut(act, ":")
	switch verb {
	case "row":
		sent.extra[rest]++
		sent.focus = rest
		return s.officeShow(w, r, doc, sent)
	case "drop":
		list, row, _ := strings.Cut(rest, ":")
		if i, err := strconv.Atoi(row); err == nil {
			form.drop(list, i)
		}
		return s.officeShow(w, r, doc, sent)
	case "copy":
		if err := form.copyExample(rest); err != nil {
			return err
		}
		return s.officeShow(w, r, doc, sent)
	}
	text, wrong := form.document()
	_, faults, lacks := doc.check(text)
	if sent.faults = faultsOf(wrong, faults); len(wrong) == 0 {
		sent.lacks = lacks
	}
	return s.officeShow(w, r, doc, sent)
}

// officeSave keeps a form, unless something in it refuses.
func (s *Server) officeSave(w http.ResponseWriter, r *http.Request, doc *officeDoc, sent officeSent) error {
	told := doc.keepLabel(sent.form)
	text, wrong := sent.form.document()
	canonical, faults, _ := doc.check(text)
	if records.Refuses(wrong) || records.Refuses(faults) {
		sent.faults, sent.unsaved = faultsOf(wrong, faults), ""
		sent.refused = "This was not saved: what is marked below must be mended first."
		sent.status = http.StatusUnprocessableEntity
		return s.officeShow(w, r, doc, sent)
	}
	kept, err := doc.kept(r.Context(), s.desk, s.actor(r))
	if err != nil {
		return err
	}
	to := orElse(officeBack(r), doc.path())
	if kept.Text == string(canonical) && kept.Revision == sent.revision {
		return s.done(w, r, to, said{Text: doc.title + ": nothing was changed."})
	}
	revision, err := doc.save(r.Context(), s.desk, s.actor(r), canonical, sent.revision, sent.why)
	if records.CodeOf(err) == records.Conflict {
		sent.refused = "This was not saved: somebody set the table anew while you typed (" + officeTime(kept.At) + byWhom(kept.By) + "). What you typed stands below; saving again sets it over theirs, which is kept in the list at the foot."
		sent.unsaved, sent.revision, sent.status = "", kept.Revision, http.StatusConflict
		return s.officeShow(w, r, doc, sent)
	}
	if err != nil {
		return err
	}
	return s.done(w, r, to, said{Text: strings.TrimSpace(doc.title + ": saved. " + told), Undo: doc.undo(sent.revision, revision, to)})
}

// undo is the address that sets the value before again.
func (o *officeDoc) undo(before, now int64, to string) string {
	q := url.Values{"revision": {strconv.FormatInt(before, 10)}, "current": {strconv.FormatInt(now, 10)}}
	if to != o.path() {
		q.Set("back", to)
	}
	return o.path() + "/restore?" + q.Encode()
}

// officeRestore sets an earlier document again; revision 0 takes it out, as
// it was before the first.
func (s *Server) officeRestore(w http.ResponseWriter, r *http.Request) error {
	doc, err := officeDocOf(mux.Vars(r)["sheet"])
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	revision, errA := strconv.ParseInt(r.Form.Get("revision"), 10, 64)
	current, errB := strconv.ParseInt(r.Form.Get("current"), 10, 64)
	if errA != nil || errB != nil || revision < 0 || current < 0 {
		return records.Errorf(records.Invalid, "the form does not say which revision to set again; open %s and choose one from the list at its foot", doc.path())
	}
	ctx, actor := r.Context(), s.actor(r)
	told := "as it was before"
	if revision == 0 {
		v := records.SettingValue{Name: doc.setting, Revision: current}
		err, told = s.desk.SaveSetting(ctx, actor, &v, "taken out again"), "taken out again"
	} else {
		err = s.desk.RestoreSetting(ctx, actor, doc.setting, revision, current)
	}
	if err != nil {
		return err
	}
	now, err := s.desk.Setting(ctx, actor, doc.setting)
	if err != nil {
		return err
	}
	to := orElse(officeBack(r), doc.path())
	return s.done(w, r, to, said{Text: doc.title + ": " + told + ".", Undo: doc.undo(current, now.Revision, to)})
}
