package ogc_test

import (
	"strings"
	"testing"
)

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
