package server

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// manyWells is a store of nothing but digests.
type manyWells struct {
	records.Store
	records.StoreView
	wells []records.Digest
}

func (m *manyWells) View(_ context.Context, fn func(records.StoreView) error) error { return fn(m) }
func (m *manyWells) CountWells(context.Context) (int64, error)                      { return int64(len(m.wells)), nil }
func (m *manyWells) Digests(_ context.Context, fn func([]records.Digest) error) error {
	return fn(m.wells)
}
func (m *manyWells) RockUnits(context.Context) (map[uint16]string, error) { return nil, nil }
func (m *manyWells) SightingDigests(context.Context, int64) ([]records.Digest, []int64, error) {
	return nil, nil, nil
}
func (m *manyWells) Commit() int64 { return 1 }

// pictureOf is a picture of invented wells around a place, some of them
// without a value or with only a bound.
func pictureOf(t testing.TB, n int, lon, lat, spread float64, bounds bool) *snapshot.Picture {
	t.Helper()
	r := rand.New(rand.NewPCG(7, 7))
	m := &manyWells{}
	for i := range n {
		d := records.Digest{ID: int64(i + 1), Key: uint64(i + 1), Lon: lon + r.NormFloat64()*spread, Lat: min(max(lat+r.NormFloat64()*spread*0.7, -89), 89)}
		for d.Lon > 180 {
			d.Lon -= 360
		}
		for d.Lon < -180 {
			d.Lon += 360
		}
		d.Bedrock = records.DigestValue{Value: math.Round(300*r.ExpFloat64()) / 10, Qualifier: records.Exact}
		switch {
		case r.IntN(20) == 0:
			d.Bedrock = records.DigestValue{}
		case bounds && r.IntN(10) == 0:
			d.Bedrock.Qualifier = records.GreaterThan
		}
		m.wells = append(m.wells, d)
	}
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	return s.Picture()
}

func hexState(v draw.View) (*mapState, *scale) {
	return &mapState{view: v, placed: true, field: snapshot.Bedrock, units: say.US, surface: showMedian},
		&scale{levels: []float64{10, 20, 50, 100}, ramp: draw.DepthRamp(draw.Light), unit: "ft", perBase: 1 / 0.3048}
}

// TestHexesAgainstNaive deals each well to the cell whose middle is nearest,
// which is what hexagons of a lattice are.
func TestHexesAgainstNaive(t *testing.T) {
	for _, v := range []draw.View{
		{Lon: -38, Lat: 44, MPerPixel: 300, W: 1000, H: 700},
		{Lon: 179.8, Lat: -12, MPerPixel: 500, W: 640, H: 480},
		{Lon: 15, Lat: 78, MPerPixel: 400, W: 700, H: 900},
	} {
		p := pictureOf(t, 4000, v.Lon, v.Lat, 0.9, false)
		st, sc := hexState(v)
		got, shown := hexes(st, p, sc)
		h := hexLatticeFor(v)
		type cell struct{ x, y int }
		naive := map[cell][]float64{}
		counts := map[cell]int{}
		key := func(x, y float64) cell { return cell{int(math.Round(x * 8)), int(math.Round(y * 8))} }
		p.Each(func(r snapshot.Row) bool {
			lon, lat, _ := r.Position()
			x, y := v.Pixel(lon, lat)
			best, at := math.Inf(1), cell{}
			for c := range h.rows * h.cols {
				mx, my := h.middle(c)
				if d := math.Hypot(mx-x, my-y); d < best {
					best, at = d, key(mx, my)
				}
			}
			if best > h.r {
				return true
			}
			counts[at]++
			if q := r.Value(snapshot.Bedrock); q.Qualifier == records.Exact {
				naive[at] = append(naive[at], q.Value)
			}
			return true
		})
		inView := 0
		p.InBox(v.Bounds(0), func(snapshot.Row) bool { inView++; return true })
		if shown != inView {
			t.Errorf("%+v: %d wells in view, naive %d", v, shown, inView)
		}
		if len(got) < 20 {
			t.Fatalf("%+v: only %d cells", v, len(got))
		}
		for _, hex := range got {
			at := key(hex.X, hex.Y)
			if hex.Count != counts[at] {
				t.Errorf("%+v: cell at %.1f, %.1f has %d wells, naive %d", v, hex.X, hex.Y, hex.Count, counts[at])
			}
			vs := naive[at]
			slices.Sort(vs)
			if hex.Known != (len(vs) > 0) {
				t.Errorf("%+v: cell at %.1f, %.1f known %t with %d values", v, hex.X, hex.Y, hex.Known, len(vs))
			} else if hex.Known && hex.Share != sc.share(vs[len(vs)/2]*sc.perBase) {
				t.Errorf("%+v: cell at %.1f, %.1f has share %g of %d values", v, hex.X, hex.Y, hex.Share, len(vs))
			}
		}
	}
}

// TestHexesStayOnTheGround: panning moves the cells and deals no well anew.
func TestHexesStayOnTheGround(t *testing.T) {
	v := draw.View{Lon: -38, Lat: 44, MPerPixel: 300, W: 900, H: 600}
	p := pictureOf(t, 5000, v.Lon, v.Lat, 0.7, true)
	st, sc := hexState(v)
	before, _ := hexes(st, p, sc)
	for _, by := range [][2]float64{{100, 0}, {-37.3, 61.8}, {0, -140}} {
		st.view = v.Moved(by[0], by[1])
		same := 0
		now, _ := hexes(st, p, sc)
		for _, b := range now {
			for _, a := range before {
				if math.Hypot(a.X-by[0]-b.X, a.Y-by[1]-b.Y) > 0.01 {
					continue
				}
				if a.X < 0 || a.Y < 0 || a.X > v.W || a.Y > v.H || b.X < 0 || b.Y < 0 || b.X > v.W || b.Y > v.H {
					continue
				}
				same++
				if a.Count != b.Count || a.Share != b.Share || a.Title != b.Title {
					t.Errorf("moved by %v a cell changed from %s to %s", by, a.Title, b.Title)
				}
			}
		}
		if same < 50 {
			t.Errorf("moved by %v only %d cells are where they were", by, same)
		}
	}
}

func TestHexLeadsCloser(t *testing.T) {
	v := draw.View{Lon: -38, Lat: 44, MPerPixel: 300, W: 900, H: 600}
	st, sc := hexState(v)
	st.form.From = "1990"
	cells, _ := hexes(st, pictureOf(t, 3000, v.Lon, v.Lat, 0.5, true), sc)
	for _, h := range cells {
		if !strings.Contains(h.Href, "mpp=75") || !strings.Contains(h.Href, "from=1990") {
			t.Fatalf("a cell leads to %s", h.Href)
		}
	}
}

// BenchmarkHexes gathers a million wells; with bounds, medians are weighed.
func BenchmarkHexes(b *testing.B) {
	for _, c := range []struct {
		name   string
		n      int
		bounds bool
	}{{"100k", 100_000, false}, {"1M", 1_000_000, false}, {"1M with bounds", 1_000_000, true}} {
		v := draw.View{Lon: -38, Lat: 44, MPerPixel: 600, W: 1440, H: 735}
		p := pictureOf(b, c.n, v.Lon, v.Lat, 2, c.bounds)
		st, sc := hexState(v)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if cells, _ := hexes(st, p, sc); len(cells) == 0 {
					b.Fatal("no cells")
				}
			}
		})
	}
}
