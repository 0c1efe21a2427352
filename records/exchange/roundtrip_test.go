package exchange_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/exchange"
	"tallybook/records/importer"
)

// readWells takes a source in and gives its wells with their plates, as a
// store would.
func readWells(t *testing.T, text string) []*records.Well {
	t.Helper()
	s, err := importer.NewSource(strings.NewReader(text), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out []*records.Well
	for {
		row, err := s.Next(t.Context())
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if row.Refused() {
			t.Fatalf("row %d refused: %v", row.Number, row.Faults)
		}
		for _, p := range row.Plates {
			row.Well.Plates = append(row.Well.Plates, *p)
		}
		// What a store adds to each record that it took in.
		row.Well.ID, row.Well.Revision = row.Number, 1
		row.Well.Provenance.Batch = 1
		if row.Well.Provenance.Source == "" {
			row.Well.Provenance.Source = "batch"
		}
		out = append(out, row.Well)
	}
}

func export(t *testing.T, wells []*records.Well, o exchange.Options) string {
	t.Helper()
	var b bytes.Buffer
	g := exchange.NewGeoJSON(&b, o)
	for _, w := range wells {
		if err := g.Write(w); err != nil {
			t.Fatal(err)
		}
	}
	if err := g.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// tree is a JSON document with each number as its own digits.
func tree(t *testing.T, text string) any {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	return v
}

// withoutNames takes out the two things that an export adds to a feature that
// came without them: its public name, and that as its identifier.
func withoutNames(v any, hadID bool) any {
	f, ok := v.(map[string]any)
	if !ok {
		return v
	}
	if !hadID {
		delete(f, "id")
	}
	if p, ok := f["properties"].(map[string]any); ok {
		delete(p, "uid")
		if plates, ok := p["plates"].([]any); ok {
			for _, x := range plates {
				if plate, ok := x.(map[string]any); ok {
					delete(plate, "uid")
				}
			}
		}
	}
	return v
}

func features() map[string]string {
	return map[string]string{
		"plain":           `{"type":"Feature","id":7,"geometry":{"type":"Point","coordinates":[-118.98879,59.57018]},"properties":{"number":"A-1"}}`,
		"text id":         `{"type":"Feature","id":"ä/\"7\"","geometry":{"type":"Point","coordinates":[1e1,2.50]},"properties":{}}`,
		"great id":        `{"type":"Feature","id":12345678901234567890,"geometry":{"type":"Point","coordinates":[-0.0,0.10]},"properties":{}}`,
		"many digits":     `{"type":"Feature","geometry":{"type":"Point","coordinates":[-10.500000000000000001,45.1234567890123456789]},"properties":{}}`,
		"third number":    `{"type":"Feature","geometry":{"type":"Point","coordinates":[10,45,123.40]},"properties":{}}`,
		"fourth number":   `{"type":"Feature","geometry":{"type":"Point","coordinates":[10, 45, 1e2, -0.0]},"properties":{}}`,
		"null geometry":   `{"type":"Feature","geometry":null,"properties":{"number":"lost"}}`,
		"foreign members": `{"type":"Feature","bbox":[10,45,10,45],"links":[{"rel":"self"}],"geometry":{"type":"Point","coordinates":[10,45],"bbox":[10,45,10,45],"x":{"y":1.0}},"properties":{},"title":"t"}`,
		"foreign numbers": `{"type":"Feature","geometry":null,"properties":{"a":1e5,"b":0.10,"c":-0.0,"d":12345678901234567890,"e":[1,2.50,{"f":null}],"g":1E+2}}`,
		"amounts":         `{"type":"Feature","geometry":null,"properties":{"total_depth_m":1e2,"depth_to_bedrock_m":62.10,"static_level_m":-0.50,"yield_lps":0.0}}`,
		"bounds":          `{"type":"Feature","geometry":null,"properties":{"total_depth_m":100,"depth_to_bedrock_m":100.0,"depth_to_bedrock_qualifier":"greater_than","yield_lps":0.06,"yield_qualifier":"less_than"}}`,
		"as given":        `{"type":"Feature","geometry":null,"properties":{"total_depth_m":61.8744,"total_depth_given":"203'","total_depth_given_unit":"ft"}}`,
		"strata": `{"type":"Feature","geometry":null,"properties":{"total_depth_m":40,"strata":[
			{"top_m":0,"bottom_m":12.0,"description":"brn \"clay\" w/ cobbles","lab":{"w":7.0}},
			{"top_m":12.0,"bottom_m":40,"description":"Schist\nhard — 片岩 🪨 \u2028 \ud83e\udea8 \t"}]}}`,
		"casing and water": `{"type":"Feature","geometry":null,"properties":{"total_depth_m":60,"bores":[{"from_m":0,"to_m":60,"diameter_mm":152.4,"method":"air_rotary"}],"casing":[{"from_m":-0.5,"to_m":12.50,"material":"steel","drive_shoe":true}],"strikes_as":"gain","strikes":[{"depth_m":30.0,"flow_lps":0.10}],"yield_lps":0.1}}`,
		"plates":           `{"type":"Feature","geometry":{"type":"Point","coordinates":[10,45]},"properties":{"number":"9","plates":[{"number":"10?7","authority":"invented","stamped":{"total_depth_m":60.0},"note":[1.0]},{"number":"2"}]}}`,
		"people":           `{"type":"Feature","geometry":null,"properties":{"owner":{"name":"Nobody","telephone":"0"},"site":{"address":"1 Nowhere"},"OwnerPhone":"0","crew":{"driller":"D","telephone":"0"}}}`,
	}
}

func TestFeaturesComeBackAsTheyCame(t *testing.T) {
	all := exchange.Options{Private: true}
	for name, text := range features() {
		t.Run(name, func(t *testing.T) {
			_, hadID := tree(t, text).(map[string]any)["id"]
			wells := readWells(t, text)
			lines := export(t, wells, exchange.Options{Private: true, NDJSON: true})
			if strings.Count(lines, "\n") != 1 {
				t.Errorf("the feature is not on one line: %q", lines)
			}
			if diff := cmp.Diff(tree(t, text), withoutNames(tree(t, lines), hadID)); diff != "" {
				t.Errorf("came back changed (-in +out):\n%s", diff)
			}
			// What was given a public name keeps it: the second time nothing
			// at all changes.
			again := export(t, readWells(t, lines), exchange.Options{Private: true, NDJSON: true})
			if diff := cmp.Diff(lines, again); diff != "" {
				t.Errorf("changed on the second way through:\n%s", diff)
			}
			whole := export(t, wells, all)
			if diff := cmp.Diff(lines, export(t, readWells(t, whole), exchange.Options{Private: true, NDJSON: true})); diff != "" {
				t.Errorf("changed on the way through a collection:\n%s", diff)
			}
		})
	}
}

func TestCollectionsComeBackInOrder(t *testing.T) {
	var parts []string
	for _, name := range sortedNames(features()) {
		parts = append(parts, features()[name])
	}
	text := `{"type":"FeatureCollection","name":"x","features":[` + strings.Join(parts, ",") + `],"links":[]}`
	out := export(t, readWells(t, text), exchange.Options{Private: true, BBox: true})
	in, ok1 := tree(t, text).(map[string]any)
	back, ok2 := tree(t, out).(map[string]any)
	if !ok1 || !ok2 || back["type"] != "FeatureCollection" || back["crs"] != nil {
		t.Fatalf("not a collection: %s", out)
	}
	want, got := in["features"].([]any), back["features"].([]any)
	if len(want) != len(got) {
		t.Fatalf("%d features came back of %d", len(got), len(want))
	}
	for i := range want {
		_, hadID := want[i].(map[string]any)["id"]
		if diff := cmp.Diff(want[i], withoutNames(got[i], hadID)); diff != "" {
			t.Errorf("feature %d (-in +out):\n%s", i, diff)
		}
	}
	box := []any{json.Number("-118.98879"), json.Number("0.1"), json.Number("10"), json.Number("59.57018")}
	if diff := cmp.Diff(box, back["bbox"]); diff != "" {
		t.Errorf("bbox (-want +got):\n%s", diff)
	}
}

func sortedNames(m map[string]string) []string {
	var names []string
	for n := range m {
		names = append(names, n)
	}
	for i := range names {
		for j := i; j > 0 && names[j] < names[j-1]; j-- {
			names[j], names[j-1] = names[j-1], names[j]
		}
	}
	return names
}

func TestPeopleAreLeftOut(t *testing.T) {
	wells := readWells(t, features()["people"])
	for _, n := range []string{"owner name", "OWNER_TEL", "mailAddress", "e-mail"} {
		wells[0].Extra = append(wells[0].Extra, records.Member{Name: n, JSON: `"secret"`})
	}
	for _, n := range []string{"telluric", "mailbox_distance", "ground_owned"} {
		wells[0].Extra = append(wells[0].Extra, records.Member{Name: n, JSON: `"open"`})
	}
	var b bytes.Buffer
	g := exchange.NewGeoJSON(&b, exchange.Options{})
	if err := errors.Join(g.Write(wells[0]), g.Close()); err != nil {
		t.Fatal(err)
	}
	var c bytes.Buffer
	table, err := exchange.NewCSV(&c, nil, exchange.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(table.Write(wells[0]), table.Close()); err != nil {
		t.Fatal(err)
	}
	for what, out := range map[string]string{"GeoJSON": b.String(), "CSV": c.String()} {
		for _, s := range []string{"Nobody", "Nowhere", "telephone", "secret", "OwnerPhone"} {
			if strings.Contains(out, s) {
				t.Errorf("%s gives away %q: %s", what, s, out)
			}
		}
		if n := strings.Count(out, "open"); n != 3 {
			t.Errorf("%s keeps %d of 3 open properties: %s", what, n, out)
		}
	}
	if g.LeftOut() != 6 || table.LeftOut() != 6 {
		t.Errorf("left out %d and %d, want 6", g.LeftOut(), table.LeftOut())
	}
}

func TestDigitsAreWrittenOnlyIfTheyAreJSON(t *testing.T) {
	for text, want := range map[string]string{
		"10": "10", "1e1": "1e1", "10.0": "10.0", "1.0E+1": "1.0E+1", "-0.0": "0", "010": "10", "+10": "10", "10.": "10", "1_0": "10", "0xA": "10", "0x1.4p3": "10", " 10": "10", "11": "10", "": "10", ".1e2": "10",
	} {
		w := &records.Well{Place: records.Place{Located: true, Lon: 10, Lat: 0, LonText: text, LatText: "0.00"}}
		if text == "-0.0" {
			w.Place.Lon, want = math.Copysign(0, -1), "-0.0"
		}
		lat := "0"
		if want == text {
			lat = "0.00"
		}
		out := string(exchange.AppendFeature(nil, w, exchange.Options{}))
		if !strings.Contains(out, `"coordinates":[`+want+`,`+lat+`]`) {
			t.Errorf("%q is written as %s", text, out)
		}
		tree(t, out)
	}
}

func TestMovedWellsDoNotKeepOldDigits(t *testing.T) {
	w := readWells(t, features()["foreign members"])[0]
	w.Place.Lon = 11.25
	out := string(exchange.AppendFeature(nil, w, exchange.Options{}))
	if !strings.Contains(out, `"coordinates":[11.25,45]`) || strings.Contains(out, "bbox") {
		t.Errorf("moved well: %s", out)
	}
}
