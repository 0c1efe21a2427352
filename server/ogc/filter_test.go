package ogc_test

import (
	"net/url"
	"slices"
	"strings"
	"testing"
)

// The requirements of OGC API - Features, Part 3 (19-079r2), each by its name
// below http://www.opengis.net/spec/ogcapi-features-3/1.0 (names from memory).

func TestFiltering(t *testing.T) {
	w := newWorld(t)
	for name, test := range map[string]func(*testing.T, *world){
		"req/queryables/queryables-link":             queryablesLink,
		"req/queryables/get-queryables-op":           queryablesKept,
		"req/queryables/get-queryables-response":     queryablesSay,
		"req/queryables-query-parameters/parameters": queryablesAsParameters,
		"req/filter/filter-param":                    filterChooses,
		"req/filter/filter-lang-param":               filterLangs,
		"req/filter/filter-crs-param":                filterSystems,
		"req/filter/mixing-expressions":              filterWithOthers,
		"req/filter/response":                        filterRefused,
		"req/features-filter/filter-param":           filterEverywhere,
		"req/schemas/schema-op":                      schemaSays,
		"conformance":                                filterConformance,
		"walk":                                       filterWalk,
		"private things are not asked for":           filterPrivate,
		"pages for people":                           queryablesPages,
	} {
		t.Run(name, func(t *testing.T) {
			w.t = t
			test(t, w)
		})
	}
}

func filtered(path, filter string) string {
	return "/collections/" + path + "filter=" + url.QueryEscape(filter)
}

func queryablesLink(t *testing.T, w *world) {
	for _, c := range collectionsOf(t, w) {
		l := linksAt(t, w, "/collections/"+c.ID).to("http://www.opengis.net/def/rel/ogc/1.0/queryables")
		if len(l) != 1 || l[0].Type != "application/schema+json" {
			t.Fatalf("%s: %v", c.ID, l)
		}
		if s := w.get(l[0].Href, 200); s.kind() != "application/schema+json" {
			t.Errorf("%s is sent as %s", l[0].Href, s.kind())
		}
	}
}

func queryablesKept(t *testing.T, w *world) {
	w.get("/collections/wells/queryables", 200)
	w.get("/collections/nothing/queryables", 404)
	w.get("/collections/wells/queryables?x=1", 400)
}

// aSchema is a JSON Schema of properties as a client reads it.
type aSchema struct {
	Schema     string `json:"$schema"`
	ID         string `json:"$id"`
	Type       string
	Title      string
	Properties map[string]struct {
		Type, Format, Title string
		Unit                string `json:"x-ogc-unit"`
		Role                string `json:"x-ogc-role"`
	}
	Additional *bool `json:"additionalProperties"`
}

func queryablesSay(t *testing.T, w *world) {
	for _, c := range collectionsOf(t, w) {
		var q aSchema
		w.get("/collections/"+c.ID+"/queryables", 200).read(t, &q)
		if q.Schema != "https://json-schema.org/draft/2020-12/schema" || q.ID != w.http.URL+"/ogc/collections/"+c.ID+"/queryables" || q.Type != "object" || q.Title == "" {
			t.Errorf("%s: %+v", c.ID, q)
		}
		if q.Additional == nil || *q.Additional {
			t.Errorf("%s: others can be asked for, it says", c.ID)
		}
		if g := q.Properties["geometry"]; g.Format != "geometry-point" {
			t.Errorf("%s: geometry is %+v", c.ID, g)
		}
		// Each can be asked for.
		for name, p := range q.Properties {
			if p.Title == "" || p.Type == "" && name != "geometry" {
				t.Errorf("%s %s: %+v", c.ID, name, p)
			}
			w.get(filtered(c.ID+"/items?", name+" IS NULL"), 200)
		}
	}
	var q aSchema
	w.get("/collections/wells/queryables", 200).read(t, &q)
	if p := q.Properties["yield_lps"]; p.Unit != "L/s" || p.Type != "number" {
		t.Errorf("yield_lps: %+v", p)
	}
	if p := q.Properties["completed"]; p.Format != "date" || p.Type != "string" {
		t.Errorf("completed: %+v", p)
	}
}

func queryablesAsParameters(t *testing.T, w *world) {
	var q aSchema
	w.get("/collections/wells/queryables", 200).read(t, &q)
	values := map[string]string{"number": "1", "string": "x", "date": "2004", "boolean": "true", "integer": "1", "date-time": "2004-06-15T10:00:00Z"}
	for name, p := range q.Properties {
		value := values[p.Type]
		if p.Format != "" {
			value = values[p.Format]
		}
		if name != "geometry" {
			w.get("/collections/wells/items?"+name+"="+value, 200)
		}
	}
	if got := w.page("/collections/wells/items?number=N07").numbers(); got != "N07" {
		t.Errorf("number=N07 gives %s", got)
	}
}

// filterChooses: what is chosen, by hand: the wells are N00 to N56, their
// positions and dates by their numbers (newWorld).
func filterChooses(t *testing.T, w *world) {
	for filter, want := range map[string]string{
		"number = 'N07'":                  "N07",
		"number IN ('N07', 'N56', 'n08')": "N07 N56",
		"number LIKE 'N0_' AND completed IS NULL AND geometry IS NOT NULL": "N03 N04 N05 N06 N07 N08 N09",
		"CASEI(number) LIKE casei('n5%') AND NOT number = 'N50'":           "N51 N52 N53 N54 N55 N56",
		"geometry IS NULL": "N02",
		"completed BETWEEN DATE('1960-06-15') AND DATE('1962-06-14')":                                   "N10 N11",
		"T_INTERSECTS(completed, INTERVAL('2005-06-15', '..'))":                                         "N55 N56",
		"T_AFTER(completed, DATE('2005-06-15'))":                                                        "N56",
		"S_INTERSECTS(geometry, BBOX(179, 43, -179, 45))":                                               "N00 N01",
		"S_INTERSECTS(geometry, POLYGON((-72.125 44, -72.095 44, -72.095 45, -72.125 45, -72.125 44)))": "N10 N11 N12",
		"S_INTERSECTS(geometry, POINT(-72.1 44.05))":                                                    "N10",
		"S_DISJOINT(geometry, BBOX(-73, 40, -72, 50))":                                                  "N00 N01",
		"depth_to_bedrock_qualifier = 'between' AND depth_to_bedrock_m + 2 = 5":                         "N02",
		"FALSE": "",
	} {
		if got := w.page(filtered("wells/items?limit=100&", filter)).numbers(); got != want {
			t.Errorf("%s gives %q, want %q", filter, got, want)
		}
	}
}

func filterLangs(t *testing.T, w *world) {
	w.get(filtered("wells/items?filter-lang=cql2-text&", "TRUE"), 200)
	for _, lang := range []string{"cql2-json", "cql-text", "", "CQL2-TEXT"} {
		problemOf(t, w.get(filtered("wells/items?filter-lang="+lang+"&", "TRUE"), 400))
	}
}

func filterSystems(t *testing.T, w *world) {
	for crs, filter := range map[string]string{
		crs84URI:       "S_INTERSECTS(geometry, POINT(-72.1 44.05))",
		epsg + "4326":  "S_INTERSECTS(geometry, POINT(44.05 -72.1))",
		epsg + "32618": "S_INTERSECTS(geometry, BBOX(732313, 4881515.7, 732313.1, 4881515.8))", // by GDAL: 732313.005 4881515.772
		epsg + "3857":  "S_INTERSECTS(geometry, POLYGON((-8026136 5473183, -8026135 5473183, -8026135 5473184, -8026136 5473184, -8026136 5473183)))",
	} {
		if got := w.page(filtered("wells/items?filter-crs="+url.QueryEscape(crs)+"&", filter)).numbers(); got != "N10" {
			t.Errorf("%s in %s gives %q, want N10", filter, crs, got)
		}
	}
	unknownCRS(t, w, "filter=TRUE&filter-crs")
	// What is asked and what is answered are each in its own system.
	p := w.page(filtered("wells/items?filter-crs="+url.QueryEscape(epsg+"4326")+"&", "S_INTERSECTS(geometry, POINT(44.05 -72.1))"))
	if len(p.Features) != 1 || !slices.Equal(p.Features[0].Geometry.Coordinates, []float64{-72.1, 44.05}) {
		t.Errorf("%+v", p.Features)
	}
}

// filterWithOthers: all that is asked has to hold.
func filterWithOthers(t *testing.T, w *world) {
	p := w.page(filtered("wells/items?bbox=-72.125,44,-72.095,45&datetime=1961-01-01/..&number=N12&", "completed < DATE('1962-12-31')"))
	if p.numbers() != "N12" || p.NumberMatched == nil || *p.NumberMatched != 1 {
		t.Errorf("%s of %v", p.numbers(), p.NumberMatched)
	}
	if p := w.page(filtered("wells/items?number=N13&", "number = 'N12'")); len(p.Features) != 0 {
		t.Errorf("%s", p.numbers())
	}
}

// filterRefused: what cannot be read is told with its place and its mend.
func filterRefused(t *testing.T, w *world) {
	for filter, want := range map[string]string{
		"":                                       "empty",
		"depth > 3":                              "there is no field depth; there are",
		"number = 12":                            "write it in single quotes",
		"number = 'N07' AND":                     "at character 19, its end",
		"number = 'N07' OR )":                    "at character 19",
		"S_INTERSECTS(geometry, POINT(44 -272))": "longitude stands before the latitude",
		"NOT number":                             "no condition",
		strings.Repeat("(", 2000):                "stand in each other",
	} {
		if said := problemOf(t, w.get(filtered("wells/items?", filter), 400)); !strings.Contains(said, want) {
			t.Errorf("%.40s: %s", filter, said)
		}
	}
}

func filterEverywhere(t *testing.T, w *world) {
	for path, want := range map[string]int{
		filtered("strata/items?limit=1000&", "well_number = 'N10'"):                                len(w.wells[10].Strata),
		filtered("strata/items?limit=1000&", "well_number = 'N10' AND position = 1"):               1,
		filtered("water-strikes/items?limit=1000&", "well_number IN ('N10', 'N11')"):               2 * len(w.wells[10].Strikes),
		filtered("plates/items?", "number LIKE 'P-%'"):                                             1,
		filtered("forecasts/items?", "withdrawn = FALSE AND kept_at > DATE('2000-01-01')"):         1,
		filtered("forecasts/items?", "S_INTERSECTS(geometry, POINT(-72 44)) AND withdrawn = TRUE"): 0,
	} {
		if got := w.page(path); len(got.Features) != want {
			t.Errorf("%s: %d, want %d", path, len(got.Features), want)
		}
	}
	if s := w.get(filtered("wells/download?f=ndjson&", "number > 'N49'"), 200); strings.Count(string(s.body), "\n") != 7 {
		t.Errorf("the download holds %d", strings.Count(string(s.body), "\n"))
	}
}

// schemaSays: the schema names just the properties that features have.
func schemaSays(t *testing.T, w *world) {
	for _, c := range collectionsOf(t, w) {
		var s aSchema
		l := linksAt(t, w, "/collections/"+c.ID).to("http://www.opengis.net/def/rel/ogc/1.0/schema")
		w.get(l[0].Href, 200).read(t, &s)
		if s.Properties["geometry"].Role != "primary-geometry" {
			t.Errorf("%s: the geometry is %+v", c.ID, s.Properties["geometry"])
		}
		delete(s.Properties, "geometry")
		one := w.page("/collections/" + c.ID + "/items?limit=1").Features[0].Properties
		for name := range one {
			if _, ok := s.Properties[name]; !ok {
				t.Errorf("%s: %s is not in the schema", c.ID, name)
			}
		}
		if len(one) != len(s.Properties) {
			t.Errorf("%s: %d properties, the schema names %d", c.ID, len(one), len(s.Properties))
		}
	}
}

func filterConformance(t *testing.T, w *world) {
	var doc struct{ ConformsTo []string }
	w.get("/conformance", 200).read(t, &doc)
	for _, want := range []string{"ogcapi-features-2/1.0/conf/crs", "ogcapi-features-3/1.0/conf/filter", "ogcapi-features-3/1.0/conf/features-filter",
		"ogcapi-features-3/1.0/conf/queryables", "cql2/1.0/conf/cql2-text", "cql2/1.0/conf/basic-cql2"} {
		if !slices.Contains(doc.ConformsTo, "http://www.opengis.net/spec/"+want) {
			t.Errorf("%s is not said to be kept", want)
		}
	}
	for _, not := range []string{"cql2-json", "array-functions", "conf/functions"} { // which are not there
		for _, class := range doc.ConformsTo {
			if strings.HasSuffix(class, not) {
				t.Errorf("%s is said to be kept", class)
			}
		}
	}
}

// filterWalk: the pages of a filter together are what the filter chooses.
func filterWalk(t *testing.T, w *world) {
	filter := "completed >= DATE('1970-01-01') OR geometry IS NULL"
	all := w.page(filtered("wells/items?limit=100&", filter)).ids()
	ids, _ := w.walk(t, filtered("wells/items?limit=7&", filter), "next", 7)
	if len(all) < 30 || !slices.Equal(ids, all) {
		t.Errorf("%d by pages, %d in one", len(ids), len(all))
	}
}

func filterPrivate(t *testing.T, w *world) {
	for _, name := range []string{"owner_name", "address", "telephone", "linked_by", "evidence"} {
		problemOf(t, w.get(filtered("wells/items?", name+" IS NOT NULL"), 400))
		problemOf(t, w.get(filtered("plates/items?", name+" IS NOT NULL"), 400))
	}
}

func queryablesPages(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/queryables?f=html", "/collections/wells/schema?f=html", "/collections/forecasts/queryables?f=html"} {
		if s := w.get(path, 200); s.kind() != "text/html" || !strings.Contains(string(s.body), "<table") {
			t.Errorf("%s: %s", path, s.kind())
		}
	}
	if s := w.get(filtered("wells/items?f=html&", "number = 'N07'"), 200); !strings.Contains(string(s.body), "N07") || strings.Contains(string(s.body), "N08") {
		t.Error("the page does not show what the filter chooses alone")
	}
	// What cannot be read stands in the form again, with what is wrong.
	s := w.get(filtered("wells/items?f=html&limit=7&", "depth < 3"), 400)
	for _, want := range []string{"there is no field depth", `value="depth &lt; 3"`, `aria-invalid="true"`, `name="limit" value="7"`} {
		if !strings.Contains(string(s.body), want) {
			t.Errorf("%s is not on the page", want)
		}
	}
}
