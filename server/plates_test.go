package server_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
)

// plateWorld is a part of the township with plates: those of the first wells,
// each linked to its own, but for one that is linked to none and two that are
// linked to each other's.
type plateWorld struct {
	t       *testing.T
	desk    *desk.Desk
	h       http.Handler
	loose   *records.Plate
	own     *records.Well // the one that loose was stamped from
	swapped [2]*records.Plate
}

func newPlateWorld(t *testing.T) *plateWorld {
	t.Helper()
	town := demo.Make(9)
	var wells []*records.Well
	var plates []desk.PlateOf
	for _, p := range town.Plates {
		if p.Well >= 0 && len(plates) < 25 {
			plates = append(plates, desk.PlateOf{Plate: p.Plate, Well: len(wells)})
			wells = append(wells, town.Wells[p.Well])
		}
	}
	w := &plateWorld{t: t, loose: plates[3].Plate, own: wells[3], swapped: [2]*records.Plate{plates[8].Plate, plates[9].Plate}}
	plates[3].Well = -1
	w.loose.Evidence = ""
	plates[8].Well, plates[9].Well = 9, 8
	w.desk, w.h = scoutWorld(t, nil)
	if err := w.desk.AddAll(t.Context(), desk.LocalPerson(), wells, plates, nil); err != nil {
		t.Fatal(err)
	}
	return w
}

func (w *plateWorld) get(path string) answer {
	w.t.Helper()
	rw := recordWorld{t: w.t, handler: w.h}
	return rw.get(path)
}

// post sends a form and follows it to the next page.
func (w *plateWorld) post(path string, pairs ...string) (next answer, text, undo string) {
	w.t.Helper()
	f := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Add(pairs[i], pairs[i+1])
	}
	a := postTo(w.t, w.h, path, f).is(http.StatusSeeOther)
	text, undo = a.told()
	return w.get(a.header.Get("Location")).is(200).sound(), text, undo
}

func (w *plateWorld) plate(id int64) *records.Plate {
	w.t.Helper()
	p, err := w.desk.Plate(w.t.Context(), desk.LocalPerson(), id)
	if err != nil {
		w.t.Fatal(err)
	}
	return p
}

func TestPlatesList(t *testing.T) {
	w := newPlateWorld(t)
	w.get("/plates").is(200).sound().says("3 of 25 plates to decide", w.loose.Number, w.own.Number, "almost certain", "may have been exchanged", "Look through 1 likely link")
	w.get("/plates?show=decided").is(200).sound().says("22", "linked").saysNot("may have been exchanged")
	for _, show := range []string{"likely", "unsure", "none", "doubtful", "aside"} {
		w.get("/plates?show=" + show).is(200).sound()
	}
	w.get("/plates?show=perhaps").is(400)
	w.get("/plates?from=-1").is(400)
	w.get("/plates?from=9999").is(200)
	_, h := scoutWorld(t, nil)
	empty := recordWorld{t: t, handler: h}
	empty.get("/plates").is(200).sound().says("no plate on record yet", "Record a plate")
	empty.get("/plates/confirm").is(200).sound().says("There is none")
}

// The desk says under each stamped field what the record says, with a sign and a
// word, and why; each button does what it says and can be undone.
func TestPlateDesk(t *testing.T) {
	w := newPlateWorld(t)
	path := fmt.Sprintf("/plates/%d", w.loose.ID)
	a := w.get(path).is(200).sound()
	a.says("Plate "+w.loose.Number, w.own.Number, "almost certain", "agrees", "=", "speaks", "of where the plate was seen", "not in the file")
	w.get(path + "?units=si").is(200).says(" m")
	w.get(path + "?show=perhaps").is(400)
	w.get("/plates/999999").is(404)

	next, text, undo := w.post(path+"/decide", "revision", "0", "do", fmt.Sprintf("link-%d", w.own.ID), "why", "all agrees")
	if !strings.Contains(text, "is linked to record "+w.own.Number) || w.plate(w.loose.ID).WellID != w.own.ID {
		t.Errorf("told %q", text)
	}
	next.says("2 of 25 plates to decide") // the next plate of the list
	w.get(path+"?show=decided").says("Linked to", "all agrees", "the reasons as they stood", "depth")
	w.get(fmt.Sprintf("/plate/%d", w.loose.ID)).is(200).sound().says("Decided", "linked", "all agrees")
	// Stale: nobody decides over somebody else.
	postTo(t, w.h, path+"/decide", url.Values{"revision": {"0"}, "do": {"later"}}).is(http.StatusConflict)
	_, text, _ = w.post(undo)
	if !strings.HasPrefix(text, "Undone") || w.plate(w.loose.ID).WellID != 0 {
		t.Errorf("told %q", text)
	}
	_, text, undo = w.post(path+"/decide", "revision", "2", "do", fmt.Sprintf("refuse-%d", w.own.ID))
	if !strings.Contains(text, "not proposed again") {
		t.Errorf("told %q", text)
	}
	w.get(path).says("Not these", "a record refused").saysNot("almost certain")
	w.post(undo)
	w.get(path).says("almost certain")
	_, text, undo = w.post(path+"/decide", "revision", "4", "do", "number", "number", w.own.Number)
	if w.plate(w.loose.ID).WellID != w.own.ID {
		t.Errorf("linked by its number: told %q", text)
	}
	w.post(undo)
	for _, state := range []string{"later", "no_record"} {
		_, _, undo = w.post(path+"/decide", "revision", fmt.Sprint(w.revision(w.loose.ID)), "do", state)
		w.get("/plates").says("2 of 25 plates to decide")
		w.post(undo)
		w.get("/plates").says("3 of 25 plates to decide")
	}
	for name, f := range map[string]url.Values{
		"no such button": {"do": {"burn"}}, "no record named": {"do": {"link-x"}}, "no number": {"do": {"number"}}, "no revision": {"do": {"later"}, "revision": {"x"}},
	} {
		if f.Get("revision") == "" {
			f.Set("revision", fmt.Sprint(w.revision(w.loose.ID)))
		}
		if a := postTo(t, w.h, path+"/decide", f); a.code != 400 {
			t.Errorf("%s: %d", name, a.code)
		}
	}
	postTo(t, w.h, path+"/decide", url.Values{"revision": {fmt.Sprint(w.revision(w.loose.ID))}, "do": {"number"}, "number": {"nobody's"}}).is(404)
}

func (w *plateWorld) revision(id int64) int64 {
	w.t.Helper()
	list, err := w.desk.PlateDecisions(w.t.Context(), desk.LocalPerson(), id)
	if err != nil || len(list) == 0 {
		w.t.Fatalf("%d decisions, %v", len(list), err)
	}
	return list[0].Revision
}

func TestPlatesExchangedOnThePage(t *testing.T) {
	w := newPlateWorld(t)
	a, b := w.swapped[0], w.swapped[1]
	path := fmt.Sprintf("/plates/%d/exchange", a.ID)
	w.get(path).is(200).sound().says("which other?")
	w.get(path + "?number=00000").is(200).says("No other plate has the number")
	w.get(path+"?number="+b.Number).is(200).sound().says("Plate "+a.Number, "Plate "+b.Number, "is then linked to record", "disagree")
	w.get(path + fmt.Sprintf("?with=%d", a.ID)).is(400)
	w.get(path + fmt.Sprintf("?with=%d", w.loose.ID)).is(200).says("is then linked to no record")
	_, text, undo := w.post(path, "revision", "0", "with", fmt.Sprint(b.ID), "with_revision", "0", "why", "looked at both")
	if w.plate(a.ID).WellID != b.WellID || w.plate(b.ID).WellID != a.WellID || !strings.Contains(text, "exchanged") {
		t.Errorf("told %q; %d is linked to %d", text, a.ID, w.plate(a.ID).WellID)
	}
	w.get("/plates").says("1 of 25 plates to decide")
	w.post(undo)
	if w.plate(a.ID).WellID != a.WellID || w.plate(b.ID).WellID != b.WellID {
		t.Error("the exchange undone, and it is not as before")
	}
}

func TestLikelyLinksConfirmed(t *testing.T) {
	w := newPlateWorld(t)
	a := w.get("/plates/confirm").is(200).sound()
	a.says("expected to be wrong", w.loose.Number, w.own.Number)
	link := regexp.MustCompile(`name="link" value="([^"]+)" checked`).FindStringSubmatch(a.body)
	if link == nil {
		t.Fatal("no link is ticked")
	}
	_, text, undo := w.post("/plates/confirm", "link", link[1])
	if w.plate(w.loose.ID).WellID != w.own.ID || text != "1 plate is linked." {
		t.Errorf("told %q", text)
	}
	w.post(undo)
	if w.plate(w.loose.ID).WellID != 0 {
		t.Error("undone and still linked")
	}
	for _, bad := range []string{"", "1-2", "1-2-x", "1-2-3-4"} {
		if a := postTo(t, w.h, "/plates/confirm", url.Values{"link": {bad}}); a.code != 400 {
			t.Errorf("link=%q: %d", bad, a.code)
		}
	}
	postTo(t, w.h, "/plates/confirm", nil).is(400)
}

// A plate is recorded in the field, seen again, changed, and each is undone.
func TestPlateRecorded(t *testing.T) {
	w := newPlateWorld(t)
	w.get("/plates/new?number=9%3F9&at=44.2,-38.7").is(200).sound().says("A plate seen", "Take care", "Where I stand")
	form := []string{"in", "us", "number", "9?9", "depth", "305", "yield", "<1", "diameter", "6", "date", "2004-06", "authority", "Invented Office", "s0_at", "44.2, -38.7", "s0_accuracy", "8 m", "s0_date", "2026-05-02", "s0_legible", "9_9"}
	next, text, undo := w.post("/plates/new", form...)
	next.says("Plate 9?9", "305 ft", "<1 gpm", "6 in", "June 2004", "44.200000, -38.700000", "26.2 ft", "Whose is it?")
	if !strings.HasPrefix(text, "Kept: plate 9?9") {
		t.Errorf("told %q", text)
	}
	found, err := w.desk.NumbersLike(t.Context(), desk.LocalPerson(), "959", 5)
	if err != nil || len(found) != 1 {
		t.Fatalf("959 finds %d (%v)", len(found), err)
	}
	id := found[0].PlateID
	if p := w.plate(id); p.Stamped.Depth.Given.Text != "305" || p.Seen[0].Accuracy.Value != 8 {
		t.Errorf("kept as %+v", p)
	}

	// The number is known: it is asked whether this is that plate.
	again := postTo(t, w.h, "/plates/new", url.Values{"in": {"us"}, "number": {"9?9"}, "casing": {"40"}, "s0_at": {"44.2,-38.7"}, "s0_date": {"2026-06-02"}}).is(http.StatusConflict)
	again.says("there is a plate with this number", "It is this one, seen again", "another plate with the same number")
	next, _, undoAgain := w.post("/plates/new", "in", "us", "number", "9?9", "casing", "40", "s0_at", "44.2,-38.7", "s0_date", "2026-06-02", "into", fmt.Sprint(id))
	next.says("2 June 2026", "2 May 2026", "40 ft", "Earlier states")
	w.post(undoAgain)
	if p := w.plate(id); len(p.Seen) != 1 || p.Stamped.Casing.Known() {
		t.Error("seen again, undone, and it is still there")
	}

	// Changed with its history; a stale form is refused.
	edit := fmt.Sprintf("/plates/%d/edit", id)
	w.get(edit).is(200).sound().says("take this sighting out")
	rev := fmt.Sprint(w.plate(id).Revision)
	changed := append([]string{"revision", rev}, form...)
	for i := range changed {
		if changed[i] == "305" {
			changed[i] = "350 ft"
		}
	}
	next, _, undoEdit := w.post(edit, changed...)
	next.says("350 ft", "then changed: depth")
	f := url.Values{}
	for i := 0; i+1 < len(changed); i += 2 {
		f.Set(changed[i], changed[i+1])
	}
	postTo(t, w.h, edit, f).is(http.StatusConflict).says("somebody changed the plate meanwhile")
	w.post(undoEdit)
	if p := w.plate(id); p.Stamped.Depth.Given.Text != "305" {
		t.Errorf("undone, and its depth is %q", p.Stamped.Depth.Given.Text)
	}
	seen := fmt.Sprintf("/plates/%d/seen", id)
	w.get(seen).is(200).sound().says("seen again")
	next, _, _ = w.post(seen, "revision", fmt.Sprint(w.plate(id).Revision), "s1_at", "", "s1_date", "2026-07-01", "s1_note", "still there")
	next.says("still there")
	next, _, _ = w.post(undo[:strings.Index(undo, "revision=")] + "revision=" + fmt.Sprint(w.plate(id).Revision))
	next.says("25 plates").saysNot("9?9")
}

// What is wrong stands beside its field, with what was typed; nothing is kept.
func TestPlateFormRefuses(t *testing.T) {
	w := newPlateWorld(t)
	a := postTo(t, w.h, "/plates/new", url.Values{"in": {"us"}, "number": {"12"}, "depth": {"deep"}, "date": {"6/7/04"}, "s0_at": {"95 200"}, "s0_accuracy": {"near"}, "s0_date": {"soon"}}).is(http.StatusUnprocessableEntity)
	a.says("Nothing was saved")
	if n := strings.Count(a.body, `class="fault"`); n != 5 {
		t.Errorf("%d faults are told, want 5", n)
	}
	for _, typed := range []string{"deep", "6/7/04", "95 200", "near", "soon"} {
		if !strings.Contains(a.body, `value="`+typed+`"`) {
			t.Errorf("%q was typed and is lost", typed)
		}
	}
	postTo(t, w.h, "/plates/new", url.Values{"in": {"us"}}).is(http.StatusUnprocessableEntity).says("neither a number nor anything stamped")
	a = postTo(t, w.h, "/plates/new", url.Values{"in": {"us"}, "number": {attack}, "s0_note": {attack}, "authority": {attack}, "series": {attack}}).is(http.StatusSeeOther)
	w.get(a.header.Get("Location")).is(200).sound().says(attack)
	id := a.header.Get("Location")[len("/plate/"):]
	for _, path := range []string{"/plates", "/plates/" + id, "/plates/" + id + "/edit", "/plates/" + id + "/exchange", "/plates/" + id + "/seen", "/p/" + url.PathEscape(attack)} {
		if a := w.get(path); a.code == 200 {
			a.sound()
		}
	}
}

// A number leads to its record in one step, to a choice, or to recording what is
// stamped; the page is small enough for a bad signal.
func TestNumberInTheField(t *testing.T) {
	w := newPlateWorld(t)
	for path, want := range map[string]string{
		"/p/" + w.loose.Number:                fmt.Sprintf("/plate/%d", w.loose.ID),
		"/p/" + w.swapped[0].Number:           fmt.Sprintf("/well/%d", w.swapped[0].WellID),
		"/p/" + strings.ToLower(w.own.Number): fmt.Sprintf("/well/%d", w.own.ID),
		"/p/" + w.own.UID:                     fmt.Sprintf("/well/%d", w.own.ID),
		"/p/" + w.loose.UID:                   fmt.Sprintf("/plate/%d", w.loose.ID),
		"/p?number=" + w.loose.Number:         "/p/" + w.loose.Number,
		"/p?number=4%2F7+x":                   "/p/4%2F7%20x",
	} {
		if got := w.get(path).is(303).header.Get("Location"); got != want {
			t.Errorf("%s leads to %q, want %q", path, got, want)
		}
	}
	several := w.get("/p/" + w.loose.Number[:3] + "%3F%3F").is(200).sound()
	several.says("It may be one of these", w.loose.Number)
	if typed := w.get("/p/" + w.loose.Number[:3] + "??"); typed.code != 200 || !strings.Contains(plainText(typed.body), w.loose.Number) {
		t.Errorf("typed into the address: %d", typed.code)
	}
	unknown := w.get("/p/99%3F99").is(404).sound()
	unknown.says("Not known: 99?99", "Record what is stamped")
	if !strings.Contains(unknown.body, `href="/plates/new?number=99%3F99"`) {
		t.Error("the number is not carried into the form")
	}
	w.get("/p").is(200).sound().says("Read a plate")
	// The one field of every page finds it too.
	w.get("/find?q=" + w.loose.Number[:3] + "%3F%3F").is(200).sound().says(w.loose.Number)
	// On the wire, with the only style sheet that it needs.
	size := 0
	for _, body := range []string{unknown.body, w.get(regexp.MustCompile(`/static/[^"]+base\.css`).FindString(unknown.body)).is(200).body} {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		if _, err := z.Write([]byte(body)); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		size += b.Len()
	}
	if size > 5000 || strings.Contains(unknown.body, "<script") {
		t.Errorf("the answer takes %d bytes", size)
	}
}

func TestPlatesBroughtIn(t *testing.T) {
	w := newPlateWorld(t)
	w.get("/plates/bring").is(200).sound().says("number", "Try it, write nothing")
	send := func(do, table string) answer {
		t.Helper()
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		for name, v := range map[string]string{"in": "us", "order": "mdy", "do": do} {
			if err := m.WriteField(name, v); err != nil {
				t.Fatal(err)
			}
		}
		f, err := m.CreateFormFile("file", "plates.csv")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(table)); err != nil {
			t.Fatal(err)
		}
		if err := m.Close(); err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest("POST", "http://127.0.0.1/plates/bring", &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		rec := httptest.NewRecorder()
		w.h.ServeHTTP(rec, r)
		return answer{t, "/plates/bring", rec.Code, rec.Body.String(), rec.Header()}
	}
	table := "number,date,depth\n70001,6/15/2004,305\n,,\n70002,x,<b>305</b>\n"
	send("try", table).is(200).sound().says("2 rows read: 1 new plate and 0 plates seen again would be taken in, 1 row refused.", "Nothing was written", "is not understood")
	w.get("/plates").says("of 25 plates")
	took := send("take", table).is(200).sound().says("1 new plate and 0 plates seen again taken in", "Take it back")
	w.get("/plates").says("of 26 plates")
	next, text, _ := w.post(html.UnescapeString(regexp.MustCompile(`action="(/plates/bring/undo[^"]*)"`).FindStringSubmatch(took.body)[1]))
	next.says("of 25 plates")
	if !strings.HasPrefix(text, "Taken back: 1 plate") {
		t.Errorf("told %q", text)
	}
	send("try", "number,depth_ft\n70003,300\n70003,300\n70004,-5\n").is(200).says("1 new plate", "the very same row came before, here or in an earlier table: plate 70003",
		"total depth on the plate: is -1.524 m", "take the reasons out").saysNot("plate no.")
	send("take", "colour\nred\n").is(400)
	send("take", "").is(400)
}
