package ogc_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"
)

// The requirements of OGC API - Features, Part 1 (17-069r4), each by its name
// below http://www.opengis.net/spec/ogcapi-features-1/1.0 (names from memory).

func TestCore(t *testing.T) {
	w := newWorld(t)
	for _, r := range []struct {
		name string
		test func(*testing.T, *world)
	}{
		{"req/core/root-op", func(t *testing.T, w *world) { w.get("", 200) }},
		{"req/core/root-success", rootSuccess},
		{"req/core/api-definition-op", func(t *testing.T, w *world) { w.get(linkOf(t, w, "", "service-desc"), 200) }},
		{"req/core/api-definition-success", apiSuccess},
		{"req/core/conformance-op", func(t *testing.T, w *world) { w.get("/conformance", 200) }},
		{"req/core/conformance-success", conformanceSuccess},
		{"req/core/http", httpKept},
		{"req/core/query-param-unknown", unknownParameters},
		{"req/core/query-param-invalid", invalidParameters},
		{"req/core/crs84", crs84Kept},
		{"req/core/fc-md-op", func(t *testing.T, w *world) { w.get("/collections", 200) }},
		{"req/core/fc-md-success", collectionsSuccess},
		{"req/core/fc-md-links", func(t *testing.T, w *world) {
			wantTypes(t, linksAt(t, w, "/collections"), "self", "application/json", "alternate", "text/html")
		}},
		{"req/core/fc-md-items", collectionsItems},
		{"req/core/fc-md-items-links", itemsLinks},
		{"req/core/fc-md-extent", extents},
		{"req/core/sfc-md-op", func(t *testing.T, w *world) { w.get("/collections/wells", 200); w.get("/collections/nothing", 404) }},
		{"req/core/sfc-md-success", sameAsListed},
		{"req/core/fc-op", func(t *testing.T, w *world) {
			w.get("/collections/wells/items", 200)
			w.get("/collections/x/items", 404)
		}},
		{"req/core/fc-limit-definition", limitDefinition},
		{"req/core/fc-limit-response-1", limitResponse},
		{"req/core/fc-bbox-definition", boxDefinition},
		{"req/core/fc-bbox-response", boxResponse},
		{"req/core/fc-time-definition", timeDefinition},
		{"req/core/fc-time-response", timeResponse},
		{"req/core/fc-response", filtersTogether},
		{"req/core/fc-links", pageLinks},
		{"req/core/fc-rel-type", relTypes},
		{"req/core/fc-timeStamp", timeStamp},
		{"req/core/fc-numberMatched", numberMatched},
		{"req/core/fc-numberReturned", numberReturned},
		{"req/core/f-op", func(t *testing.T, w *world) { w.get("/collections/wells/items/"+w.wells[3].UID, 200) }},
		{"req/core/f-success", featureSuccess},
		{"req/core/f-links", featureLinks},
		{"404 for what is not there", notThere},
		{"req/geojson/definition", geoJSONTypes},
		{"req/geojson/content", geoJSONContent},
		{"req/html/definition", htmlTypes},
		{"req/html/content", htmlContent},
	} {
		t.Run(r.name, func(t *testing.T) {
			one := *w
			one.t = t
			r.test(t, &one)
		})
	}
}

func linksAt(t *testing.T, w *world, path string) links {
	t.Helper()
	var doc struct{ Links links }
	w.get(path, 200).read(t, &doc)
	return doc.Links
}

// linkOf is the address of the one link of a relation.
func linkOf(t *testing.T, w *world, path, rel string) string {
	t.Helper()
	found := linksAt(t, w, path).to(rel)
	if len(found) != 1 {
		t.Fatalf("%s has %d links %q, want one", path, len(found), rel)
	}
	return found[0].Href
}

// wantTypes wants a link of each relation with its type, in turn, absolute and
// with something at its end.
func wantTypes(t *testing.T, have links, want ...string) {
	t.Helper()
	for i := 0; i < len(want); i += 2 {
		found := false
		for _, l := range have.to(want[i]) {
			found = found || strings.HasPrefix(l.Type, want[i+1])
		}
		if !found {
			t.Errorf("no link %q of type %q in %v", want[i], want[i+1], have)
		}
	}
	for _, l := range have {
		if u, err := url.Parse(l.Href); err != nil || !u.IsAbs() {
			t.Errorf("the link %v is not absolute", l)
		}
	}
}

func rootSuccess(t *testing.T, w *world) {
	have := linksAt(t, w, "")
	wantTypes(t, have, "self", "application/json", "alternate", "text/html", "service-desc", "application/vnd.oai.openapi+json;version=3.0",
		"service-doc", "text/html", "conformance", "application/json", "data", "application/json")
	for _, l := range have {
		if s := w.get(l.Href, 200); !strings.HasPrefix(l.Type, s.kind()) {
			t.Errorf("%s is %s, and the link says %s", l.Href, s.kind(), l.Type)
		}
	}
}

func apiSuccess(t *testing.T, w *world) {
	s := w.get("/api", 200)
	if got := s.header.Get("Content-Type"); got != "application/vnd.oai.openapi+json;version=3.0" {
		t.Errorf("the description is of type %q", got)
	}
}

func conformanceSuccess(t *testing.T, w *world) {
	var doc struct{ ConformsTo []string }
	w.get("/conformance", 200).read(t, &doc)
	for _, class := range []string{"core", "oas30", "html", "geojson"} {
		if !slices.Contains(doc.ConformsTo, "http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/"+class) {
			t.Errorf("%s is not among %v", class, doc.ConformsTo)
		}
	}
}

func httpKept(t *testing.T, w *world) {
	paths := []string{"", "/api", "/conformance", "/collections", "/collections/wells", "/collections/wells/items", "/collections/wells/items/" + w.wells[3].UID, "/collections/wells/download"}
	for _, path := range paths {
		got, head := w.get(path, 200), w.ask("HEAD", path)
		if head.status != 200 || len(head.body) != 0 || head.kind() != got.kind() {
			t.Errorf("HEAD %s: %d, %s, %d bytes", path, head.status, head.kind(), len(head.body))
		}
		if l := head.header.Get("Content-Length"); l != "" && l != fmt.Sprint(len(got.body)) {
			t.Errorf("HEAD %s: length %s, and GET has %d", path, l, len(got.body))
		}
		for _, method := range []string{"POST", "PUT", "DELETE", "PATCH"} {
			s := w.ask(method, path)
			if s.status != http.StatusMethodNotAllowed || s.header.Get("Allow") != "GET, HEAD" || len(s.body) == 0 {
				t.Errorf("%s %s: %d, Allow %q, %q", method, path, s.status, s.header.Get("Allow"), s.body)
			}
		}
		w.get(path+"/", 200) // a slash too many does no harm
	}
}

func problemOf(t *testing.T, s *said) string {
	t.Helper()
	var p struct {
		Type, Title, Detail string
		Status              int
	}
	s.read(t, &p)
	if s.kind() != "application/problem+json" || p.Status != s.status || p.Detail == "" || p.Title == "" {
		t.Errorf("%s: %s %+v is no problem as RFC 9457 has it", s.path, s.kind(), p)
	}
	return p.Detail
}

func unknownParameters(t *testing.T, w *world) {
	for _, path := range []string{"?x=1", "/api?limit=1", "/conformance?bbox=1,2,3,4", "/collections?x", "/collections/wells?limit=1", "/collections/wells/items?x=1",
		"/collections/wells/items?owner=x", "/collections/wells/items?located_by=gps", "/collections/wells/items?units=si", "/collections/wells/items/" + w.wells[3].UID + "?x=1", "/collections/wells/download?limit=1"} {
		if said := problemOf(t, w.get(path, 400)); !strings.Contains(said, "there is no parameter") {
			t.Errorf("%s: %q", path, said)
		}
	}
}

func invalidParameters(t *testing.T, w *world) {
	for _, q := range []string{"limit=x", "limit=1.5", "limit=", "bbox=1,2,3", "bbox=1,2,3,x", "bbox=", "bbox=1,50,2,40", "bbox=1,2,9,3,4,8", "bbox=NaN,1,2,3", "datetime=", "datetime=x", "datetime=2004-13-01",
		"datetime=2005-01-01/2004-01-01", "datetime=2004-01-01/2005-01-01/2006-01-01", "f=xml", "yield_lps=x", "yield_lps=NaN", "number=", "after=x", "before=-1", "after=1&before=2", "limit=1&limit=2", "bbox=1,2,3,4&bbox=1,2,3,4", "%zz=1"} {
		problemOf(t, w.get("/collections/wells/items?"+q, 400))
	}
	problemOf(t, w.get("/collections/forecasts/items?withdrawn=perhaps", 400))
	problemOf(t, w.get("/collections/strata/items?position=1.5", 400))
}

func crs84Kept(t *testing.T, w *world) {
	var f struct {
		Geometry struct{ Coordinates []float64 }
	}
	x := w.wells[10]
	w.get("/collections/wells/items/"+x.UID, 200).read(t, &f)
	if got := f.Geometry.Coordinates; len(got) != 2 || got[0] != x.Place.Lon || got[1] != x.Place.Lat {
		t.Errorf("coordinates %v, want longitude %v, latitude %v", got, x.Place.Lon, x.Place.Lat)
	}
}

type collectionDoc struct {
	ID, Title, Description, ItemType string
	Links                            links
	CRS                              []string
	Extent                           *struct {
		Spatial  *struct{ BBox [][]float64 }
		Temporal *struct{ Interval [][]*string }
	}
}

func collectionsOf(t *testing.T, w *world) []collectionDoc {
	t.Helper()
	var doc struct{ Collections []collectionDoc }
	w.get("/collections", 200).read(t, &doc)
	return doc.Collections
}

func collectionsSuccess(t *testing.T, w *world) {
	var ids []string
	for _, c := range collectionsOf(t, w) {
		ids = append(ids, c.ID)
	}
	if !slices.Equal(ids, []string{"wells", "strata", "water-strikes", "plates", "forecasts"}) {
		t.Errorf("collections %v", ids)
	}
}

func collectionsItems(t *testing.T, w *world) {
	for _, c := range collectionsOf(t, w) {
		if c.Title == "" || c.Description == "" || c.ItemType != "feature" || !slices.Contains(c.CRS, "http://www.opengis.net/def/crs/OGC/1.3/CRS84") {
			t.Errorf("%+v says too little", c)
		}
	}
}

func itemsLinks(t *testing.T, w *world) {
	for _, c := range collectionsOf(t, w) {
		wantTypes(t, c.Links, "items", "application/geo+json", "items", "text/html", "enclosure", "application/geo+json", "enclosure", "application/x-ndjson")
		for _, l := range c.Links {
			if s := w.get(l.Href, 200); s.kind() != l.Type {
				t.Errorf("%s is %s, and the link says %s", l.Href, s.kind(), l.Type)
			}
		}
	}
}

func extents(t *testing.T, w *world) {
	x := collectionsOf(t, w)[0].Extent
	if x == nil || x.Spatial == nil || x.Temporal == nil {
		t.Fatalf("no extent: %+v", x)
	}
	b, i := x.Spatial.BBox[0], x.Temporal.Interval[0]
	if len(b) != 4 || b[0] != -179.5 || b[1] != 44 || b[2] != 179.5 || b[3] != 44+56.0/200 {
		t.Errorf("box %v", b)
	}
	if *i[0] != "1960-06-15T00:00:00Z" || *i[1] != "2006-06-15T23:59:59Z" {
		t.Errorf("from %s to %s", *i[0], *i[1])
	}
}

func sameAsListed(t *testing.T, w *world) {
	var list struct{ Collections []json.RawMessage }
	w.get("/collections", 200).read(t, &list)
	for i, c := range collectionsOf(t, w) {
		one := w.get("/collections/"+c.ID, 200)
		if string(one.body) != string(list.Collections[i]) {
			t.Errorf("%s by itself: %s\nin the list: %s", c.ID, one.body, list.Collections[i])
		}
	}
}

func limitDefinition(t *testing.T, w *world) {
	for _, bad := range []string{"0", "-1", "x", "1e3", "99999999999999999999999"} {
		w.get("/collections/wells/items?limit="+bad, 400)
	}
}

func limitResponse(t *testing.T, w *world) {
	for limit, want := range map[string]int{"1": 1, "10": 10, "1000": wellsHere, "10000": wellsHere, "1000000": wellsHere} {
		if got := len(w.page("/collections/wells/items?limit=" + limit).Features); got != want {
			t.Errorf("limit=%s: %d features, want %d", limit, got, want)
		}
	}
}

func boxDefinition(t *testing.T, w *world) {
	four, six := w.page("/collections/wells/items?bbox=-72.2,44,-72,45"), w.page("/collections/wells/items?bbox=-72.2,44,-10,-72,45,9000")
	if len(four.Features) == 0 || !slices.Equal(four.ids(), six.ids()) {
		t.Errorf("by four numbers %d, by six %d", len(four.Features), len(six.Features))
	}
}

func boxResponse(t *testing.T, w *world) {
	for box, want := range map[string]string{
		"-72.06,44,-72.04,45":    "N04 N05 N06", // 0.01 degrees apart, and the border belongs to it
		"-72.055,44,-72.045,45":  "N05",
		"179,-90,-179,90":        "N00 N01",
		"-180,44.28,180,44.28":   "N56", // as narrow as can be
		"0,0,1,1":                "",
		"200,0,210,1":            "",
		"-200,44.275,-72,44.275": "N55", // what lies beyond the earth's end is left out
	} {
		if got := w.page("/collections/wells/items?bbox=" + box).numbers(); got != want {
			t.Errorf("bbox=%s: %s, want %s", box, got, want)
		}
	}
	if got := *w.page("/collections/wells/items?bbox=-180,-90,180,90").NumberMatched; got != placed {
		t.Errorf("on the earth are %d, want %d", got, placed)
	}
	if got, all := *w.page("/collections/strata/items?bbox=-72.055,44,-72.045,45").NumberMatched, len(w.wells[5].Strata); got != all {
		t.Errorf("%d strata in the box, want %d", got, all)
	}
}

func timeDefinition(t *testing.T, w *world) {
	for _, good := range []string{"2004-06-15", "2004-06-15T10:00:00Z", "2004-06-15T10:00:00.5Z", "2004-06-15T10:00:00-05:00", "2004-06-15T10:00:00%2B02:00", "2004-06-15T10:00:00+02:00", "../2004-06-15", "/2004-06-15", "2004-06-15/..", "2004-06-15/", "../..", "/",
		"2000-01-01T/..", "../2000-01-01T", "2004", "2004-06/2005", "2004-06-15t10:00:00z"} {
		w.get("/collections/wells/items?datetime="+good, 200)
	}
	for _, bad := range []string{"..", "...", "2004-06-15/../..", "2004-02-30", "TT", "2004-06-15TT", "yesterday", "20040615"} {
		w.get("/collections/wells/items?datetime="+bad, 400)
	}
}

func timeResponse(t *testing.T, w *world) {
	for when, want := range map[string]string{
		"1960-06-15":            "N10",
		"1960-06-15T23:59:59Z":  "N10",
		"1960-06-14":            "",
		"1960":                  "N10",
		"1960-06-15/1962-06-15": "N10 N11 N12",
		"1960-06-16/1962-06-14": "N11",
		"../1961":               "N10 N11",
		"/1961-01-01":           "N10",
		"2006-06-15/":           "N56",
		"2006-01-01T/..":        "N56", // as some clients write a date
		"2006-06-15T00:00:00Z/2006-06-15T00:00:00Z": "N56",
	} {
		if got := w.page("/collections/wells/items?datetime=" + when).numbers(); got != want {
			t.Errorf("datetime=%s: %q, want %q", when, got, want)
		}
	}
	if got := *w.page("/collections/wells/items?datetime=../..").NumberMatched; got != dated {
		t.Errorf("%d with a date, want %d", got, dated)
	}
	if got := *w.page("/collections/forecasts/items?datetime=2000-01-01/..").NumberMatched; got != 1 {
		t.Errorf("%d forecasts since 2000, want 1", got)
	}
	if got := *w.page("/collections/forecasts/items?datetime=../2000-01-01").NumberMatched; got != 0 {
		t.Errorf("%d forecasts up to 2000, want none", got)
	}
}

func filtersTogether(t *testing.T, w *world) {
	for q, want := range map[string]string{
		"number=N20": "N20",
		"number=n20": "",
		"number=N20&bbox=-72.25,44,-72.15,45&datetime=1970": "N20",
		"number=N20&bbox=0,0,1,1":                           "",
		"number=N20&datetime=1971":                          "",
		"depth_to_bedrock_qualifier=between":                "N02",
		"yield_lps=0.3785411784&limit=2":                    "N00 N01", // 6 US gallons a minute: 6 * 3.785411784 / 60
	} {
		if got := w.page("/collections/wells/items?" + q).numbers(); got != want {
			t.Errorf("%s: %q, want %q", q, got, want)
		}
	}
}

// pageLinks walks through every collection by pages of many sizes, forwards and
// back: the union of the pages is the whole, none twice, and each link keeps
// every parameter.
func pageLinks(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items", "/collections/wells/items?status=in_use", "/collections/wells/items?bbox=-73,40,-72,50&datetime=1970/..", "/collections/strata/items", "/collections/water-strikes/items?position=2", "/collections/plates/items"} {
		for _, limit := range []int{1, 7, 19, 57, 1000} {
			between := "?"
			if strings.Contains(path, "?") {
				between = "&"
			}
			if limit == 1 && !strings.Contains(path, "?") {
				continue // many pages that show nothing more
			}
			whole := w.page(path + between + "limit=10000")
			first := fmt.Sprint(path, between, "limit=", limit)
			there, last := w.walk(t, first, "next", limit)
			if !slices.Equal(there, whole.ids()) {
				t.Errorf("%s by %d: %d features, want %d", path, limit, len(there), len(whole.Features))
			}
			back, _ := w.walk(t, last, "prev", limit)
			if !slices.Equal(back, whole.ids()) {
				t.Errorf("%s by %d, back: %d features, want %d", path, limit, len(back), len(whole.Features))
			}
		}
	}
	third := w.page("/collections/wells/items?limit=3&after=6")
	second := w.page(third.Links.to("prev")[0].Href)
	if again := w.page(second.Links.to("next")[0].Href); second.numbers() != "N03 N04 N05" || again.numbers() != third.numbers() {
		t.Errorf("from %s back to %s and on to %s", third.numbers(), second.numbers(), again.numbers())
	}
	p := w.page("/collections/wells/items?limit=3&after=999999")
	if len(p.Features) != 0 || len(p.Links.to("next")) != 0 || len(p.Links.to("prev")) != 1 {
		t.Errorf("behind the last: %d features, links %v", len(p.Features), p.Links)
	}
	if p = w.page(p.Links.to("prev")[0].Href); p.numbers() != "N54 N55 N56" {
		t.Errorf("back from behind the last: %s", p.numbers())
	}
}

// walk follows the links of a relation and gives the features in their order,
// and the address of the last page.
func (w *world) walk(t *testing.T, at, rel string, limit int) (ids []string, last string) {
	t.Helper()
	for pages := 0; ; pages++ {
		if pages > 500 {
			t.Fatalf("%s leads in a circle", at)
		}
		p := w.page(at)
		if len(p.Features) > limit {
			t.Fatalf("%s has %d features", at, len(p.Features))
		}
		if rel == "next" {
			ids = append(ids, p.ids()...)
		} else {
			ids = append(p.ids(), ids...)
		}
		more := p.Links.to(rel)
		if len(more) == 0 {
			return ids, at
		}
		if len(p.Features) == 0 {
			t.Errorf("%s has a link %s and no features", at, rel)
		}
		before, after := queryOf(t, at), queryOf(t, more[0].Href)
		for name := range before {
			if name != "after" && name != "before" && before.Get(name) != after.Get(name) {
				t.Errorf("%s: the link %s loses %s", at, rel, name)
			}
		}
		at = more[0].Href
	}
}

func queryOf(t *testing.T, href string) url.Values {
	t.Helper()
	u, err := url.Parse(href)
	if err != nil {
		t.Fatal(err)
	}
	return u.Query()
}

func relTypes(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items?limit=3&after=5", "/collections/wells/items/" + w.wells[3].UID} {
		for _, l := range linksAt(t, w, path) {
			if l.Type == "" || l.Rel == "" {
				t.Errorf("%s: the link %v does not say its type and relation", path, l)
			}
		}
	}
	wantTypes(t, linksAt(t, w, "/collections/wells/items?limit=3&after=5"), "self", "application/geo+json", "alternate", "text/html", "next", "application/geo+json", "prev", "application/geo+json", "collection", "application/json")
}

func timeStamp(t *testing.T, w *world) {
	at, err := time.Parse(time.RFC3339, w.page("/collections/wells/items?limit=2").TimeStamp)
	if since := time.Since(at); err != nil || since < -time.Minute || since > time.Hour {
		t.Errorf("made at %v (%v)", at, err)
	}
}

func numberMatched(t *testing.T, w *world) {
	for path, want := range map[string]int{"/collections/wells/items?limit=5": wellsHere, "/collections/wells/items?limit=5&after=40": wellsHere, "/collections/wells/items?status=in_use&limit=1": wellsHere,
		"/collections/wells/items?status=x": 0, "/collections/water-strikes/items?limit=1": 2 * wellsHere, "/collections/strata/items?limit=1": 6 * wellsHere, "/collections/plates/items": 1, "/collections/forecasts/items": 1} {
		if got := w.page(path).NumberMatched; got == nil || *got != want {
			t.Errorf("%s: matched %v, want %d", path, got, want)
		}
	}
}

func numberReturned(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items?limit=5", "/collections/wells/items?status=x", "/collections/strata/items?limit=11&before=4"} {
		if p := w.page(path); p.NumberReturned != len(p.Features) {
			t.Errorf("%s: returned %d, there are %d", path, p.NumberReturned, len(p.Features))
		}
	}
}

func featureSuccess(t *testing.T, w *world) {
	var f struct {
		Type, ID   string
		Properties map[string]any
	}
	w.get("/collections/wells/items/"+w.wells[3].UID, 200).read(t, &f)
	if f.Type != "Feature" || f.ID != w.wells[3].UID || f.Properties["number"] != "N03" || f.Properties["total_depth_as_written"] != "203 ft" {
		t.Errorf("%+v", f)
	}
	w.get("/collections/forecasts/items?limit=1", 200)
	p := w.page("/collections/forecasts/items")
	for name, want := range map[string]float64{"yield_p10_lps": 1.4, "yield_p50_lps": 5, "yield_p90_lps": 8.6} { // of 1 to 9 by the midpoint rule, worked by hand
		if got, ok := p.Features[0].Properties[name].(float64); !ok || got < want-1e-9 || got > want+1e-9 {
			t.Errorf("%s: %v, want %v", name, p.Features[0].Properties[name], want)
		}
	}
}

func featureLinks(t *testing.T, w *world) {
	have := linksAt(t, w, "/collections/wells/items/"+w.wells[3].UID)
	wantTypes(t, have, "self", "application/geo+json", "alternate", "text/html", "collection", "application/json")
	for _, l := range have {
		w.get(l.Href, 200)
	}
}

func notThere(t *testing.T, w *world) {
	for _, path := range []string{"/x", "/collections/x", "/collections/wells/x", "/collections/wells/items/x", "/collections/wells/items/x/y", "/collections/x/items", "/collections/strata/items/" + w.wells[3].UID, "/collections/strata/items/" + w.wells[3].UID + ".99", "/apis"} {
		problemOf(t, w.get(path, 404))
	}
	if s := w.get(w.http.URL+"/ogcx", 404); s.kind() != "text/html" {
		t.Errorf("another address is answered here: %s", s.kind())
	}
}

func geoJSONTypes(t *testing.T, w *world) {
	for path, kind := range map[string]string{"/collections/wells/items": "application/geo+json", "/collections/wells/items/" + w.wells[3].UID: "application/geo+json", "/collections": "application/json", "": "application/json"} {
		for _, accept := range []string{"", "*/*", "application/json", "application/geo+json", "application/geo+json, application/json;q=0.9, text/html;q=0.1"} {
			if got := w.get(path, 200, "Accept", accept).kind(); got != kind {
				t.Errorf("%s for %q: %s, want %s", path, accept, got, kind)
			}
		}
	}
}

func geoJSONContent(t *testing.T, w *world) {
	p := w.page("/collections/wells/items?limit=10000")
	if p.Type != "FeatureCollection" {
		t.Errorf("type %q", p.Type)
	}
	for _, f := range p.Features {
		if f.Type != "Feature" || f.ID == "" || len(f.Properties) != len(p.Features[0].Properties) {
			t.Errorf("%s: %s with %d properties, the first has %d", f.ID, f.Type, len(f.Properties), len(p.Features[0].Properties))
		}
		if (f.Geometry == nil) != (f.Properties["number"] == "N02") {
			t.Errorf("%s: geometry %v", f.ID, f.Geometry)
		}
	}
	for _, path := range []string{"", "/collections", "/collections/wells/items?limit=100", "/collections/strata/items?limit=1000", "/collections/water-strikes/items?limit=1000", "/collections/plates/items", "/collections/forecasts/items", "/collections/wells/download", "/collections/plates/download"} {
		for _, f := range []string{"json", "html"} {
			between := "?"
			if strings.Contains(path, "?") {
				between = "&"
			}
			if strings.HasSuffix(path, "download") && f == "html" {
				continue
			}
			if s := w.get(path+between+"f="+f, 200); strings.Contains(string(s.body), secret) {
				t.Errorf("%s tells private things", s.path)
			}
		}
	}
}

const browser = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"

func htmlTypes(t *testing.T, w *world) {
	for _, path := range []string{"", "/api", "/conformance", "/collections", "/collections/wells", "/collections/wells/items", "/collections/wells/items/" + w.wells[3].UID, "/collections/strata/items", "/collections/plates/items", "/collections/forecasts/items"} {
		s := w.get(path, 200, "Accept", browser)
		if s.kind() != "text/html" || !strings.Contains(s.header.Get("Vary"), "Accept") {
			t.Errorf("%s for a browser: %s, Vary %q", path, s.kind(), s.header.Get("Vary"))
		}
		if s := w.get(path+"?f=json", 200, "Accept", browser); s.kind() == "text/html" {
			t.Errorf("%s with f=json is a page", path)
		}
		w.get(path+"?theme=dark&units=si", 200, "Accept", browser)
	}
	for path, status := range map[string]int{"/x": 404, "/collections/wells/items?limit=0": 400, "/collections/wells/items/x": 404} {
		if s := w.get(path, status, "Accept", browser); s.kind() != "text/html" || strings.Contains(string(s.body), "{\"") {
			t.Errorf("%s for a browser: %s", path, s.kind())
		}
	}
}

func htmlContent(t *testing.T, w *world) {
	items := string(w.get("/collections/wells/items?f=html&limit=5&after=5", 200).body)
	for _, want := range []string{"N05", "N09", "/ogc/collections/wells/items/" + w.wells[7].UID, "after=10", "before=6", "<svg", "5 of 57."} {
		if !strings.Contains(items, want) {
			t.Errorf("the page of items does not say %q", want)
		}
	}
	if first := string(w.get("/collections/wells/items?f=html&limit=3", 200).body); !strings.Contains(first, "3–5") {
		t.Error("what lies between two is not shown so")
	}
	one := string(w.get("/collections/wells/items/"+w.wells[3].UID+"?f=html", 200).body)
	for _, want := range []string{"203 ft", "total_depth_m", "/well/" + w.wells[3].UID} {
		if !strings.Contains(one, want) {
			t.Errorf("the page of a feature does not say %q", want)
		}
	}
}
