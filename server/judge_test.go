package server_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
)

// Own picks and marks are entered on the well's page of them, stand beside the
// driller's everywhere, and are taken back.
func TestJudgePage(t *testing.T) {
	w := newRecordWorld(t)
	well := fmt.Sprintf("/well/%d", w.first)
	w.get(well+"/judge").is(200).sound().says("Own picks", "Marked unreliable", "None yet")
	pick := url.Values{"revision": {"1"}, "in": {"us"}, "set": {"first " + attack}, "of": {"bedrock"}, "depth": {"~44"}, "reason": {attack}, "by": {attack}}
	page, undo := next(t, w.handler, w.send(well+"/picks", pick))
	page.says("Kept in the set", "~44 ft", attack)
	w.get(well).is(200).sound().says("Picked beside the driller", "~44 ft", attack, "picked ~44\u00a0ft")
	w.get(well+".geojson").is(200).says(`"own_picks"`, `"depth_given":"~44"`, `"depth_given_unit":"ft"`, `"depth_qualifier":"about"`)
	w.get(fmt.Sprintf("/compare?ids=%d,%d", w.first, w.full.ID)).is(200).sound().says("bedrock as picked by the reviewer")
	w.send(well+"/picks", pick).is(409).says("changed by somebody else")
	next(t, w.handler, w.send(undo, nil))
	w.get(well).is(200).sound().saysNot("Picked beside the driller")

	// What cannot be meant comes back with the form as it was filled in.
	for field, bad := range map[string][2]string{"depth": {"deep", "the depth"}, "set": {"", "give the set"}, "reason": {" ", "say why"}, "of": {"gold", "bedrock, or water"}} {
		sent := url.Values{"revision": {"3"}, "in": {"us"}, "set": {"a"}, "of": {"bedrock"}, "depth": {"44"}, "reason": {"a reason of mine"}}
		sent.Set(field, bad[0])
		a := w.send(well+"/picks", sent).is(422).sound().says(bad[1])
		if field != "reason" {
			a.says("a reason of mine")
		}
	}

	// On to the next well: the set and the place go along.
	pick = url.Values{"revision": {"3"}, "in": {"si"}, "set": {"a"}, "of": {"water_strike"}, "depth": {"12.5"}, "reason": {"r"}, "then": {"next"}}
	a := w.send(well+"/picks", pick)
	to := a.is(303).header.Get("Location")
	if strings.HasPrefix(to, well+"/") || !strings.Contains(to, "set=a") || !strings.Contains(to, "from=") {
		t.Errorf("the next well is at %s", to)
	}
	if page := w.get(to).is(200).sound(); !strings.Contains(page.body, `autocomplete="off" value="a"`) {
		t.Error("the next well's form has forgotten the set")
	}
}

func TestUnreliablePage(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/unreliable").is(200).sound().says("2 logs are marked") // the full record and the hostile one bear marks
	well := fmt.Sprintf("/well/%d", w.first)
	mark := url.Values{"revision": {"1"}, "about": {"strata"}, "doubt": {"copied from the next lot " + attack}, "by": {"Reviewer C"}}
	page, undo := next(t, w.handler, w.send(well+"/unreliable", mark))
	page.says("left out of surfaces", attack)
	w.get(well).is(200).sound().says("Marked unreliable: the strata and bedrock", attack)
	w.get("/unreliable").is(200).sound().says("3 logs are marked", "copied from the next lot", "Reviewer C")
	next(t, w.handler, w.send(undo, nil))
	w.get("/unreliable").is(200).sound().says("2 logs are marked").saysNot("copied from the next lot")
	w.send(well+"/unreliable", url.Values{"revision": {"3"}, "about": {"the cat"}, "doubt": {"r"}}).is(422).sound().says("say what is not")
	w.send(well+"/unreliable/7/remove", url.Values{"revision": {"3"}}).is(404)
	w.get("/unreliable?skip=x").is(400).sound()

	// Many at once.
	for _, kind := range []string{"mark_unreliable", "unmark"} {
		w.get("/correct?kind=" + kind).is(200).sound().says("in records")
	}
	ask := "/correct?kind=mark_unreliable&field=yield&to=" + url.QueryEscape(attack) + "&within=" + url.QueryEscape("-180 -90 180 90")
	a := w.get(ask).is(200).sound().says("would change", attack)
	form := url.Values{}
	for _, m := range hiddenField.FindAllStringSubmatch(a.body, -1) {
		form.Set(m[1], strings.NewReplacer("&#34;", `"`, "&amp;", "&", "&lt;", "<", "&gt;", ">", "&#39;", "'", "&#43;", "+").Replace(m[2]))
	}
	page, _ = next(t, w.handler, w.send("/correct", form))
	page.says("corrected.", "not to be relied on")
	w.get("/unreliable").is(200).sound().says("logs are marked", attack)
	for address, want := range map[string]string{
		"/correct?kind=mark_unreliable&field=yield&to=":                  "say why",
		"/correct?kind=mark_unreliable&field=cat&to=r":                   "say what of the logs",
		"/correct?kind=mark_unreliable&field=yield&to=r&within=here":     "not four numbers",
		"/correct?kind=mark_unreliable&field=yield&to=r&within=1,2,3,95": "the box",
	} {
		w.get(address).is(422).sound().says(want)
	}
}
