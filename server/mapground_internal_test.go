package server

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"tallybook/geo/position"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// smoothGround is a surface without wells: a wave, bare in the west.
func smoothGround(asked *int) evaluate {
	return func(nodes []position.LonLat) ([]float64, []bool, error) {
		*asked += len(nodes)
		v, flat := make([]float64, len(nodes)), make([]bool, len(nodes))
		for i, n := range nodes {
			v[i] = 60 + 50*math.Sin(n.Lon*90)*math.Cos(n.Lat*70)
			if n.Lon < -38.82 {
				v[i] = math.NaN()
			}
			flat[i] = n.Lat > 44.29
		}
		return v, flat, nil
	}
}

var groundLevels = []float64{10, 20, 50, 100}

// valueAt reads the node nearest to a pixel and says how far from it that is.
func valueAt(s *draw.MapSurface, x, y float64) (v float64, flat bool, off float64) {
	g := s.Field.Grid
	c, r := int(math.Round((x-g.X(0))/g.CellW)), int(math.Round((-y-g.Y(0))/g.CellH))
	i := g.Index(c, r)
	return s.Field.Values[i], s.Flat[i], math.Hypot(g.X(c)-x, -g.Y(r)-y)
}

// TestNodesStayOnTheGround: after a pan the nodes lie where they lay on the
// ground and say what they said, whether kept or evaluated anew.
func TestNodesStayOnTheGround(t *testing.T) {
	v := rounded(draw.View{Lon: -38.75, Lat: 44.25, MPerPixel: 17, W: 900, H: 600})
	asked := 0
	var kept groundTiles
	before, err := kept.ground(v, latticeFor(v), "x", groundLevels, smoothGround(&asked))
	if err != nil {
		t.Fatal(err)
	}
	for _, by := range [][2]float64{{0, 0}, {31.4, -7.7}, {-260, 90}, {400, 300}} {
		moved := rounded(v.Moved(by[0], by[1]))
		if latticeFor(moved) != latticeFor(v) {
			t.Fatalf("moved by %v: lattice %+v became %+v", by, latticeFor(v), latticeFor(moved))
		}
		for _, tiles := range []*groundTiles{&kept, {}} {
			after, err := tiles.ground(moved, latticeFor(moved), "x", groundLevels, smoothGround(&asked))
			if err != nil {
				t.Fatal(err)
			}
			g := before.Field.Grid
			same := 0
			for r := range g.Rows {
				for c := range g.Cols {
					lon, lat := v.Position(g.X(c), -g.Y(r))
					x, y := moved.Pixel(lon, lat)
					if x < 0 || y < 0 || x > moved.W || y > moved.H {
						continue
					}
					got, flat, off := valueAt(after, x, y)
					want := before.Field.Values[g.Index(c, r)]
					if off > 0.02 {
						t.Fatalf("moved by %v a node lies %g pixels off", by, off)
					}
					if got != want && !(math.IsNaN(got) && math.IsNaN(want)) || flat != before.Flat[g.Index(c, r)] {
						t.Fatalf("moved by %v a node says %g, said %g", by, got, want)
					}
					same++
				}
			}
			if same < 400 {
				t.Errorf("moved by %v only %d nodes are in both windows", by, same)
			}
		}
	}
}

// TestGroundIsAskedOnce: what is kept is not evaluated again, a new name or a
// failed evaluation keeps nothing.
func TestGroundIsAskedOnce(t *testing.T) {
	v := draw.View{Lon: -38.75, Lat: 44.25, MPerPixel: 17, W: 900, H: 600}
	l := latticeFor(v)
	asked := 0
	eval := smoothGround(&asked)
	var tiles groundTiles
	broken := errors.New("broken")
	if _, err := tiles.ground(v, l, "x", groundLevels, func([]position.LonLat) ([]float64, []bool, error) { return nil, nil, broken }); !errors.Is(err, broken) {
		t.Fatalf("got %v", err)
	}
	ask := func(v draw.View, of string) int {
		asked = 0
		if _, err := tiles.ground(v, l, of, groundLevels, eval); err != nil {
			t.Fatal(err)
		}
		return asked
	}
	first := ask(v, "x")
	if first == 0 {
		t.Fatal("after a failure nothing was asked")
	}
	if n := ask(v, "x"); n != 0 {
		t.Errorf("asked again for %d", n)
	}
	if n := ask(v.Moved(100, 0), "x"); n == 0 || n > first/2 {
		t.Errorf("a small pan asked for %d of %d", n, first)
	}
	if n := ask(v, "y"); n != first {
		t.Errorf("another name asked for %d, want %d", n, first)
	}
	t.Logf("%d of %d nodes were evaluated", first, (int(v.W/12)+4)*(int(v.H/12)+4))
}

// TestGroundAgainstEveryNode: what is interpolated between coarse nodes agrees
// with what the township's estimate says there, as a share of the band's width.
func TestGroundAgainstEveryNode(t *testing.T) {
	w := world(t, township)
	for _, field := range []snapshot.Field{snapshot.Bedrock, snapshot.TotalDepth} {
		st := &mapState{field: field, surface: showMedian, units: say.US, view: draw.View{Lon: -38.75, Lat: 44.25, MPerPixel: 17, W: 1440, H: 735}}
		sc := scaleOf(st, w.desk.Span(w.desk.Picture(), field, &st.filter), draw.Light)
		l := latticeFor(st.view)
		asked := 0
		eval := func(nodes []position.LonLat) ([]float64, []bool, error) {
			asked += len(nodes)
			f, err := w.desk.SurfaceAt(context.Background(), desk.LocalPerson(), desk.SurfaceAsk{Field: field, Method: desk.ByNeighbours, Reading: desk.Middle, SpacingM: l.spacingM}, nodes)
			if err != nil {
				return nil, nil, err
			}
			for i := range f.Values {
				f.Values[i] *= sc.perBase
			}
			return f.Values, f.Flat, nil
		}
		var tiles groundTiles
		got, err := tiles.ground(st.view, l, "", sc.levels, eval)
		if err != nil {
			t.Fatal(err)
		}
		fast := asked
		g := got.Field.Grid
		nodes := make([]position.LonLat, g.Len())
		for r := range g.Rows {
			for c := range g.Cols {
				lon, lat := st.view.Position(g.X(c), -g.Y(r))
				nodes[g.Index(c, r)] = position.LonLat{Lon: lon, Lat: lat}
			}
		}
		exact, flat, err := eval(nodes)
		if err != nil {
			t.Fatal(err)
		}
		band := func(v float64) int {
			if math.IsNaN(v) {
				return -1
			}
			n, _ := slices.BinarySearch(sc.levels, v)
			return n
		}
		other, otherKind := 0, 0
		var off []float64
		for i := range exact {
			switch {
			case math.IsNaN(exact[i]) != math.IsNaN(got.Field.Values[i]) || flat[i] != got.Flat[i]:
				otherKind++
			case band(exact[i]) != band(got.Field.Values[i]):
				other++
			case !math.IsNaN(exact[i]):
				off = append(off, math.Abs(exact[i]-got.Field.Values[i])/max(exact[i], 1))
			}
		}
		slices.Sort(off)
		n := float64(len(exact))
		t.Logf("%s: %d of %d nodes evaluated; %.2f %% in another band, %.2f %% of another kind; within a band off by %.2f %% (half), %.1f %% (95 %%), %.0f %% (most)",
			field, fast, len(exact), 100*float64(other)/n, 100*float64(otherKind)/n, 100*off[len(off)/2], 100*off[len(off)*95/100], 100*off[len(off)-1])
		if float64(other+otherKind) > 0.03*n {
			t.Errorf("%s: %d nodes in another band and %d of another kind, of %d", field, other, otherKind, len(exact))
		}
		if fast > len(exact)*2/3 {
			t.Errorf("%s: %d of %d nodes were evaluated", field, fast, len(exact))
		}
	}
}
