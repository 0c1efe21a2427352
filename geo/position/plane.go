package position

import "math"

// Plane is a local metric plane: the azimuthal equidistant projection of the
// WGS 84 ellipsoid centred at a site. Distance and direction from the centre
// are those of the geodesic; x grows east and y north, in metres, and the
// centre is 0, 0.
//
// Near the centre it is computed on the Gaussian osculating sphere: the
// ellipsoid is mapped conformally onto the sphere of radius sqrt(MN) so that
// the scale on the centre's parallel is 1 with no first or second derivative
// (Gauss's conformal mapping of the ellipsoid on the sphere, 1843), and the
// sphere is projected. A point then lies where the geodesic puts it to within
// 1 micrometre at 10 km from the centre, 0.02 mm at 50 km, 0.3 mm at 100 km,
// 5 mm at 200 km and 30 mm at 318 km (the tests hold it to this). Farther out,
// and for every point where the centre is within ten degrees of a pole, the
// geodesic itself is solved, which is exact and some forty times slower.
//
// Between two points that are both off the centre the plane stretches lengths
// across the radius by d*d / (6 R*R): 1 part in 10^5 at 50 km.
//
// The antimeridian is of no consequence: the shorter way round is taken.
type Plane struct {
	center         LonLat
	radiusM        float64    // of the osculating sphere, sqrt(MN)
	stretch        float64    // longitudes on the sphere over those on the ellipsoid
	sinB, cosB     float64    // of the centre's latitude on the sphere
	latitude       [6]float64 // latitude difference on the sphere, powers 1 to 6, radians
	lonReach       float64    // radians of longitude within which the series may be tried
	latitudeSphere float64    // of the centre on the sphere, radians
}

// reachRad is the angular distance from the centre that the series serves:
// 0.05 rad is 318 km.
const reachRad = 0.05

// NewPlane is the plane centred at a site. A centre that is not a valid
// position gives a plane on which every coordinate is NaN.
func NewPlane(center LonLat) Plane {
	if center.Valid() != nil {
		return Plane{center: LonLat{math.NaN(), math.NaN()}}
	}
	p := Plane{center: center}
	if math.Abs(center.Lat) > 80 {
		return p // lonReach 0: always the geodesic
	}
	on := WGS84()
	e2 := on.eccentricitySquared()
	sin, cos := math.Sincos(center.Lat * degToRad)
	meridianM, primeVerticalM := on.RadiiM(center.Lat)
	p.radiusM = math.Sqrt(meridianM * primeVerticalM)
	p.stretch = math.Sqrt(1 + e2/(1-e2)*cos*cos*cos*cos)
	p.sinB = sin / p.stretch
	p.cosB = math.Sqrt(1 - p.sinB*p.sinB)
	p.latitudeSphere = math.Asin(p.sinB)
	p.latitude = sphereLatitude(e2, p.stretch, sin, cos, p.sinB, p.cosB)
	p.lonReach = 2 * reachRad / cos
	return p
}

// sphereLatitude expands the latitude on the sphere about the centre in powers
// 1 to 6 of the difference of geodetic latitude, from the condition that the
// mapping is conformal:
//
//	db/dphi = stretch (1 - e2) cos b / ((1 - e2 sin^2 phi) cos phi).
//
// The Taylor coefficients follow one from another by the product and quotient
// rules for power series.
func sphereLatitude(e2, stretch, sin, cos, sinB, cosB float64) [6]float64 {
	const order = 6
	// sin and cos of phi as series in the difference.
	var s, c [order]float64
	s[0], c[0] = sin, cos
	for i := 1; i < order; i++ {
		s[i], c[i] = c[i-1]/float64(i), -s[i-1]/float64(i)
	}
	// den = (1 - e2 sin^2) cos = (1 - e2) cos + e2 cos^3.
	var c2, den [order]float64
	for i := range order {
		for j := range i + 1 {
			c2[i] += c[j] * c[i-j]
		}
	}
	for i := range order {
		den[i] = (1 - e2) * c[i]
		for j := range i + 1 {
			den[i] += e2 * c2[j] * c[i-j]
		}
	}
	// g = stretch (1 - e2) / den, and b' = g cos b with sin b, cos b alongside.
	var g, rate [order]float64
	sb, cb := [order]float64{sinB}, [order]float64{cosB}
	var b [order]float64
	for i := range order {
		g[i] = 0
		if i == 0 {
			g[i] = stretch * (1 - e2)
		}
		for j := 1; j <= i; j++ {
			g[i] -= den[j] * g[i-j]
		}
		g[i] /= den[0]
		for j := range i + 1 {
			rate[i] += g[j] * cb[i-j]
		}
		b[i] = rate[i] / float64(i+1)
		if i+1 < order {
			for j := range i + 1 {
				sb[i+1] += cb[j] * rate[i-j] / float64(i+1)
				cb[i+1] -= sb[j] * rate[i-j] / float64(i+1)
			}
		}
	}
	return b
}

// Center is the site the plane is centred at.
func (p Plane) Center() LonLat { return p.center }

// ToXY projects a position to metres east and north of the centre.
// NaN in, NaN out. It does not allocate.
func (p Plane) ToXY(at LonLat) (xM, yM float64) {
	dLat := (at.Lat - p.center.Lat) * degToRad
	dLon := wrapDeg(at.Lon-p.center.Lon) * degToRad
	if math.Abs(dLat) > 1.1*reachRad || math.Abs(dLon) >= p.lonReach {
		return p.farXY(at)
	}
	c := &p.latitude
	dB := dLat * (c[0] + dLat*(c[1]+dLat*(c[2]+dLat*(c[3]+dLat*(c[4]+dLat*c[5])))))
	l := dLon * p.stretch
	b2, l2 := dB*dB, l*l
	// Taylor series, exact to double precision for |dB| < 0.06, |l| < 0.6.
	// Reciprocals are constants because a division costs ten products.
	sinDB := dB * (1 - b2*(1.0/6)*(1-b2*(1.0/20)*(1-b2*(1.0/42))))
	havDB := b2 * 0.25 * (1 - b2*(1.0/12)*(1-b2*(1.0/30)*(1-b2*(1.0/56))))
	sinL := l * (1 - l2*(1.0/6)*(1-l2*(1.0/20)*(1-l2*(1.0/42)*(1-l2*(1.0/72)*(1-l2*(1.0/110)*(1-l2*(1.0/156)))))))
	havL := l2 * 0.25 * (1 - l2*(1.0/12)*(1-l2*(1.0/30)*(1-l2*(1.0/56)*(1-l2*(1.0/90)*(1-l2*(1.0/132)*(1-l2*(1.0/182)))))))
	cosB := p.cosB*(1-2*havDB) - p.sinB*sinDB
	h := havDB + p.cosB*cosB*havL
	if !(h <= reachRad*reachRad/4) { // NaN comes this way too
		return p.farXY(at)
	}
	// arc over sine, in powers of the haversine of the arc
	m := p.radiusM * (1 + h*(2.0/3+h*(8.0/15+h*(16.0/35+h*128.0/315))))
	return m * cosB * sinL, m * (sinDB + 2*p.sinB*cosB*havL)
}

// farXY is ToXY by the geodesic.
func (p Plane) farXY(at LonLat) (xM, yM float64) {
	g := Between(p.center, at)
	sin, cos := math.Sincos(g.StartAzimuthDeg * degToRad)
	return g.DistanceM * sin, g.DistanceM * cos
}

// FromXY gives the position that lies xM metres east and yM metres north of
// the centre on the plane; the longitude is in [-180, 180]. NaN in, NaN out.
func (p Plane) FromXY(xM, yM float64) LonLat {
	d := math.Hypot(xM, yM)
	// The two ways must part at the same place as in ToXY: haversine <= reach^2/4.
	arc := d / p.radiusM
	sinHalf := math.Sin(arc / 2)
	if p.lonReach == 0 || !(arc < 1 && sinHalf*sinHalf <= reachRad*reachRad/4) {
		return Destination(p.center, math.Atan2(xM, yM)*radToDeg, d)
	}
	if d == 0 {
		return p.center
	}
	sinArc, cosArc := math.Sincos(arc)
	east, north := sinArc*xM/d, sinArc*yM/d
	along := p.cosB*cosArc - p.sinB*north
	l := math.Atan2(east, along)
	b := math.Atan2(p.sinB*cosArc+p.cosB*north, math.Hypot(east, along))
	dB := b - p.latitudeSphere
	// Newton's method on the series of ToXY; its slope is within 1 % of c[0].
	c := &p.latitude
	dLat := dB / c[0]
	for range 4 {
		value := dLat * (c[0] + dLat*(c[1]+dLat*(c[2]+dLat*(c[3]+dLat*(c[4]+dLat*c[5])))))
		slope := c[0] + dLat*(2*c[1]+dLat*(3*c[2]+dLat*(4*c[3]+dLat*(5*c[4]+dLat*6*c[5]))))
		dLat += (dB - value) / slope
	}
	return LonLat{
		Lon: wrapDeg(p.center.Lon + l/p.stretch*radToDeg),
		Lat: p.center.Lat + dLat*radToDeg,
	}
}
