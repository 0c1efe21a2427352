package draw

import (
	"math"

	"tallybook/records"
)

// earthRadiusM is the radius of the sphere on which the map's Mercator
// projection is drawn (the semi-major axis of WGS 84, as in EPSG:3857).
const earthRadiusM = 6378137

// maxLat is the latitude at which the square of the Mercator projection ends.
const maxLat = 85.051128779806592

// View is a window on the map: its middle, how many metres on the ground a
// pixel is there, and its size in pixels. North is up; the projection is
// Mercator, which keeps small shapes and all directions.
type View struct {
	Lon, Lat  float64 // the middle, degrees, WGS 84
	MPerPixel float64 // metres on the ground a pixel, at the middle
	W, H      float64 // pixels
}

// mercator gives plane coordinates in radians, y up.
func mercator(lon, lat float64) (x, y float64) {
	lat = min(max(lat, -maxLat), maxLat)
	return lon * math.Pi / 180, math.Asinh(math.Tan(lat * math.Pi / 180))
}

func unmercator(x, y float64) (lon, lat float64) {
	return x * 180 / math.Pi, math.Atan(math.Sinh(y)) * 180 / math.Pi
}

// scale is how many pixels one radian of the plane is.
func (v View) scale() float64 {
	return earthRadiusM * math.Cos(min(max(v.Lat, -maxLat), maxLat)*math.Pi/180) / v.MPerPixel
}

// Plane gives the place of a position on the Mercator plane in radians, x to
// the east, y to the north: what is fixed to the ground whatever the view.
func Plane(lon, lat float64) (x, y float64) { return mercator(lon, lat) }

// OffPlane is the position, degrees, at a place on the Mercator plane.
// Longitudes come back between -180 and 180 for any x within three turns.
func OffPlane(x, y float64) (lon, lat float64) {
	lon, lat = unmercator(x, y)
	return wrapLon(lon), lat
}

// PerRadian is how many pixels one radian of the Mercator plane is.
func (v View) PerRadian() float64 { return v.scale() }

// Pixel places a position; x runs right and y down from the top left corner.
// A position on the other side of the antimeridian is placed on the side of
// the map that is nearer.
func (v View) Pixel(lon, lat float64) (x, y float64) {
	mx, my := mercator(lon, lat)
	cx, cy := mercator(v.Lon, v.Lat)
	dx := mx - cx
	switch {
	case dx > math.Pi:
		dx -= 2 * math.Pi
	case dx < -math.Pi:
		dx += 2 * math.Pi
	}
	s := v.scale()
	return v.W/2 + dx*s, v.H/2 - (my-cy)*s
}

// Position is what stands at a pixel, degrees, WGS 84, also where the window is
// wider than the world.
func (v View) Position(x, y float64) (lon, lat float64) {
	cx, cy := mercator(v.Lon, v.Lat)
	s := v.scale()
	lon, lat = unmercator(cx+(x-v.W/2)/s, cy-(y-v.H/2)/s)
	return wrapLon(lon), min(max(lat, -maxLat), maxLat)
}

// Bounds is the box of positions within margin pixels around the window.
func (v View) Bounds(margin float64) records.Bounds {
	cx, cy := mercator(v.Lon, v.Lat)
	s := v.scale()
	half := (v.W/2 + margin) / s
	_, north := unmercator(cx, cy+(v.H/2+margin)/s)
	_, south := unmercator(cx, cy-(v.H/2+margin)/s)
	if half >= math.Pi {
		return records.Bounds{West: -180, South: south, East: 180, North: north}
	}
	west, _ := v.Position(-margin, v.H/2)
	east, _ := v.Position(v.W+margin, v.H/2)
	return records.Bounds{West: west, South: south, East: east, North: north}
}

// FitView is the view of size w by h that shows a box with a margin, at least
// minM metres wide.
func FitView(b records.Bounds, w, h, margin, minM float64) View {
	x0, y0 := mercator(b.West, b.South)
	x1, y1 := mercator(b.East, b.North)
	if x1 < x0 {
		x1 += 2 * math.Pi
	}
	lon, lat := unmercator((x0+x1)/2, (y0+y1)/2)
	if lon > 180 {
		lon -= 360
	}
	v := View{Lon: lon, Lat: lat, W: w, H: h}
	perPixel := max((x1-x0)/max(w-2*margin, 1), (y1-y0)/max(h-2*margin, 1)) // radians
	v.MPerPixel = perPixel * earthRadiusM * math.Cos(lat*math.Pi/180)
	v.MPerPixel = max(v.MPerPixel, minM/w)
	return v
}

// Zoomed is the view with a pixel kept in its place and the scale changed:
// factor 2 shows half the ground.
func (v View) Zoomed(x, y, factor float64) View {
	// The middle moves towards the pixel by what the picture grows.
	share := 1 - 1/factor
	out := v.Moved((x-v.W/2)*share, (y-v.H/2)*share)
	out.MPerPixel /= factor
	return out
}

// Moved is the view moved by so many pixels: dx to the east, dy to the south.
func (v View) Moved(dx, dy float64) View {
	out := v
	out.Lon, out.Lat = v.Position(v.W/2+dx, v.H/2+dy)
	out.MPerPixel *= math.Cos(out.Lat*math.Pi/180) / math.Cos(v.Lat*math.Pi/180)
	return out
}
