package desk_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// eastward runs between the two southernmost rows of features, 500 m from
// each: 0.0045 degrees of latitude at 44 degrees north are 500.0 m (a degree of
// the meridian there is 111,113 m, worked from the ellipsoid of WGS 84).
func eastward() []position.LonLat {
	return []position.LonLat{{Lon: -40.006, Lat: 44.0045}, {Lon: -39.766, Lat: 44.0045}}
}

func section(t *testing.T, d *desk.Desk, ask desk.SectionAsk) *desk.Section {
	t.Helper()
	s, err := d.Section(t.Context(), me, ask)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSectionFindsItsWells(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	if s := section(t, d, desk.SectionAsk{Line: eastward(), WidthM: 980}); s.Standing != 0 || len(s.Wells) != 0 || s.Nearest == nil || math.Abs(math.Abs(s.Nearest.OffM)-500) > 8 {
		t.Errorf("490 m to either side: %d wells, the nearest %+v", s.Standing, s.Nearest)
	}
	s := section(t, d, desk.SectionAsk{Line: eastward(), WidthM: 1030})
	if s.Standing != 40 || len(s.Wells) != 40 {
		t.Fatalf("%d wells stand in it, %d are drawn; want the 40 of two rows", s.Standing, len(s.Wells))
	}
	begin := eastward()[0]
	last := -1.0
	for i := range s.Wells {
		w := &s.Wells[i]
		at := position.LonLat{Lon: w.Well.Place.Lon, Lat: w.Well.Place.Lat}
		// South of a line to the east is right of it.
		want := 500.0
		if at.Lat > 44.0045 {
			want = -500
		}
		if math.Abs(w.OffM-want) > 8 { // a parallel bulges by 7 m over 19 km at 44 degrees (worked by hand: x^2 tan(lat) / 2R)
			t.Errorf("%s lies %g m off, want %g", w.Well.Number, w.OffM, want)
		}
		// By Pythagoras on the geodesic's length, which GeographicLib vouches for
		// (see geo/position).
		far, _ := position.Distance(begin, at)
		if along := math.Sqrt(far*far - w.OffM*w.OffM); math.Abs(along-w.AlongM) > 0.1 {
			t.Errorf("%s lies %g m along, want %g", w.Well.Number, w.AlongM, along)
		}
		if w.AlongM < last {
			t.Errorf("%s stands out of order", w.Well.Number)
		}
		last = w.AlongM
	}
	if !s.NoElevation || !s.ByDepth {
		t.Error("no elevation is known, and yet it does not hang on the ground")
	}
}

func TestSectionSaysWhatIsLeftOut(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	wide := desk.SectionAsk{Line: eastward(), WidthM: 3100} // three rows
	s := section(t, d, wide)
	if s.Standing != 60 || len(s.Wells) != desk.MostSectionWells || len(s.Out) != 20 {
		t.Fatalf("%d stand, %d drawn, %d left out", s.Standing, len(s.Wells), len(s.Out))
	}
	for _, o := range s.Out {
		if o.Why != desk.OutTooMany || math.Abs(o.OffM) < 1000 {
			t.Errorf("left out: %+v; the nearest to the line are to be drawn", o)
		}
	}
	ask := desk.SectionAsk{Line: eastward(), WidthM: 1030}
	ask.Without = []int64{section(t, d, ask).Wells[3].Well.ID}
	deep := 60.5 // the second row is 61 m deep
	ask.Filter = snapshot.Filter{Depth: snapshot.Range{Min: &deep}}
	s = section(t, d, ask)
	by := map[desk.OutReason]int{}
	for _, o := range s.Out {
		by[o.Why]++
	}
	if s.Standing != 40 || len(s.Wells)+len(s.Out) != 40 || by[desk.OutByReader] != 1 || by[desk.OutByFilter] < 19 {
		t.Errorf("%d stand, %d drawn, left out %v", s.Standing, len(s.Wells), by)
	}
}

// The bedrock of a section is that of the surface at the same places, and
// stands where the surface is supported and nowhere else.
func TestSectionAgreesWithTheSurface(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	line := []position.LonLat{{Lon: -40.2, Lat: 44.05}, amid, {Lon: -39.7, Lat: 44.0}}
	s := section(t, d, desk.SectionAsk{Line: line, WidthM: 500})
	var nodes []position.LonLat
	for _, st := range s.Stations {
		nodes = append(nodes, st.At)
	}
	want, err := d.SurfaceAt(t.Context(), me, desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByNeighbours, Reading: desk.Middle}, nodes)
	if err != nil {
		t.Fatal(err)
	}
	spread, err := d.SurfaceAt(t.Context(), me, desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByNeighbours, Reading: desk.Spread}, nodes)
	if err != nil {
		t.Fatal(err)
	}
	told, bare := 0, 0
	for i := range s.Stations {
		st := &s.Stations[i]
		if st.Told() != !math.IsNaN(want.Values[i]) {
			t.Errorf("at %.0f m the section and the surface differ on whether anything is told", st.AlongM)
		}
		if !st.Told() {
			bare++
			continue
		}
		told++
		if st.MiddleM != want.Values[i] || math.Abs(st.HighM-st.LowM-spread.Values[i]) > 1e-9 || st.Flat != want.Flat[i] {
			t.Errorf("at %.0f m: %g (%g to %g), the surface says %g, %g wide", st.AlongM, st.MiddleM, st.LowM, st.HighM, want.Values[i], spread.Values[i])
		}
	}
	if told < 50 || bare < 20 {
		t.Errorf("%d places told, %d not: the line leaves the wells and comes back to them", told, bare)
	}
}

// Where some wells have an elevation, the ground of the others is read between
// them and marked as read.
func TestSectionGround(t *testing.T) {
	d, _ := newDesk(t)
	var wells []*records.Well
	for i := range 20 {
		w := &records.Well{Number: fmt.Sprintf("E-%d", i), TotalDepth: records.Of(records.Depth(50)), Bedrock: records.Of(records.Depth(10))}
		w.Place.Located, w.Place.Lon, w.Place.Lat = true, -40+float64(i)*0.002, 44
		if i != 7 {
			w.Place.Elevation, w.Place.VertDatum = records.Of(records.Height(100+float64(i))), "an invented datum"
		}
		wells = append(wells, w)
	}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	ask := desk.SectionAsk{Line: []position.LonLat{{Lon: -40, Lat: 44}, {Lon: -39.962, Lat: 44}}, WidthM: 100}
	s := section(t, d, ask)
	if s.ByDepth || s.NoElevation || s.Ground != desk.GroundBetween || len(s.Wells) != 20 {
		t.Fatalf("by depth %v, ground %v, %d wells", s.ByDepth, s.Ground, len(s.Wells))
	}
	for i := range s.Wells {
		w := &s.Wells[i]
		if i == 7 {
			// Between 106 and 108 m, and the farther ones weigh evenly on both sides.
			if w.GroundIs != desk.GroundBetween || math.Abs(w.GroundM-107) > 0.5 {
				t.Errorf("the ground of the seventh is %g (%v)", w.GroundM, w.GroundIs)
			}
			if e := w.BedrockElevation(); e.Qualifier != records.About || math.Abs(float64(e.Value)-97) > 0.5 {
				t.Errorf("its bedrock stands at %+v", e)
			}
			continue
		}
		if w.GroundIs != desk.GroundOfRecord || w.GroundM != 100+float64(i) {
			t.Errorf("%s: %g (%v)", w.Well.Number, w.GroundM, w.GroundIs)
		}
	}
	for i := range s.Stations {
		if g := s.Stations[i].GroundM; !(g >= 100 && g <= 119) {
			t.Errorf("the ground at %.0f m is %g, beyond all wells", s.Stations[i].AlongM, g)
		}
	}
	ask.ByDepth = true
	if s := section(t, d, ask); !s.ByDepth || s.NoElevation {
		t.Error("asked by depth, it does not hang on the ground")
	}
}

func TestBedrockElevationTurnsBounds(t *testing.T) {
	at := func(d records.Amount[records.Depth]) records.Amount[records.Height] {
		w := &desk.SectionWell{Sheet: &desk.Sheet{Well: &records.Well{}, Picks: records.Picks{Bedrock: records.Pick{Depth: d}}}, GroundM: 200, GroundIs: desk.GroundOfRecord}
		return w.BedrockElevation()
	}
	for _, c := range []struct {
		depth records.Amount[records.Depth]
		want  records.Amount[records.Height]
	}{
		{records.Of(records.Depth(30)), records.Of(records.Height(170))},
		{records.Roughly(records.Depth(30)), records.Roughly(records.Height(170))},
		{records.MoreThan(records.Depth(30)), records.Under(records.Height(170))},
		{records.Under(records.Depth(30)), records.MoreThan(records.Height(170))},
		{records.Within(records.Depth(30), records.Depth(40)), records.Within(records.Height(160), records.Height(170))},
		{records.Amount[records.Depth]{}, records.Amount[records.Height]{}},
	} {
		if got := at(c.depth); got != c.want {
			t.Errorf("%+v below 200 m: %+v, want %+v", c.depth, got, c.want)
		}
	}
}

func TestSectionRefuses(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(60))
	at := position.LonLat{Lon: -40, Lat: 44}
	for name, c := range map[string]struct {
		ask  desk.SectionAsk
		code records.Code
	}{
		"no line":        {desk.SectionAsk{WidthM: 100}, records.Invalid},
		"one place":      {desk.SectionAsk{Line: []position.LonLat{at}, WidthM: 100}, records.Invalid},
		"no length":      {desk.SectionAsk{Line: []position.LonLat{at, at}, WidthM: 100}, records.Invalid},
		"off the earth":  {desk.SectionAsk{Line: []position.LonLat{at, {Lon: 200, Lat: 44}}, WidthM: 100}, records.Invalid},
		"no width":       {desk.SectionAsk{Line: eastward()}, records.Invalid},
		"NaN wide":       {desk.SectionAsk{Line: eastward(), WidthM: math.NaN()}, records.Invalid},
		"too wide":       {desk.SectionAsk{Line: eastward(), WidthM: 1e6}, records.Invalid},
		"too long":       {desk.SectionAsk{Line: []position.LonLat{at, {Lon: -30, Lat: 44}}, WidthM: 100}, records.TooLarge},
		"too many bends": {desk.SectionAsk{Line: make([]position.LonLat, desk.MostSectionPlaces+1), WidthM: 100}, records.TooLarge},
	} {
		if _, err := d.Section(t.Context(), me, c.ask); records.CodeOf(err) != c.code {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := d.Section(t.Context(), stranger, desk.SectionAsk{Line: eastward(), WidthM: 100}); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger gets %v", err)
	}
}

// A line over the antimeridian finds the wells on both sides of it.
func TestSectionOverTheAntimeridian(t *testing.T) {
	d, _ := newDesk(t)
	var wells []*records.Well
	for i, lon := range []float64{179.99, -179.99, 179.999, 0} {
		w := &records.Well{Number: fmt.Sprintf("A-%d", i), TotalDepth: records.Of(records.Depth(50))}
		w.Place.Located, w.Place.Lon, w.Place.Lat = true, lon, -16
		wells = append(wells, w)
	}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	s := section(t, d, desk.SectionAsk{Line: []position.LonLat{{Lon: 179.98, Lat: -16}, {Lon: -179.98, Lat: -16}}, WidthM: 200})
	var got []string
	for i := range s.Wells {
		got = append(got, s.Wells[i].Well.Number)
	}
	if strings.Join(got, " ") != "A-0 A-2 A-1" {
		t.Errorf("along the line stand %v", got)
	}
}

func TestSectionFiles(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	s := section(t, d, desk.SectionAsk{Line: eastward(), WidthM: 1030})
	var b bytes.Buffer
	read := func(write func(*desk.Section) error) [][]string {
		b.Reset()
		if err := write(s); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&b).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return rows
	}
	wells := read(func(s *desk.Section) error { return s.WriteWellsCSV(&b) })
	if len(wells) != 41 || wells[0][3] != "off_line_m" {
		t.Errorf("%d rows", len(wells))
	}
	if line := read(func(s *desk.Section) error { return s.WriteLineCSV(&b) }); len(line) != len(s.Stations)+1 {
		t.Errorf("%d rows for %d places", len(line), len(s.Stations))
	}
	b.Reset()
	if err := s.WriteLine(&b); err != nil {
		t.Fatal(err)
	}
	if _, err := desk.LayerLines([]byte(`{"type":"FeatureCollection","features":[` + b.String() + `]}`)); err != nil {
		t.Errorf("the line is not read back: %v", err)
	}
	b.Reset()
	if err := s.WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	var all struct {
		Wells    []map[string]any
		Stations []map[string]any
	}
	if err := json.Unmarshal(b.Bytes(), &all); err != nil || len(all.Wells) != 40 || len(all.Stations) != len(s.Stations) {
		t.Errorf("%d wells, %d stations, %v", len(all.Wells), len(all.Stations), err)
	}
}
