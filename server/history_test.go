package server_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// undo is where the undo of what was just done is sent; it reads the message
// on the page that comes next.
func (w *recordWorld) undo(a answer) string {
	w.t.Helper()
	cookie, _, _ := strings.Cut(a.header.Get("Set-Cookie"), ";")
	page := w.get(a.header.Get("Location"), "Cookie", cookie, "Accept", "text/html")
	_, rest, ok := strings.Cut(page.body, `role="status"`)
	_, rest, ok2 := strings.Cut(rest, `<form action="`)
	to, _, ok3 := strings.Cut(rest, `"`)
	if !ok || !ok2 || !ok3 {
		w.t.Fatalf("%s offers no undo", a.path)
	}
	return strings.ReplaceAll(to, "&amp;", "&")
}

func TestHistoryPage(t *testing.T) {
	w := newRecordWorld(t)
	w.full.Number, w.full.TotalDepth = "T-1b", recordstest.Feet[records.Depth]("230")
	w.save(w.full, "measured again")
	path := fmt.Sprintf("/well/%d/history", w.full.ID)
	for _, query := range []string{"", "?units=si&theme=dark", fmt.Sprintf("?left=%d.1&right=%d.2", w.full.ID, w.full.ID), fmt.Sprintf("?left=%d.3&right=%d.3", w.full.ID, w.full.ID)} {
		w.get(path + query).is(200).sound()
	}
	w.get(path).says("History of T-1b", "3 states", "Revision 3 as it stands now", "measured again", "changed: number, total depth", "“203” ft", "“230” ft", "the driller called")
	w.get(fmt.Sprintf("%s?left=%d.1&right=%d.2", path, w.full.ID, w.full.ID)).says("Owner", "blue clay").saysNot("“230” ft")
	w.get(fmt.Sprintf("%s?left=%d.7&right=%d.2", path, w.full.ID, w.full.ID)).is(404)
	w.get(fmt.Sprintf("/well/%d/history.svg?left=%d.1&right=%d.3", w.full.ID, w.full.ID, w.full.ID)).is(200)
	w.get(fmt.Sprintf("/well/%d/history", w.hostile.ID)).is(200).sound()
	w.get(fmt.Sprintf("/well/%d/history", w.empty.ID)).is(200).says("Nobody has changed it").sound()
	w.get("/well/99999/history").is(404)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).says("set two side by side")

	restored := w.send(fmt.Sprintf("%s/restore?key=%d&revision=1&current=3", path, w.full.ID), nil).is(303)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).says("203 ft")
	w.send(fmt.Sprintf("%s/restore?key=%d&revision=1&current=3", path, w.full.ID), nil).is(409)
	w.send(fmt.Sprintf("%s/restore?key=%d&revision=one&current=3", path, w.full.ID), nil).is(400)
	w.send(fmt.Sprintf("%s/restore?key=%d&revision=1&current=4", path, w.hostile.ID), nil).is(400)
	w.send(w.undo(restored), nil).is(303)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).says("T-1b", "230 ft")
}

func TestTakenOutAndBroughtBack(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/records/out").is(200).says("No record was taken out").sound()
	for _, x := range []*records.Well{w.full, w.hostile} {
		if err := w.desk.Remove(t.Context(), desk.LocalPerson(), x.ID, x.Revision, attack); err != nil {
			t.Fatal(err)
		}
	}
	w.get("/records/out").is(200).says("2 records", "T-1", attack).sound()
	w.get("/records/out?skip=1").says("Later ones").saysNot("Earlier ones")
	w.get("/records/out?skip=x").is(400)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).is(303)
	path := fmt.Sprintf("/well/%d/history", w.full.ID)
	w.get(path).is(200).says("Taken out", "Bring it back").sound()
	if to := w.get("/well/" + w.full.UID).is(303).header.Get("Location"); to != fmt.Sprintf("/well/%d", w.full.ID) {
		t.Errorf("the name of a record that was taken out leads to %s", to)
	}
	back := w.send(fmt.Sprintf("%s/restore?key=%d&revision=2&current=0", path, w.full.ID), nil).is(303)
	now := back.header.Get("Location")
	w.get(now).is(200).says("brought back", "3 states").sound()
	if to := w.get(fmt.Sprintf("/well/%d", w.full.ID)).is(303).header.Get("Location"); to+"/history" != now {
		t.Errorf("the old address leads to %s", to)
	}
	w.get("/records/out").says("1 record,").saysNot("T-1")
	w.send(w.undo(back), nil).is(303)
	w.get("/records/out").says("2 records")
}

func TestMergePages(t *testing.T) {
	w := newRecordWorld(t)
	other := recordstest.Plain()
	other.UID, other.Number, other.Remarks, other.LandUse = "", "OLD 7", "by the road", ""
	w.save(other, "")
	w.full.Remarks = ""
	w.save(w.full, "")
	page := fmt.Sprintf("/merge?a=%d&b=%d", w.full.ID, other.ID)
	for _, query := range []string{"", "&as=works", "&as=works&kind=decommission", "&as=twin", "&theme=dark&units=si"} {
		w.get(page + query).is(200).sound()
	}
	w.get(fmt.Sprintf("/merge?a=%d&b=%d", w.hostile.ID, w.empty.ID)).is(200).sound()
	w.get(fmt.Sprintf("/merge?a=%d&b=%d", w.hostile.ID, other.ID)).is(200).says(attack).sound()
	w.get(page).says("T-1", "OLD 7", "To choose", "Number", "only one speaks", "Keep OLD 7 instead")
	w.get(fmt.Sprintf("/merge?a=%d&b=%d", w.full.ID, w.full.ID)).is(400)
	w.get("/merge?a=1").is(400)
	w.get(fmt.Sprintf("/merge?a=%d&b=99999", w.full.ID)).is(404)
	w.get(page + "&as=somehow").is(400)

	form := url.Values{"a": {fmt.Sprint(w.full.ID)}, "b": {fmt.Sprint(other.ID)}, "ar": {fmt.Sprint(w.full.Revision)}, "br": {"1"}, "as": {"fields"}, "act": {"merge"}, "why": {"one card twice"}}
	w.send("/merge", form).is(422).says("Nothing was merged yet", "Choose one").sound()
	form.Set("act", "likely")
	likely := w.send("/merge", form).is(200).sound()
	form.Set("act", "merge")
	open, _, _ := strings.Cut(likely.body, `<details class="fold">`)
	for _, m := range namesOf(open) {
		form.Set(m, "a")
	}
	form.Set("m.number", "b")
	stale := url.Values{}
	for k, v := range form {
		stale[k] = v
	}
	stale.Set("br", "9")
	w.send("/merge", stale).is(409).says("somebody changed one of the two").sound()
	merged := w.send("/merge", form).is(303)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).says("OLD 7", "by the road")
	if to := w.get(fmt.Sprintf("/well/%d", other.ID)).is(303).header.Get("Location"); to != fmt.Sprintf("/well/%d", w.full.ID) {
		t.Errorf("the old key leads to %s", to)
	}
	if to := w.get("/well/" + other.UID).is(303).header.Get("Location"); to != fmt.Sprintf("/well/%d", w.full.ID) {
		t.Errorf("the old name leads to %s", to)
	}
	w.get("/records/out").says("OLD 7", "merged into T-1", "one card twice")
	w.get(fmt.Sprintf("/well/%d/history", w.full.ID)).says("Merged into this record", "Split again").sound()
	w.get(fmt.Sprintf("/well/%d/history", other.ID)).is(200).says("Split the two again").sound()
	split := w.send(w.undo(merged), nil).is(303)
	if sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), w.full.ID); err != nil || sheet.Well.Number != "T-1" || sheet.Well.Remarks != "" {
		t.Errorf("split again it is %+v, %v", sheet, err)
	}
	w.get(fmt.Sprintf("/well/%d", other.ID)).is(303)
	w.get(fmt.Sprintf("/well/%d/history", w.full.ID)).says("split again")
	w.send(w.undo(split), nil).is(303)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).says("OLD 7")
	w.send("/merge/1/again?back=x&kept=1", nil).is(400)
	w.send("/merge/99/split", nil).is(404)
	if to := w.get(fmt.Sprintf("/merge?a=%d&with=nf-0001", w.full.ID)).is(303).header.Get("Location"); to != fmt.Sprintf("/merge?a=%d&b=%d", w.full.ID, w.first) {
		t.Errorf("another record by its number: %s", to)
	}
	w.get(fmt.Sprintf("/merge?a=%d&with=nothing", w.full.ID)).is(404)
	w.get(fmt.Sprintf("/merge?a=%d&with=nf-00", w.full.ID)).is(400)
}

// namesOf are the names of the matters in a form.
func namesOf(page string) []string {
	var out []string
	for _, part := range strings.Split(page, `name="m.`)[1:] {
		name, _, _ := strings.Cut(part, `"`)
		if len(out) == 0 || out[len(out)-1] != "m."+name {
			out = append(out, "m."+name)
		}
	}
	return out
}
