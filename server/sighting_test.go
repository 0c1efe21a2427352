package server_test

import (
	"encoding/base64"
	"encoding/json"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

// postTo sends a form and gives the answer.
func postTo(t *testing.T, h http.Handler, path string, form url.Values) answer {
	t.Helper()
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return answer{t, path, w.Code, w.Body.String(), w.Header()}
}

// told is what the answer to a form tells on the next page, and its undo.
func (a answer) told() (text, undo string) {
	a.t.Helper()
	for _, c := range (&http.Response{Header: a.header}).Cookies() {
		if c.Name != "said" || c.Value == "" {
			continue
		}
		b, err := base64.RawURLEncoding.DecodeString(c.Value)
		var what struct{ Text, Undo string }
		if err == nil {
			err = json.Unmarshal(b, &what)
		}
		if err != nil {
			a.t.Fatal(err)
		}
		return what.Text, what.Undo
	}
	a.t.Errorf("%s tells nothing", a.path)
	return "", ""
}

// seenForm is a form of a sighting as a browser sends it.
func seenForm(pairs ...string) url.Values {
	f := url.Values{"in": {"us"}, "at": {"44.25,-38.75"}, "date": {"2026-11-25"}, "sure": {"30"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

func oneSighting(t *testing.T, d *desk.Desk) *records.Sighting {
	t.Helper()
	list, err := d.Sightings(t.Context(), desk.LocalPerson(), nil)
	if err != nil || len(list) != 1 {
		t.Fatalf("%d sightings, %v; want one", len(list), err)
	}
	return list[0]
}

// Each choice is one press of its button, and says of bedrock and yield what
// records.Sighting promises of its kind.
func TestSightingEntered(t *testing.T) {
	feet := func(v float64) records.Depth { return records.Depth(records.Foot.ToBase(v)) }
	for _, c := range []struct {
		name    string
		form    url.Values
		kind    string
		bedrock records.Qualifier
		depth   records.Depth
		words   string
	}{
		{"rock at the surface", seenForm("kind", "ledge"), records.SawLedge, records.Exact, 0, "Rock at the surface"},
		{"rock in a cut", seenForm("kind", "ledge", "depth_ledge", "4"), records.SawLedge, records.Exact, feet(4), "Rock in a cut, 4 ft down"},
		{"a pit that met rock", seenForm("kind", "refusal", "depth_refusal", "6 ft"), records.SawRefusal, records.About, feet(6), "A pit or probe met rock at 6 ft"},
		{"a pit that did not", seenForm("kind", "no_refusal", "depth_no_refusal", "2.4 m"), records.SawNoRefusal, records.GreaterThan, 2.4, "without rock"},
		{"a dry hole", seenForm("kind", "dry_hole", "note", "told at the store"), records.SawDryHole, records.Missing, 0, "A dry hole, as told"},
		{"Enter pressed in the one depth", seenForm("kind", "", "depth_refusal", "6"), records.SawRefusal, records.About, feet(6), "A pit or probe met rock at 6 ft"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, h := scoutWorld(t, changed(20, nil))
			wells := d.Picture().Len()
			a := postTo(t, h, "/sighting/new", c.form).is(http.StatusSeeOther)
			see := oneSighting(t, d)
			bedrock, _ := see.Evidence()
			if see.Kind != c.kind || bedrock.Qualifier != c.bedrock || bedrock.Value != c.depth || see.Accuracy.Value != 30 || see.Date.String() != "2026-11-25" {
				t.Errorf("kept as %s, bedrock %v %v, place within %v, on %s", see.Kind, bedrock.Qualifier, bedrock.Value, see.Accuracy.Value, see.Date)
			}
			if d.Picture().Len() != wells {
				t.Errorf("%d wells, want %d: it was counted as one", d.Picture().Len(), wells)
			}
			code, page := getPage(t, h, a.header.Get("Location"))
			answer{t, "its page", code, page, nil}.is(200).sound().says(c.words, "counted nowhere as a well")
			text, undo := a.told()
			if !strings.HasPrefix(text, "Kept: ") {
				t.Errorf("told: %q", text)
			}
			postTo(t, h, undo, nil).is(http.StatusSeeOther)
			if left, err := d.Sightings(t.Context(), desk.LocalPerson(), nil); err != nil || len(left) != 0 {
				t.Errorf("undone, and %d are left (%v)", len(left), err)
			}
		})
	}
}

// A form that is refused comes back with what was typed and its faults, and
// nothing is kept.
func TestSightingRefused(t *testing.T) {
	d, h := scoutWorld(t, changed(20, nil))
	for _, c := range []struct {
		name string
		form url.Values
		want []string // in the page's text
		kept []string // in its fields
	}{
		{"a pit without depth", seenForm("kind", "refusal", "note", "behind the barn"), []string{"the depth of the refusal is missing"}, []string{"behind the barn"}},
		{"a depth that is none", seenForm("kind", "ledge", "depth_ledge", "shallow"), []string{"Nothing was saved"}, []string{`value="shallow"`}},
		{"above ground", seenForm("kind", "ledge", "depth_ledge", "-3"), []string{"above ground"}, []string{`value="-3"`}},
		{"nothing chosen", seenForm("kind", ""), []string{"say which of the four it was"}, nil},
		{"two depths and Enter", seenForm("kind", "", "depth_ledge", "3", "depth_refusal", "4"), []string{"say which of the four it was"}, []string{`value="3"`, `value="4"`}},
		{"a day that is none", seenForm("kind", "ledge", "date", "yesterday"), []string{"is not year"}, []string{`value="yesterday"`}},
		{"a day to come", seenForm("kind", "ledge", "date", "2027-01-01"), []string{"Nothing was saved"}, []string{`value="2027-01-01"`}},
		{"no place", seenForm("kind", "ledge", "at", "over there"), []string{"Nothing was saved"}, []string{`value="over there"`}},
		{"another kind", seenForm("kind", "earthquake"), []string{"which says nothing of the ground"}, nil},
		{"a word for how sure", seenForm("kind", "ledge", "sure", "very"), []string{"choose one of the list"}, nil},
		{"text that would break out", seenForm("kind", "refusal", "note", attack, "by", attack, "depth_refusal", attack, "date", attack, "at", attack), []string{"Nothing was saved"}, nil},
	} {
		a := postTo(t, h, "/sighting/new", c.form).is(http.StatusUnprocessableEntity).sound().says(c.want...)
		for _, k := range c.kept {
			if !strings.Contains(html.UnescapeString(a.body), k) {
				t.Errorf("%s: what was typed is gone: %s", c.name, k)
			}
		}
	}
	if list, err := d.Sightings(t.Context(), desk.LocalPerson(), nil); err != nil || len(list) != 0 {
		t.Errorf("%d were kept (%v)", len(list), err)
	}
	if code, _ := getPage(t, h, "/sighting/new?at=nowhere"); code != http.StatusBadRequest {
		t.Errorf("no place to enter at: %d", code)
	}
	if code, _ := getPage(t, h, "/sighting/77"); code != http.StatusNotFound {
		t.Errorf("a sighting that never was: %d", code)
	}
}

// A sighting is changed, taken out and brought back, each undone from the
// message that follows; what the form does not show is left as it was.
func TestSightingChanged(t *testing.T) {
	d, h := scoutWorld(t, changed(20, nil))
	s := &records.Sighting{Kind: records.SawRefusal, Located: true, Lon: -38.75, Lat: 44.25, Depth: records.Of(records.Depth(2)), By: "Invented Digger", Given: "44 15 N", Method: "gps",
		Accuracy: records.Of(records.Length(7)), Extra: []records.Member{{Name: "soil", JSON: `"loam"`}}}
	if _, err := d.SaveSighting(t.Context(), desk.LocalPerson(), s, ""); err != nil {
		t.Fatal(err)
	}
	path, was := "/sighting/1", oneSighting(t, d)
	code, page := getPage(t, h, path+"/edit")
	answer{t, path, code, page, nil}.is(200).sound().says("as it was: within 23 ft", "now: a pit or probe met rock at")
	same := seenForm("revision", "1", "kind", "refusal", "depth_refusal", formValue(t, page, "depth_refusal"), "date", "", "sure", "7", "by", "Invented Digger", "note", "a boulder?", "why", "he rang")
	a := postTo(t, h, path+"/edit", same).is(http.StatusSeeOther)
	got := oneSighting(t, d)
	if got.Depth != was.Depth || got.Given != "44 15 N" || got.Method != "gps" || got.Accuracy.Value != 7 || len(got.Extra) != 1 || got.Note != "a boulder?" {
		t.Errorf("a note was added, and now it is %+v", got)
	}
	if a = postTo(t, h, path+"/edit", same); a.code != http.StatusConflict || !strings.Contains(a.body, "somebody changed it meanwhile") {
		t.Errorf("saved from an old state: %d", a.code)
	}
	a = postTo(t, h, path+"/edit", seenForm("revision", "2", "kind", "no_refusal", "depth_no_refusal", "8", "sure", "150")).is(http.StatusSeeOther)
	if got = oneSighting(t, d); got.Kind != records.SawNoRefusal || got.Accuracy.Value != 150 || got.Depth.Given.Text != "8" {
		t.Errorf("changed to %+v", got)
	}
	code, page = getPage(t, h, path)
	answer{t, path, code, page, nil}.is(200).sound().says("went to 8 ft without rock", "Earlier states", "he rang", "then changed: what was seen", "revision 1", "revision 2")
	_, undo := a.told()
	a = postTo(t, h, undo, nil).is(http.StatusSeeOther)
	if got = oneSighting(t, d); got.Kind != records.SawRefusal || got.Note != "a boulder?" {
		t.Errorf("the change undone: %+v", got)
	}
	_, undo = a.told()
	postTo(t, h, undo, nil).is(http.StatusSeeOther)
	if got = oneSighting(t, d); got.Kind != records.SawNoRefusal {
		t.Errorf("the undoing undone: %s", got.Kind)
	}
	remove := html.UnescapeString(regexp.MustCompile(`action="(/sighting/1/remove[^"]*)"`).FindStringSubmatch(pageOf(t, h, path))[1])
	a = postTo(t, h, remove, nil).is(http.StatusSeeOther)
	answer{t, path, 200, pageOf(t, h, path), nil}.sound().says("It was taken out").saysNot("Take it out")
	_, undo = a.told()
	a = postTo(t, h, undo, nil).is(http.StatusSeeOther)
	back := oneSighting(t, d)
	if back.UID != got.UID || back.Kind != records.SawNoRefusal || back.By != got.By || a.header.Get("Location") == "" {
		t.Errorf("brought back: %+v, was %+v", back, got)
	}
	for _, bad := range []string{"/sighting/1/remove", "/sighting/1/remove?revision=x", "/sighting/1/restore?revision=1", "/sighting/1/edit"} {
		if a := postTo(t, h, bad, nil); a.code < 400 || a.code >= 500 {
			t.Errorf("%s: %d", bad, a.code)
		}
	}
}

func pageOf(t *testing.T, h http.Handler, path string) string {
	t.Helper()
	_, page := getPage(t, h, path)
	return page
}

func formValue(t *testing.T, page, name string) string {
	t.Helper()
	m := regexp.MustCompile(`name="` + name + `"[^>]*value="([^"]*)"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("no field %s", name)
	}
	return html.UnescapeString(m[1])
}

// The map bears a mark of its own for what was seen, with a line in the legend,
// and counts as many wells as before; the scouting page lists it with its
// distance; the map's panel and the scouting page lead to the form.
func TestSightingsOnTheMap(t *testing.T) {
	d, h := scoutWorld(t, changed(40, nil))
	address := "/map.svg?lon=-38.75&lat=44.25&mpp=4&w=1000&h=760"
	before := pageOf(t, h, address)
	if strings.Contains(before, "seen") {
		t.Error("a map speaks of sightings where there are none")
	}
	for _, f := range []url.Values{
		seenForm("kind", "ledge", "at", "44.251,-38.75"), seenForm("kind", "no_refusal", "depth_no_refusal", "8", "at", "44.25,-38.752"), seenForm("kind", "dry_hole", "at", "44.249,-38.75"), seenForm("kind", "ledge", "at", "50,-38.75"),
	} {
		postTo(t, h, "/sighting/new", f).is(http.StatusSeeOther)
	}
	after := pageOf(t, h, address)
	if n := strings.Count(after, `href="/sighting/`); n != 3 {
		t.Errorf("%d marks in view, want 3", n)
	}
	if strings.Count(after, `href="/well/`) != strings.Count(before, `href="/well/`) {
		t.Error("the wells drawn have changed")
	}
	for _, want := range []string{"seen there; no well", "bedrock deeper than 8 ft", "a dry hole, as told"} {
		if !strings.Contains(after, want) {
			t.Errorf("the map does not say %q", want)
		}
	}
	if d.Picture().Len() != 40 {
		t.Errorf("%d wells, want 40", d.Picture().Len())
	}
	for _, from := range []string{"/?at=44.25,-38.75", "/scout?at=44.25,-38.75"} {
		if page := pageOf(t, h, from); !strings.Contains(page, `href="/sighting/new?at=44.25%2C-38.75"`) {
			t.Errorf("%s leads to no form", from)
		}
	}
	page := pageOf(t, h, "/scout?at=44.25,-38.75")
	answer{t, "/scout", 200, page, nil}.sound().says("Also seen nearby, no wells", "Rock at the surface 360 ft N", "A dry hole, as told 360 ft S")
	if strings.Contains(page, `href="/sighting/4"`) {
		t.Error("what was seen hundreds of miles away is listed")
	}
}
