package desk

import (
	"encoding/json"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
)

// LineOfGeoJSON reads one line: a LineString by itself, as a feature, or as
// the only line of a collection.
func LineOfGeoJSON(data []byte) ([]position.LonLat, error) {
	data = []byte(strings.TrimPrefix(strings.TrimSpace(string(data)), "\ufeff"))
	if len(data) == 0 {
		return nil, records.Errorf(records.Invalid, "nothing was sent: choose a file or paste a GeoJSON LineString")
	}
	var kind struct {
		Type string `json:"type"`
	}
	if err := json.Unmarshal(data, &kind); err != nil {
		return nil, records.WrapError(records.Invalid, err, "this is no GeoJSON: it should look like {\"type\": \"LineString\", \"coordinates\": [[-71.21, 44.5], [-71.18, 44.51]]}")
	}
	switch kind.Type {
	case "Feature":
		data = []byte(`{"type":"FeatureCollection","features":[` + string(data) + `]}`)
	case "FeatureCollection":
	default:
		data = []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":` + string(data) + `}]}`)
	}
	lines, err := LayerLines(data)
	if err != nil {
		return nil, records.Errorf(records.Invalid, "no line could be read: %s", records.MessageOf(err))
	}
	var out []position.LonLat
	for _, l := range lines {
		if l.Area || len(l.Points) < 2 {
			continue
		}
		if out != nil {
			return nil, records.Errorf(records.Invalid, "there is more than one line in it: a section is along one; keep that alone")
		}
		for _, p := range l.Points {
			out = append(out, position.LonLat{Lon: p[0], Lat: p[1]})
		}
	}
	if out == nil {
		return nil, records.Errorf(records.Invalid, "there is no line in it: a section needs a LineString")
	}
	return out, nil
}
