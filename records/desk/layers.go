package desk

import (
	"encoding/json"
	"strings"

	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/geojson"

	"tallybook/records"
)

// Line is one line, outline or named point of a layer, in degrees.
type Line struct {
	Name   string
	Points [][2]float64
	Area   bool
}

// LayerLines reads the lines, outlines and points of a layer's GeoJSON. A
// feature of several parts gives several lines of one name.
func LayerLines(data []byte) ([]Line, error) {
	var fc geojson.FeatureCollection
	if err := json.Unmarshal(data, &fc); err != nil {
		return nil, records.WrapError(records.Invalid, err, "the layer is not a GeoJSON FeatureCollection of lines, areas or points")
	}
	var out []Line
	for i, f := range fc.Features {
		if f == nil || f.Geometry == nil {
			continue
		}
		lines, ok := linesOf(f.Geometry)
		if !ok {
			return nil, records.Errorf(records.Invalid, "feature %d of the layer is of a kind that is not drawn; use lines, areas or points", i+1)
		}
		name := featureName(f.Properties)
		for _, l := range lines {
			if len(l.Points) == 0 {
				continue
			}
			for _, p := range l.Points {
				if !(p[0] >= -180 && p[0] <= 180 && p[1] >= -90 && p[1] <= 90) {
					return nil, records.Errorf(records.Invalid, "feature %d of the layer lies outside of longitude ±180 and latitude ±90: reproject it to WGS 84 degrees first", i+1)
				}
			}
			l.Name = name
			out = append(out, l)
		}
	}
	if len(out) == 0 {
		return nil, records.Errorf(records.Invalid, "the layer has nothing to draw")
	}
	return out, nil
}

func linesOf(g geom.T) ([]Line, bool) {
	switch g := g.(type) {
	case *geom.Point:
		return []Line{{Points: pointsOf(g.FlatCoords(), g.Stride())}}, true
	case *geom.LineString:
		return []Line{{Points: pointsOf(g.FlatCoords(), g.Stride())}}, true
	case *geom.Polygon:
		return ringsOf(g), true
	case *geom.MultiPoint:
		var out []Line
		for i := range g.NumPoints() {
			p := g.Point(i)
			out = append(out, Line{Points: pointsOf(p.FlatCoords(), p.Stride())})
		}
		return out, true
	case *geom.MultiLineString:
		var out []Line
		for i := range g.NumLineStrings() {
			l := g.LineString(i)
			out = append(out, Line{Points: pointsOf(l.FlatCoords(), l.Stride())})
		}
		return out, true
	case *geom.MultiPolygon:
		var out []Line
		for i := range g.NumPolygons() {
			out = append(out, ringsOf(g.Polygon(i))...)
		}
		return out, true
	}
	return nil, false
}

func ringsOf(p *geom.Polygon) []Line {
	var out []Line
	for i := range p.NumLinearRings() {
		r := p.LinearRing(i)
		out = append(out, Line{Points: pointsOf(r.FlatCoords(), r.Stride()), Area: true})
	}
	return out
}

func pointsOf(flat []float64, stride int) [][2]float64 {
	var out [][2]float64
	for i := 0; stride >= 2 && i+1 < len(flat); i += stride {
		out = append(out, [2]float64{flat[i], flat[i+1]})
	}
	return out
}

// featureName is what a feature of a layer calls itself.
func featureName(properties map[string]any) string {
	for _, k := range []string{"name", "NAME", "Name", "label", "parcel", "PARCEL"} {
		if s, ok := properties[k].(string); ok && s != "" {
			return s
		}
	}
	return ""
}

// namedPlaces finds what a layer calls by a name that contains text, each
// name once, in the layer's order.
func namedPlaces(l records.Layer, text string, limit int) ([]records.Match, error) {
	if limit <= 0 {
		return nil, nil
	}
	lines, err := LayerLines(l.GeoJSON)
	if err != nil {
		return nil, err
	}
	var out []records.Match
	want := strings.ToLower(text)
	seen := map[string]bool{}
	for _, line := range lines {
		if line.Name == "" || seen[line.Name] || len(line.Points) == 0 || !strings.Contains(strings.ToLower(line.Name), want) {
			continue
		}
		seen[line.Name] = true
		at := line.Points[len(line.Points)/2]
		out = append(out, records.Match{Kind: "place_name", Text: line.Name, Lon: at[0], Lat: at[1], Known: true, Note: l.Name})
		if len(out) == limit {
			break
		}
	}
	return out, nil
}
