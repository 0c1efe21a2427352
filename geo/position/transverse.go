package position

import (
	"fmt"
	"math"
	"strconv"
)

// TransverseMercator is the ellipsoidal transverse Mercator projection with
// its origin where the central meridian crosses the equator. Eastings grow
// east, northings north, both in metres.
//
// It is computed by Krüger's series to sixth order in the third flattening
// (Karney 2011, "Transverse Mercator with an accuracy of a few nanometers",
// J. Geodesy 85, 475-485, eqs 7-11 and 35-36). It departs from the exact
// projection by less than 20 nm within 3,900 km of the central meridian (as the
// outside judges find). Farther out the error grows without warning; it is of
// no use beyond 80 degrees of longitude at the equator.
//
// A zero Scale is read as 1 and a zero Ellipsoid as WGS 84. A value built as
// a literal computes its series at every call; NewTransverseMercator does so
// once.
type TransverseMercator struct {
	CentralMeridianDeg            float64
	Scale                         float64 // on the central meridian
	FalseEastingM, FalseNorthingM float64
	Ellipsoid                     Ellipsoid

	series krueger // computed when rectifyingM is not 0
}

// krueger holds what depends on the ellipsoid alone.
type krueger struct {
	e2, e       float64
	rectifyingM float64    // radius of the rectifying sphere
	alpha, beta [6]float64 // forward and inverse coefficients
}

// NewTransverseMercator is the projection with its series computed.
func NewTransverseMercator(centralMeridianDeg, scale, falseEastingM, falseNorthingM float64, on Ellipsoid) TransverseMercator {
	on = on.orWGS84()
	return TransverseMercator{
		CentralMeridianDeg: centralMeridianDeg,
		Scale:              scale,
		FalseEastingM:      falseEastingM,
		FalseNorthingM:     falseNorthingM,
		Ellipsoid:          on,
		series:             newKrueger(on),
	}
}

// newKrueger computes the coefficients of Karney 2011, eqs 14, 35 and 36.
func newKrueger(on Ellipsoid) krueger {
	n := on.thirdFlattening()
	n2 := n * n
	poly := func(power int, c ...float64) float64 {
		sum := 0.0
		for i := len(c) - 1; i >= 0; i-- {
			sum = sum*n + c[i]
		}
		for range power {
			sum *= n
		}
		return sum
	}
	e2 := on.eccentricitySquared()
	return krueger{
		e2:          e2,
		e:           math.Sqrt(e2),
		rectifyingM: on.SemiMajorM / (1 + n) * (1 + n2*(1.0/4+n2*(1.0/64+n2/256))),
		alpha: [6]float64{
			poly(1, 1.0/2, -2.0/3, 5.0/16, 41.0/180, -127.0/288, 7891.0/37800),
			poly(2, 13.0/48, -3.0/5, 557.0/1440, 281.0/630, -1983433.0/1935360),
			poly(3, 61.0/240, -103.0/140, 15061.0/26880, 167603.0/181440),
			poly(4, 49561.0/161280, -179.0/168, 6601661.0/7257600),
			poly(5, 34729.0/80640, -3418889.0/1995840),
			poly(6, 212378941.0/319334400),
		},
		beta: [6]float64{
			poly(1, 1.0/2, -2.0/3, 37.0/96, -1.0/360, -81.0/512, 96199.0/604800),
			poly(2, 1.0/48, 1.0/15, -437.0/1440, 46.0/105, -1118711.0/3870720),
			poly(3, 17.0/480, -37.0/840, -209.0/4480, 5569.0/90720),
			poly(4, 4397.0/161280, -11.0/504, -830251.0/7257600),
			poly(5, 4583.0/161280, -108847.0/3991680),
			poly(6, 20648693.0/638668800),
		},
	}
}

// ready is the projection with its zero fields given their meaning.
func (t *TransverseMercator) ready() (k krueger, scale float64) {
	scale = t.Scale
	if scale == 0 {
		scale = 1
	}
	if t.series.rectifyingM == 0 {
		return newKrueger(t.Ellipsoid.orWGS84()), scale
	}
	return t.series, scale
}

// Forward projects a position to easting and northing in metres. The
// longitude may be given either side of the antimeridian. NaN in, NaN out.
func (t TransverseMercator) Forward(at LonLat) (eastingM, northingM float64) {
	k, scale := t.ready()
	xi, eta, _, _ := k.sphere(at.Lat, wrapDeg(at.Lon-t.CentralMeridianDeg))
	dxi, deta, _, _ := clenshaw(&k.alpha, xi, eta)
	m := k.rectifyingM * scale
	return t.FalseEastingM + m*(eta+deta), t.FalseNorthingM + m*(xi+dxi)
}

// Inverse gives the position of an easting and northing in metres; the
// longitude is in [-180, 180]. NaN in, NaN out.
func (t TransverseMercator) Inverse(eastingM, northingM float64) LonLat {
	k, scale := t.ready()
	m := k.rectifyingM * scale
	xi, eta := (northingM-t.FalseNorthingM)/m, (eastingM-t.FalseEastingM)/m
	dxi, deta, _, _ := clenshaw(&k.beta, xi, eta)
	xi, eta = xi-dxi, eta-deta
	sinXi, cosXi := math.Sincos(xi)
	sinhEta := math.Sinh(eta)
	lonDeg := math.Atan2(sinhEta, cosXi) * radToDeg
	tau := k.tauFromConformal(sinXi / math.Hypot(sinhEta, cosXi))
	return LonLat{Lon: wrapDeg(lonDeg + t.CentralMeridianDeg), Lat: math.Atan(tau) * radToDeg}
}

// Factors gives the grid convergence in degrees (the bearing of grid north,
// clockwise from true north) and the point scale (grid distance over ground
// distance on the ellipsoid) at a position. (Karney 2011, eqs 23-26.)
func (t TransverseMercator) Factors(at LonLat) (convergenceDeg, pointScale float64) {
	k, scale := t.ready()
	lonDeg := wrapDeg(at.Lon - t.CentralMeridianDeg)
	xi, eta, tau, tauC := k.sphere(at.Lat, lonDeg)
	_, _, p, q := clenshaw(&k.alpha, xi, eta)
	sinLon, cosLon := math.Sincos(lonDeg * degToRad)
	gamma := math.Atan2(tauC*sinLon, cosLon*math.Hypot(1, tauC)) + math.Atan2(q, p)
	// sqrt(1 - e^2 sin^2) sqrt(1 + tau^2), in a form that holds at the pole.
	sphere := math.Sqrt(1-k.e2+k.e2/(1+tau*tau)) * math.Hypot(1, tau) / math.Hypot(tauC, cosLon)
	a := t.Ellipsoid.orWGS84().SemiMajorM
	return gamma * radToDeg, scale * k.rectifyingM / a * math.Hypot(p, q) * sphere
}

// sphere takes a latitude and a longitude from the central meridian, in
// degrees, to Gauss-Schreiber coordinates in radians, and passes on the
// tangents of the geodetic and the conformal latitude.
func (k *krueger) sphere(latDeg, lonDeg float64) (xi, eta, tau, tauC float64) {
	sinLon, cosLon := math.Sincos(lonDeg * degToRad)
	tau = math.Tan(latDeg * degToRad)
	tauC = k.conformal(tau)
	return math.Atan2(tauC, cosLon), math.Asinh(sinLon / math.Hypot(tauC, cosLon)), tau, tauC
}

// conformal is the tangent of the conformal latitude from that of the
// geodetic latitude (Karney 2011, eqs 7-9).
func (k *krueger) conformal(tau float64) float64 {
	secant := math.Sqrt(1 + tau*tau)
	sigma := math.Sinh(k.e * math.Atanh(k.e*tau/secant))
	return tau*math.Sqrt(1+sigma*sigma) - sigma*secant
}

// tauFromConformal inverts conformal by Newton's method (Karney 2011, eqs
// 19-21). Two steps reach double precision; five bound the loop for NaN.
func (k *krueger) tauFromConformal(tauC float64) float64 {
	if math.IsInf(tauC, 0) {
		return tauC
	}
	tau := tauC / (1 - k.e2)
	if math.Abs(tauC) > 70 {
		// Near the poles the plain guess is poor: begin from the limit.
		tau = tauC * math.Exp(k.e*math.Atanh(k.e))
	}
	for range 5 {
		c := k.conformal(tau)
		step := (tauC - c) / math.Sqrt(1+c*c) *
			(1 + (1-k.e2)*tau*tau) / ((1 - k.e2) * math.Sqrt(1+tau*tau))
		tau += step
		if math.Abs(step) <= 1e-15*math.Max(1, math.Abs(tau)) {
			break
		}
	}
	return tau
}

// clenshaw sums the series c_j sin 2j(xi + i eta) and its derivative for j = 1
// to 6: the real and imaginary parts of the sum, and p, q, the real and
// (sign turned) imaginary parts of 1 + sum 2j c_j cos 2j(xi + i eta).
func clenshaw(c *[6]float64, xi, eta float64) (sumXi, sumEta, p, q float64) {
	sin2, cos2 := math.Sincos(2 * xi)
	ex := math.Exp(2 * eta)
	sinh2, cosh2 := (ex-1/ex)/2, (ex+1/ex)/2
	if math.Abs(eta) < 0.01 {
		// The difference above loses digits; the series does not.
		h := 2 * eta
		h2 := h * h
		sinh2 = h * (1 + h2/6*(1+h2/20*(1+h2/42)))
	}
	// a = 2 cos 2(xi + i eta)
	ar, ai := 2*cos2*cosh2, -2*sin2*sinh2
	var yr0, yi0, yr1, yi1 float64 // the sum
	var zr0, zi0, zr1, zi1 float64 // its derivative
	for j := 5; j >= 0; j-- {
		yr0, yi0, yr1, yi1 = ar*yr0-ai*yi0-yr1+c[j], ar*yi0+ai*yr0-yi1, yr0, yi0
		zr0, zi0, zr1, zi1 = ar*zr0-ai*zi0-zr1+2*float64(j+1)*c[j], ar*zi0+ai*zr0-zi1, zr0, zi0
	}
	// sin 2(xi + i eta) = sin cosh + i cos sinh
	sr, si := sin2*cosh2, cos2*sinh2
	sumXi, sumEta = sr*yr0-si*yi0, sr*yi0+si*yr0
	// sum c cos = b1 cos - b2, with cos 2(xi + i eta) = a / 2
	p = 1 + (ar*zr0-ai*zi0)/2 - zr1
	q = -((ar*zi0+ai*zr0)/2 - zi1)
	return sumXi, sumEta, p, q
}

// Unit is "m".
func (t TransverseMercator) Unit() string { return "m" }

// Describe names the projection and its constants in words.
func (t TransverseMercator) Describe() string {
	scale := t.Scale
	if scale == 0 {
		scale = 1
	}
	text := fmt.Sprintf("transverse Mercator, central meridian %s, scale %s on it",
		meridianWords(t.CentralMeridianDeg), strconv.FormatFloat(scale, 'f', -1, 64))
	if t.FalseEastingM != 0 || t.FalseNorthingM != 0 {
		text += fmt.Sprintf(", false easting %s m, false northing %s m",
			strconv.FormatFloat(t.FalseEastingM, 'f', -1, 64), strconv.FormatFloat(t.FalseNorthingM, 'f', -1, 64))
	}
	return text + ", " + t.Ellipsoid.orWGS84().Describe()
}

// meridianWords writes a longitude with its letter: "115°W", "0°".
func meridianWords(lonDeg float64) string {
	number := strconv.FormatFloat(math.Abs(lonDeg), 'f', -1, 64)
	switch {
	case math.IsNaN(lonDeg):
		return "none"
	case lonDeg > 0:
		return number + "°E"
	case lonDeg < 0:
		return number + "°W"
	}
	return "0°"
}
