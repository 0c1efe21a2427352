//go:build judges

// The outside judges: GeographicLib's own programs (Debian package
// geographiclib-tools), by the author of the algorithms that this package
// follows, and GDAL's (gdal-bin). They must be present: a missing program
// fails the test.

package position_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/position"
)

// judge feeds lines to a program and returns the fields of each line it
// answers.
func judge(t *testing.T, lines []string, program string, args ...string) [][]string {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Stdin = strings.NewReader(strings.Join(lines, "\n") + "\n")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s (Debian packages geographiclib-tools and gdal-bin) is needed here: %v", program, err)
	}
	answers := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(answers) != len(lines) {
		t.Fatalf("%s answered %d lines to %d", program, len(answers), len(lines))
	}
	fields := make([][]string, len(answers))
	for i, a := range answers {
		fields[i] = strings.Fields(a)
	}
	return fields
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatalf("judge's answer %q: %v", text, err)
	}
	return v
}

func g17(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// f20 writes a number so that the judges, which know no exponents in angles,
// read it exactly enough (1e-15 degree).
func f20(v float64) string { return strconv.FormatFloat(v, 'f', 15, 64) }

func anywhere(rng *rand.Rand) position.LonLat {
	return position.LonLat{
		Lon: rng.Float64()*360 - 180,
		Lat: math.Asin(2*rng.Float64()-1) * 180 / math.Pi,
	}
}

func TestJudgeGeodesicInverse(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var lines []string
	var pairs [][2]position.LonLat
	for i := range 3000 {
		a, b := anywhere(rng), anywhere(rng)
		if i%3 == 1 { // a neighbour's distance
			b = position.Destination(a, rng.Float64()*360, rng.Float64()*50_000)
		}
		if i%3 == 2 { // nearly antipodal
			b = position.LonLat{Lon: a.Lon + 180 - rng.Float64(), Lat: -a.Lat + rng.Float64() - 0.5}
			if b.Lon > 180 {
				b.Lon -= 360
			}
			b.Lat = max(-90, min(90, b.Lat))
		}
		pairs = append(pairs, [2]position.LonLat{a, b})
		lines = append(lines, strings.Join([]string{f20(a.Lat), f20(a.Lon), f20(b.Lat), f20(b.Lon)}, " "))
	}
	for i, f := range judge(t, lines, "GeodSolve", "-i", "-p", "9") {
		got := position.Between(pairs[i][0], pairs[i][1])
		wantM := number(t, f[2])
		if d := math.Abs(got.DistanceM - wantM); !(d <= 2e-7) {
			t.Errorf("%s: distance %.9f, judge %.9f", lines[i], got.DistanceM, wantM)
		}
		// Azimuths are compared by what they mean on the ground: an azimuth is
		// ill-defined when the points meet or are antipodal.
		reduced := math.Abs(math.Sin(wantM / 6371008.771))
		for j, az := range []float64{got.StartAzimuthDeg, got.EndAzimuthDeg} {
			off := math.Abs(math.Remainder(az-number(t, f[j]), 360)) * math.Pi / 180 * reduced * 6371008
			if !(off <= 1e-4) {
				t.Errorf("%s: azimuth %d is %.12f, judge %s (%g m)", lines[i], j, az, f[j], off)
			}
		}
	}
}

func TestJudgeGeodesicDirect(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var lines []string
	var got []position.LonLat
	for range 2000 {
		a, az, s := anywhere(rng), rng.Float64()*360-180, rng.Float64()*2e7
		got = append(got, position.Destination(a, az, s))
		lines = append(lines, strings.Join([]string{f20(a.Lat), f20(a.Lon), f20(az), f20(s)}, " "))
	}
	for i, f := range judge(t, lines, "GeodSolve", "-p", "9") {
		want := position.LonLat{Lon: number(t, f[1]), Lat: number(t, f[0])}
		if d, _ := position.Distance(got[i], want); !(d <= 1e-6) {
			t.Errorf("%s: %v, judge %v, %g m apart", lines[i], got[i], want, d)
		}
	}
}

// The exact transverse Mercator (Lee's, by elliptic functions) judges the
// series; the doc comment claims 20 nm within 3,900 km.
func TestJudgeTransverseMercator(t *testing.T) {
	for name, on := range map[string]position.Ellipsoid{
		"WGS 84": position.WGS84(), "GRS 80": position.GRS80(), "Clarke 1866": position.Clarke1866(),
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(5, 6))
			tm := position.NewTransverseMercator(-115, 0.9992, 0, 0, on)
			var lines []string
			var points []position.LonLat
			for len(points) < 3000 {
				// Within 3,900 km of the meridian: |sin dLon cos lat| < sin(3900/6371).
				p := position.LonLat{Lon: -115 + rng.Float64()*160 - 80, Lat: rng.Float64()*180 - 90}
				if math.Abs(math.Sin((p.Lon+115)*math.Pi/180)*math.Cos(p.Lat*math.Pi/180)) > math.Sin(3900.0/6371) {
					continue
				}
				p.Lon = math.Remainder(p.Lon, 360)
				points = append(points, p)
				lines = append(lines, f20(p.Lat)+" "+f20(p.Lon))
			}
			worst := 0.0
			answers := judge(t, lines, "TransverseMercatorProj", "-l", "-115", "-k", "0.9992",
				"-e", g17(on.SemiMajorM), g17(on.Flattening), "-p", "9")
			for i, f := range answers {
				e, n := tm.Forward(points[i])
				off := math.Hypot(e-number(t, f[0]), n-number(t, f[1]))
				worst = max(worst, off)
				gamma, k := tm.Factors(points[i])
				if d := math.Abs(math.Remainder(gamma-number(t, f[2]), 360)); !(d <= 1e-8) {
					t.Errorf("%s: convergence %.12f, judge %s", lines[i], gamma, f[2])
				}
				if d := math.Abs(k - number(t, f[3])); !(d <= 1e-9) {
					t.Errorf("%s: scale %.12f, judge %s", lines[i], k, f[3])
				}
				back := tm.Inverse(e, n)
				if d, _ := position.Distance(back, points[i]); !(d <= 1e-7) {
					t.Errorf("%s: there and back is %g m off", lines[i], d)
				}
			}
			if worst > 2e-8 {
				t.Errorf("worst departure from the exact projection %g m, claimed 20 nm", worst)
			}
			t.Logf("worst departure %g m within 3,900 km", worst)
		})
	}
}

func TestJudgeUTM(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	var lines []string
	var points []position.LonLat
	for len(points) < 3000 {
		p := anywhere(rng)
		if len(points)%4 == 0 { // Norway and Svalbard
			p = position.LonLat{Lon: rng.Float64() * 45, Lat: 54 + rng.Float64()*30}
		}
		if position.HasUTM(p) && p.Lat < 84 {
			points = append(points, p)
			lines = append(lines, f20(p.Lat)+" "+f20(p.Lon))
		}
	}
	for i, f := range judge(t, lines, "GeoConvert", "-u", "-p", "6") {
		zone := position.ZoneOf(points[i])
		letter := "s"
		if zone.North {
			letter = "n"
		}
		if got := fmt.Sprintf("%02d%s", zone.Number, letter); got != f[0] {
			t.Errorf("%s: zone %s, judge %s", lines[i], got, f[0])
			continue
		}
		e, n := position.UTM(zone.Number, zone.North).Forward(points[i])
		if d := math.Hypot(e-number(t, f[1]), n-number(t, f[2])); !(d <= 1e-5) {
			t.Errorf("%s: %.6f %.6f, judge %s %s", lines[i], e, n, f[1], f[2])
		}
	}
}

// GDAL judges the geocentric translation (not its parameters, which are those
// of the EPSG register).
func TestJudgeNAD27(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	var lines []string
	var points []position.LonLat
	for range 200 {
		p := position.LonLat{Lon: -124 + rng.Float64()*56, Lat: 25 + rng.Float64()*24}
		points = append(points, p)
		lines = append(lines, f20(p.Lon)+" "+f20(p.Lat)+" 0")
	}
	answers := judge(t, lines, "gdaltransform", "-s_srs", "+proj=longlat +ellps=clrk66 +towgs84=-8,160,176 +no_defs",
		"-t_srs", "+proj=longlat +datum=WGS84 +no_defs")
	for i, f := range answers {
		got, _, err := position.NAD27Roughly(points[i])
		if err != nil {
			t.Fatal(err)
		}
		want := position.LonLat{Lon: number(t, f[0]), Lat: number(t, f[1])}
		if d, _ := position.Distance(got, want); !(d <= 1e-3) {
			t.Errorf("%s: %v, judge %v, %g m apart", lines[i], got, want, d)
		}
	}
}

// What Format writes, another program must read as the same place.
func TestJudgeReadsWhatIsWritten(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	var lines, written []string
	var points []position.LonLat
	for range 500 {
		p := anywhere(rng)
		if !position.HasUTM(p) {
			continue
		}
		for _, form := range forms {
			text := position.Format(p, form)
			points = append(points, p)
			written = append(written, text)
			// The judge wants zone and hemisphere in one word.
			lines = append(lines, strings.Replace(text, " south ", "s ", 1))
		}
	}
	for i, f := range judge(t, lines, "GeoConvert", "-g", "-p", "6") {
		judged := position.LonLat{Lon: number(t, f[1]), Lat: number(t, f[0])}
		if d, _ := position.Distance(judged, points[i]); !(d <= 0.25) {
			t.Errorf("%q for %v: the judge reads %v, %g m off", written[i], points[i], judged, d)
		}
		r, err := position.Parse(written[i])
		if err != nil {
			t.Error(err)
			continue
		}
		if d, _ := position.Distance(judged, r.At); !(d <= 1e-4) {
			t.Errorf("%q: read as %v, the judge reads %v", written[i], r.At, judged)
		}
	}
}

// What another program writes must be read as the same place.
func TestJudgeWritesWhatIsRead(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	var lines []string
	var points []position.LonLat
	for len(points) < 500 {
		if p := anywhere(rng); position.HasUTM(p) {
			points = append(points, p)
			lines = append(lines, f20(p.Lat)+" "+f20(p.Lon))
		}
	}
	for _, args := range [][]string{{"-g"}, {"-d"}, {"-:"}, {"-d", "-p", "-1"}, {"-u", "-l"}, {"-g", "-w", "-p", "3"}} {
		refused := 0
		longitudeFirst := slices.Contains(args, "-w") // in and out
		input := slices.Clone(lines)
		if longitudeFirst {
			for i, p := range points {
				input[i] = f20(p.Lon) + " " + f20(p.Lat)
			}
		}
		for i, f := range judge(t, input, "GeoConvert", args...) {
			text := strings.Join(f, " ")
			if longitudeFirst {
				text = "lon/lat: " + text
			}
			r, err := position.Parse(text)
			if err != nil {
				refused++
				t.Errorf("%v: %v", args, err)
				continue
			}
			if d, _ := position.Distance(r.At, points[i]); !(d <= 0.71*r.PrecisionM+1e-4) {
				t.Errorf("%v: %q read as %v, %g m off %v, precision %g m", args, text, r.At, d, points[i], r.PrecisionM)
			}
		}
		if refused > 0 {
			t.Errorf("%v: %d of %d refused", args, refused, len(lines))
		}
	}
}

// GDAL judges web Mercator.
func TestJudgeWebMercator(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	var lines []string
	var points []position.LonLat
	for len(points) < 300 {
		if p := anywhere(rng); p.Lat < 85 && p.Lat > -85 {
			points = append(points, p)
			lines = append(lines, f20(p.Lon)+" "+f20(p.Lat))
		}
	}
	mercator, err := position.EPSG(3857)
	if err != nil {
		t.Fatal(err)
	}
	answers := judge(t, lines, "gdaltransform", "-s_srs", "+proj=longlat +datum=WGS84 +no_defs", "-t_srs", "EPSG:3857")
	for i, f := range answers {
		x, y := mercator.Forward(points[i])
		if d := math.Hypot(x-number(t, f[0]), y-number(t, f[1])); !(d <= 1e-4) {
			t.Errorf("%s: %.6f %.6f, judge %v", lines[i], x, y, f)
		}
	}
}
