package server_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// across is a line over the invented township.
const across = "line=-38.80,44.235%3B-38.76,44.25%3B-38.72,44.262"

func TestSectionPage(t *testing.T) {
	w := newRecordWorld(t)
	a := w.get("/section?"+across+"&width=9000ft").is(200).sound().says("with 1 bend", "times as high as long", "off the line", "leave out", "Take care.", "corridor 9,000\u00a0ft wide", "NE end", "A′")
	for _, m := range localLinks.FindAllStringSubmatch(a.body, -1) {
		if link := strings.ReplaceAll(m[1], "&amp;", "&"); strings.HasPrefix(link, "/section") || strings.HasPrefix(link, "/compare") {
			w.get(link).is(200)
		}
	}
	// A semicolon as people type it, and the other units.
	b := w.get("/section?line=-38.80,44.235;-38.72,44.262&width=3000&units=si").is(200).sound().says("elevation, m above", "000\u00a0m wide")
	if !strings.Contains(b.body, "width=3000m") {
		t.Error("the address that it leads to does not name the unit of the width")
	}
	w.get("/section?"+across+"&width=9000ft&hang=ground").is(200).sound().says("depth below ground, ft", "hills and valleys do not show")
	w.get("/section?" + across + "&width=9000ft&times=5").is(200).says("drawn 5 times as high as long")
}

func TestSectionLeavesOut(t *testing.T) {
	w := newRecordWorld(t)
	full := w.get("/section.csv?" + across + "&width=9000ft").is(200)
	rows, err := csv.NewReader(strings.NewReader(full.body)).ReadAll()
	if err != nil || len(rows) < 4 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	name := rows[1][1]
	id := w.numbered(t, name).ID
	without := fmt.Sprintf("%s&width=9000ft&without=%d", across, id)
	w.get("/section?"+without).is(200).sound().says("1 well in the corridor is not drawn", name, "you left it out", "put it back")
	if less, err := csv.NewReader(strings.NewReader(w.get("/section.csv?" + without).is(200).body)).ReadAll(); err != nil || len(less) != len(rows)-1 {
		t.Errorf("%d rows without one, %d with it, %v", len(less), len(rows), err)
	}
	line := w.get("/section.csv?" + across + "&of=line").is(200)
	if rows, err := csv.NewReader(strings.NewReader(line.body)).ReadAll(); err != nil || len(rows) < 200 {
		t.Errorf("%d places along the line, %v", len(rows), err)
	}
	if g := w.get("/section.geojson?" + across).is(200); !strings.Contains(g.body, `[-38.76,44.25]`) {
		t.Errorf("the line as GeoJSON: %s", g.body)
	}
}

func TestSectionWithoutWells(t *testing.T) {
	w := newRecordWorld(t)
	// No corridor reaches a well on the other side of the earth, so none is offered.
	w.get("/section?line=179.9,-17;-179.9,-17.02&width=100ft").is(200).sound().says("No well stands within 50 ft of the line. The nearest is").saysNot("Draw it with a corridor")
	a := w.get("/section?line=-38.9,44.1;-38.8,44.1&width=100ft").is(200).sound().says("No well stands within 50 ft of the line. The nearest is", "Draw it with a corridor")
	wider := hrefAfter(t, a.body, `class="button" href="`)
	w.get(wider).is(200).saysNot("No well stands within")
	w.get("/section").is(200).sound().says("Begins at A", "Ends at A′", "Press the plan where the line begins.")
	w.get("/section?line=-38.8,44.235").is(200).sound().says("now say where it ends", "Press the plan where the line ends.")
}

// hrefAfter is the address that follows some text of a page.
func hrefAfter(t *testing.T, page, before string) string {
	t.Helper()
	_, rest, ok := strings.Cut(page, before)
	href, _, end := strings.Cut(rest, `"`)
	if !ok || !end {
		t.Fatalf("nothing follows %q", before)
	}
	return strings.ReplaceAll(href, "&amp;", "&")
}

// No corridor is offered that would be refused: longitude and latitude given the
// wrong way round lead half around the earth from every well.
func TestSectionFarFromAnything(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/section?line=44.235,-38.80%3B44.262,-38.72&width=1000ft").is(200).sound().says("The nearest is").saysNot("which reaches it")
	w.get("/section?line=-38.5,44.25%3B-38.5,44.26&width=1000ft").is(200).sound().says("The nearest is", "which reaches it")
}

func TestSectionTyped(t *testing.T) {
	w := newRecordWorld(t)
	q := url.Values{"p": {"44 14 06 N 38 48 00 W", "44.262, -38.72"}, "width": {"1500 ft"}, "from": {"1990"}}
	to := w.get("/section?" + q.Encode()).is(303).header.Get("Location")
	if want := "/section?from=1990&line=-38.8%2C44.235%3B-38.72%2C44.262&width=1500ft"; to != want {
		t.Errorf("leads to %s, want %s", to, want)
	}
	w.get(to).is(200).sound()
	q.Set("do", "bend")
	if a := w.get("/section?" + q.Encode()).is(200).sound().says("Bend 1"); strings.Count(a.body, `name="p"`) != 3 {
		t.Error("no place for the bend")
	}
	q = url.Values{"p": {attack, "44.262, -38.72"}, "width": {"a mile " + attack}}
	a := w.get("/section?" + q.Encode()).is(200).sound()
	if strings.Count(a.body, `aria-invalid="true"`) != 1 || !strings.Contains(plainText(a.body), "write it as 1000 ft or 300 m") {
		t.Error("what cannot be read is not marked")
	}
	w.get("/section?p=&p=&width=").is(200).sound().says("A line needs both its ends.")
	// The plan: a press in its middle is the middle of what it shows.
	press := "/section?lon=-38.75&lat=44.25&mpp=10&w=760&h=460&width=1500ft&at.x=380&at.y=230"
	if to := w.get(press).is(303).header.Get("Location"); to != "/section?line=-38.75%2C44.25&width=1500ft" {
		t.Errorf("a press leads to %s", to)
	}
	if to := w.get(press + "&line=-38.8,44.235").is(303).header.Get("Location"); !strings.Contains(to, "line=-38.8%2C44.235%3B-38.75%2C44.25") {
		t.Errorf("a second press leads to %s", to)
	}
}

func TestSectionFromGeoJSON(t *testing.T) {
	w := newRecordWorld(t)
	send := func(text string) answer {
		t.Helper()
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		for _, f := range [][2]string{{"text", text}, {"width", "500 m"}} {
			if err := m.WriteField(f[0], f[1]); err != nil {
				t.Fatal(err)
			}
		}
		if err := m.Close(); err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest("POST", "/section", &b)
		r.Host = "127.0.0.1"
		r.Header.Set("Content-Type", m.FormDataContentType())
		rec := httptest.NewRecorder()
		w.handler.ServeHTTP(rec, r)
		return answer{t, "/section", rec.Code, rec.Body.String(), rec.Header()}
	}
	line := `{"type":"LineString","coordinates":[[-38.8,44.235],[-38.72,44.262]]}`
	for _, text := range []string{line, `{"type":"Feature","properties":{"name":"x"},"geometry":` + line + `}`, `{"type":"FeatureCollection","features":[{"type":"Feature","properties":null,"geometry":` + line + `}]}`} {
		if to := send(text).is(303).header.Get("Location"); to != "/section?line=-38.8%2C44.235%3B-38.72%2C44.262&width=500m" {
			t.Errorf("%.40s leads to %q", text, to)
		}
	}
	for text, want := range map[string]string{
		"":                                     "nothing was sent",
		attack:                                 "this is no GeoJSON",
		`{"type":"Point","coordinates":[1,2]}`: "there is no line in it",
		`{"type":"MultiLineString","coordinates":[[[1,2],[3,4]],[[5,6],[7,8]]]}`:  "more than one line",
		`{"type":"LineString","coordinates":[[500000,4800000],[500100,4800000]]}`: "reproject it",
	} {
		if a := send(text).is(200).sound(); !strings.Contains(plainText(a.body), want) {
			t.Errorf("%.50s: it does not say %q", text, want)
		}
	}
}

func TestSectionRefusesAddresses(t *testing.T) {
	w := newRecordWorld(t)
	for _, q := range []string{
		"line=1,2;x", "line=200,1;1,2", "line=1;2", across + "&width=-5", across + "&width=zero", across + "&without=x", across + "&hang=tree",
		across + "&times=0", across + "&times=NaN", across + "&from=soon", "line=" + strings.Repeat("1,2;", 200), "line=1,2;1,2",
	} {
		if a := w.get("/section?" + q); a.code != 400 && a.code != 413 {
			t.Errorf("%.60s: %d", q, a.code)
		}
	}
	w.get("/section.svg").is(400)
	w.get("/section.csv?" + across + "&of=gold").is(400)
}

func TestCompareAlongASection(t *testing.T) {
	w := newRecordWorld(t)
	a := w.get("/section?" + across + "&width=9000ft").is(200)
	_, rest, ok := strings.Cut(a.body, `href="/compare?`)
	if !ok {
		t.Fatal("no link to the wells side by side")
	}
	q, _, _ := strings.Cut(rest, `"`)
	w.get("/compare?" + strings.ReplaceAll(q, "&amp;", "&")).is(200).sound().says("Along the line of the section from SW to NE")
}
