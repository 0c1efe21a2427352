package review

import (
	"encoding/json"

	"github.com/paulmach/orb"

	"tallybook/records"
)

// geoJSON is what is read of an outline: a geometry, a feature, or a collection
// of either.
type geoJSON struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
	Geometry    *geoJSON        `json:"geometry"`
	Features    []geoJSON       `json:"features"`
	Geometries  []geoJSON       `json:"geometries"`
}

// ParseOutline reads the polygons of a GeoJSON geometry, feature or collection
// (RFC 7946). Heights are left out.
func ParseOutline(text []byte) (orb.MultiPolygon, error) {
	var g geoJSON
	if err := json.Unmarshal(text, &g); err != nil {
		return nil, records.WrapError(records.Invalid, err, "the outline is not GeoJSON")
	}
	out, err := g.polygons(nil, 0)
	if err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, records.Errorf(records.Invalid, "the outline holds no polygon: paste a GeoJSON Polygon or MultiPolygon")
	}
	return out, nil
}

// deepest is how deep collections may lie in each other.
const deepest = 8

func (g *geoJSON) polygons(out orb.MultiPolygon, depth int) (orb.MultiPolygon, error) {
	if depth > deepest {
		return nil, records.Errorf(records.Invalid, "the outline's collections lie too deep in each other")
	}
	var lists [][][][]float64
	switch g.Type {
	case "Polygon":
		var one [][][]float64
		if err := json.Unmarshal(g.Coordinates, &one); err != nil {
			return nil, records.WrapError(records.Invalid, err, "the outline's Polygon has no rings of positions")
		}
		lists = append(lists, one)
	case "MultiPolygon":
		if err := json.Unmarshal(g.Coordinates, &lists); err != nil {
			return nil, records.WrapError(records.Invalid, err, "the outline's MultiPolygon has no rings of positions")
		}
	}
	for _, rings := range lists {
		var p orb.Polygon
		for _, ring := range rings {
			var r orb.Ring
			for _, at := range ring {
				if len(at) < 2 {
					return nil, records.Errorf(records.Invalid, "the outline has a position of fewer than two numbers")
				}
				r = append(r, orb.Point{at[0], at[1]})
			}
			p = append(p, r)
		}
		if len(p) > 0 {
			out = append(out, p)
		}
	}
	parts := append(append([]geoJSON(nil), g.Features...), g.Geometries...)
	if g.Geometry != nil {
		parts = append(parts, *g.Geometry)
	}
	for i := range parts {
		var err error
		if out, err = parts[i].polygons(out, depth+1); err != nil {
			return nil, err
		}
	}
	return out, nil
}
