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

// What is marked unreliable is left out of the map's surface and of scouting,
// both say so, lead to the list, and take it in when they are asked to; likewise
// the picks of a set.
func TestLeftOutIsSaid(t *testing.T) {
	w := newRecordWorld(t)
	me := desk.LocalPerson()
	sheet, err := w.desk.Well(t.Context(), me, w.first)
	if err != nil {
		t.Fatal(err)
	}
	at := fmt.Sprintf("%g,%g", sheet.Well.Place.Lat, sheet.Well.Place.Lon)
	w.get("/?field=yield&at=" + at).is(200).sound().says("2 logs left out, marked unreliable") // the yields of the full record and of the hostile one
	did, err := w.desk.MarkUnreliable(t.Context(), me, w.first, 1, records.Doubt{About: records.DoubtAll, Reason: "copied"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.desk.AddPick(t.Context(), me, w.first, did.Revision, records.OwnPick{Set: "set " + attack, Of: records.PickBedrock, Depth: recordstest.Feet[records.Depth]("33"), Reason: "r"}); err != nil {
		t.Fatal(err)
	}
	for _, page := range []string{"/?", "/scout?at=" + url.QueryEscape(at) + "&"} {
		out := w.get(page).is(200).sound().says("left out, marked unreliable", "take them in")
		if !strings.Contains(out.body, "marked=in") {
			t.Errorf("%s does not lead to the same with what is marked", page)
		}
		w.get(page+"marked=in").is(200).sound().says("taken in although marked unreliable", "leave them out")
		w.get(page + "marked=perhaps").is(400)
	}
	w.get("/?picks="+url.QueryEscape("set "+attack)).is(200).sound().says("as picked in", attack)
	w.get("/scout?at="+url.QueryEscape(at)+"&picks="+url.QueryEscape("set "+attack)).is(200).sound().says("Bedrock as picked in", attack)
	w.get("/scout/sheet?at=" + url.QueryEscape(at)).is(200).sound().says("left out, marked unreliable")
	w.get("/rig?at=" + url.QueryEscape(at) + "&depth=100&yield=1").is(200).sound().says("left out, marked unreliable")
	w.get("/map.svg?w=600&h=400").is(200).says("left out, marked")
}
