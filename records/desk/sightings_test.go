package desk_test

import (
	"math"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/records/snapshot"
)

func saveSighting(t testing.TB, d *desk.Desk, s *records.Sighting) {
	t.Helper()
	if _, err := d.SaveSighting(t.Context(), me, s, ""); err != nil {
		t.Fatal(err)
	}
}

// estimateAt is the estimate of a field at a place.
func estimateAt(t testing.TB, d *desk.Desk, at position.LonLat, f snapshot.Field) desk.FieldOutlook {
	t.Helper()
	o, err := d.Scout(t.Context(), me, at, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, got := range o.Fields {
		if got.Field == f {
			return got
		}
	}
	t.Fatalf("nothing is said of %s", f)
	return desk.FieldOutlook{}
}

// What was seen beside the road enters the estimate as soon as it is written,
// leaves it when it is taken out, and is never counted as a well.
func TestSightingsEnterTheEstimate(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	at := position.LonLat{Lon: -40 + 10*0.012, Lat: 44 + 4.5*0.009} // the wells around say about 13 m
	before := estimateAt(t, d, at, snapshot.Bedrock)
	wells := d.Picture().Len()

	ledge := &records.Sighting{Kind: records.SawLedge, Located: true, Lon: at.Lon, Lat: at.Lat, Accuracy: recordstest.Metres[records.Length]("10"), By: "Invented Digger"}
	saveSighting(t, d, ledge)
	after := estimateAt(t, d, at, snapshot.Bedrock)
	if before.FromNeighbours.ZeroShare() != 0 || !(after.FromNeighbours.ZeroShare() > 0.05) || !(after.FromNeighbours.Median() <= before.FromNeighbours.Median()) {
		t.Errorf("a ledge at the site: %.3f of the weight at the surface and a median of %.2f m, before %.3f and %.2f m",
			after.FromNeighbours.ZeroShare(), after.FromNeighbours.Median(), before.FromNeighbours.ZeroShare(), before.FromNeighbours.Median())
	}
	if after.Basis.Wells != before.Basis.Wells+1 || after.Basis.NearestM > 0.001 {
		t.Errorf("it stands on %d with the nearest %.1f m away, want %d and 0 m", after.Basis.Wells, after.Basis.NearestM, before.Basis.Wells+1)
	}
	if p := d.Picture(); p.Len() != wells || p.CountSightings() != 1 {
		t.Errorf("%d wells and %d sightings, want %d and 1", p.Len(), p.CountSightings(), wells)
	}

	if err := d.RemoveSighting(t.Context(), me, ledge.ID, ledge.Revision, "it was a boulder"); err != nil {
		t.Fatal(err)
	}
	if again := estimateAt(t, d, at, snapshot.Bedrock); again.FromNeighbours.Median() != before.FromNeighbours.Median() {
		t.Errorf("taken out again the median is %v m, want %v", again.FromNeighbours.Median(), before.FromNeighbours.Median())
	}

	// Eight feet without refusal: bedrock is deeper, by a bound.
	pit := &records.Sighting{Kind: records.SawNoRefusal, Located: true, Lon: at.Lon, Lat: at.Lat, Depth: recordstest.Feet[records.Depth]("8")}
	saveSighting(t, d, pit)
	bound := estimateAt(t, d, at, snapshot.Bedrock)
	if bound.Basis.Bounds != before.Basis.Bounds+1 {
		t.Errorf("%d bounds were used, want one more than %d", bound.Basis.Bounds, before.Basis.Bounds)
	}
	if a, b := bound.FromNeighbours.Below(2.44), before.FromNeighbours.Below(2.44); a > b+1e-12 {
		t.Errorf("a pit without refusal raises the chance of rock above its end from %v to %v", b, a)
	}
	// A probe that went on below what the wells around say pushes it deeper.
	pit.Depth = recordstest.Feet[records.Depth]("45")
	saveSighting(t, d, pit)
	if deeper := estimateAt(t, d, at, snapshot.Bedrock); !(deeper.FromNeighbours.Median() > before.FromNeighbours.Median()+0.2) {
		t.Errorf("a probe to 45 ft without refusal leaves the median at %v m, was %v m", deeper.FromNeighbours.Median(), before.FromNeighbours.Median())
	}

	// A dry hole speaks of yield.
	yield := estimateAt(t, d, at, snapshot.Yield)
	saveSighting(t, d, &records.Sighting{Kind: records.SawDryHole, Located: true, Lon: at.Lon, Lat: at.Lat})
	dry := estimateAt(t, d, at, snapshot.Yield)
	if need := records.GallonPerMinute.ToBase(1); !(dry.FromNeighbours.AtLeast(need) < yield.FromNeighbours.AtLeast(need)) {
		t.Errorf("a dry hole at the site leaves the chance of 1 gpm at %.3f (was %.3f)", dry.FromNeighbours.AtLeast(need), yield.FromNeighbours.AtLeast(need))
	}
}

func TestSightingsAreRevisedAndUndone(t *testing.T) {
	d, _ := newDesk(t)
	s := recordstest.FullSighting()
	saveSighting(t, d, s)
	stale := *s
	s.Depth = recordstest.Feet[records.Depth]("9")
	saveSighting(t, d, s)
	if _, err := d.SaveSighting(t.Context(), me, &stale, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale write: %v", err)
	}
	faults, err := d.SaveSighting(t.Context(), me, &records.Sighting{Kind: "hunch"}, "")
	if records.CodeOf(err) != records.Invalid || len(faults) < 2 {
		t.Errorf("an unsound one: %v, faults %v", err, faults)
	}
	restore := func(id, revision, current int64) int64 {
		t.Helper()
		got, err := d.RestoreSighting(t.Context(), me, id, revision, current)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	depth := func(id int64) float64 {
		t.Helper()
		got, err := d.Sighting(t.Context(), me, id)
		if err != nil {
			t.Fatal(err)
		}
		return math.Round(float64(got.Depth.Value)*1e4) / 1e4
	}
	if id := restore(s.ID, 1, 2); id != s.ID || depth(id) != 2.4384 {
		t.Errorf("restored as %d with %v m, want %d with 2.4384", id, depth(id), s.ID)
	}
	if _, err := d.RestoreSighting(t.Context(), me, s.ID, 2, 1); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale restore: %v", err)
	}
	if _, err := d.RestoreSighting(t.Context(), me, s.ID, 77, 3); records.CodeOf(err) != records.NotFound {
		t.Errorf("a state that never was: %v", err)
	}
	if err := d.RemoveSighting(t.Context(), me, s.ID, 3, "gone"); err != nil {
		t.Fatal(err)
	}
	revs, err := d.SightingRevisions(t.Context(), me, s.ID)
	if err != nil || len(revs) != 3 || revs[0].Why != "gone" || revs[0].By != me.Name || revs[1].Why != "revision 1 restored" {
		t.Errorf("revisions (%v): %+v", err, revs)
	}
	id := restore(s.ID, 2, 0)
	list, err := d.Sightings(t.Context(), me, nil)
	if err != nil || len(list) != 1 || list[0].ID != id || id == s.ID || list[0].UID != s.UID || depth(id) != 2.7432 {
		t.Errorf("brought back (%v): %+v", err, list)
	}
	if d.Picture().CountSightings() != 1 {
		t.Errorf("%d sightings in the picture", d.Picture().CountSightings())
	}
}
