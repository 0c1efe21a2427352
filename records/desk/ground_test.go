package desk_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"tallybook/geo/ground"
	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
)

// slopeASC is a grid in degrees whose heights are a plane: 100 at its middle,
// one more a cell to the east and two more a cell to the north; "x" marks cells
// without a height.
func slopeASC(cols, rows int, west, south, cell float64, bare func(col, row int) bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner %.10g\nyllcorner %.10g\ncellsize %.10g\nNODATA_value -9999\n", cols, rows, west, south, cell)
	for row := rows - 1; row >= 0; row-- {
		for col := range cols {
			if bare != nil && bare(col, row) {
				b.WriteString("-9999 ")
				continue
			}
			fmt.Fprintf(&b, "%d ", 100+col+2*row)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func load(t testing.TB, d *desk.Desk, name, asc string, change func(*desk.GroundLoad)) *records.GroundGrid {
	t.Helper()
	g, err := loadGround(t.Context(), d, name, asc, change)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func loadGround(ctx context.Context, d *desk.Desk, name, asc string, change func(*desk.GroundLoad)) (*records.GroundGrid, error) {
	in := desk.GroundLoad{File: strings.NewReader(asc), Name: name, Source: name + ".asc", EPSG: 4326, Unit: "m", VertDatum: "mean sea level (invented)"}
	if change != nil {
		change(&in)
	}
	return d.LoadGround(ctx, me, in)
}

func groundAt(t testing.TB, d *desk.Desk, lon, lat float64) desk.GroundAt {
	t.Helper()
	at, err := d.Ground(t.Context(), me, position.LonLat{Lon: lon, Lat: lat})
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// The finest grid that has a height at a place answers, in metres, with its
// name and datum; where it has none the next does; and nothing where none has.
func TestGroundOfTheFinestGrid(t *testing.T) {
	d, _ := newDesk(t)
	if at := groundAt(t, d, -39.5, 44.5); at.OK {
		t.Errorf("without a grid: %+v", at)
	}
	load(t, d, "coarse", slopeASC(100, 100, -40, 44, 0.01, nil), func(in *desk.GroundLoad) { in.Unit = "ft" })
	fine := load(t, d, "fine", slopeASC(300, 300, -39.6, 44.4, 0.001, func(col, row int) bool { return col < 10 }), nil)
	if fine.Cols != 300 || fine.Filled != 300*290 || fine.LowM != 110 || fine.HighM != 100+299+2*299 || fine.State != records.GroundInUse || len(fine.SHA256) != 64 {
		t.Errorf("loaded: %+v", fine)
	}
	// A cell of 0.001 degrees at latitude 44.55 is 111.1 m high (the meridian's
	// degree there is 111.13 km) and 79.4 m wide (cos 44.55° x 111.5 km): 93.9 m.
	if math.Abs(fine.CellM-93.9) > 0.1 {
		t.Errorf("cells of %g m", fine.CellM)
	}
	for _, p := range []struct {
		lon, lat float64
		grid     string
		want     float64
	}{
		// 100.5 cells east of the fine grid's edge is 100 cells from its first centre.
		{-39.6 + 0.1005, 44.4 + 0.0505, "fine", 100 + 100 + 2*50},
		{-39.6 + 0.10075, 44.4 + 0.05075, "fine", 100 + 100.25 + 2*50.25},
		// West of column 10 the fine one has none: the coarse one, in feet. The place
		// is 40.5 of its cells from the west edge and 45.5 from the south.
		{-39.6 + 0.005, 44.455, "coarse", (100 + 40 + 2*45) * 0.3048},
		{-39.995, 44.005, "coarse", 100 * 0.3048},
		{-40.001, 44.5, "", 0},
	} {
		at := groundAt(t, d, p.lon, p.lat)
		if at.Grid != p.grid || math.Abs(at.ElevationM-p.want) > 1e-9 || at.OK != (p.grid != "") || at.OK && at.Datum != "mean sea level (invented)" {
			t.Errorf("at %g, %g: %+v, want %g of %q", p.lon, p.lat, at, p.want, p.grid)
		}
	}
}

// Many places at once give what each gives alone, in their order.
func TestGroundAlong(t *testing.T) {
	d, _ := newDesk(t)
	load(t, d, "g", slopeASC(2*ground.Side+5, ground.Side+9, -40, 44, 0.001, func(col, row int) bool { return (col+row)%97 == 0 }), nil)
	var places []position.LonLat
	for i := range 500 {
		places = append(places, position.LonLat{Lon: -40 + math.Mod(float64(i)*0.618, 1)*0.27, Lat: 44 + math.Mod(float64(i)*0.371, 1)*0.14})
	}
	all, err := d.GroundAlong(t.Context(), me, places)
	if err != nil {
		t.Fatal(err)
	}
	some := 0
	for i, p := range places {
		if at := groundAt(t, d, p.Lon, p.Lat); at != all[i] {
			t.Fatalf("place %d: %+v alone and %+v among the others", i, at, all[i])
		}
		if all[i].OK {
			some++
			want := 100 + (p.Lon+40)/0.001 - 0.5 + 2*((p.Lat-44)/0.001-0.5)
			if math.Abs(all[i].ElevationM-want) > 1.5 { // half a cell at the edges
				t.Errorf("place %d: %g, want %g", i, all[i].ElevationM, want)
			}
		}
	}
	if some < 300 || some == len(places) {
		t.Errorf("%d of %d places have a height", some, len(places))
	}
}

// A grid taken out answers no more, put back it does, and deleted it is gone. One
// of the same name takes the place of the one before, which can be put back.
func TestGroundTakenOutAndReplaced(t *testing.T) {
	d, path := newDesk(t)
	first := load(t, d, "g", slopeASC(5, 5, -40, 44, 0.01, nil), nil)
	lon, lat := -40+0.025, 44+0.025
	if at := groundAt(t, d, lon, lat); math.Abs(at.ElevationM-106) > 1e-9 {
		t.Errorf("%+v", at)
	}
	second := load(t, d, "g", slopeASC(3, 3, -40, 44, 0.02, nil), nil)
	if at := groundAt(t, d, lon, lat); at.GridID != second.ID {
		t.Errorf("replaced: %+v", at)
	}
	list, err := d.GroundGrids(t.Context(), me)
	if err != nil || len(list) != 2 || list[0].ID != second.ID || list[1].State != records.GroundOut {
		t.Fatalf("%v %+v", err, list)
	}
	if _, err := d.PutBackGround(t.Context(), me, first.ID, list[1].Revision, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("two of one name: %v", err)
	}
	if _, err := d.TakeOutGround(t.Context(), me, second.ID, second.Revision+1, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("stale: %v", err)
	}
	if err := d.DeleteGround(t.Context(), me, second.ID, second.Revision, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("deleting one in use: %v", err)
	}
	out, err := d.TakeOutGround(t.Context(), me, second.ID, second.Revision, "old")
	if err != nil {
		t.Fatal(err)
	}
	if at := groundAt(t, d, lon, lat); at.OK {
		t.Errorf("taken out: %+v", at)
	}
	back, err := d.PutBackGround(t.Context(), me, first.ID, list[1].Revision, "")
	if err != nil {
		t.Fatal(err)
	}
	if at := groundAt(t, d, lon, lat); at.GridID != first.ID || math.Abs(at.ElevationM-106) > 1e-9 {
		t.Errorf("put back: %+v", at)
	}
	if err := d.DeleteGround(t.Context(), me, out.ID, out.Revision, "not needed"); err != nil {
		t.Fatal(err)
	}
	if list, err := d.GroundGrids(t.Context(), me); err != nil || len(list) != 1 || list[0].ID != back.ID {
		t.Errorf("after deleting: %v %+v", err, list)
	}
	if r := mustCheck(t, d); !r.Sound() {
		t.Errorf("check: %+v", r.Problems)
	}
	damage(t, path, "UPDATE ground_tiles SET data = x'00'")
	r := mustCheck(t, d)
	if r.Sound() || !strings.Contains(r.Problems[0].Fault.Message, "damaged") {
		t.Errorf("damaged tiles were not told: %+v", r.Problems)
	}
}

func mustCheck(t testing.TB, d *desk.Desk) *desk.CheckReport {
	t.Helper()
	r, err := d.Check(t.Context(), me, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What cannot be loaded says why, and leaves nothing.
func TestGroundRefused(t *testing.T) {
	d, _ := newDesk(t)
	good := slopeASC(5, 5, -40, 44, 0.01, nil)
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	for name, c := range map[string]struct {
		asc    string
		change func(*desk.GroundLoad)
		say    string
	}{
		"no coordinates": {good, func(in *desk.GroundLoad) { in.EPSG = 0 }, "EPSG"},
		"foreign code":   {good, func(in *desk.GroundLoad) { in.EPSG = 2263 }, "EPSG:2263"},
		"foreign text":   {good, func(in *desk.GroundLoad) { in.EPSG, in.PRJ = 0, "Projection STATEPLANE" }, "well-known text"},
		"wrong zone":     {good, func(in *desk.GroundLoad) { in.EPSG = 32619 }, "nowhere"},
		"metres":         {slopeASC(5, 5, 400000, 4.9e6, 10, nil), nil, "nowhere"},
		"no name":        {good, func(in *desk.GroundLoad) { in.Name = " " }, "name"},
		"no unit":        {good, func(in *desk.GroundLoad) { in.Unit = "fathom" }, "unit"},
		"too high":       {strings.Replace(good, "112", "32767", 1), nil, "NODATA_value 32767"},
		"cut off":        {good[:len(good)-20], nil, "cut off"},
		"more":           {good + " 7", nil, "more than the 25"},
		"letters":        {strings.Replace(good, "107", "1O7", 1), nil, `line 8 of the grid, column 5, "1O7"`},
		"no height":      {slopeASC(5, 5, -40, 44, 0.01, func(int, int) bool { return true }), nil, "no cell"},
		"a GeoTIFF":      {"II*\x00\b\x00\x00\x00", nil, "gdal_translate -of AAIGrid"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := loadGround(t.Context(), d, "g", c.asc, c.change)
			if records.CodeOf(err) != records.Invalid || !strings.Contains(err.Error(), c.say) {
				t.Errorf("%v does not say %q", err, c.say)
			}
		})
	}
	if _, err := loadGround(cancelled, d, "g", good, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	list, err := d.GroundGrids(t.Context(), me)
	if r := mustCheck(t, d); err != nil || len(list) != 0 || !r.Sound() || len(r.Notes) != 0 {
		t.Errorf("left behind: %v %+v %+v", err, list, r)
	}
	if _, err := d.LoadGround(t.Context(), stranger, desk.GroundLoad{}); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger loads: %v", err)
	}
	if _, err := d.Ground(t.Context(), stranger, position.LonLat{}); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger looks: %v", err)
	}
}

// What a program that ended in the middle left behind is seen by nobody, told by
// check, and cleared away by the next loading.
func TestGroundUnfinished(t *testing.T) {
	d, path := newDesk(t)
	g := load(t, d, "g", slopeASC(5, 5, -40, 44, 0.01, nil), nil)
	damage(t, path, fmt.Sprintf(`UPDATE ground_grids SET state = 'staged', doc = replace(doc, '"in_use"', '"staged"') WHERE id = %d`, g.ID))
	d = openDesk(t, path, 0)
	if at := groundAt(t, d, -39.975, 44.025); at.OK {
		t.Errorf("half a grid is read: %+v", at)
	}
	if r := mustCheck(t, d); !r.Sound() || len(r.Notes) != 1 || !strings.Contains(r.Notes[0], "not finished") {
		t.Errorf("check: %+v", r)
	}
	load(t, d, "h", slopeASC(5, 5, -40, 44, 0.01, nil), nil)
	if r := mustCheck(t, d); !r.Sound() || len(r.Notes) != 0 {
		t.Errorf("after the next: %+v", r)
	}
}

// A record's own elevation is used and never written over; where it differs from
// a grid's by more than the stated amount its page and check say so.
func TestGroundBesideTheRecord(t *testing.T) {
	d, _ := newDesk(t)
	load(t, d, "g", slopeASC(5, 5, -40, 44, 0.01, nil), nil)
	at := func(number string, elevation records.Amount[records.Height]) *records.Well {
		return &records.Well{Number: number, Place: records.Place{Located: true, Lon: -40 + 0.025, Lat: 44 + 0.025, Elevation: elevation}}
	}
	ids := map[string]int64{}
	for _, w := range []*records.Well{at("none", records.Amount[records.Height]{}), at("near", records.Of(records.Height(103))), at("apart", records.Of(records.Height(102.9))),
		{Number: "nowhere", Place: records.Place{Elevation: records.Of(records.Height(1))}}} {
		if _, err := d.Save(t.Context(), me, w, ""); err != nil {
			t.Fatal(err)
		}
		ids[w.Number] = w.ID
	}
	for number, want := range map[string]bool{"none": false, "near": false, "apart": true, "nowhere": false} {
		s, err := d.Well(t.Context(), me, ids[number])
		if err != nil {
			t.Fatal(err)
		}
		said := false
		for _, f := range s.Faults {
			said = said || strings.Contains(f.Message, "elevation grid") && f.Severity == records.Warning
		}
		if said != want || s.Ground.OK != (number != "nowhere") || s.Ground.OK && math.Abs(s.Ground.ElevationM-106) > 1e-9 {
			t.Errorf("%s: said %v, want %v; %+v", number, said, want, s.Ground)
		}
		if number == "none" && s.Well.Place.Elevation.Known() {
			t.Error("a derived elevation stands in the record")
		}
	}
	r := mustCheck(t, d)
	if !r.Sound() || len(r.Notes) != 1 || !strings.Contains(r.Notes[0], "(apart)") || !strings.Contains(r.Notes[0], "3.1 m (10 ft) apart") {
		t.Errorf("check: %+v", r)
	}
	c, err := d.GroundCover(t.Context(), me)
	if err != nil || c.Wells != 4 || c.Located != 3 || c.Recorded != 2 || c.Derived != 1 || c.Without != 0 || c.Held != 2 || c.Apart != 1 || len(c.Most) != 1 || c.Most[0].ID != ids["apart"] {
		t.Errorf("cover: %+v, %v", c, err)
	}
}
