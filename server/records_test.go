package server_test

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// The UTM coordinates are those of GeographicLib's GeoConvert for 44.25 N
// 72.5 W; the other figures are the record's own, in other units by their
// definitions.
func TestWellPage(t *testing.T) {
	w := newRecordWorld(t)
	for _, query := range []string{"?units=us", "?units=si", "?theme=dark", "?theme=print", "?written=1"} {
		for _, well := range []*records.Well{w.full, w.empty, w.hostile} {
			w.get(fmt.Sprintf("/well/%d%s", well.ID, query)).is(200).sound()
		}
		w.get(fmt.Sprintf("/well/%d%s", w.first, query)).is(200).sound()
	}
	full := fmt.Sprintf("/well/%d", w.full.ID)
	w.get(full).says(
		"T-1", "domestic well", "in use", "completed 15 June 2004", "203 ft", "40 ft", "6 gpm",
		"blue clay", "topsoil, sandy", "Till, hardpan", "top of sound bedrock", "The record itself names this material",
		"neat cement", "9⅞ in", "tremie", "Inspector A", "welded", "0.02 in",
		"44.250000, -72.500000", "44°15.0000′N 72°30.0000′W", "18N 699593.5 4902679.9", "NAD83", "NAVD88", "within 16.4 ft",
		"<0.05 mg/L", "does not say that the water is safe to drink",
		"1 rod, 12 min of drilling in all", "1.67", "3 pints", "10 psi", "never mix chlorine",
		"4?17", "number on the report", "private, not printed", "Owner B", "2 Nowhere Road",
		"typed from paper", "log.jpg", "tile", `{"a":[1,2.50]}`,
		"Changed once", "the driller called", "Stratum 2, description", "brown sandy clay w/ cobbles",
	)
	w.get(full+"?units=si").says("61.9 m", "12.2 m", "22.7 L/min", "69 kPa").saysNot("9⅞ in")
	w.get(fmt.Sprintf("/well/%d", w.empty.ID)).says("no. ", "not recorded", "cannot be told", "No strata were logged", "on no map", "nobody has changed it")
	w.get(fmt.Sprintf("/well/%d", w.hostile.ID)).says(attack)
}

// The net flow of the full record's test by hand: 8 gpm measured, 1 gpm
// injected; the level fell 40 ft in 60 min inside casing 6⅝ in outside with
// walls of 0.280 in from 18 to 51 ft, then in 6 in open hole to 58 ft.
// Volumes: π/4·(6.065 in)²·33 ft = 49.53 gal, π/4·(6 in)²·7 ft = 10.28 gal,
// over 60 min 0.997 gpm. Net 8 − 1 − 0.997 = 6.0 gpm.
func TestNetFlowIsShownWithItsParts(t *testing.T) {
	w := newRecordWorld(t)
	w.get(fmt.Sprintf("/well/%d", w.full.ID)).says("6 gpm ± ", "less 1 gpm that the rig put in", "less 1 gpm that the hole gave up", "the level had not steadied", "0.15 gpm per ft")
}

func TestDisagreementIsFlagged(t *testing.T) {
	w := newRecordWorld(t)
	x := recordstest.Plain()
	x.UID, x.Bedrock = "", recordstest.Feet[records.Depth]("140")
	w.save(x, "")
	w.get(fmt.Sprintf("/well/%d", x.ID)).says("does not agree with itself", "The sources disagree", "the stated depth", "To be looked at").sound()
	w.get(fmt.Sprintf("/compare?ids=%d,%d", x.ID, w.full.ID)).says("sources disagree")
}

func TestUnloggedGroundIsShown(t *testing.T) {
	w := newRecordWorld(t)
	x := recordstest.Plain()
	x.UID = ""
	x.Strata = append(x.Strata[:2:2], x.Strata[3:]...)
	w.save(x, "")
	w.get(fmt.Sprintf("/well/%d", x.ID)).is(200).says("22–40", "not logged")
}

// Every link of a page leads somewhere.
func TestLinksLead(t *testing.T) {
	w := newRecordWorld(t)
	seen := map[string]bool{}
	for _, from := range []string{
		fmt.Sprintf("/well/%d", w.full.ID), fmt.Sprintf("/well/%d?theme=dark&units=si&back=%%2F%%3Ffield%%3Dyield", w.hostile.ID), fmt.Sprintf("/well/%d", w.first),
		fmt.Sprintf("/compare?ids=%d,%d,%d&order=line&hang=sea&at=44.25,-38.75", w.first, w.first+1, w.full.ID),
		fmt.Sprintf("/plate/%d", w.linked.ID), fmt.Sprintf("/plate/%d", w.loose.ID), "/find?q=NF-00", "/find?q=nothing+of+the+kind",
	} {
		for _, m := range localLinks.FindAllStringSubmatch(w.get(from).is(200).sound().body, -1) {
			to := html.UnescapeString(m[1])
			if seen[to] {
				continue
			}
			seen[to] = true
			a := w.get(to)
			if a.code == 422 && (strings.HasSuffix(to, "/print") || strings.HasSuffix(to, "/plate")) {
				// The hostile text fits on no plate, and a number with a digit unread is
				// stamped on none: the page says so.
				if text := plainText(a.sound().body); !strings.Contains(text, "cannot stand on") && !strings.Contains(text, "is not whole") {
					t.Errorf("%s makes no plate and does not say why: %.300s", to, text)
				}
				continue
			}
			if a.code >= 400 {
				t.Errorf("%s links to %s, which answers %d: %.200s", from, to, a.code, plainText(a.body))
			}
		}
	}
	if len(seen) < 40 {
		t.Errorf("only %d links were followed", len(seen))
	}
}

func TestWellAddresses(t *testing.T) {
	w := newRecordWorld(t)
	a := w.get("/well/" + w.full.UID + "?units=si").is(303)
	if got, want := a.header.Get("Location"), fmt.Sprintf("/well/%d?units=si", w.full.ID); got != want {
		t.Errorf("the public name leads to %q, want %q", got, want)
	}
	for path, code := range map[string]int{
		"/well/99999999": 404, "/well/0": 404, "/well/99999999999999999999": 404, "/well/no-such-name": 404, "/well/-1": 404,
		"/well/99999999/column.svg": 404, "/well/99999999.geojson": 404, "/plate/99999999": 404, "/plate/x": 404,
		fmt.Sprintf("/well/%d/column.svg?w=x", w.full.ID): 400, fmt.Sprintf("/well/%d/column.svg?w=-3", w.full.ID): 400,
	} {
		w.get(path).is(code)
	}
	w.get("/well/99999999").is(404).says("Not here").sound()
}

// A page is not to send its reader to a place that the address chose.
func TestBack(t *testing.T) {
	w := newRecordWorld(t)
	full := fmt.Sprintf("/well/%d?back=", w.full.ID)
	if a := w.get(full + url.QueryEscape("/?field=yield&at=44.2,-72.5")).is(200).sound(); !strings.Contains(a.body, `href="/?field=yield&amp;at=44.2,-72.5"`) {
		t.Error("the way back to the map is not there")
	}
	for _, bad := range []string{
		"https://elsewhere.example/", "//elsewhere.example/", `/\elsewhere.example`, "/\t/elsewhere.example", "/\n/elsewhere.example",
		"javascript:alert(1)", `/"><script>alert(1)</script>` + "\r\nSet-Cookie: a=b", "elsewhere", `\/elsewhere.example`,
	} {
		for _, path := range []string{full, fmt.Sprintf("/compare?ids=%d,%d&back=", w.full.ID, w.first), fmt.Sprintf("/plate/%d?back=", w.linked.ID)} {
			a := w.get(path + url.QueryEscape(bad)).is(200).sound()
			if strings.Contains(a.body, "Back") {
				t.Errorf("back=%q is taken", bad)
			}
		}
	}
}

// Neither is the choice of units or light.
func TestChoiceGoesBackToThisServerAlone(t *testing.T) {
	w := newRecordWorld(t)
	for back, want := range map[string]string{
		"/well/1?units=us": "/well/1?units=us", "//elsewhere.example": "/", "/\t/elsewhere.example": "/", `/\elsewhere.example`: "/", "https://elsewhere.example": "/", "": "/",
	} {
		if got := w.get("/choose?units=si&back=" + url.QueryEscape(back)).is(303).header.Get("Location"); got != want {
			t.Errorf("back=%q leads to %q, want %q", back, got, want)
		}
	}
}

func TestColumnDrawing(t *testing.T) {
	w := newRecordWorld(t)
	path := fmt.Sprintf("/well/%d/column.svg?units=us&w=500", w.full.ID)
	a := w.get(path).is(200)
	if got := a.header.Get("Content-Type"); got != "image/svg+xml; charset=utf-8" {
		t.Errorf("content type %q", got)
	}
	wellFormed(t, a.body)
	tag := a.header.Get("ETag")
	w.get(path, "If-None-Match", tag).is(304)
	w.full.Strata[0].Description = "peat"
	w.save(w.full, "")
	b := w.get(path, "If-None-Match", tag).is(200)
	if b.header.Get("ETag") == tag || !strings.Contains(b.body, "peat") {
		t.Error("the drawing of the earlier revision is given")
	}
	for _, v := range []string{"units=si", "theme=dark", "theme=print", "w=900"} {
		if c := w.get(path + "x&" + v); c.code == 200 {
			t.Errorf("a width that is none is taken: %s", c.path)
		}
		c := w.get(fmt.Sprintf("/well/%d/column.svg?%s", w.full.ID, v)).is(200)
		wellFormed(t, c.body)
		if c.header.Get("ETag") == b.header.Get("ETag") {
			t.Errorf("%s draws the same", v)
		}
	}
	d := w.get(fmt.Sprintf("/well/%d/column.svg?download=1", w.full.ID)).is(200)
	if got := d.header.Get("Content-Disposition"); got != fmt.Sprintf(`attachment; filename="log-%d.svg"`, w.full.ID) {
		t.Errorf("disposition %q", got)
	}
	if !strings.Contains(d.body, `fill="#ffffff"`) {
		t.Error("a drawing to be kept is not on white")
	}
	wellFormed(t, w.get(fmt.Sprintf("/well/%d/column.svg", w.hostile.ID)).is(200).body)
}

func wellFormed(t *testing.T, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("the drawing is not well-formed XML: %v", err)
		}
	}
}

// A record as GeoJSON (RFC 7946) leaves out what is known of people.
func TestWellGeoJSON(t *testing.T) {
	w := newRecordWorld(t)
	a := w.get(fmt.Sprintf("/well/%d.geojson", w.full.ID)).is(200)
	if got := a.header.Get("Content-Type"); got != "application/geo+json" {
		t.Errorf("content type %q", got)
	}
	var f struct {
		Type     string
		Geometry struct {
			Type        string
			Coordinates []float64
		}
		Properties struct{ Number string }
	}
	if err := json.Unmarshal([]byte(a.body), &f); err != nil {
		t.Fatal(err)
	}
	if f.Type != "Feature" || f.Geometry.Type != "Point" || f.Geometry.Coordinates[0] != -72.5 || f.Geometry.Coordinates[1] != 44.25 || f.Properties.Number != "T-1" {
		t.Errorf("got %+v", f)
	}
	for _, private := range []string{"Owner B", "Nowhere Road"} {
		if strings.Contains(a.body, private) {
			t.Errorf("the feature tells %q", private)
		}
	}
}

func TestCompare(t *testing.T) {
	w := newRecordWorld(t)
	// Three whose height somebody wrote down: others cannot hang on sea level.
	var ids, names []string
	for id := w.first; len(ids) < 3; id++ {
		if x := w.well(id); x.Place.Elevation.Known() {
			ids, names = append(ids, strconv.FormatInt(id, 10)), append(names, x.Number)
		}
	}
	abc := strings.Join(ids, ",")
	for _, q := range []string{"", "&hang=sea", "&order=distance", "&order=line", "&order=line&hang=sea&units=si&theme=dark", "&at=44.25,-38.75&order=distance"} {
		a := w.get("/compare?ids="+abc+q).is(200).sound().says("Side by side", "Three wells", "leave out", "the next nearest").says(names...)
		if joined := strings.Contains(a.body, "joined along the line"); joined != strings.Contains(q, "order=line") {
			t.Errorf("%s: joined %v", q, joined)
		}
		wellFormed(t, w.get("/compare.svg?ids="+abc+q).is(200).body)
	}
	w.get(fmt.Sprintf("/compare?ids=%d,%d&hang=sea", w.first, w.empty.ID)).is(200).sound().says("Not hung on sea level", "no. ").saysNot("leave out")
	w.get(fmt.Sprintf("/compare?ids=%d,%d&hang=sea", w.first, w.full.ID)).is(200).says("different datums", "NAVD88", "invented datum")
	w.get(fmt.Sprintf("/compare?ids=%d,%d&order=line", w.first, w.empty.ID)).is(200).sound().says("No line can be drawn").saysNot("joined along the line")
	w.get(fmt.Sprintf("/compare?ids=%d,%d&order=distance", w.empty.ID, w.first)).is(200).sound().says("there is no distance to order by")
	w.get(fmt.Sprintf("/compare?ids=%d,%d", w.hostile.ID, w.first)).is(200).sound()
	eight := make([]string, 8)
	for i := range eight {
		eight[i] = fmt.Sprint(w.first + int64(i))
	}
	w.get("/compare?ids=" + strings.Join(eight, ",")).is(200).sound().says("Eight wells").saysNot("the next nearest")
	for q, c := range map[string]struct {
		code int
		says string
	}{
		"":                                 {400, "two wells at least"},
		fmt.Sprintf("ids=%d", w.first):     {400, "two wells at least"},
		fmt.Sprintf("ids=%[1]d,%[1]d", 1):  {400, "two wells at least"},
		"ids=1,2,3,4,5,6,7,8,9":            {413, "at most 8"},
		"ids=1,x":                          {400, "no record number"},
		"ids=" + abc + ",99999999":         {404, "99999999"},
		"ids=" + abc + "&hang=sky":         {400, "use ground or sea"},
		"ids=" + abc + "&order=alphabet":   {400, "given, distance or line"},
		"ids=" + abc + "&at=91,0":          {400, "at:"},
		"ids=" + abc + "&at=%3Cscript%3E1": {400, "at:"},
	} {
		w.get("/compare?" + q).is(c.code).says(c.says).sound()
		w.get("/compare.svg?" + q).is(c.code)
	}
	w.get("/compare.svg?ids=" + abc + "&w=wide").is(400)
}

// order reads the names over the columns of a drawing.
func order(t *testing.T, svg string, names ...string) []string {
	t.Helper()
	var out []string
	for _, line := range strings.Split(svg, "<g ") {
		for _, n := range names {
			if strings.HasPrefix(line, `data-well=`) && strings.Contains(line, ">"+n+"<") {
				out = append(out, n)
			}
		}
	}
	return out
}

func TestCompareOrder(t *testing.T) {
	w := newRecordWorld(t)
	at := func(name string, lon, lat float64) int64 {
		x := recordstest.Plain()
		x.UID, x.Number = "", name
		x.Place.Lon, x.Place.Lat = lon, lat
		w.save(x, "")
		return x.ID
	}
	// On one parallel, from west to east B C A; the site lies by C.
	a, b, c := at("AA", -70, 44), at("BB", -72, 44), at("CC", -71, 44)
	ids := fmt.Sprintf("ids=%d,%d,%d", a, b, c)
	// On one meridian, from north to south D E.
	d, e := at("DD", -60, 41), at("EE", -60, 40)
	for _, k := range []struct{ query, want string }{
		{ids, "AA BB CC"},
		{ids + "&order=distance", "AA CC BB"},
		{ids + "&order=distance&at=44,-71.1", "CC BB AA"},
		{ids + "&order=line", "BB CC AA"},
		{fmt.Sprintf("ids=%d,%d&order=line", e, d), "DD EE"},
	} {
		got := strings.Join(order(t, w.get("/compare.svg?"+k.query).is(200).body, "AA", "BB", "CC", "DD", "EE"), " ")
		if got != k.want {
			t.Errorf("%s stands as %q, want %q", k.query, got, k.want)
		}
	}
	w.get("/compare?"+ids+"&order=line").says("Along a line from W to E", "a guess")
	// The geodesic from 44 N 71 W to 44 N 70 W is 80,206 m at azimuth 89.65°, by
	// GeographicLib's GeodSolve.
	w.get(fmt.Sprintf("/compare?ids=%d,%d&units=si", c, a)).says("80 km E")
}

func TestFind(t *testing.T) {
	w := newRecordWorld(t)
	for q, to := range map[string]string{
		"NF-0003":          fmt.Sprintf("/well/%d", w.first+2),
		" nf 0003 ":        fmt.Sprintf("/well/%d", w.first+2),
		w.full.UID:         fmt.Sprintf("/well/%d", w.full.ID),
		"4?17":             fmt.Sprintf("/well/%d", w.full.ID),
		attack:             "", // the hostile well and the loose plate bear the same text
		"44.25, -38.75":    "/?at=44.25%2C-38.75",
		"44 15 N 38 45 W":  "/?at=44.25%2C-38.75",
		"geo:44.25,-38.75": "/?at=44.25%2C-38.75",
		"NF-00":            "",
		"nothing at all":   "",
		"":                 "",
	} {
		a := w.get("/find?q=" + url.QueryEscape(q))
		if to == "" {
			a.is(200).sound()
			continue
		}
		if a.is(303); a.header.Get("Location") != to {
			t.Errorf("%q leads to %q, want %q", q, a.header.Get("Location"), to)
		}
	}
	if a := w.get("/find?q=Quern+Road").is(303); !strings.HasPrefix(a.header.Get("Location"), "/?at=") {
		t.Errorf("a name leads to %q", a.header.Get("Location"))
	}
	w.get("/find?q=NF-00").says("40 matches", "NF-0001", "NF-0040", "well")
	w.get("/find?q=nothing+at+all").says("Nothing found", "What can be typed", "a well number")
	w.get("/find").says("What can be typed").saysNot("Nothing found")
	w.get("/find?q=blue+clay").is(200).sound().says("as written", "blue", "clay", "Narrow down")
	w.get("/find?q=blue+clay&class=void").is(200).sound().says("No record that fits holds it")
	w.get("/find?q=granite&from=1990&to=2020&plate=1").is(200).sound()
	for _, q := range []string{"from=x", "to=99", "class=lava", "before=x"} {
		w.get("/find?q=clay&" + q).is(400).sound()
	}
	w.get("/find?q=43.2+271.5").says("Nothing found", "longitude").sound()
	w.get("/find?q=" + strings.Repeat("x", 400)).is(400).says("too long")
	w.get("/find?q="+url.QueryEscape(attack)).says("4 matches", attack)
}

// A number that reads as a position too is not decided for the reader.
func TestFindKeepsBothReadings(t *testing.T) {
	w := newRecordWorld(t)
	x := recordstest.Plain()
	x.UID, x.Number = "", "44.25 -38.75"
	w.save(x, "")
	w.get("/find?q="+url.QueryEscape(x.Number)).is(200).says("position", "well", "44.250000, -38.750000").sound()
}

// A position that was probably meant is offered, not taken.
func TestFindSuggests(t *testing.T) {
	w := newRecordWorld(t)
	a := w.get("/find?q=" + url.QueryEscape("-71.5 N 43.2 W")).is(200).sound()
	if strings.Contains(a.body, "Did you mean") {
		a.says("Did you mean")
		return
	}
	b := w.get("/find?q="+url.QueryEscape("-109.2, 43.5")).is(200).sound().says("Did you mean", "43.500000, -109.200000")
	if !strings.Contains(b.body, `href="/?at=43.5%2C-109.2"`) {
		t.Error("what was probably meant is no link")
	}
}

func TestPlatePage(t *testing.T) {
	w := newRecordWorld(t)
	w.get(fmt.Sprintf("/plate/%d", w.linked.ID)).is(200).sound().says(
		"Plate 4?17", "Linked to well T-1", "number on the report", "2 January 2026", "by clerk",
		"230 ft", "203 ft", "2 stamps disagree", "Nobody wrote down where it was seen", attack)
	w.get(fmt.Sprintf("/plate/%d?units=si&theme=dark", w.loose.ID)).is(200).sound().says("Not linked to any record yet", "Wells near it", "NF-00", "nothing beside the number")
	if err := w.desk.SavePlate(t.Context(), desk.LocalPerson(), &records.Plate{}, ""); err != nil {
		t.Fatal(err)
	}
	w.get(fmt.Sprintf("/plate/%d", w.loose.ID+1)).is(200).sound().says("no number", "Not linked to any record yet").saysNot("Wells near it")
}

// A plate says what of a near well agrees with its stamps.
func TestPlateMarksWhatAgrees(t *testing.T) {
	w := newRecordWorld(t)
	p := &records.Plate{Number: "77", Stamped: records.Stamped{Depth: recordstest.Feet[records.Depth]("203"), Date: records.Date{Year: 2004}},
		Seen: []records.PlateSighting{{Located: true, Lon: -72.5, Lat: 44.2501}}}
	if err := w.desk.SavePlate(t.Context(), desk.LocalPerson(), p, ""); err != nil {
		t.Fatal(err)
	}
	w.get(fmt.Sprintf("/plate/%d", p.ID)).says("203 ft as stamped", "2004 as stamped")
}
