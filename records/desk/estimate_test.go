package desk_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// amid is among the wells of features(400).
var amid = position.LonLat{Lon: -40 + 9.4*0.012, Lat: 44 + 9.6*0.009}

func TestScout(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	o, err := d.Scout(t.Context(), me, amid, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(o.Fields) != 3 || len(o.Nearest) != 12 || o.Around == 0 || o.FirstYear < 1970 || o.LastYear > 2019 || o.FirstYear > o.LastYear {
		t.Fatalf("%d fields, %d nearest, %d around, %d to %d", len(o.Fields), len(o.Nearest), o.Around, o.FirstYear, o.LastYear)
	}
	// The ground falls evenly from 3 m to 22 m of overburden; here it is 12.4.
	b := o.Fields[0].Best()
	if r := b.Range80(); o.Fields[0].Field != snapshot.Bedrock || !(r.Low <= 12.4 && 12.4 <= r.High) || math.Abs(b.Median()-12.4) > 1.5 {
		t.Errorf("bedrock about %g, %g to %g, where the wells say 12.4", b.Median(), r.Low, r.High)
	}
	// A filter that takes some leaves the others out of everything.
	deep := 75.0
	o, err = d.Scout(t.Context(), me, amid, &snapshot.Filter{Depth: snapshot.Range{Min: &deep}})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range o.Nearest {
		if n.Value(snapshot.TotalDepth).Value < deep {
			t.Errorf("well %d is %g m deep", n.ID(), n.Value(snapshot.TotalDepth).Value)
		}
	}
	if _, err := d.Scout(t.Context(), me, position.LonLat{Lon: 200, Lat: 0}, nil); records.CodeOf(err) != records.Invalid {
		t.Errorf("a longitude of 200 gives %v", err)
	}
}

func TestNothingToGoBy(t *testing.T) {
	d, _ := newDesk(t)
	if _, err := d.Scout(t.Context(), me, amid, nil); records.CodeOf(err) != records.NotFound {
		t.Errorf("scouting without wells gives %v", err)
	}
	asked := desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByInverseDistance, IDW: surface.IDW{Power: 2, Neighbours: 3}}
	if _, err := d.SurfaceAt(t.Context(), me, asked, []position.LonLat{amid}); records.CodeOf(err) != records.NotFound {
		t.Errorf("a surface without wells gives %v", err)
	}
	utm, err := position.EPSG(32624)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := d.SurfaceOn(t.Context(), me, asked, surface.Grid{Cols: 2, Rows: 2, CellW: 1, CellH: 1}, utm); records.CodeOf(err) != records.NotFound {
		t.Errorf("a grid without wells gives %v", err)
	}
	if _, err := d.CompareMethods(t.Context(), me, desk.MethodsAsk{Field: snapshot.Yield}, nil); records.CodeOf(err) != records.NotFound {
		t.Errorf("scoring without wells gives %v", err)
	}
	mustTakeIn(t, d, features(2))
	if _, err := d.CompareMethods(t.Context(), me, desk.MethodsAsk{Field: snapshot.Yield}, nil); records.CodeOf(err) != records.Invalid {
		t.Errorf("scoring on two wells gives %v", err)
	}
}

// TestInverseDistanceOnAGrid: the same numbers as the method itself gives on
// the wells' own positions, at every node, and nothing where no well stands
// near.
func TestInverseDistanceOnAGrid(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	utm, err := position.EPSG(32624)
	if err != nil {
		t.Fatal(err)
	}
	x0, y0 := utm.Forward(position.LonLat{Lon: -40.05, Lat: 43.96})
	grid := surface.Grid{Cols: 30, Rows: 25, MinX: x0, MinY: y0, CellW: 1500, CellH: 1500}
	asked := desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByInverseDistance, IDW: surface.IDW{Power: 2, Neighbours: 12}, Everywhere: true}
	f, _, err := d.SurfaceOn(t.Context(), me, asked, grid, utm)
	if err != nil {
		t.Fatal(err)
	}
	var x, y, v []float64
	var key []uint64
	d.Picture().Each(func(r snapshot.Row) bool {
		lon, lat, _ := r.Position()
		px, py := utm.Forward(position.LonLat{Lon: lon, Lat: lat})
		x, y, v, key = append(x, px), append(y, py), append(v, r.Value(snapshot.Bedrock).Value), append(key, r.Key())
		return true
	})
	ix, err := near.New(x, y, key)
	if err != nil {
		t.Fatal(err)
	}
	for row := range grid.Rows {
		for col := range grid.Cols {
			want := asked.IDW.At(ix, v, grid.X(col), grid.Y(row))
			if got := f.Values[grid.Index(col, row)]; math.Abs(got-want) > 1e-9*math.Abs(want) {
				t.Fatalf("node %d, %d: %.12g, want %.12g", col, row, got, want)
			}
		}
	}
	asked.Everywhere = false
	bare, _, err := d.SurfaceOn(t.Context(), me, asked, grid, utm)
	if err != nil {
		t.Fatal(err)
	}
	missing := 0
	for i, v := range bare.Values {
		if math.IsNaN(v) {
			missing++
		} else if v != f.Values[i] {
			t.Fatalf("node %d differs where it is supported: %g and %g", i, v, f.Values[i])
		}
	}
	if missing == 0 || missing == len(bare.Values) {
		t.Errorf("%d of %d nodes without support", missing, len(bare.Values))
	}
	far := surface.Grid{Cols: 2, Rows: 1, MinX: x0 + 400_000, MinY: y0, CellW: 10, CellH: 10}
	if f, _, err := d.SurfaceOn(t.Context(), me, asked, far, utm); err != nil || !math.IsNaN(f.Values[0]) {
		t.Errorf("400 km away: %v, %v", f.Values, err)
	}
	for _, wrong := range []surface.Grid{{}, {Cols: 2, Rows: 2, CellW: -1, CellH: 1}} {
		if _, _, err := d.SurfaceOn(t.Context(), me, asked, wrong, utm); records.CodeOf(err) != records.Invalid {
			t.Errorf("grid %+v gives %v", wrong, err)
		}
	}
	asked.IDW.Power = -1
	if _, _, err := d.SurfaceOn(t.Context(), me, asked, grid, utm); records.CodeOf(err) != records.Invalid {
		t.Errorf("a power of -1 gives %v", err)
	}
}

// TestSurfaceAt: the estimate's surface is the estimate, and NaN far from any
// well; every reading stays within what it can be.
func TestSurfaceAt(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	nodes := []position.LonLat{amid, {Lon: amid.Lon + 0.03, Lat: amid.Lat}, {Lon: -20, Lat: 50}}
	o, err := d.Scout(t.Context(), me, amid, nil)
	if err != nil {
		t.Fatal(err)
	}
	for r := desk.Middle; r <= desk.Promise; r++ {
		if back, err := desk.ParseReading(r.String()); err != nil || back != r {
			t.Errorf("%v comes back as %v, %v", r, back, err)
		}
		asked := desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByNeighbours, Reading: r, Threshold: 12}
		s, err := d.SurfaceAt(t.Context(), me, asked, nodes)
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Values) != 3 || !math.IsNaN(s.Values[2]) || math.IsNaN(s.Values[0]) {
			t.Errorf("%v: %v", r, s.Values)
		}
		switch r {
		case desk.Middle:
			if want := o.Fields[0].Best().Median(); math.Abs(s.Values[0]-want) > 0.5 {
				t.Errorf("median %g, and scouting there says %g", s.Values[0], want)
			}
		case desk.Spread:
			if s.Values[0] < 0 {
				t.Errorf("a range of %g", s.Values[0])
			}
		case desk.Chance:
			if s.Values[0] < 0 || s.Values[0] > 1 {
				t.Errorf("a chance of %g", s.Values[0])
			}
		}
	}
	if _, err := d.SurfaceAt(t.Context(), me, desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByNeighbours}, nodes); records.CodeOf(err) != records.Invalid {
		t.Errorf("no reading gives %v", err)
	}
	idw := desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByInverseDistance, IDW: surface.IDW{Power: 2, Neighbours: 12}}
	s, err := d.SurfaceAt(t.Context(), me, idw, nodes)
	if err != nil || math.Abs(s.Values[0]-12.4) > 1 || !math.IsNaN(s.Values[2]) {
		t.Errorf("inverse distance gives %v, %v", s, err)
	}
	for m := desk.ByNeighbours; m <= desk.ByInverseDistance; m++ {
		if back, err := desk.ParseMethod(m.String()); err != nil || back != m {
			t.Errorf("%v comes back as %v, %v", m, back, err)
		}
	}
}

// TestModelIsKeptAndFollowsEdits: asked again it is the same one, after an
// edit a new one that knows of it.
func TestModelIsKeptAndFollowsEdits(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	model := func(f *snapshot.Filter) *desk.Model {
		t.Helper()
		m, err := d.Model(t.Context(), snapshot.Bedrock, f)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	first := model(nil)
	if model(&snapshot.Filter{}) != first {
		t.Error("asked again, it is made again")
	}
	deep := 64.0
	if f := model(&snapshot.Filter{Depth: snapshot.Range{Min: &deep}}); f == first || len(f.Selection.Rows) >= 200 {
		t.Error("a filter changes nothing")
	}
	plain(t, d, func(w *records.Well) { w.Place.Lon, w.Place.Lat = amid.Lon, amid.Lat })
	second := model(nil)
	if second == first || len(second.Selection.Rows) != 201 || second.Commit != d.Picture().Commit() {
		t.Errorf("after an edit it stands on %d wells of commit %d, want 201 of %d", len(second.Selection.Rows), second.Commit, d.Picture().Commit())
	}
	plain(t, d, nil)
	if third := model(nil); len(third.Selection.Rows) != 202 {
		t.Errorf("after another edit it stands on %d wells", len(third.Selection.Rows))
	}
}

// TestSameDataSameNumbers: two databases of the same file estimate alike.
func TestSameDataSameNumbers(t *testing.T) {
	var all []predict.Scores
	for range 2 {
		d, _ := newDesk(t)
		mustTakeIn(t, d, features(300))
		s, err := d.CompareMethods(t.Context(), me, desk.MethodsAsk{Field: snapshot.Bedrock}, nil)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, s.Methods...)
	}
	n := len(all) / 2
	for i := range n {
		a, b := all[i], all[n+i]
		if diff := cmp.Diff([]float64{a.MAE, a.RMSE, a.CRPS}, []float64{b.MAE, b.RMSE, b.CRPS}, cmpopts.EquateNaNs()); diff != "" || a.Tested == 0 {
			t.Errorf("%v on %d wells:\n%s", a.Method, a.Tested, diff)
		}
	}
}
