package server_test

import (
	"encoding/csv"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// spot is a place in the middle of the township.
const spot = "44.25,-38.75"

// asked asks for a page.
func asked(t *testing.T, h http.Handler, address string) answer {
	t.Helper()
	r := httptest.NewRequest("GET", "http://127.0.0.1"+address, nil)
	r.Header.Set("Accept", "text/html")
	return answered(t, h, r)
}

func answered(t *testing.T, h http.Handler, r *http.Request) answer {
	t.Helper()
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	body, err := io.ReadAll(rec.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer{t, r.URL.String(), rec.Code, string(body), rec.Header()}
}

// sent sends a form.
func sent(t *testing.T, h http.Handler, address string, form url.Values) answer {
	t.Helper()
	r := httptest.NewRequest("POST", "http://127.0.0.1"+address, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "text/html")
	return answered(t, h, r)
}

// next follows a form that did its work, and gives the page that tells so and
// where its undo is sent to.
func next(t *testing.T, h http.Handler, a answer) (page answer, undo string) {
	t.Helper()
	a.is(http.StatusSeeOther)
	to := a.header.Get("Location")
	r := httptest.NewRequest("GET", "http://127.0.0.1"+to, nil)
	r.Header.Set("Accept", "text/html")
	for _, c := range (&http.Response{Header: a.header}).Cookies() {
		r.AddCookie(c)
	}
	page = answered(t, h, r).is(200).sound()
	if m := regexp.MustCompile(`<div class="said[^>]*>.*?<form action="([^"]*)" method="post">`).FindStringSubmatch(page.body); m != nil {
		undo = strings.ReplaceAll(m[1], "&amp;", "&")
	}
	return page, undo
}

// drilledAt saves a well north of the spot.
func drilledAt(t *testing.T, d *desk.Desk, number string, northM float64, completed string) *records.Well {
	t.Helper()
	w := recordstest.Plain()
	w.UID, w.Number, w.Revision, w.ID = "", number, 0, 0
	w.Place.Lon, w.Place.Lat = -38.75, 44.25+northM/111_100
	var err error
	if w.Completed, err = records.ParseDate(completed); err != nil {
		t.Fatal(err)
	}
	w.Strata, w.Strikes, w.YieldTests = nil, nil, nil
	w.TotalDepth = records.Amount[records.Depth]{} // nobody wrote it down
	w.Bedrock = records.Of(records.Depth(12.5))
	w.Yield = records.Of(records.Flow(0.4))
	if _, err := d.Save(t.Context(), desk.LocalPerson(), w, ""); err != nil {
		t.Fatal(err)
	}
	return w
}

func keepSpot(t *testing.T, h http.Handler, label string) (id int64) {
	t.Helper()
	_, undo := next(t, h, sent(t, h, "/scout/keep", url.Values{"at": {spot}, "in": {"us"}, "need": {"3"}, "stop": {"300"}, "people": {"6"}, "near": {"septic_tank,80,45"}, "label": {label}}))
	m := regexp.MustCompile(`^/forecast/(\d+)/withdraw`).FindStringSubmatch(undo)
	if m == nil {
		t.Fatalf("what was kept is undone by %q", undo)
	}
	id, err := strconv.ParseInt(m[1], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestNoForecasts(t *testing.T) {
	_, h := scoutWorld(t, nil)
	for _, q := range []string{"", "?field=yield", "?units=si&theme=dark", "?from=30"} {
		asked(t, h, "/forecasts"+q).is(200).sound().says("None is kept yet", "No located well says anything", "no score")
	}
	asked(t, h, "/scout?at="+spot).is(200).saysNot("Keep as forecast")
	sent(t, h, "/scout/keep", url.Values{"at": {spot}}).is(404)
	for address, code := range map[string]int{
		"/forecasts?field=gold": 400, "/forecasts?from=x": 400, "/forecasts?from=-1": 400, "/forecasts?amount=x": 400,
		"/forecast/1": 404, "/forecast/nobody": 404, "/forecast/99999999999999999999": 404, "/forecasts/past.csv": 404, "/forecasts/past.csv?of=x": 400, "/forecasts/past.csv?field=x": 400,
	} {
		asked(t, h, address).is(code).sound()
	}
}

// What is kept comes back with its question, however often the reader changes
// units, and leads to the same question today.
func TestKeepAForecast(t *testing.T) {
	_, h := scoutWorld(t, changed(120, nil))
	page := asked(t, h, "/scout?at="+spot+"&in=us&need=3").is(200).sound().says("Keep as forecast")
	if !strings.Contains(page.body, `<input type="hidden" name="need" value="3">`) {
		t.Error("the form that keeps does not send what was asked")
	}
	id := keepSpot(t, h, attack)
	for _, q := range []string{"", "?theme=dark", "?units=us"} {
		a := asked(t, h, forecastAt(id)+q).is(200).sound().says(attack, "3 gpm needed, for 6 people", "6 in, casing of 6⅝ in outside", "stop and call at 300 ft", "1 thing paced off",
			"kept 25 November 2026", "Depth to sound bedrock", "in 20 reach 3 gpm", "8 in 10 between", "Casing below ground", "Nothing is known yet", "as it was kept", "voted", "of this were on record")
		if !strings.Contains(a.body, `href="/scout?at=44.25%2C-38.75&amp;in=us&amp;near=septic_tank%2C80%2C45&amp;need=3&amp;people=6&amp;stop=300"`) {
			t.Errorf("%s does not lead to the same question:\n%s", a.path, regexp.MustCompile(`href="/scout[^"]*"`).FindString(a.body))
		}
	}
	asked(t, h, forecastAt(id)+"?units=si").is(200).sound().says("11.4 L/min needed", "stop and call at 91.4 m")
	asked(t, h, "/forecasts").is(200).sound().says(attack, "nothing yet", "No kept forecast has an outcome yet. From 20 outcomes on", "25 November 2026", "~").saysNot("None is kept yet")
	long := strings.Repeat("long ", 40)
	a := sent(t, h, "/scout/keep", url.Values{"at": {spot}, "label": {long}}).is(422).sound().says("characters; give it 120 at most", "What this spot likely holds")
	if !strings.Contains(a.body, `value="`+strings.TrimSpace(long)) {
		t.Error("what was typed is gone")
	}
	sent(t, h, "/scout/keep", url.Values{"at": {"nowhere at all"}}).is(400)
}

func forecastAt(id int64) string { return fmt.Sprintf("/forecast/%d", id) }

// A well that is drilled close by is proposed; a person says yes or no, and
// may think again.
func TestOutcomeIsProposed(t *testing.T) {
	d, h := scoutWorld(t, changed(120, nil))
	id := keepSpot(t, h, "upper pasture")
	near := drilledAt(t, d, "NEW-1", 34, "2026-11-25")
	list := asked(t, h, "/forecasts").is(200).sound().says("Near 1 forecast a well was drilled since", "NEW-1", "Is this it?", "its date does not say")
	asked(t, h, forecastAt(id)).is(200).sound().says("NEW-1", "Is this it?")
	form := url.Values{"revision": {"0"}, "well": {near.UID}, "proposed": {"1"}, "back": {"/forecasts"}}
	for name := range form {
		if !strings.Contains(list.body, `name="`+name+`"`) {
			t.Errorf("the form that answers does not send %s", name)
		}
	}
	form.Set("is", "no")
	page, undo := next(t, h, sent(t, h, forecastAt(id)+"/outcome", form))
	page.says("NEW-1 is not the outcome", "nothing yet").saysNot("Is this it?")
	asked(t, h, forecastAt(id)).says("NEW-1 is not the outcome").saysNot("Is this it?")
	page, _ = next(t, h, sent(t, h, undo, nil))
	page.says("Undone", "Is this it?")
	form.Set("is", "yes")
	sent(t, h, forecastAt(id)+"/outcome", form).is(409).says("look at it again") // of a page that was overtaken
	form.Set("revision", "2")
	page, _ = next(t, h, sent(t, h, forecastAt(id)+"/outcome", form))
	page.says("NEW-1 is linked", "came 41 ft", "came 6.3 gpm", "1 of 1 kept forecast", "outcomes", "more needed").saysNot("Is this it?")
	one := asked(t, h, forecastAt(id)).is(200).sound().says("ranges held", "110 ft away, completed 25 November 2026", "in 100 expected less", "NEW-1 is the outcome, as proposed", "NEW-1 may be the outcome after all", "the area alone", "not on record")
	if !strings.Contains(one.body, "came: 41 ft</text>") {
		t.Error("what came is not marked among what was expected")
	}
	asked(t, h, forecastAt(id)+"?units=si").is(200).says("12.5 m")
}

func TestOutcomeIsLinkedByNumber(t *testing.T) {
	d, h := scoutWorld(t, changed(120, nil))
	id := keepSpot(t, h, "")
	drilledAt(t, d, "W 7", 2000, "2020")
	twin := drilledAt(t, d, "W 8", 3000, "2021")
	drilledAt(t, d, "W 8", 4000, "2022")
	outcome := forecastAt(id) + "/outcome"
	sent(t, h, outcome, url.Values{"revision": {"0"}, "number": {" "}}).is(422).sound().says("Type the number")
	a := sent(t, h, outcome, url.Values{"revision": {"0"}, "number": {attack}}).is(422).sound().says("No well on record bears the number")
	if !strings.Contains(a.body, `value="&#34;`) {
		t.Error("what was typed is gone")
	}
	sent(t, h, outcome, url.Values{"revision": {"0"}, "number": {"w 8"}}).is(422).sound().says("2 wells bear this number. Choose one:", "This one")
	page, undo := next(t, h, sent(t, h, outcome, url.Values{"revision": {"0"}, "number": {" w 7 "}, "why": {"the owner called"}}))
	page.says("W 7 is linked", "W 7 is the outcome", "the owner called", "This is not the well")
	page, _ = next(t, h, sent(t, h, undo, nil))
	page.says("Nothing is known yet")
	page, _ = next(t, h, sent(t, h, outcome, url.Values{"revision": {"2"}, "well": {twin.UID}}))
	page.says("W 8")
	if err := d.Remove(t.Context(), desk.LocalPerson(), twin.ID, twin.Revision, ""); err != nil {
		t.Fatal(err)
	}
	asked(t, h, forecastAt(id)).is(200).sound().says("no longer on record. Link another", "A well that is no longer on record")
	asked(t, h, "/forecasts").is(200).sound().says("its well is no longer on record")
	page, _ = next(t, h, sent(t, h, outcome, url.Values{"revision": {"3"}, "is": {"none"}}))
	page.says("No well is linked")
	for _, form := range []url.Values{{"revision": {"4"}, "well": {"nobody"}}, {"revision": {"4"}, "well": {"nobody"}, "is": {"no"}}} {
		sent(t, h, outcome, form).is(404)
	}
	for _, form := range []url.Values{{"revision": {"4"}, "number": {"W 7"}, "why": {strings.Repeat("x", 301)}}, {"number": {"W 7"}}, {"revision": {"x"}, "number": {"W 7"}}, {"revision": {"-1"}}} {
		sent(t, h, outcome, form).is(400)
	}
}

func TestForecastIsWithdrawnAndTakenBack(t *testing.T) {
	_, h := scoutWorld(t, changed(60, nil))
	id := keepSpot(t, h, "lower field")
	page, undo := next(t, h, sent(t, h, forecastAt(id)+"/withdraw", url.Values{"revision": {"0"}, "why": {"the wrong field"}}))
	page.says("Withdrawn: it counts in no score", "the wrong field", "Count it again")
	asked(t, h, "/forecasts").says("withdrawn · nothing yet")
	page, _ = next(t, h, sent(t, h, forecastAt(id)+"/withdraw", url.Values{"revision": {"1"}, "in": {"1"}}))
	page.says("The forecast counts again", "Taken back in").saysNot("Withdrawn: it counts")
	sent(t, h, undo, nil).is(409)
	page, _ = next(t, h, sent(t, h, forecastAt(id)+"/undo", url.Values{"revision": {"2"}, "earlier": {"1"}}))
	page.says("Undone", "Withdrawn: it counts in no score")
	page, _ = next(t, h, sent(t, h, forecastAt(id)+"/undo", url.Values{"revision": {"3"}, "earlier": {"0"}, "back": {"https://elsewhere.example/"}}))
	page.says("Undone").saysNot("Withdrawn: it counts")
	sent(t, h, forecastAt(id)+"/undo", url.Values{"revision": {"4"}, "earlier": {"9"}}).is(404)
	sent(t, h, "/forecast/99/withdraw", url.Values{"revision": {"0"}}).is(404)
	r := httptest.NewRequest("POST", "http://127.0.0.1"+forecastAt(id)+"/withdraw?revision=4", nil)
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	answered(t, h, r).is(403)
}

// pastReady waits until nothing is being worked.
func pastReady(t *testing.T, h http.Handler, address string) answer {
	t.Helper()
	for end := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
		a := asked(t, h, address).is(200).sound()
		if !strings.Contains(a.body, "data-working") {
			return a
		}
		a.says("is being worked", "Look again")
		if time.Now().After(end) {
			t.Fatal("the past is still being worked after a minute")
		}
	}
}

// The database's own past is scored at once, with its charts and their data.
func TestPastOfTheRecords(t *testing.T) {
	d, h := scoutWorld(t, changed(260, nil))
	a := pastReady(t, h, "/forecasts").says("wells forecast from those drilled before them, 8-in-10 ranges of depth to sound bedrock held", "Did the ranges hold", "Where in what was expected", "When it said 7 in 10", "Better than the area alone",
		"which wells had best set the ranges", "fewer than 20 before them", "The chance of so much or more:")
	if n := strings.Count(a.body, "<svg"); n != 4 {
		t.Errorf("%d charts, want 4", n)
	}
	for _, bad := range []string{"NaN", "Inf", "%!"} {
		if strings.Contains(a.body, bad) {
			t.Errorf("the page says %s", bad)
		}
	}
	asked(t, h, "/forecasts?field=yield&units=si").is(200).sound().says("ranges of yield held", "L/min or more")
	asked(t, h, "/forecasts?field=yield&amount=0.3").is(200).sound().says("or more:")
	for of, columns := range map[string]int{"wells": 15, "years": 13, "ranks": 6, "chances": 8} {
		c := asked(t, h, "/forecasts/past.csv?field=yield&of="+of).is(200)
		rows, err := csv.NewReader(strings.NewReader(c.body)).ReadAll()
		if err != nil || len(rows) < 3 || len(rows[0]) < columns {
			t.Fatalf("%s: %v, %d rows of %d columns", of, err, len(rows), len(rows[0]))
		}
		wells := 0.0
		for _, r := range rows[1:] {
			switch of {
			case "wells":
				wells++
			case "years", "ranks":
				v, err := strconv.ParseFloat(r[2], 64)
				if err != nil {
					t.Fatal(err)
				}
				wells += v
			}
		}
		if of != "chances" && (wells < 190 || wells > 240) {
			t.Errorf("%s: %g wells, want those of 260 with 20 before them", of, wells)
		}
	}
	// An edit makes it stale, and it is worked anew.
	drilledAt(t, d, "=NEW", 300, "2023-06-01")
	pastReady(t, h, "/forecasts?field=yield").saysNot("Records have changed since")
	if c := asked(t, h, "/forecasts/past.csv?field=yield").is(200); !strings.Contains(c.body, ",'=NEW,2023,") {
		t.Error("the new well is not in the table, or as a formula")
	}
}

func TestPastThatCannotBeTold(t *testing.T) {
	for what, c := range map[string]struct {
		n      int
		change func(*records.Well)
		says   string
	}{
		"undated": {60, func(w *records.Well) { w.Completed = records.Date{} }, "None of the 58 wells that say something of depth to sound bedrock bears a date"},
		"few":     {15, nil, "Too few dated wells say something of depth to sound bedrock"},
	} {
		t.Run(what, func(t *testing.T) {
			_, h := scoutWorld(t, changed(c.n, c.change))
			pastReady(t, h, "/forecasts").says(c.says, "no score")
			asked(t, h, "/forecasts/past.csv").is(400)
		})
	}
}

// Many forecasts come a page at a time. One that was kept with another
// question, or of quantities that are not known here, is shown all the same.
func TestManyForecasts(t *testing.T) {
	d, h := scoutWorld(t, changed(30, nil))
	for i := range 65 {
		f := recordstest.FullForecast()
		f.UID, f.Label = "", fmt.Sprintf("place %02d", i)
		f.Expected[0].Name, f.Expected[0].Unit = "hardness", "dH"
		if i == 40 {
			f.Question = nil
		}
		if err := d.KeepForecast(t.Context(), desk.LocalPerson(), f); err != nil {
			t.Fatal(err)
		}
	}
	for from, want := range map[string][]string{"": {"place 64", "place 35", "Earlier ones"}, "30": {"place 34", "place 05", "Earlier ones", "Later ones"}, "60": {"place 04", "place 00", "Later ones"}} {
		a := asked(t, h, "/forecasts?field=yield&from="+from).is(200).sound().says(want...)
		if strings.Contains(a.body, "Earlier ones") && !strings.Contains(a.body, "field=yield&amp;from=") {
			t.Errorf("%s: the next page forgets what is shown", a.path)
		}
	}
	asked(t, h, "/forecasts?from=60").saysNot("Earlier ones", "place 05")
	asked(t, h, "/forecasts?from=600").is(200).sound()
	asked(t, h, "/forecast/41").is(200).sound().says("place 40", "Hardness", "dH", "Cost").saysNot("needed")
	asked(t, h, "/forecast/42").is(200).sound().says("4.9 gpm needed", "a hole of 6 in")
}
