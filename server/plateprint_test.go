package server_test

import (
	"encoding/xml"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// plateWell is an invented record with a number of its own and no plate.
func (w *recordWorld) plateWell() *records.Well {
	w.t.Helper()
	x := &records.Well{
		Number: "W-1042", Completed: records.Date{Year: 2004, Month: 6, Day: 3}, Crew: records.Crew{Firm: "Invented Drilling & Sons"},
		TotalDepth: recordstest.Feet[records.Depth]("305"), Yield: records.Under(records.Flow(records.GallonPerMinute.ToBase(1.5))),
	}
	x.TotalDepth.Qualifier = records.About
	x.TotalDepth.Given.Text = "~305"
	w.save(x, "")
	return x
}

// A record's plate is shown, kept as a file, put on record and printed again
// from there; undo takes it out.
func TestAPlateIsMade(t *testing.T) {
	w := newRecordWorld(t)
	x := w.plateWell()
	path := wellPath(x.ID) + "/plate"
	w.get(wellPath(x.ID)).is(200).says("Print a plate")
	a := w.get(path).is(200).sound().says("A plate for W-1042", "~305 ft", "<1½ gpm", "3 June 2004", "Invented Drilling & Sons", "Not recorded, so not stamped: depth of casing", "no public address", "hold every figure against the record", "Local code").saysNot("Owner")
	if !strings.Contains(a.body, `width="80mm" height="50mm"`) {
		t.Error("it is not drawn at its size")
	}
	for form, kind := range map[string]string{"svg": "image/svg+xml; charset=utf-8", "pdf": "application/pdf"} {
		f := w.get(path + "." + form + "?size=100x70&tool=engraver").is(200)
		h := f.header
		if h.Get("Content-Type") != kind || !strings.HasPrefix(h.Get("Content-Disposition"), `attachment; filename="plate-W-1042.`+form) || len(f.body) < 1000 {
			t.Errorf("%s: %v", form, h)
		}
		if form == "svg" && (xml.Unmarshal([]byte(f.body), new(struct{})) != nil || !strings.Contains(f.body, `width="100mm" height="70mm"`) || strings.Contains(f.body, "<text")) {
			t.Error("the drawing for an engraver is not what was asked for")
		}
	}
	a = w.send(path, url.Values{"revision": {"1"}, "number": {"4018"}}).is(303)
	to := a.header.Get("Location")
	told, undo := a.told()
	if !strings.Contains(told, "Plate 4018 is on record") {
		t.Errorf("told %q", told)
	}
	w.get(to).is(200).sound().says("Print plate 4018", "those of record W-1042", "~305 ft", "the code holds 4018")
	w.get("/p/4018").is(303)
	w.get(wellPath(x.ID)).says("4018")
	w.get(path).is(200).says("has a plate already", "Print plate 4018 again")
	if a := w.send(path, url.Values{"revision": {"1"}, "number": {"40-18"}}); a.code != http.StatusConflict {
		t.Errorf("a second plate of one number: %d", a.code)
	}
	if a := w.send(path, url.Values{"revision": {"7"}, "number": {"4019"}}); a.code != http.StatusConflict {
		t.Errorf("a plate with the figures of another state: %d", a.code)
	}
	for _, bad := range []url.Values{{"number": {"4019"}}, {"revision": {"1"}, "number": {"4?19"}}, {"revision": {"1"}, "number": {"井戸"}}} {
		if a := w.send(path, bad); a.code != 400 {
			t.Errorf("%v: %d", bad, a.code)
		}
	}
	w.send(undo, nil).is(303)
	w.get("/p/4018").is(404)
	w.get(path).is(200).saysNot("has a plate already")
}

// The code leads to the record where the office has a public address, and one
// that only this machine knows is refused beside its field.
func TestWhereACodeLeads(t *testing.T) {
	w := newRecordWorld(t)
	path := wellPath(w.plateWell().ID) + "/plate"
	w.get("/office").is(200).sound().says("Plates you make", "80 by 50 mm", "Set how plates are made")
	form := w.get("/office/plates").is(200).sound().says("rules differ", "Owners are never stamped").form()
	form.Set("public_base", "http://localhost:8080")
	w.send("/office/plates", form).is(422).sound().says("not saved", "a plate outlives")
	form.Set("public_base", "https://wells.example.org/")
	form.Set("heading", "Invented <Water> Office")
	form.Set("fields.depth", "yes")
	form.Set("fields.permit", "yes")
	w.send("/office/plates", form).is(303)
	k, err := w.desk.PlateFormat(t.Context(), desk.LocalPerson())
	if err != nil || k.Value.PublicBase != "https://wells.example.org" || len(k.Value.Fields) != 2 || k.Revision != 1 {
		t.Fatalf("kept %+v, %v", k, err)
	}
	w.get(path).is(200).sound().says("https://wells.example.org/p/W-1042", "kept for examples and leads nowhere", "~305 ft", "Invented <Water> Office").saysNot("3 June 2004", "gpm")
	w.get(path + "?number=A/7+b").says("https://wells.example.org/p/A%2F7%20b")
	w.get("/office/plates.json").is(200)
	w.get("/office").is(200).sound().says("Invented <Water> Office", "depth")
}

// What does not fit is told, with a size on which it does, and no file is given.
func TestAPlateThatDoesNotFit(t *testing.T) {
	w := newRecordWorld(t)
	x := w.plateWell()
	x.Crew.Firm = strings.Repeat("The Long Invented Company of Drillers, Diggers and Pump Setters ", 5)
	w.save(x, "")
	path := wellPath(x.ID) + "/plate"
	a := w.get(path+"?size=60x30").is(422).sound().says("cannot stand on 60 × 30 mm", "It fits on").saysNot("Keep as PDF")
	if strings.Contains(a.body, `class="made"`) {
		t.Error("half a plate is shown")
	}
	w.get(path + ".pdf?size=60x30").is(400)
	w.get(path + "?size=typed&w=76.2&h=50,8").is(422).sound().says("two numbers of millimetres")
	w.get(path + "?size=typed&w=76.2&h=50.8").is(200).sound()
	w.get(path + "?w=5&h=5").is(422).sound().says("from 15 to 400 mm")
	w.get(path + "?size=large").is(400)
	w.get(path + "?tool=laser").is(422).sound()
	w.get("/plate/" + "999/print").is(404)
	w.get(wellPath(w.empty.ID) + "/plate").is(422).sound().says("no number to stamp")
	w.get(wellPath(w.hostile.ID) + "/plate?size=120x80").sound()
	w.get("/plate/"+idText(w.linked.ID)+"/print").is(422).sound().says("Print plate 4?17", "is not whole")
	w.get("/plate/" + idText(w.loose.ID) + "/print").sound().says("linked to no record")
}

// A sheet holds what was named; what was not is told, and the file is held back
// until the reader says that the others do.
func TestASheetOfPlates(t *testing.T) {
	w := newRecordWorld(t)
	x := w.plateWell()
	w.get("/records").is(200).says("Print plates")
	w.get("/plates/print").is(200).sound().says("one a line", "Letter")
	w.get("/plates/print?units=si").is(200).says("A4")
	sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), w.first)
	if err != nil {
		t.Fatal(err)
	}
	both := "?paper=a4&numbers=" + url.QueryEscape(x.Number+"\r\n"+sheet.Well.Number+"\n"+x.Number)
	a := w.get("/plates/print"+both).is(200).sound().says("2 plates, 1 page", "Keep all as PDF")
	if !strings.Contains(a.body, `width="210mm" height="297mm"`) {
		t.Error("the page is not drawn at its size")
	}
	if f := w.get("/plates/print.pdf" + both).is(200); !strings.HasPrefix(f.body, "%PDF-") {
		t.Error("no PDF")
	}
	w.get("/plates/print.svg" + both + "&page=2").is(404)
	some := "?numbers=" + url.QueryEscape("W-1042,NOT-THERE,4?17")
	w.get("/plates/print"+some).is(200).sound().says("“NOT-THERE” is the number of no plate", "could not be read", "1 plate, 1 page", "Keep the others")
	w.get("/plates/print.pdf" + some).is(400)
	w.get("/plates/print.pdf" + some + "&without=1").is(200)
	w.get("/plates/print?numbers=NOT-THERE").is(422).sound()
	w.get("/plates/print.pdf").is(400)
	w.get("/plates/print?paper=vellum").is(400)
	w.get("/plates/print?numbers=" + "7,8" + url.QueryEscape(attack)).sound()
	w.get("/plates/print?size=400x400&numbers=W-1042").is(422).sound().says("does not fit on")
}

func wellPath(id int64) string { return "/well/" + idText(id) }

func idText(id int64) string { return strconv.FormatInt(id, 10) }
