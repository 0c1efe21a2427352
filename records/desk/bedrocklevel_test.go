package desk_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// hillM is the height of an invented hilly ground, metres.
func hillM(lon, lat float64) float64 {
	x, y := (lon+40)*78000, (lat-44)*111000
	return 300 + 35*math.Sin(x/800) + 30*math.Cos(y/1100) + 12*math.Sin((x+y)/500)
}

// rockM is how rock lies by itself: gently.
func rockM(lon, lat float64) float64 {
	x, y := (lon+40)*78000, (lat-44)*111000
	return 6*math.Sin(x/2500) + 5*math.Cos(y/3100)
}

// hillDesk is a desk with a grid of the hills and 500 wells on them, every third
// with an elevation of its own, whose rock lies as rock says.
func hillDesk(t *testing.T, grid bool, depthM func(lon, lat float64) float64) *desk.Desk {
	t.Helper()
	d, _ := newDesk(t)
	var b strings.Builder
	const cols, rows, cell = 260, 260, 0.0005
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner -40.01\nyllcorner 43.99\ncellsize %g\n", cols, rows, cell)
	for row := rows - 1; row >= 0; row-- {
		for col := range cols {
			fmt.Fprintf(&b, "%.2f ", hillM(-40.01+(float64(col)+0.5)*cell, 43.99+(float64(row)+0.5)*cell))
		}
		b.WriteByte('\n')
	}
	if grid {
		load(t, d, "hills", b.String(), nil)
	}
	rng := rand.New(rand.NewPCG(3, 1))
	var wells strings.Builder
	for i := range 500 {
		lon, lat := -40+rng.Float64()*0.1, 44+rng.Float64()*0.1
		depth := max(0.5, depthM(lon, lat)+rng.NormFloat64())
		own, bedrock := "", fmt.Sprintf(`"depth_to_bedrock_m":%.2f`, depth)
		if i%3 == 0 {
			own = fmt.Sprintf(`,"ground_elevation_m":%.2f`, hillM(lon, lat))
		}
		if i%10 == 0 { // not reached
			bedrock = fmt.Sprintf(`"depth_to_bedrock_m":">%.2f"`, depth*0.7)
		}
		fmt.Fprintf(&wells, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.6f,%.6f]},"properties":{"number":"H-%d",%s%s}}`+"\n", lon, lat, i, bedrock, own)
	}
	if b := mustTakeIn(t, d, wells.String()); b.Accepted != 500 {
		t.Fatalf("%+v", b)
	}
	return d
}

func level(t *testing.T, d *desk.Desk) *desk.BedrockLevel {
	t.Helper()
	l, err := d.BedrockLevel(t.Context(), me, &snapshot.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// surfaceOf reads a surface at places in the middle of the wells.
func surfaceOf(t *testing.T, d *desk.Desk, f snapshot.Field, way desk.LevelWay, method desk.Method) (values []float64, nodes []position.LonLat) {
	t.Helper()
	for i := range 400 {
		nodes = append(nodes, position.LonLat{Lon: -39.98 + float64(i%20)*0.003, Lat: 44.02 + float64(i/20)*0.003})
	}
	s, err := d.SurfaceAt(t.Context(), me, desk.SurfaceAsk{Field: f, Method: method, Reading: desk.Middle, Through: way, IDW: surface.IDW{Power: 2, Neighbours: 12}}, nodes)
	if err != nil {
		t.Fatal(err)
	}
	return s.Values, nodes
}

// off is the mean error of elevations of rock.
func off(values []float64, nodes []position.LonLat, depthM func(lon, lat float64) float64) float64 {
	sum, n := 0.0, 0
	for i, v := range values {
		if v == v {
			sum, n = sum+math.Abs(v-(hillM(nodes[i].Lon, nodes[i].Lat)-depthM(nodes[i].Lon, nodes[i].Lat))), n+1
		}
	}
	if n < len(values)*9/10 {
		return math.NaN()
	}
	return sum / float64(n)
}

// Which way is taken follows from the wells, and it is the one that is nearer to
// the truth, which is known here.
func TestBedrockByTheBetterWay(t *testing.T) {
	flat := func(lon, lat float64) float64 { return hillM(lon, lat) - 200 - rockM(lon, lat) }
	blanket := func(lon, lat float64) float64 { return 15 + rockM(lon, lat) }
	for name, c := range map[string]struct {
		depthM  func(lon, lat float64) float64
		byLevel bool
	}{"rock lies flat": {flat, true}, "a blanket on rock": {blanket, false}} {
		t.Run(name, func(t *testing.T) {
			d := hillDesk(t, true, c.depthM)
			l := level(t, d)
			if l.ByLevel != c.byLevel || !l.Trial.Difference.Tells() || l.Trial.Tested != 500 || l.Recorded != 167 || l.Derived != 333 || l.Without != 0 || l.NoGrid {
				t.Errorf("%+v", l)
			}
			better, nodes := surfaceOf(t, d, snapshot.BedrockElevation, desk.UsualWay, desk.ByNeighbours)
			asLevel, _ := surfaceOf(t, d, snapshot.BedrockElevation, desk.ByLevel, desk.ByNeighbours)
			asDepth, _ := surfaceOf(t, d, snapshot.BedrockElevation, desk.ByDepth, desk.ByNeighbours)
			e, eLevel, eDepth := off(better, nodes, c.depthM), off(asLevel, nodes, c.depthM), off(asDepth, nodes, c.depthM)
			t.Logf("off by %.2f m; as elevation %.2f, as depth %.2f; tried: %.2f and %.2f", e, eLevel, eDepth, l.Trial.Level.CRPS, l.Trial.Depth.CRPS)
			if e != min(eLevel, eDepth) || !(e < 2) || !(max(eLevel, eDepth) > 2*e) {
				t.Errorf("off by %g; as elevation %g, as depth %g", e, eLevel, eDepth)
			}
			idw, _ := surfaceOf(t, d, snapshot.BedrockElevation, desk.UsualWay, desk.ByInverseDistance)
			if !(off(idw, nodes, c.depthM) < 4) {
				t.Errorf("inverse distance is off by %g", off(idw, nodes, c.depthM))
			}
			// Depth and elevation by one way come to the ground.
			for _, way := range []desk.LevelWay{desk.ByLevel, desk.ByDepth} {
				depths, _ := surfaceOf(t, d, snapshot.Bedrock, way, desk.ByNeighbours)
				levels, _ := surfaceOf(t, d, snapshot.BedrockElevation, way, desk.ByNeighbours)
				ground, err := d.GroundAlong(t.Context(), me, nodes)
				if err != nil {
					t.Fatal(err)
				}
				for i := range depths {
					if depths[i] == depths[i] && math.Abs(depths[i]+levels[i]-ground[i].ElevationM) > 1e-6 {
						t.Fatalf("node %d: %g + %g is not %g", i, depths[i], levels[i], ground[i].ElevationM)
					}
				}
			}
			plain, _ := surfaceOf(t, d, snapshot.Bedrock, desk.UsualWay, desk.ByNeighbours)
			same, _ := surfaceOf(t, d, snapshot.Bedrock, desk.ByDepth, desk.ByNeighbours)
			for i := range plain {
				if plain[i] != same[i] && plain[i] == plain[i] {
					t.Fatalf("node %d: %g by depth and %g", i, same[i], plain[i])
				}
			}
			byBlock, err := d.TryLevels(t.Context(), me, &snapshot.Filter{}, predict.ByBlock)
			if err != nil || (byBlock.Difference.Mean < 0) != c.byLevel {
				t.Errorf("by block: %+v, %v", byBlock, err)
			}
		})
	}
}

// Without a grid there is nothing to take a depth off: the wells that have an
// elevation of their own stand for themselves. Without any there is no answer.
func TestBedrockLevelWithoutAGrid(t *testing.T) {
	d := hillDesk(t, false, func(lon, lat float64) float64 { return 15 + rockM(lon, lat) })
	l := level(t, d)
	if !l.ByLevel || !l.NoGrid || l.Recorded != 167 || l.Derived != 0 || l.Without != 333 {
		t.Errorf("%+v", l)
	}
	values, _ := surfaceOf(t, d, snapshot.BedrockElevation, desk.UsualWay, desk.ByNeighbours)
	if !(values[200] > 150 && values[200] < 400) {
		t.Errorf("%g", values[200])
	}
	depths, _ := surfaceOf(t, d, snapshot.Bedrock, desk.ByLevel, desk.ByNeighbours)
	if depths[200] == depths[200] {
		t.Errorf("a depth of %g under a ground that is not known", depths[200])
	}
	none, _ := newDesk(t)
	mustTakeIn(t, none, features(30))
	if _, err := none.BedrockLevel(t.Context(), me, &snapshot.Filter{}); records.CodeOf(err) != records.NotFound || !strings.Contains(err.Error(), "ground load") {
		t.Errorf("without elevations: %v", err)
	}
	if _, err := d.BedrockLevel(t.Context(), stranger, &snapshot.Filter{}); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger: %v", err)
	}
	for _, ask := range []desk.SurfaceAsk{{Method: desk.ByKriging}, {Method: desk.ByNeighbours, Reading: desk.Chance}} {
		ask.Field = snapshot.BedrockElevation
		if _, err := d.SurfaceAt(t.Context(), me, ask, []position.LonLat{{Lon: -39.95, Lat: 44.05}}); records.CodeOf(err) != records.Invalid {
			t.Errorf("%+v: %v", ask, err)
		}
	}
}

// The answer follows the records and the grids.
func TestBedrockLevelFollows(t *testing.T) {
	d := hillDesk(t, true, func(lon, lat float64) float64 { return 15 + rockM(lon, lat) })
	before := level(t, d)
	if again := level(t, d); again != before {
		t.Error("worked out twice")
	}
	grids, err := d.GroundGrids(t.Context(), me)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.TakeOutGround(t.Context(), me, grids[0].ID, grids[0].Revision, ""); err != nil {
		t.Fatal(err)
	}
	if after := level(t, d); !after.NoGrid || after.Derived != 0 {
		t.Errorf("the grid is out: %+v", after)
	}
	if _, err := d.Save(t.Context(), me, &records.Well{Place: records.Place{Located: true, Lon: -39.95, Lat: 44.05, Elevation: records.Of(records.Height(300))}, Bedrock: records.Of(records.Depth(9))}, ""); err != nil {
		t.Fatal(err)
	}
	if after := level(t, d); after.Recorded != before.Recorded+1 {
		t.Errorf("a well more: %+v", after)
	}
}

// Bounds turn over with the axis.
func TestBedrockElevationOfBounds(t *testing.T) {
	d, _ := newDesk(t)
	load(t, d, "g", slopeASC(5, 5, -40, 44, 0.01, nil), nil)
	put := func(number string, depth records.Amount[records.Depth]) int64 {
		w := &records.Well{Number: number, Bedrock: depth, Place: records.Place{Located: true, Lon: -40 + 0.025, Lat: 44 + 0.025}}
		if _, err := d.Save(t.Context(), me, w, ""); err != nil {
			t.Fatal(err)
		}
		return w.ID
	}
	for name, c := range map[string]struct {
		depth records.Amount[records.Depth]
		want  records.DigestValue
	}{
		"a value": {records.Of(records.Depth(6)), records.DigestValue{Value: 100, Qualifier: records.Exact}},
		"deeper":  {records.MoreThan(records.Depth(6)), records.DigestValue{Value: 100, Qualifier: records.LessThan}},
		"less":    {records.Amount[records.Depth]{Value: 6, Qualifier: records.LessThan}, records.DigestValue{Value: 100, High: 106, Qualifier: records.Between}},
		"between": {records.Amount[records.Depth]{Value: 2, High: 6, Qualifier: records.Between}, records.DigestValue{Value: 100, High: 104, Qualifier: records.Between}},
		"nothing": {records.Amount[records.Depth]{}, records.DigestValue{}},
	} {
		id := put(name, c.depth)
		h, err := d.Heights(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		r, ok := d.Picture().ByID(id)
		if !ok {
			t.Fatal("not in the picture")
		}
		got := h.Bedrock(r, &snapshot.Filter{})
		if got.Qualifier != c.want.Qualifier || math.Abs(got.Value-c.want.Value) > 1e-9 || math.Abs(got.High-c.want.High) > 1e-9 {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}
