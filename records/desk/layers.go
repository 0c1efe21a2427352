package desk

import (
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"

	"tallybook/records"
)

// namedPlaces finds the features of a layer whose name contains text, in the
// layer's order.
func namedPlaces(l records.Layer, text string, limit int) []records.Match {
	if limit <= 0 {
		return nil
	}
	fc, err := geojson.UnmarshalFeatureCollection(l.GeoJSON)
	if err != nil { // it was checked when it came in
		return nil
	}
	var out []records.Match
	want := strings.ToLower(text)
	for _, f := range fc.Features {
		name := FeatureName(f)
		if name == "" || !strings.Contains(strings.ToLower(name), want) || f.Geometry == nil {
			continue
		}
		at := middle(f.Geometry)
		out = append(out, records.Match{Kind: "place_name", Text: name, Lon: at[0], Lat: at[1], Known: true, Note: l.Name})
		if len(out) == limit {
			break
		}
	}
	return out
}

// FeatureName is what a feature of a layer calls itself.
func FeatureName(f *geojson.Feature) string {
	for _, k := range []string{"name", "NAME", "Name", "label", "parcel", "PARCEL"} {
		if s, ok := f.Properties[k].(string); ok && s != "" {
			return s
		}
	}
	return ""
}

// middle is a point on or in a geometry to go to.
func middle(g orb.Geometry) orb.Point {
	switch g := g.(type) {
	case orb.Point:
		return g
	case orb.LineString:
		if len(g) > 0 {
			return g[len(g)/2]
		}
	case orb.MultiLineString:
		if len(g) > 0 && len(g[0]) > 0 {
			return g[0][len(g[0])/2]
		}
	}
	return g.Bound().Center()
}

// CheckLayer says what is wrong with a layer's GeoJSON, nil when nothing is.
func CheckLayer(data []byte) error {
	fc, err := geojson.UnmarshalFeatureCollection(data)
	if err != nil {
		return records.WrapError(records.Invalid, err, "the layer is not a GeoJSON FeatureCollection")
	}
	if len(fc.Features) == 0 {
		return records.Errorf(records.Invalid, "the layer has no features")
	}
	for i, f := range fc.Features {
		if f.Geometry == nil {
			continue
		}
		b := f.Geometry.Bound()
		if b.Min[0] < -180 || b.Max[0] > 180 || b.Min[1] < -90 || b.Max[1] > 90 {
			return records.Errorf(records.Invalid, "feature %d of the layer lies outside of longitude ±180 and latitude ±90: reproject it to WGS 84 degrees first", i+1)
		}
	}
	return nil
}
