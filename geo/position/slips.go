package position

import "slices"

// Extent is a box of longitudes and latitudes in degrees. Where West exceeds
// East it spans the antimeridian.
type Extent struct {
	West, South, East, North float64
}

// Contains reports that a position lies in the extent, edges included; NaN
// lies in none.
func (e Extent) Contains(at LonLat) bool {
	if !(at.Lat >= e.South && at.Lat <= e.North) {
		return false
	}
	if e.West <= e.East {
		return at.Lon >= e.West && at.Lon <= e.East
	}
	return at.Lon >= e.West && at.Lon <= 180 || at.Lon <= e.East && at.Lon >= -180
}

// Slip is a likely mistake in writing a position, and where the position lies
// without it.
type Slip struct {
	At   LonLat
	What string // a clause: "the longitude lacks its minus sign"
}

// Slips are the usual mistakes that would explain why a reading lies outside
// the area that an office works in: a sign lost or added, the two coordinates
// exchanged, a wrong UTM zone or hemisphere. Each slip's position lies in the
// area; the likeliest comes first. A reading inside the area has none. They are
// for a person to choose from: nothing is mended unasked.
func (r Reading) Slips(area Extent) []Slip {
	if area.Contains(r.At) || r.At.Valid() != nil {
		return nil
	}
	var slips []Slip
	try := func(at LonLat, what string) {
		known := func(s Slip) bool { return s.At == at }
		if at.Valid() == nil && area.Contains(at) && !slices.ContainsFunc(slips, known) {
			slips = append(slips, Slip{cleanZero(at), what})
		}
	}
	if r.Form == UTMGrid && r.Zone.Valid() {
		eastingM, northingM := UTM(r.Zone.Number, r.Zone.North).Forward(r.At)
		for _, step := range []int{1, 59} {
			zone := Zone{Number: (r.Zone.Number-1+step)%60 + 1, North: r.Zone.North}
			try(UTM(zone.Number, zone.North).Inverse(eastingM, northingM), "the zone may be "+zone.String())
		}
		other := Zone{Number: r.Zone.Number, North: !r.Zone.North}
		if at := UTM(other.Number, other.North).Inverse(eastingM, northingM); at.Lat >= 0 == other.North {
			try(at, "the zone may be "+other.String())
		}
		return slips
	}
	lon, lat := r.At.Lon, r.At.Lat
	sign := func(v float64, name string) string {
		if v > 0 {
			return "the " + name + " may lack its minus sign"
		}
		return "the " + name + " may have a minus sign too many"
	}
	try(LonLat{-lon, lat}, sign(lon, "longitude"))
	try(LonLat{lat, lon}, "latitude and longitude may be exchanged")
	try(LonLat{lon, -lat}, sign(lat, "latitude"))
	try(LonLat{-lat, lon}, "latitude and longitude may be exchanged and a sign wrong")
	try(LonLat{lat, -lon}, "latitude and longitude may be exchanged and a sign wrong")
	try(LonLat{-lon, -lat}, "both signs may be wrong")
	return slips
}
