package server_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/sqlite"
	"tallybook/server"
)

// scoutWorld is a database of some wells behind a server.
func scoutWorld(t *testing.T, wells []*records.Well) (*desk.Desk, http.Handler) {
	t.Helper()
	vocabulary := lithology.Default()
	now := func() time.Time { return time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC) }
	store, err := sqlite.Open(t.Context(), sqlite.Options{Path: filepath.Join(t.TempDir(), "scout.db"), Create: true, Reader: vocabulary, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), desk.Options{Store: store, Vocabulary: vocabulary, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	if len(wells) > 0 {
		if err := d.AddAll(t.Context(), desk.LocalPerson(), wells, nil, nil); err != nil {
			t.Fatal(err)
		}
	}
	s, err := server.New(server.Options{Desk: d})
	if err != nil {
		t.Fatal(err)
	}
	return d, s.Handler()
}

func getPage(t *testing.T, h http.Handler, address string) (int, string) {
	t.Helper()
	return answerOf(h, address)
}

// A question with a fault comes back with what was typed, what is wrong with it
// in its unit, and the way on.
func TestScoutRefusedQuestion(t *testing.T) {
	_, h := scoutWorld(t, changed(40, nil))
	for name, c := range map[string]struct{ query, want, typed string }{
		"less than none": {"need=-1", "the flow needed (need=-1) is out of range: it may be from 0 to 15850 gpm", `name="need" class="tiny" inputmode="decimal" value="-1"`},
		"no number":      {"most=deep", "most=deep is not a number", `value="deep"`},
		"half a person":  {"people=2.5&need=7", "write a whole number", `name="need" class="tiny" inputmode="decimal" value="7"`},
		"a short hazard": {"near=septic_tank&need=7", "write KIND,DISTANCE,DIRECTION", `name="need" class="tiny" inputmode="decimal" value="7"`},
		"the rest kept":  {"need=-1&near=septic_tank,80,NE&tank=500", "Mend it below", `name="near" value="septic_tank,80,45"`},
		"the usual pipe": {"need=-1", "Mend it below", `name="pipe" class="tiny" inputmode="decimal" value="6.625"`},
	} {
		t.Run(name, func(t *testing.T) {
			code, page := getPage(t, h, "/scout?at=44.25,-38.75&"+c.query)
			if code != http.StatusBadRequest {
				t.Errorf("status %d, want 400", code)
			}
			for _, want := range []string{c.want, c.typed, "Work it out", "Back to the map"} {
				if !strings.Contains(page, want) {
					t.Errorf("the page lacks %q", want)
				}
			}
		})
	}
	if code, page := getPage(t, h, "/scout?at=nowhere"); code != http.StatusBadRequest || !strings.Contains(page, "Back to the map") || strings.Contains(page, "Work it out") {
		t.Errorf("a place that cannot be read: status %d", code)
	}
}

// changed gives the township's first wells, each changed.
func changed(n int, change func(*records.Well)) []*records.Well {
	wells := demo.Make(3).Wells[:n]
	for _, w := range wells {
		if change != nil {
			change(w)
		}
	}
	return wells
}

func setRates(t *testing.T, d *desk.Desk, text string) {
	t.Helper()
	v := records.SettingValue{Name: desk.SettingRates, Value: text}
	if err := d.SaveSetting(t.Context(), desk.LocalPerson(), &v, ""); err != nil {
		t.Fatal(err)
	}
}

// TestScoutStates: in every state of the records the page and the sheet make
// sense and say why they say no more.
func TestScoutStates(t *testing.T) {
	far := "/scout?at=10,10"
	near := "/scout?at=44.25,-38.75"
	for _, c := range []struct {
		name    string
		wells   []*records.Well
		rates   string
		address string
		want    []string
	}{
		{"no wells at all", nil, "", near, []string{"take some in first"}},
		{"one well", changed(1, nil), "", near, []string{"Only 1 record of this in all", "There is no rate table yet"}},
		{"nobody near", changed(60, nil), "", far, []string{"No well stands within 4 km", "0 wells within"}},
		{"all dry", changed(40, func(w *records.Well) {
			w.Yield, w.Strikes, w.YieldTests, w.Works = records.Of(records.Flow(0)), nil, nil, nil
		}), "", near, []string{"0 in 20 reach 5 gpm"}},
		{"bounds alone", changed(40, func(w *records.Well) {
			w.Strata, w.Casing = nil, nil
			w.Bedrock, w.Yield, w.Strikes, w.YieldTests = records.MoreThan(records.Depth(10)), records.Under(records.Flow(0.05)), nil, nil
		}), "", near, []string{"say only a bound"}},
		{"wrong rates", changed(40, nil), `{"name":"A","units":"us","currency":"USD","mobilisation_cents":-5}`, near, []string{"The rate table is wrong at mobilisation_cents"}},
		{"nothing recorded but the place", changed(30, func(w *records.Well) {
			*w = records.Well{Number: w.Number, Place: w.Place}
		}), "", near, []string{"No located record says anything of bedrock, yield or depth", "the hole cannot be tried in any"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, h := scoutWorld(t, c.wells)
			if c.rates != "" {
				setRates(t, d, c.rates)
			}
			for _, address := range []string{c.address, c.address + "&units=si", strings.Replace(c.address, "/scout", "/scout/sheet", 1)} {
				code, page := getPage(t, h, address)
				if code >= 500 {
					t.Fatalf("%s answers %d:\n%s", address, code, page)
				}
				for _, bad := range []string{"NaN", "Inf", "%!"} {
					if strings.Contains(page, bad) {
						i := strings.Index(page, bad)
						t.Errorf("%s says %s: …%s…", address, bad, page[max(0, i-120):min(len(page), i+60)])
					}
				}
				if address != c.address {
					continue
				}
				for _, want := range c.want {
					if !strings.Contains(page, want) {
						t.Errorf("%s does not say %q", address, want)
					}
				}
			}
		})
	}
}

// TestScoutQuestion: what is asked comes back in the page's sentence, in the
// reader's units; what cannot be read is refused by name.
func TestScoutQuestion(t *testing.T) {
	_, h := scoutWorld(t, changed(120, nil))
	code, page := getPage(t, h, "/scout?at=44.25,-38.75&in=us&need=3&stop=300&people=6&near=septic_tank,80,NE")
	if code != 200 {
		t.Fatalf("answers %d", code)
	}
	for _, want := range []string{`name="need" class="tiny" inputmode="decimal" value="3"`, `value="300"`, `value="6"`, "reach 3 gpm", "come to the call at 300 ft", "Septic tank"} {
		if !strings.Contains(page, want) {
			t.Errorf("it does not hold %q", want)
		}
	}
	code, page = getPage(t, h, "/scout?at=44.25,-38.75&in=us&need=3&units=si")
	if code != 200 || !strings.Contains(page, `value="11.36"`) {
		t.Errorf("3 gpm is not 11.36 L/min for a reader of SI units (%d)", code)
	}
	for _, bad := range []string{"at=", "at=44.25,-38.75&need=x", "at=44.25,-38.75&need=-1", "at=44.25,-38.75&people=1.5", "at=44.25,-38.75&near=tank", "at=44.25,-38.75&near=tank,1,QQ", "at=44.25,-38.75&above=-3"} {
		if code, page := getPage(t, h, "/scout?"+bad); code != 400 {
			t.Errorf("%s answers %d: %s", bad, code, page)
		}
	}
}

// TestScoutHoldsLayersAgainstTheRules: what a layer of the office's own holds
// near the pin is measured and judged, by the nearest of its parts.
func TestScoutHoldsLayersAgainstTheRules(t *testing.T) {
	d, h := scoutWorld(t, changed(60, nil))
	if err := d.SetInventedOffice(t.Context(), desk.LocalPerson()); err != nil {
		t.Fatal(err)
	}
	for kind, geometry := range map[string]string{
		// 0.0001 degrees of latitude are 11.1 m.
		"septic_tank":   `{"type":"Point","coordinates":[-38.75,44.2501]}`,
		"overhead_line": `{"type":"LineString","coordinates":[[-38.76,44.2503],[-38.74,44.2503]]}`,
		"parcel":        `{"type":"Polygon","coordinates":[[[-38.751,44.249],[-38.749,44.249],[-38.749,44.251],[-38.751,44.251],[-38.751,44.249]]]}`,
	} {
		l := records.Layer{Name: kind, Kind: kind, GeoJSON: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"The ` + kind + `"},"geometry":` + geometry + `}]}`)}
		if err := d.SaveLayer(t.Context(), desk.LocalPerson(), &l); err != nil {
			t.Fatal(err)
		}
	}
	code, page := getPage(t, h, "/scout?at=44.25,-38.75")
	if code != 200 {
		t.Fatal(code)
	}
	for _, want := range []string{"The septic_tank", "36 ft", "too near by", "The overhead_line", "110 ft", "go and look", "Property line", "260 ft"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

// TestScoutLessNeedIsNeverLessLikely: asking for less water never lowers the
// chance.
func TestScoutLessNeedIsNeverLessLikely(t *testing.T) {
	d, _ := scoutWorld(t, changed(300, nil))
	last := -1.0
	for _, gpm := range []float64{20, 10, 5, 2, 0.5} {
		s, err := d.Scouting(t.Context(), desk.LocalPerson(), askFor(gpm))
		if err != nil {
			t.Fatal(err)
		}
		if s.Hole.MetLow < last-1e-9 {
			t.Errorf("%g gpm is met with a chance of %g, more water with %g", gpm, s.Hole.MetLow, last)
		}
		last = s.Hole.MetLow
		if s.Hole.Cost.Len() != 0 {
			t.Error("a price was made of no rates")
		}
	}
}

func askFor(gpm float64) desk.ScoutAsk {
	ask := desk.ScoutAsk{Need: records.Flow(records.GallonPerMinute.ToBase(gpm)), Hole: 152.4, Casing: 168.3, Daily: 1200, Shape: "two-peaks"}
	ask.At.Lon, ask.At.Lat = -38.75, 44.25
	return ask
}

// TestScoutingIsTheSameEveryTime: the same records and question give the same
// page.
func TestScoutingIsTheSameEveryTime(t *testing.T) {
	_, h := scoutWorld(t, changed(200, nil))
	address := fmt.Sprintf("/scout?at=44.25,-38.75&need=%d", 4)
	_, a := getPage(t, h, address)
	_, b := getPage(t, h, address)
	if a != b {
		t.Error("two readings differ")
	}
}

// answerOf asks for a page as a browser would, without a test to fail.
func answerOf(h http.Handler, address string) (int, string) {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", "http://127.0.0.1"+address, nil))
	return w.Code, w.Body.String()
}
