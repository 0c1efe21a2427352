package desk_test

import (
	"math"
	"slices"
	"testing"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/geo/variogram"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// onUTM are the wells with a value of depth to bedrock, in the coordinates of a
// UTM zone, by a way of their own.
func onUTM(t *testing.T, d *desk.Desk, on position.Projection) (x, y, v []float64, key []uint64, bounds int) {
	t.Helper()
	d.Picture().Each(func(r snapshot.Row) bool {
		value := r.Value(snapshot.Bedrock)
		switch value.Qualifier {
		case records.Missing:
			return true
		case records.Exact, records.About:
		default:
			bounds++
			return true
		}
		lon, lat, _ := r.Position()
		px, py := on.Forward(position.LonLat{Lon: lon, Lat: lat})
		x, y, v, key = append(x, px), append(y, py), append(v, value.Value), append(key, r.Key())
		return true
	})
	return x, y, v, key, bounds
}

// TestKrigedOnAGrid: at every node the numbers of kriging itself, with the model
// that was said; nothing where no well stands near; at a well its own value with
// no error where the nugget is none.
func TestKrigedOnAGrid(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	utm, err := position.EPSG(32624)
	if err != nil {
		t.Fatal(err)
	}
	x0, y0 := utm.Forward(position.LonLat{Lon: -40.05, Lat: 43.96})
	grid := surface.Grid{Cols: 30, Rows: 25, MinX: x0, MinY: y0, CellW: 1500, CellH: 1500}
	ask := desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByKriging, Kriging: desk.KrigingAsk{Neighbours: 10}, Everywhere: true}
	f, wrong, r, err := d.KrigedOn(t.Context(), me, ask, grid, utm)
	if err != nil {
		t.Fatal(err)
	}
	x, y, v, _, bounds := onUTM(t, d, utm)
	if r.Values != len(v) || r.Bounds != bounds || r.Neighbours != 10 || r.Log {
		t.Errorf("%+v: %d values, %d bounds", r, len(v), bounds)
	}
	k, err := variogram.NewKriging(x, y, v, r.Fitted.Model, variogram.Options{Neighbours: 10, SiteM: 1})
	if err != nil {
		t.Fatal(err)
	}
	for row := range grid.Rows {
		for col := range grid.Cols {
			e, err := k.At(grid.X(col), grid.Y(row), nil)
			if err != nil {
				t.Fatal(err)
			}
			i := grid.Index(col, row)
			if math.Abs(f.Values[i]-max(0, e.Value)) > 1e-6 || math.Abs(wrong.Values[i]-math.Sqrt(e.Variance)) > 1e-6 {
				t.Fatalf("node %d, %d: %g +- %g, want %g +- %g", col, row, f.Values[i], wrong.Values[i], e.Value, math.Sqrt(e.Variance))
			}
		}
	}
	ask.Everywhere = false
	bare, _, err := d.SurfaceOn(t.Context(), me, ask, grid, utm)
	if err != nil {
		t.Fatal(err)
	}
	ix, err := near.New(x, y, nil)
	if err != nil {
		t.Fatal(err)
	}
	missing := 0
	for i, value := range bare.Values {
		supported := surface.DefaultSupport.Supported(ix, grid.X(i%grid.Cols), grid.Y(i/grid.Cols))
		if supported == math.IsNaN(value) {
			t.Errorf("node %d: %g, supported %v", i, value, supported)
		}
		if !supported {
			missing++
		}
	}
	if missing == 0 || missing == len(bare.Values) {
		t.Errorf("%d of %d nodes without support", missing, len(bare.Values))
	}
	// The same through positions, as a map asks, on the wells' own plane.
	nodes := []position.LonLat{utm.Inverse(x[3], y[3]), utm.Inverse(x[50]+200, y[50])}
	at, err := d.SurfaceAt(t.Context(), me, ask, nodes)
	if err != nil || len(at.Errors) != 2 {
		t.Fatal(at, err)
	}
	if r.Fitted.Nugget == 0 && (math.Abs(at.Values[0]-v[3]) > 0.01*v[3]+0.01 || at.Errors[0] > 0.1) {
		t.Errorf("at a well of %g: %g +- %g", v[3], at.Values[0], at.Errors[0])
	}
}

// TestKrigedLogarithms: the median and the standard deviation of a lognormal, by
// its known moments.
func TestKrigedLogarithms(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	utm, _ := position.EPSG(32624)
	x, y, v, _, _ := onUTM(t, d, utm)
	grid := surface.Grid{Cols: 5, Rows: 4, MinX: x[0] - 3000, MinY: y[0] - 3000, CellW: 1300, CellH: 1500}
	f, wrong, r, err := d.KrigedOn(t.Context(), me, desk.SurfaceAsk{Field: snapshot.Bedrock, Everywhere: true, Kriging: desk.KrigingAsk{ModelAsk: desk.ModelAsk{Scale: desk.LogScale}}}, grid, utm)
	if err != nil || !r.Log || r.Unit != 1 {
		t.Fatal(r, err)
	}
	z := make([]float64, len(v))
	for i := range v {
		z[i] = math.Log1p(v[i])
	}
	k, err := variogram.NewKriging(x, y, z, r.Fitted.Model, variogram.Options{Neighbours: 24, SiteM: 1})
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.Values {
		e, err := k.At(grid.X(i%5), grid.Y(i/5), nil)
		if err != nil {
			t.Fatal(err)
		}
		// Of exp(Z) - 1: median exp(m) - 1, variance (exp(s2) - 1) exp(2m + s2).
		sd := math.Sqrt((math.Exp(e.Variance) - 1) * math.Exp(2*e.Value+e.Variance))
		if math.Abs(f.Values[i]-max(0, math.Exp(e.Value)-1)) > 1e-6 || math.Abs(wrong.Values[i]-sd) > 1e-6*sd {
			t.Errorf("node %d: %g +- %g, want %g +- %g", i, f.Values[i], wrong.Values[i], math.Exp(e.Value)-1, sd)
		}
	}
}

func TestStructure(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	ask := func(m desk.ModelAsk) *desk.Structure {
		t.Helper()
		s, err := d.StructureOf(t.Context(), me, snapshot.Bedrock, nil, m)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	s := ask(desk.ModelAsk{})
	if s.FitErr != nil || s.Values == 0 || s.Sites > s.Values || s.Centres != 0 || s.Pairs == 0 || s.No.Runs != 199 || s.Log || s.Chosen {
		t.Errorf("%+v", s)
	}
	if again := ask(desk.ModelAsk{}); !slices.EqualFunc(again.No.Low, s.No.Low, func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }) || again.Fitted.Residual != s.Fitted.Residual {
		t.Error("the same records give another structure")
	}
	if l := ask(desk.ModelAsk{Scale: desk.LogScale, WidthM: 500, CutoffM: 5000, Shape: "gaussian", Robust: true}); !l.Log || len(l.Empirical.Lags) != 10 || l.Fitted.Structures[0].Shape != variogram.Gaussian || !l.Chosen {
		t.Errorf("%+v", l.Lags)
	}
	along := 0
	for _, a := range s.Along {
		for _, l := range a.Empirical.Lags {
			along += l.Pairs
		}
	}
	if along < s.Pairs*99/100 || along > s.Pairs*101/100 {
		t.Errorf("four directions hold %d of %d pairs", along, s.Pairs)
	}
	// Another well counts at once.
	mustTakeIn(t, d, feature(401))
	if third := ask(desk.ModelAsk{}); third.Values != s.Values+1 {
		t.Errorf("after another well %d values, %d before", third.Values, s.Values)
	}
	for _, m := range []desk.ModelAsk{{WidthM: 1, CutoffM: 5000}, {WidthM: math.Inf(1)}} {
		if _, err := d.StructureOf(t.Context(), me, snapshot.Bedrock, nil, m); records.CodeOf(err) != records.Invalid {
			t.Errorf("%+v: %v", m, err)
		}
	}
	if _, err := d.StructureOf(t.Context(), me, snapshot.Bedrock, nil, desk.ModelAsk{Shape: "cubic"}); records.CodeOf(err) != records.Invalid {
		t.Errorf("a shape that is none: %v", err)
	}
}

func TestStructureOfTooLittle(t *testing.T) {
	d, _ := newDesk(t)
	if _, err := d.StructureOf(t.Context(), me, snapshot.Bedrock, nil, desk.ModelAsk{}); records.CodeOf(err) != records.NotFound {
		t.Errorf("without wells: %v", err)
	}
	mustTakeIn(t, d, features(1))
	if _, err := d.StructureOf(t.Context(), me, snapshot.Bedrock, nil, desk.ModelAsk{}); records.CodeOf(err) != records.Invalid {
		t.Errorf("one well: %v", err)
	}
	if _, err := d.DeclusterWells(t.Context(), me, snapshot.Bedrock, nil, 0, variogram.SeekEither); records.CodeOf(err) != records.Invalid {
		t.Errorf("one well weighed: %v", err)
	}
}

func TestDecluster(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	c, err := d.DeclusterWells(t.Context(), me, snapshot.Bedrock, nil, 0, variogram.SeekLowest)
	if err != nil {
		t.Fatal(err)
	}
	if !(c.Mean <= c.PlainMean) || len(c.Tried) != 24 || !c.Lowest || c.Values == 0 {
		t.Errorf("%+v", c)
	}
	if c, err = d.DeclusterWells(t.Context(), me, snapshot.Bedrock, nil, 2000, variogram.SeekEither); err != nil || c.CellM != 2000 || len(c.Tried) != 1 {
		t.Errorf("%+v %v", c, err)
	}
	if _, err = d.DeclusterWells(t.Context(), me, snapshot.Bedrock, nil, 0.01, variogram.SeekEither); records.CodeOf(err) != records.Invalid {
		t.Errorf("cells of a centimetre: %v", err)
	}
}
