package scout

import (
	"math"
	"slices"

	"tallybook/geo/position"
)

// HazardOfLayer is the kind of hazard that a layer of the office's own holds;
// ok is false for a layer of things that a well need not keep away from.
func HazardOfLayer(layer string) (kind string, ok bool) {
	if layer == "parcel" {
		return propertyLine, true
	}
	return layer, slices.Contains(HazardWords(), layer)
}

// HazardOfLine is one line, outline or point of such a layer; points are
// longitude and latitude, degrees.
func HazardOfLine(kind, name string, points [][2]float64, area bool) Hazard {
	shape := Shape{Kind: Lines}
	switch {
	case len(points) == 1:
		shape.Kind = Points
	case area:
		shape.Kind = Areas
	}
	part := make([]position.LonLat, len(points))
	for i, p := range points {
		part[i] = position.LonLat{Lon: p[0], Lat: p[1]}
	}
	shape.Parts = [][]position.LonLat{part}
	return Hazard{Kind: kind, Name: name, Shape: shape}
}

// PassesNear says whether the box around a line comes within so many metres of
// a place, so that a county of parcels costs nothing. It errs on the wide side.
func PassesNear(points [][2]float64, at position.LonLat, withinM float64) bool {
	dLat := withinM / 110_000.0 // metres to a degree: 110,574 at the least
	dLon := dLat / max(math.Cos(at.Lat*math.Pi/180), 0.01)
	west, east, south, north := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range points {
		west, east = min(west, p[0]), max(east, p[0])
		south, north = min(south, p[1]), max(north, p[1])
	}
	return west-dLon <= at.Lon && at.Lon <= east+dLon && south-dLat <= at.Lat && at.Lat <= north+dLat
}
