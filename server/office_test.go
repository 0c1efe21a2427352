package server_test

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
)

// send posts a form as a browser does.
func (w *recordWorld) send(path string, form url.Values) answer {
	w.t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return w.sent(r)
}

func (w *recordWorld) sent(r *http.Request) answer {
	w.t.Helper()
	r.Host = "127.0.0.1"
	rec := httptest.NewRecorder()
	w.handler.ServeHTTP(rec, r)
	body, err := io.ReadAll(rec.Body)
	if err != nil {
		w.t.Fatal(err)
	}
	return answer{w.t, r.URL.String(), rec.Code, string(body), rec.Header()}
}

var (
	mainForm  = regexp.MustCompile(`(?s)<form class="oform".*?</form>`)
	controls  = regexp.MustCompile(`(?s)<input ([^>]*)>|<select ([^>]*)>(.*?)</select>|<textarea ([^>]*)>(.*?)</textarea>`)
	attribute = regexp.MustCompile(`([a-z-]+)="([^"]*)"`)
	selected  = regexp.MustCompile(`<option value="([^"]*)" selected`)
)

// form is what the browser would send of the page's main form, untouched.
func (a answer) form() url.Values {
	a.t.Helper()
	out := url.Values{}
	for _, m := range controls.FindAllStringSubmatch(mainForm.FindString(a.body), -1) {
		tag := m[1] + m[2] + m[4]
		at := map[string]string{}
		for _, x := range attribute.FindAllStringSubmatch(tag, -1) {
			at[x[1]] = html.UnescapeString(x[2])
		}
		value := at["value"]
		switch {
		case m[2] != "":
			value = ""
			if s := selected.FindStringSubmatch(m[3]); s != nil {
				value = html.UnescapeString(s[1])
			}
		case m[4] != "":
			value = html.UnescapeString(m[5])
		case at["type"] == "checkbox" && !strings.HasSuffix(tag, " checked") && !strings.Contains(tag, " checked "):
			continue
		}
		out.Add(at["name"], value)
	}
	if len(out) == 0 {
		a.t.Fatalf("GET %s: no form", a.path)
	}
	return out
}

func (w *recordWorld) rates() desk.Kept[scout.Rates] {
	w.t.Helper()
	k, err := w.desk.Rates(w.t.Context(), desk.LocalPerson())
	if err != nil {
		w.t.Fatal(err)
	}
	return k
}

func (w *recordWorld) inventOffice() {
	w.t.Helper()
	if err := w.desk.SetInventedOffice(w.t.Context(), desk.LocalPerson()); err != nil {
		w.t.Fatal(err)
	}
}

func TestOfficeBeforeAnythingIsSet(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/office").is(200).sound().says("There is no rate table yet", "Enter your rates", "Begin from the invented example", "No distance is entered")
	w.get("/office/rates").is(200).sound().says("There is no rate table yet", "Begin from the invented example").saysNot("Set this one again", "Keep as a file")
	w.get("/office/practice").is(200).sound().says("Nothing is stated yet", "Local code sets the least")
	w.get("/office/rules").is(200).sound().says("Local code decides", "10 NYCRR Appendix 5-B", "2005", "never a default").saysNot("Begin from")
	w.get("/office/rates.json").is(404)
	w.get("/office/people").is(404)
	w.get("/office/rates?from=7").is(404)
	w.get("/office/rates?from=x").is(400)
}

// An invented table goes through the form and comes back to the digit.
func TestOfficeKeepsWhatTheFormShows(t *testing.T) {
	w := newRecordWorld(t)
	for _, c := range []struct {
		page string
		want string
		kept func() string
	}{
		{"/office/rates", string(scout.InventedRates().AppendJSON(nil)), func() string { return w.rates().Text }},
		{"/office/practice", string(scout.InventedPractice().AppendJSON(nil)), func() string {
			k, err := w.desk.Practice(t.Context(), desk.LocalPerson())
			if err != nil {
				t.Fatal(err)
			}
			return k.Text
		}},
	} {
		form := w.get(c.page + "?from=example").is(200).sound().says("Nothing is saved yet").form()
		if c.kept() != "" {
			t.Fatalf("%s was saved by looking", c.page)
		}
		w.send(c.page, form).is(303)
		if got := c.kept(); got != c.want {
			t.Errorf("%s kept\n%s\nnot\n%s", c.page, got, c.want)
		}
		w.get(c.page).is(200).sound().says("As set", "Keep as a file")
		w.send(c.page, w.get(c.page).form()).is(303) // nothing was changed
		if k := w.rates(); k.Revision > 1 {
			t.Error("a form sent back untouched made a new revision")
		}
	}
	w.get("/office").is(200).sound().says("Example table", "invented example", "weathered rock", "20.00")
	if a := w.get("/office/rates.json").is(200); a.body != string(scout.InventedRates().AppendJSON(nil)) || !strings.Contains(a.header.Get("Content-Disposition"), "attachment") {
		t.Errorf("the file holds %.200s (%s)", a.body, a.header.Get("Content-Disposition"))
	}
}

func TestOfficeRefusesFaultsBesideTheirFields(t *testing.T) {
	w := newRecordWorld(t)
	w.inventOffice()
	before := w.rates().Text
	form := w.get("/office/rates").form()
	form.Set("mobilisation_cents", "a lot")
	form.Set("drilling.2.to", "-5")
	form.Set("drilling.4.by_length", "")
	form.Set("tax.share", "500")
	form.Set("currency", "dollars")
	form.Set("grout_sack_yield", "12,5")
	a := w.send("/office/rates", form).is(422).sound().says("This was not saved", "“a lot” is no price: write it like 12.50", "This step has no price: write its price, or take the row out",
		"Share is no share from 0 to 100 %", "is no code of a currency", "“12,5” is no number")
	for _, typed := range []string{`value="a lot"`, `value="-5"`, `value="500"`, `value="dollars"`, `value="12,5"`} {
		if !strings.Contains(a.body, typed) {
			t.Errorf("what was typed is gone: %s", typed)
		}
	}
	if !regexp.MustCompile(`id="f-mobilisation_cents"[^>]*aria-invalid="true"[^>]*aria-describedby="f-mobilisation_cents-wrong"`).MatchString(a.body) {
		t.Error("the fault is not tied to its field")
	}
	if got := w.rates().Text; got != before {
		t.Error("a refused table was saved")
	}
	form.Set("do", "check")
	w.send("/office/rates", form).is(200).says("a lot")
}

func TestOfficeRows(t *testing.T) {
	w := newRecordWorld(t)
	w.inventOffice()
	form := w.get("/office/rates").form()
	form.Set("do", "row:drilling")
	a := w.send("/office/rates", form).is(200).sound().says("Nothing of this is saved yet")
	if !strings.Contains(a.body, `name="drilling.6.ground"`) || strings.Contains(a.body, `name="drilling.7.ground"`) {
		t.Error("one more row is not one more row")
	}
	form = a.form()
	form.Set("do", "drop:drilling:1")
	a = w.send("/office/rates", form).is(200)
	form = a.form()
	if form.Get("drilling.1.ground") != "rock" || form.Get("drilling.1.to") != "300" || form.Get("drilling.3.from") != "500" || form.Get("drilling.4.by_length") != "" {
		t.Errorf("after the second row was taken out: %v", form)
	}
	form.Set("do", "save")
	w.send("/office/rates", form).is(303)
	if n := len(w.rates().Value.Drilling); n != 4 {
		t.Errorf("%d steps are kept, want 4", n)
	}
	form = w.get("/office/rates").form()
	form.Set("drilling.400.by_length", "1")
	form.Set("drilling.99999999999999999999.by_length", "1")
	form.Set("do", "row:nonsense")
	w.send("/office/rates", form).is(200)
}

func TestOfficeAsksBeforeUnitsChange(t *testing.T) {
	w := newRecordWorld(t)
	w.inventOffice()
	form := w.get("/office/rates").form()
	form.Set("units", "si")
	a := w.send("/office/rates", form).is(200).sound().says("From feet, inches, gallons to metres", "Work them out anew", "a price of 3.00 per ft becomes 9.84 per m", "100 ft becomes 30.48 m", "Stay with feet")
	if w.rates().Value.Units != scout.US {
		t.Fatal("the units were changed without an answer")
	}
	answer := a.form()
	for _, c := range []struct {
		do, units  scout.Units
		act        string
		price, end string
	}{
		{units: scout.SI, act: "units:convert", price: "65.62", end: "91.44"},
		{units: scout.SI, act: "units:keep", price: "20.00", end: "300"},
		{units: scout.US, act: "units:leave", price: "20.00", end: "300"},
	} {
		answer.Set("do", c.act)
		got := w.send("/office/rates", answer).is(200).sound().form()
		if got.Get("was") != c.units.String() || got.Get("drilling.0.by_length") != c.price || got.Get("drilling.2.to") != c.end {
			t.Errorf("%s: in %s, %s by length, to %s", c.act, got.Get("was"), got.Get("drilling.0.by_length"), got.Get("drilling.2.to"))
		}
		if c.act == "units:convert" {
			w.send("/office/rates", got).is(303)
			if r := w.rates().Value; r.Units != scout.SI || r.Drilling[0].ByLength.Cents != 6562 || r.Mobilisation.Cents != 100000 {
				t.Errorf("converted: %v, %v, %v", r.Units, r.Drilling[0].ByLength, r.Mobilisation)
			}
		}
	}
	// In a form without any figure nobody is asked.
	empty := w.get("/office/practice?from=example").form()
	for name := range empty {
		if name != "revision" && name != "was" && name != "units" {
			empty.Del(name)
		}
	}
	empty.Set("units", "si")
	empty.Set("do", "check")
	if got := w.send("/office/practice", empty).is(200).saysNot("what of the figures").form().Get("was"); got != "si" {
		t.Errorf("an empty form stays in %q", got)
	}
}

func TestOfficeEarlierValuesAndUndo(t *testing.T) {
	w := newRecordWorld(t)
	back := "/scout?at=1,2&need=5"
	form := w.get("/office/rates?from=example&back=" + url.QueryEscape(back)).form()
	form.Set("why", "the first")
	if to := w.send("/office/rates", form).is(303).header.Get("Location"); to != back {
		t.Errorf("saved and sent to %q, not back", to)
	}
	form = w.get("/office/rates").form()
	form.Set("mobilisation_cents", "1,250.50")
	form.Set("drilling.0.by_length", "21")
	form.Set("why", "dearer diesel")
	w.send("/office/rates", form).is(303)
	second := w.rates()
	w.get("/office/rates").is(200).sound().says("Revision 1", "dearer diesel", "Mobilisation: 1000.00 USD → 1250.50 USD", "Drilling, row 1: soil 20.00 USD per ft → soil 21.00 USD per ft", "Set this one again")
	w.get("/office/rates?from=1").is(200).says("This is revision 1")
	restore := url.Values{"revision": {"1"}, "current": {"2"}}
	w.send("/office/rates/restore", restore).is(303)
	if k := w.rates(); k.Value.Mobilisation.Cents != 100000 || k.Revision != 3 {
		t.Errorf("set again: revision %d, %v", k.Revision, k.Value.Mobilisation)
	}
	w.send("/office/rates/restore", restore).is(409) // somebody was faster
	w.send("/office/rates/restore?revision=2&current=3", nil).is(303)
	if got := w.rates().Text; got != second.Text {
		t.Error("undo of the undo is not what it was")
	}
	w.send("/office/rates/restore?revision=0&current=4", nil).is(303)
	if k := w.rates(); k.Revision != 0 {
		t.Errorf("not taken out: %+v", k)
	}
	w.send("/office/rates/restore?revision=4&current=0", nil).is(303)
	if got := w.rates().Text; got != second.Text {
		t.Error("what was taken out does not come back")
	}
	w.send("/office/rates/restore", nil).is(400)
	form = w.get("/office/rates?back=//elsewhere.example/").form()
	form.Set("permit_cents", "1")
	form.Set("back", "//elsewhere.example/")
	if to := w.send("/office/rates", form).is(303).header.Get("Location"); to != "/office/rates" {
		t.Errorf("saved and sent to %q", to)
	}
}

func TestOfficeSomebodyWasFaster(t *testing.T) {
	w := newRecordWorld(t)
	w.inventOffice()
	mine := w.get("/office/rates").form()
	theirs := w.get("/office/rates").form()
	theirs.Set("permit_cents", "50")
	w.send("/office/rates", theirs).is(303)
	mine.Set("permit_cents", "75.25")
	a := w.send("/office/rates", mine).is(409).sound().says("somebody set the table anew while you typed")
	if !strings.Contains(a.body, `value="75.25"`) {
		t.Error("what was typed is gone")
	}
	w.send("/office/rates", a.form()).is(303)
	if got := w.rates().Value.Permit.Cents; got != 7525 {
		t.Errorf("saved again: %d", got)
	}
}

func (w *recordWorld) readFile(path, text, pasted string) answer {
	w.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	if text != "" {
		f, err := m.CreateFormFile("file", attack+".json")
		if err != nil {
			w.t.Fatal(err)
		}
		if _, err := io.WriteString(f, text); err != nil {
			w.t.Fatal(err)
		}
	}
	if err := m.WriteField("text", pasted); err != nil {
		w.t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		w.t.Fatal(err)
	}
	r := httptest.NewRequest("POST", path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return w.sent(r)
}

func TestOfficeReadsFiles(t *testing.T) {
	w := newRecordWorld(t)
	table := string(scout.InventedRates().AppendJSON(nil))
	a := w.readFile("/office/rates/read", "\ufeff"+table, "").is(200).sound().says("Nothing is saved yet")
	if w.rates().Revision != 0 {
		t.Fatal("it was saved by being read")
	}
	w.send("/office/rates", a.form()).is(303)
	if w.rates().Text != table {
		t.Errorf("kept %s", w.rates().Text)
	}
	w.readFile("/office/rates/read", "", table).is(200).says("Read from what was pasted")
	w.readFile("/office/rates/read", `{"units":"us","currency":"USD","fuel":1,"mobilisation_cents":15.5,"drilling":[{"ground":"lava","cents_per_ft":1}]}`, "").is(200).sound().
		says("It cannot be saved as it is", "“fuel” is no property of this table", "15.5 is no whole number of cents", `"lava" is no ground`, "left out when it is saved")
	w.readFile("/office/rates/read", "", "{no").is(422).sound().says("This is no table")
	w.readFile("/office/rates/read", "", attack).is(422).sound()
	w.readFile("/office/rates/read", "", "").is(422).says("There is no file and no text")
	w.readFile("/office/rates/read", strings.Repeat("x", 2<<20), "").is(413)
}

// What another program stored is shown with its faults and can be mended.
func TestOfficeShowsWhatIsStoredWrong(t *testing.T) {
	w := newRecordWorld(t)
	v := records.SettingValue{Name: desk.SettingRates, Value: `{"units":"us","currency":"USD","mobilisation_cents":"ten","drilling":[{"ground":"rock","from_ft":9,"to_ft":3,"cents_per_ft":100}]}`}
	if err := w.desk.SaveSetting(t.Context(), desk.LocalPerson(), &v, ""); err != nil {
		t.Fatal(err)
	}
	w.get("/office").is(200).says("2 faults keep it from being used")
	form := w.get("/office/rates").is(200).sound().says("is a text where a number belongs", "ends where it begins").form()
	form.Set("mobilisation_cents", "10")
	form.Set("drilling.0.to", "300")
	w.send("/office/rates", form).is(303)
	if k := w.rates(); records.Refuses(k.Faults) || k.Value.Mobilisation.Cents != 1000 {
		t.Errorf("mended: %+v", k)
	}
	v = records.SettingValue{Name: desk.SettingPractice, Value: `[]`}
	if err := w.desk.SaveSetting(t.Context(), desk.LocalPerson(), &v, ""); err != nil {
		t.Fatal(err)
	}
	w.get("/office/practice").is(200).sound()
}

func TestOfficeRulesAreCopiedAndNotSaved(t *testing.T) {
	w := newRecordWorld(t)
	form := w.get("/office/rules").form()
	form.Set("do", "copy:1")
	a := w.send("/office/rules", form).is(200).sound().says("Nothing of this is saved yet")
	if k, err := w.desk.LocalRules(t.Context(), desk.LocalPerson()); err != nil || k.Revision != 0 {
		t.Fatalf("copying saved (%v): %+v", err, k)
	}
	form = a.form()
	want := scout.ExampleRules()[1]
	form.Set("rules.0.kind", "Septic  Tank")
	form.Set("rules.1.year", "19.5")
	w.send("/office/rules", form).is(422).says("is no year")
	form.Set("rules.1.year", "2005")
	w.send("/office/rules", form).is(303)
	k, err := w.desk.LocalRules(t.Context(), desk.LocalPerson())
	if err != nil || len(k.Value.Rules) != len(want.Rules) || k.Value.Rules[0].Kind != "septic_tank" || k.Value.Rules[0].Distance.Value != want.Rules[0].Distance.Value {
		t.Errorf("kept (%v): %+v", err, k.Value)
	}
	form.Set("do", "copy:99")
	w.send("/office/rules", form).is(404)
}

func TestOfficeInventedLabelStaysWithItsName(t *testing.T) {
	w := newRecordWorld(t)
	w.inventOffice()
	form := w.get("/office/rates").form()
	form.Set("note", "")
	w.send("/office/rates", form).is(303)
	if got := w.rates().Value.Note; got != scout.InventedLabel {
		t.Errorf("the label is %q", got)
	}
	form = w.get("/office/rates").form()
	form.Set("name", "Ours, 2026")
	w.send("/office/rates", form).is(303)
	if got := w.rates().Value.Note; got != "" {
		t.Errorf("a table with a name of its own is still called %q", got)
	}
}

func TestOfficeEscapesWhatIsTyped(t *testing.T) {
	w := newRecordWorld(t)
	w.inventOffice()
	for _, page := range []string{"/office/rates", "/office/practice", "/office/rules"} {
		form := w.get(page).form()
		for name := range form {
			if name != "revision" && name != "was" && name != "units" && name != "back" {
				form.Set(name, attack)
			}
		}
		form.Set("do", "check")
		w.send(page, form).is(200).sound()
	}
	form := w.get("/office/rates").form()
	form.Set("name", attack)
	form.Set("dry_hole.words", attack)
	form.Set("why", attack)
	w.send("/office/rates", form).is(303)
	form = w.get("/office/rates").is(200).sound().form()
	if form.Get("name") != attack || form.Get("dry_hole.words") != attack {
		t.Errorf("it came back as %q", form.Get("name"))
	}
	form.Set("name", "x")
	w.send("/office/rates", form).is(303)
	w.get("/office/rates").is(200).sound()
	w.get("/office").is(200).sound()
}

var costLine = regexp.MustCompile(`Cost at your rates(.{0,120})`)

// A price that is changed changes what a scouting says, and undo brings it
// back.
func TestOfficePriceReachesTheScouting(t *testing.T) {
	w := newRecordWorld(t)
	sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), w.first)
	if err != nil {
		t.Fatal(err)
	}
	scouting := fmt.Sprintf("/scout?at=%f,%f", sheet.Well.Place.Lat, sheet.Well.Place.Lon)
	a := w.get(scouting).is(200)
	if want := `href="/office/rates?back=`; !strings.Contains(a.body, want) {
		t.Errorf("without rates the scouting leads nowhere")
	}
	w.inventOffice()
	cost := func() string {
		m := costLine.FindStringSubmatch(plainText(w.get(scouting).is(200).body))
		if m == nil {
			t.Fatal("the scouting says no cost")
		}
		return m[1]
	}
	before := cost()
	form := w.get("/office/rates").form()
	form.Set("mobilisation_cents", "51000")
	w.send("/office/rates", form).is(303)
	if after := cost(); after == before {
		t.Errorf("the cost is still %s", after)
	}
	w.send("/office/rates/restore?revision=1&current=2", nil).is(303)
	if again := cost(); again != before {
		t.Errorf("after undo the cost is %s, not %s", again, before)
	}
}
