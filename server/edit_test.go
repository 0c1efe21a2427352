package server_test

import (
	"encoding/json"
	"fmt"
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

var (
	rowTemplates = regexp.MustCompile(`(?s)<template>.*?</template>`)
	editControls = regexp.MustCompile(`(?s)<input\b[^>]*\bname="([^"]*)"[^>]*>|<select\b[^>]*\bname="([^"]*)"[^>]*>(.*?)</select>|<textarea\b[^>]*\bname="([^"]*)"[^>]*>\n?(.*?)</textarea>`)
	valueIn      = regexp.MustCompile(`\bvalue="([^"]*)"`)
	chosenOption = regexp.MustCompile(`<option value="([^"]*)" selected>`)
)

// formIn is what a browser without scripts would send of the form on a page.
func formIn(a answer) url.Values {
	a.t.Helper()
	out := url.Values{}
	body := rowTemplates.ReplaceAllString(a.body, "")
	if at := strings.Index(body, `<form class="eform"`); at >= 0 {
		body = body[at:]
	} else if at := strings.Index(body, "<main"); at >= 0 {
		body = body[at:]
	}
	body, _, _ = strings.Cut(body, "</form>")
	for _, m := range editControls.FindAllStringSubmatch(body, -1) {
		switch {
		case m[1] != "":
			if strings.Contains(m[0], `type="image"`) || strings.Contains(m[0], `type="radio"`) && !strings.Contains(m[0], " checked") {
				continue
			}
			if v := valueIn.FindStringSubmatch(m[0]); v != nil {
				out.Set(html.UnescapeString(m[1]), html.UnescapeString(v[1]))
			}
		case m[2] != "":
			v := chosenOption.FindStringSubmatch(m[3])
			if v == nil {
				a.t.Fatalf("nothing is chosenOption in %s", m[2])
			}
			out.Set(html.UnescapeString(m[2]), html.UnescapeString(v[1]))
		default:
			out.Set(html.UnescapeString(m[4]), strings.ReplaceAll(html.UnescapeString(m[5]), "\n", "\r\n"))
		}
	}
	return out
}

func with(f url.Values, pairs ...string) url.Values {
	out := url.Values{}
	for k, v := range f {
		out[k] = v
	}
	for i := 0; i+1 < len(pairs); i += 2 {
		out.Set(pairs[i], pairs[i+1])
	}
	return out
}

func (w *recordWorld) well(id int64) *records.Well {
	w.t.Helper()
	s, err := w.desk.Well(w.t.Context(), desk.LocalPerson(), id)
	if err != nil {
		w.t.Fatal(err)
	}
	return s.Well
}

// undoIn is the address that undoes what the answer did.
func (a answer) undoIn() string {
	a.t.Helper()
	_, undo := a.told()
	return undo
}

// The form of every record, full, empty, hostile, is sound, and sent back
// untouched it writes nothing.
func TestEditUntouched(t *testing.T) {
	w := newRecordWorld(t)
	for _, id := range []int64{w.full.ID, w.empty.ID, w.hostile.ID, w.first} {
		for _, units := range []string{"us", "si"} {
			before := w.well(id)
			path := fmt.Sprintf("/well/%d/edit", id)
			a := w.get(path + "?units=" + units).is(200).sound()
			to := w.send(path, with(formIn(a), "do", "save")).is(303).header.Get("Location")
			if after := w.well(id); after.Revision != before.Revision || to != fmt.Sprintf("/well/%d", id) {
				t.Errorf("%s in %s units: revision %d became %d, sent to %s: %v", path, units, before.Revision, after.Revision, to, records.Diff(before, after))
			}
		}
	}
	w.get("/well/99999/edit").is(404)
	w.get("/well/new?at=nowhere").is(400)
	a := w.get("/well/new?at=44.5,-72.25").is(200).sound().says("Add a record", "The ground")
	if f := formIn(a); f.Get("coordinates_given") != "44.500000, -72.250000" || f.Get("datum") != "WGS 84" {
		t.Errorf("the place asked for: %q %q", f.Get("coordinates_given"), f.Get("datum"))
	}
	if !strings.Contains(w.get(fmt.Sprintf("/well/%d", w.full.ID)).body, fmt.Sprintf(`href="/well/%d/edit"`, w.full.ID)) {
		t.Error("the record does not lead to its form")
	}
	if !strings.Contains(w.get("/?at=44.25,-38.75").body, `href="/well/new?at=`) {
		t.Error("the map's panel does not lead to a new record")
	}
	w.get("/records").is(200).says("Add a record", "Drafts")
}

// A record is typed without scripts: rows are added, moved and taken out, a log
// is pasted, the map is clicked, a fault is told beside its field and loses
// nothing, and what was saved can be taken back.
func TestEditWithoutScripts(t *testing.T) {
	w := newRecordWorld(t)
	f := formIn(w.get("/well/new"))
	f = with(f, "number", "N-7", "total_depth", `203'6"`, "yield", "<1", "owner.name", "Invented Owner", "remarks", "two\r\nlines",
		"strata[0].top", "0", "strata[0].bottom", "12", "strata[0].description", "clay")
	a := w.send("/well/new", with(f, "do", "add:strata")).is(200).sound()
	f = formIn(a)
	if f.Get("number") != "N-7" || f.Get("remarks") != "two\r\nlines" || f.Get("strata[3].description") != "" {
		t.Errorf("what was typed is lost: %v", f)
	}
	f = formIn(w.send("/well/new", with(f, "do", "paste", "~paste", "12-40 hardpan; 40-203 gry gneiss, soft @ 88")).is(200).sound().says("2 rows read"))
	if f.Get("strata[1].top") != "12" || f.Get("strata[2].description") != "gry gneiss, soft @ 88" {
		t.Errorf("pasted: %q, %q", f.Get("strata[1].top"), f.Get("strata[2].description"))
	}
	f = formIn(w.send("/well/new", with(f, "do", "paste", "~paste", "top\tbottom\twords\n203\t205\tquartz\tvein\nno depth")).is(200).says("1 row read", "1 row without a depth left out"))
	if f.Get("strata[3].description") != "quartz, vein" {
		t.Errorf("cells: %q", f.Get("strata[3].description"))
	}
	w.send("/well/new", with(f, "do", "paste", "~paste", "no log at all")).is(200).says("Not read into rows", "no log at all")
	f = formIn(w.send("/well/new", with(f, "do", "up:strata:3")).is(200))
	f = formIn(w.send("/well/new", with(f, "do", "drop:strata:2")).is(200))
	if f.Get("strata[2].description") != "gry gneiss, soft @ 88" {
		t.Errorf("moved and taken out: %v", f)
	}
	// The map: its middle is clicked, then a spot a hundred pixels to the right.
	a = w.send("/well/new", with(f, "~map.x", "320", "~map.y", "180")).is(200).says("The place is where you clicked")
	lon := formIn(a).Get("~map.lon")
	if got := formIn(a).Get("coordinates_given"); !strings.HasSuffix(got, ", "+lon) && !strings.Contains(got, strings.TrimRight(lon, "0")) {
		t.Errorf("the middle at longitude %s was read as %s", lon, got)
	}
	f = formIn(a)
	near := formIn(w.send("/well/new", with(f, "do", "map:in")).is(200))
	if near.Get("~map.mpp") == f.Get("~map.mpp") {
		t.Error("the map did not come nearer")
	}
	a = w.send("/well/new", with(f, "do", "save", "total_depth", "deep", "completed", "Juneish")).is(422).sound().says("Nothing was saved", "deep", "no number", "Juneish")
	w.send("/well/new", with(f, "do", "save", "strata[0].top", "30")).is(422).says("is above top").saysNot("top_m") // in plain words
	f = with(formIn(a), "total_depth", `203'6"`, "completed", "2004-06")
	f = formIn(w.send("/well/new", with(f, "do", "add:strata")).is(200)) // begun, and left alone
	if f.Get("strata[3].top") == "" {
		t.Error("a new row does not begin where the one above it ends")
	}
	saved := w.send("/well/new", with(f, "do", "save")).is(303)
	var id int64
	if _, err := fmt.Sscanf(saved.header.Get("Location"), "/well/%d", &id); err != nil {
		t.Fatal(err)
	}
	x := w.well(id)
	if x.Number != "N-7" || len(x.Strata) != 3 || x.Owner.Name != "Invented Owner" || x.TotalDepth.Given.Text != `203'6"` || x.Yield.Qualifier != records.LessThan || x.Remarks != "two\nlines" || !x.Place.Located || x.UID != f.Get("~uid") {
		t.Errorf("saved as %+v", x)
	}
	if again := w.send("/well/new", with(f, "do", "save")).is(303).header.Get("Location"); again != saved.header.Get("Location") {
		t.Errorf("sent twice it went to %s", again)
	}
	// A change, and back; taken out, and back.
	path := fmt.Sprintf("/well/%d/edit", id)
	changed := w.send(path, with(formIn(w.get(path)), "do", "save", "number", "N-8", "~why", "misread")).is(303)
	if w.well(id).Number != "N-8" {
		t.Error("not changed")
	}
	undone := w.send(changed.undoIn(), nil).is(303)
	if x := w.well(id); x.Number != "N-7" || x.Revision != 3 {
		t.Errorf("taken back: %q, revision %d", x.Number, x.Revision)
	}
	if w.send(undone.undoIn(), nil).is(303); w.well(id).Number != "N-8" {
		t.Error("the undo cannot be undone")
	}
	w.send(path+"/undo?revision=1&current=1", nil).is(409)
	w.send(path+"/undo?revision=x", nil).is(400)
	out := w.send(fmt.Sprintf("/well/%d/remove?revision=4", id), nil).is(303)
	if a := w.get(fmt.Sprintf("/well/%d", id)); a.code == 200 {
		t.Error("taken out and still there")
	}
	back := w.send(out.undoIn(), nil).is(303).header.Get("Location")
	w.get(back).is(200).says("N-8")
}

// Two clerks: the second meets what the first saved, chooses, and neither loses
// a word.
func TestEditMeets(t *testing.T) {
	w := newRecordWorld(t)
	id := w.full.ID
	path := fmt.Sprintf("/well/%d/edit", id)
	form := formIn(w.get(path))
	w.send(path, with(form, "do", "save", "number", attack, "crew.rig", "their rig", "strata[0].description", "their words")).is(303)
	mine := with(form, "do", "save", "number", "mine", "strata[4].description", "my words", "remarks", "mine\r\ntoo", "~why", "read again")
	a := w.send(path, mine).is(409).sound().says("Two of you changed", "Both changed", "Taken from each", "their rig", "their words", "my words", "mine too")
	f := formIn(a)
	if f.Get("~choose:number") != "" || f.Get("strata[4].description") != "my words" || f.Get("remarks") != "mine\r\ntoo" || f.Get("~why") != "read again" {
		t.Errorf("the form that meets: %v", f)
	}
	w.send(path, with(f, "do", "save")).is(409).says("Both changed")
	// Into the form with it: the merged state, ready to be gone on with.
	re := formIn(w.send(path, with(f, "do", "rebase", "~choose:number", "theirs")).is(200).sound().says("what both versions come to"))
	if re.Get("number") != attack || re.Get("strata[4].description") != "my words" || re.Get("crew.rig") != "their rig" || re.Get("~revision") != "3" {
		t.Errorf("what both come to: %v", re)
	}
	// A third saves while it is being chosenOption: it is shown again.
	w.send(path, with(formIn(w.get(path)), "do", "save", "land_use", "orchard")).is(303)
	a = w.send(path, with(f, "do", "save", "~choose:number", "ours")).is(409).says("orchard")
	saved := w.send(path, with(formIn(a), "do", "save", "~choose:number", "ours")).is(303)
	x := w.well(id)
	if x.Number != "mine" || x.Crew.Rig != "their rig" || x.Strata[0].Description != "their words" || x.Strata[4].Description != "my words" || x.Remarks != "mine\ntoo" || x.LandUse != "orchard" {
		t.Errorf("both together: %+v", x)
	}
	w.send(saved.undoIn(), nil).is(303)
	if x := w.well(id); x.Number != attack || x.LandUse != "orchard" {
		t.Errorf("taken back to theirs: %q", x.Number)
	}
	// Taken out while it is open.
	form = formIn(w.get(path))
	w.send(fmt.Sprintf("/well/%d/remove?revision=%s", id, form.Get("~revision")), nil).is(303)
	a = w.send(path, with(form, "do", "save", "number", "kept")).is(409).sound().says("Taken out meanwhile")
	w.send(path, with(formIn(a), "do", "save")).is(303)
	got, err := w.desk.WellIDByUID(t.Context(), desk.LocalPerson(), x.UID)
	if err != nil || w.well(got).Number != "kept" {
		t.Errorf("brought back: %v", err)
	}
}

func TestDraftPages(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/drafts").is(200).sound().says("There are none")
	path := fmt.Sprintf("/well/%d/edit", w.full.ID)
	form := with(formIn(w.get(path)), "number", attack, "strata[0].description", "half a wo")
	to := w.send(path, with(form, "do", "keep")).is(303).header.Get("Location")
	w.get("/drafts").is(200).sound().says("changes to a record", "discard")
	w.get(path).is(200).sound().says("You have a draft of this")
	f := formIn(w.get(to).is(200).sound().says("draft kept"))
	if f.Get("number") != attack || f.Get("strata[0].description") != "half a wo" || f.Get("~draft") == "0" {
		t.Errorf("the draft is gone on with at %q, %q", f.Get("number"), f.Get("strata[0].description"))
	}
	// By a script: written again, and another window of the same person.
	keep := func(f url.Values) (id, revision float64) {
		a := w.send("/draft", with(f, "~id", fmt.Sprint(w.full.ID))).is(200)
		var got map[string]any
		if err := json.Unmarshal([]byte(a.body), &got); err != nil {
			t.Fatal(err)
		}
		return got["id"].(float64), got["revision"].(float64)
	}
	id, revision := keep(f)
	if fmt.Sprint(id) != f.Get("~draft") || revision != 2 {
		t.Errorf("kept again as draft %v at revision %v", id, revision)
	}
	if other, _ := keep(f); other == id {
		t.Error("another window wrote over the draft")
	}
	// Saved from it, it is over; the other stays.
	f = with(f, "~draft_revision", "2", "number", "from a draft")
	w.send(path, with(f, "do", "save")).is(303)
	w.get(to).is(409)
	w.send("/draft", with(f, "~id", fmt.Sprint(w.full.ID))).is(409)
	list := w.get("/drafts")
	discard := regexp.MustCompile(`/draft/\d+/discard\?revision=\d+`).FindAllString(list.body, -1)
	if len(discard) != 1 {
		t.Fatalf("%d drafts are listed", len(discard))
	}
	gone := w.send(discard[0], nil).is(303)
	w.get("/drafts").says("There are none")
	w.send(gone.undoIn(), nil).is(303)
	w.get("/drafts").says("changes to a record")
	w.get("/well/new?draft=1").is(404)
	w.get(path + "?draft=x").is(404)
}

// A script is told what is wrong, where, and how the log looks.
func TestEditLook(t *testing.T) {
	w := newRecordWorld(t)
	f := with(formIn(w.get(fmt.Sprintf("/well/%d/edit", w.full.ID))), "~id", fmt.Sprint(w.full.ID), "strata[1].bottom", "x", "yield", "lots", "strata[9].description", "new "+attack)
	a := w.send("/well/look", f).is(200)
	var seen struct {
		Faults []struct {
			Field, Text string
			Bad         bool
		}
		Column, At string
		Bad        int
	}
	if err := json.Unmarshal([]byte(a.body), &seen); err != nil {
		t.Fatal(err)
	}
	bad := map[string]bool{}
	for _, x := range seen.Faults {
		bad[x.Field] = bad[x.Field] || x.Bad
	}
	if !bad["strata[1].bottom"] || !bad["yield"] || seen.Bad != 2 || !strings.HasPrefix(seen.Column, "<svg") || strings.Contains(seen.Column, "<script") || seen.At != "44.25,-72.5" {
		t.Errorf("%+v", seen)
	}
	w.send("/well/look", url.Values{"~id": {"99999"}, "~revision": {"1"}}).is(404)
	a = w.send("/well/pasted", with(f, "~paste", "0-12 clay\n12-40 gneiss, water @ 30 2 gpm")).is(200)
	if !strings.Contains(a.body, `".description":"clay"`) {
		t.Errorf("pasted: %s", a.body)
	}
	w.send("/draft", url.Values{"number": {"x"}}).is(400)
}
