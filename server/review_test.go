package server_test

import (
	"encoding/csv"
	"encoding/xml"
	"errors"
	"html"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
)

// reviewNames are the parts of a review, as the addresses have them.
var reviewNames = []string{"completeness", "distribution", "depth", "years", "neighbours", "materials", "intervals", "structure", "directions", "crowding", "methods"}

func TestReviewPage(t *testing.T) {
	wells := changed(500, nil)
	_, h := scoutWorld(t, wells)
	for _, query := range []string{"", "?field=yield&units=si", "?field=total_depth&from=1990&to=2005&use=domestic&scale=log", "?field=yield&dmin=100&pairs=300", "?only=total_depth_ft+%3E+100"} {
		code, page := getPage(t, h, "/review"+query)
		if code != http.StatusOK {
			t.Fatalf("%q: %d\n%s", query, code, page)
		}
		for _, name := range reviewNames {
			if !strings.Contains(page, `<section class="reviewpart" id="`+name+`"`) {
				t.Errorf("%q lacks part %s", query, name)
			}
		}
		if strings.Contains(page, " style=") || strings.Contains(page, "NaN") || strings.Contains(page, "%!") {
			t.Errorf("%q holds what a page must not", query)
		}
	}
	// A plate stands in the chart beside the rest, and few wells bear one.
	if _, page := getPage(t, h, "/review"); !strings.Contains(page, "Each thing but the plate stands in half of them or more.") {
		t.Error("what the chart shows of plates is not said")
	}
	if _, page := getPage(t, h, "/review?from=1e19"); !strings.Contains(page, "drilled in 10000000000000000000 or later") {
		t.Error("a year that nobody means is not said as it was asked")
	}
	// Each chart with its numbers and its drawing, one click away, of the same question.
	for _, name := range reviewNames { // a file waits until its part is worked
		if code, body := getPage(t, h, "/review/"+name+".csv?field=yield&from=1985"); code != http.StatusOK {
			t.Errorf("%s: %d %s", name, code, body)
		}
	}
	_, page := getPage(t, h, "/review?field=yield&from=1985")
	links := regexp.MustCompile(`href="(/review/[a-z]+\.(svg|csv)[^"]*)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 2*len(reviewNames) {
		t.Fatalf("only %d files are offered", len(links))
	}
	for _, l := range links {
		address := html.UnescapeString(l[1])
		if !strings.Contains(address, "from=1985") || !strings.Contains(address, "field=yield") {
			t.Errorf("%s has lost the question", address)
		}
		code, body := getPage(t, h, address)
		if code != http.StatusOK {
			t.Errorf("%s: %d %s", address, code, body)
			continue
		}
		if l[2] == "svg" {
			soundXML(t, address, body)
			continue
		}
		rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
		if err != nil || len(rows) < 2 {
			t.Errorf("%s: %d rows, %v", address, len(rows), err)
		}
	}
}

func soundXML(t *testing.T, what, text string) {
	t.Helper()
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Errorf("%s: %v", what, err)
			return
		}
	}
}

// What cannot be read is said where it was typed, and what was typed stays.
func TestReviewRefused(t *testing.T) {
	_, h := scoutWorld(t, changed(40, nil))
	for query, want := range map[string]string{
		"from=soon":                        "from=soon is not a number",
		"box=1,2,3":                        "box=1,2,3 is no box",
		"box=1,5,2,4":                      "south above its north",
		"at=nowhere":                       "",
		"at=44,-38&radius=-2":              "radius",
		"outline=%7B%7D":                   "holds no polygon",
		"outline=<b>":                      "not GeoJSON",
		"use=fun":                          "none of the uses",
		"met=cheese":                       "no material",
		"scale=wide":                       "neither linear nor log",
		"pairs=-3":                         "neighbours are wells within",
		"only=depth+%3E+3":                 "the filter at character 1",
		"field=gold":                       "no field that can be mapped",
		"p.nonsense=1":                     "no setting of a part",
		`from="><script>alert(1)</script>`: "is not a number",
	} {
		code, page := getPage(t, h, "/review?"+query)
		if code != http.StatusBadRequest || !strings.Contains(strings.ToLower(html.UnescapeString(page)), strings.ToLower(want)) || !strings.Contains(page, `class="alert"`) {
			t.Errorf("%s: %d lacks %q", query, code, want)
		}
		if strings.Contains(page, "<script>alert") {
			t.Errorf("%s: a script got through", query)
		}
	}
	for address, want := range map[string]int{
		"/review/nothing.csv":                                              http.StatusNotFound,
		"/review/years.csv?from=soon":                                      http.StatusBadRequest,
		"/review/completeness.csv?table=nothing":                           http.StatusNotFound,
		"/review/completeness.csv":                                         http.StatusOK,
		"/review/distribution.csv?from=2150":                               http.StatusNotFound,
		"/review?view=1&lon=-38.75&lat=44.25&mpp=20&w=800&h=600&from=1990": http.StatusOK,
		"/review?view=1&lon=-38.75":                                        http.StatusBadRequest,
		"/review?from=2150":                                                http.StatusOK,
		"/review?outline=%7B%22type%22:%22Polygon%22,%22coordinates%22:[[[0,0],[1,0],[1,1],[0,0]]]%7D": http.StatusOK,
	} {
		if code, page := getPage(t, h, address); code != want {
			t.Errorf("%s: %d, not %d\n%s", address, code, want, page)
		}
	}
	for _, name := range reviewNames {
		getPage(t, h, "/review/"+name+".csv?from=2150")
	}
	_, page := getPage(t, h, "/review?from=2150")
	if n := strings.Count(page, "Too few to say"); n != len(reviewNames) {
		t.Errorf("of no wells %d parts say that they are too few", n)
	}
}

func TestReviewWithoutWells(t *testing.T) {
	_, h := scoutWorld(t, nil)
	if code, page := getPage(t, h, "/review"); code != http.StatusOK || !strings.Contains(page, "No wells are on record yet") {
		t.Errorf("%d %s", code, page)
	}
}

// Holes that are all dry, of which nothing or only limits are known, all alike,
// or one alone: every part answers, and claims nothing.
func TestReviewOfOddRecords(t *testing.T) {
	for name, c := range map[string]struct {
		n      int
		change func(*records.Well)
		query  string
		want   []string
		not    []string
	}{
		"dry":       {60, func(w *records.Well) { w.Yield = records.Of(records.Flow(0)) }, "yield", []string{"60 of them are dry (100 %)"}, nil},
		"dry, log":  {60, func(w *records.Well) { w.Yield = records.Of(records.Flow(0)) }, "yield&scale=log", []string{"60 of them are dry (100 %)"}, nil},
		"less than": {60, func(w *records.Well) { w.Yield = records.Under(records.Flow(0.1)) }, "yield", []string{"more than half give less than 1.6 gpm (the middle is sure to about less than 1.6 gpm), eight in ten less than 1.6 gpm"}, []string{"0.79 gpm"}},
		"more than": {200, func(w *records.Well) { w.Bedrock = records.MoreThan(w.TotalDepth.Value); w.Strata = nil }, "depth_to_bedrock", []string{"no change can be told"}, []string{"lie apart"}},
		"alike":     {60, func(w *records.Well) { w.TotalDepth = records.Of(records.Depth(100)); w.Strata = nil }, "total_depth", []string{"The holes are all about as deep", "No nearer and no farther"}, nil},
		"one":       {1, nil, "yield", []string{"The only well on record"}, []string{"All 1 well"}},
	} {
		_, h := scoutWorld(t, changed(c.n, c.change))
		for range 20 { // some parts are worked beside the page
			code, page := getPage(t, h, "/review?field="+c.query)
			page = strings.ReplaceAll(html.UnescapeString(page), "\u00a0", " ")
			if code != http.StatusOK {
				t.Fatalf("%s: %d", name, code)
			}
			if strings.Contains(page, "data-working") {
				getPage(t, h, "/review/methods.csv?field="+c.query)
				continue
			}
			for _, w := range c.want {
				if !strings.Contains(page, w) {
					t.Errorf("%s lacks %q", name, w)
				}
			}
			for _, w := range append(c.not, "NaN", "Inf", "%!") {
				if strings.Contains(page, w) {
					t.Errorf("%s says %q", name, w)
				}
			}
			break
		}
	}
}
