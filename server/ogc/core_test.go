package ogc_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
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
