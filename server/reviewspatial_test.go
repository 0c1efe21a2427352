package server_test

import (
	"encoding/csv"
	"html"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// reviewTable reads a table of a part, by its columns' names.
func reviewTable(t *testing.T, h http.Handler, address string) map[string][]string {
	t.Helper()
	code, body := getPage(t, h, address)
	if code != http.StatusOK {
		t.Fatalf("%s: %d %s", address, code, body)
	}
	rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", address, len(rows), err)
	}
	out := map[string][]string{}
	for _, r := range rows[1:] {
		for i, name := range rows[0] {
			out[name] = append(out[name], r[i])
		}
	}
	return out
}

var reviewMark = regexp.MustCompile(`(?s)<svg.*?</svg>|<[^>]*>`)

// reviewSays is the words of one part on the page.
func reviewSays(t *testing.T, h http.Handler, query, part string) string {
	t.Helper()
	getPage(t, h, "/review/"+part+".csv?"+query) // waits for it
	_, page := getPage(t, h, "/review?"+query)
	_, rest, ok := strings.Cut(page, `id="`+part+`"`)
	if !ok {
		t.Fatalf("the page lacks %s", part)
	}
	rest, _, _ = strings.Cut(rest, "</section>")
	return strings.Join(strings.Fields(html.UnescapeString(reviewMark.ReplaceAllString(rest, " "))), " ")
}

func TestReviewStructure(t *testing.T) {
	_, h := scoutWorld(t, changed(400, nil))
	lags := reviewTable(t, h, "/review/structure.csv?units=si")
	model := reviewTable(t, h, "/review/structure.csv?units=si&table=model")
	if len(lags["pairs"]) < 5 || len(lags["semivariance_m2"]) != len(lags["without_structure_low_m2"]) || len(model["nugget_m2"]) != 1 {
		t.Errorf("%d lags, %v", len(lags["pairs"]), model)
	}
	says := reviewSays(t, h, "units=si", "structure")
	for _, words := range []string{"Dealt out at random to the same wells", "Model: ", "one of each compared: all ", "Work it otherwise", "as the data have it"} {
		if !strings.Contains(says, words) {
			t.Errorf("%q is not said in: %s", words, says)
		}
	}
	// Other settings are other numbers, and stand in the address.
	other := reviewTable(t, h, "/review/structure.csv?p.structure.lag_m=1000&p.structure.reach_m=6000&p.structure.scale=log&p.structure.shape=gaussian&p.structure.fit=robust")
	if len(other["from_m"]) != 6 || other["to_m"][5] != "6000" || len(other["semivariance_ln2"]) != 6 {
		t.Errorf("of six lags of a kilometre: %v", other)
	}
	if m := reviewTable(t, h, "/review/structure.csv?table=model&p.structure.shape=gaussian"); m["shape"][0] != "gaussian" {
		t.Errorf("the shape asked for is not taken: %v", m)
	}
	if says := reviewSays(t, h, "field=yield&p.structure.shape=spherical", "structure"); !strings.Contains(says, "a factor of about") || !strings.Contains(says, "of the logarithm") {
		t.Errorf("of yield: %s", says)
	}
	for query, want := range map[string]string{
		"p.structure.shape=cubic": "no shape", "p.structure.scale=square": "no scale", "p.structure.fit=best": "no estimate", "p.structure.lag_m=-3": "no distance",
		"p.structure.lag_m=0.001": "choose wider ones", "p.structure.lag_m=Inf": "no distance",
	} {
		if code, body := getPage(t, h, "/review/structure.csv?"+query); code != http.StatusBadRequest || !strings.Contains(body, want) {
			t.Errorf("%s: %d %s", query, code, body)
		}
		if code, _ := getPage(t, h, "/review?"+query); code != http.StatusOK { // the other parts stand
			t.Errorf("the page of %s: %d", query, code)
		}
	}
}

func TestReviewDirectionsAndCrowding(t *testing.T) {
	_, h := scoutWorld(t, changed(400, nil))
	d := reviewTable(t, h, "/review/directions.csv")
	seen := map[string]bool{}
	for _, a := range d["azimuth_deg"] {
		seen[a] = true
	}
	if len(seen) != 4 || !seen["0"] || !seen["135"] {
		t.Errorf("lines %v", seen)
	}
	for i, n := range d["pairs"] { // a word where there are too few
		if k, _ := strconv.Atoi(n); (k >= 30) != (d["enough"][i] == "yes") {
			t.Errorf("%s pairs: enough is %s", n, d["enough"][i])
		}
	}
	if says := reviewSays(t, h, "", "directions"); !strings.Contains(says, "no test says here") || !strings.Contains(says, "north–south") {
		t.Error(says)
	}
	if says := reviewSays(t, h, "p.directions.lag_m=2&p.directions.reach_m=100", "directions"); !strings.Contains(strings.ToLower(says), "too few") {
		t.Errorf("of lags of two metres: %s", says)
	}
	c := reviewTable(t, h, "/review/crowding.csv?p.crowding.seek=lowest")
	if len(c["mean_m"]) != 24 {
		t.Errorf("%d sizes of cells", len(c["mean_m"]))
	}
	if says := reviewSays(t, h, "p.crowding.cell_m=2000", "crowding"); !strings.Contains(says, "Every well counted alike") || !strings.Contains(says, "share its say") {
		t.Error(says)
	}
	for _, query := range []string{"p.crowding.seek=middle", "p.crowding.cell_m=0", "p.crowding.cell_m=none"} {
		if code, body := getPage(t, h, "/review/crowding.csv?"+query); code != http.StatusBadRequest {
			t.Errorf("%s: %d %s", query, code, body)
		}
	}
}

func TestReviewMethods(t *testing.T) {
	_, h := scoutWorld(t, changed(300, nil))
	s := reviewTable(t, h, "/review/methods.csv")
	if len(s["method"]) != 7 || s["method"][0] != "neighbours" || s["tested"][1] != s["tested"][0] {
		t.Errorf("%v", s)
	}
	d := reviewTable(t, h, "/review/methods.csv?table=differences&p.methods.against=kriging")
	for i, m := range d["method"] {
		low, _ := strconv.ParseFloat(d["mae_low_m"][i], 64)
		high, _ := strconv.ParseFloat(d["mae_high_m"][i], 64)
		mean, _ := strconv.ParseFloat(d["mae_m"][i], 64)
		if low > mean || mean > high || m == "kriging" && mean != 0 || m != "kriging" && mean == 0 {
			t.Errorf("%s: %g from %g to %g", m, mean, low, high)
		}
	}
	says := reviewSays(t, h, "p.methods.by=block&p.methods.against=kriging", "methods")
	for _, words := range []string{"hidden by squares of", "comes nearest", "fitted anew without", "Mind."} {
		if !strings.Contains(says, words) {
			t.Errorf("%q is not said in: %s", words, says)
		}
	}
	for _, query := range []string{"p.methods.by=well", "p.methods.against=magic"} {
		if code, _ := getPage(t, h, "/review/methods.csv?"+query); code != http.StatusBadRequest {
			t.Errorf("%s: %d", query, code)
		}
	}
}
