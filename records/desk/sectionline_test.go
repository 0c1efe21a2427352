package desk_test

import (
	"testing"

	"tallybook/records/desk"
)

// Whatever is sent as a line either is one, of places on the earth, or is
// refused in words.
func FuzzLineOfGeoJSON(f *testing.F) {
	for _, text := range []string{
		`{"type":"LineString","coordinates":[[-71.21,44.5],[-71.18,44.51]]}`, `{"type":"LineString","coordinates":[[-71.21,44.5,3],[-71.18,44.51,4]]}`,
		`{"type":"Feature","properties":null,"geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]}}`,
		`{"type":"FeatureCollection","features":[]}`, `{"type":"LineString","coordinates":[]}`, `{"type":"LineString"}`, `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}`,
		`[]`, `{}`, "", "\ufeff{}", `{"type":"GeometryCollection","geometries":[]}`, `{"type":"LineString","coordinates":[[1e999,2],[3,4]]}`,
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		line, err := desk.LineOfGeoJSON(data)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without a word")
			}
			return
		}
		if len(line) < 2 {
			t.Fatalf("%q gives a line of %d places", data, len(line))
		}
		for _, at := range line {
			if at.Valid() != nil {
				t.Fatalf("%q gives %v", data, at)
			}
		}
	})
}
