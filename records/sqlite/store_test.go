package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// rich is a record with something in every corner. What a file gives in
// numbers of the base unit comes back with its digits as given.
func rich(t testing.TB) *records.Well {
	t.Helper()
	text := `{"number":"A-1.5","permit_number":"P 77","status":"in_use","purpose":"domestic","counts_for_yield":false,
	"coordinates_given":"44 30.5 N 71 15.2 W","datum":"WGS84","located_by":"gps","accuracy_m":5,"ground_elevation_m":231.50,"vertical_datum":"local",
	"parcel":"12-34","access_notes":"mind the dog \"Rex\"","owner":{"name":"Nobody Ünreal","address":"1 Nowhere","telephone":"0"},"site":{"address":"2 Nowhere"},
	"crew":{"driller":"D","licence":"L"},"setting":"slope","rock_unit":"Upper Schist","completed":"1987-06","shifts":[{"date":"1987-06-01","from_m":0,"to_m":10.0}],
	"total_depth_m":62.10,"depth_to_bedrock_m":12,"depth_to_bedrock_qualifier":"greater_than","static_level_m":-0.5,
	"yield_lps":0.1,"yield_high_lps":0.2,"yield_qualifier":"between","casing":[{"from_m":-0.5,"to_m":14.0,"material":"steel","heat":"K12"}],
	"strata":[{"top_m":0,"bottom_m":12.0,"description":"brn \"clay\" w/ cobbles","lab":7},{"top_m":12.0,"bottom_m":62.10,"description":"granite"}],
	"strikes":[{"depth_m":40}],"quality":[{"kind":"iron","value":0.3,"value_qualifier":"less_than","unit":"mg/L"}],
	"remarks":"🪨 line\nbreak \u2028","provenance":{"source":"batch","note":"n"},"tile":{"a":[1,2.50,"x"]}}`
	w := &records.Well{}
	if faults := w.ParseProperties([]byte(text)); len(faults) > 0 {
		t.Fatalf("the test's own record has faults: %v", faults)
	}
	w.Place.Located, w.Place.Lon, w.Place.Lat = true, -71.25333333333334, 44.508333333333333
	w.Place.LonText, w.Place.LatText = "-71.253333333333340", "44.5083333333333330"
	w.Provenance.Row, w.Provenance.SourceID = 17, `"abc"`
	return w
}

func TestRecordsComeBackWhole(t *testing.T) {
	s, path := newStore(t)
	for name, w := range map[string]*records.Well{
		"rich":        rich(t),
		"empty":       {},
		"not located": asWritten(&records.Well{Number: "N", TotalDepth: records.Of(records.Depth(0))}),
		"at nought":   at(0, 0),
		"at the ends": at(180, -90),
		"tiny":        at(1e-9, -1e-300),
	} {
		t.Run(name, func(t *testing.T) {
			want := *w
			put(t, s, w)
			if w.ID == 0 || w.Revision != 1 || w.UID == "" {
				t.Fatalf("after writing: id %d, revision %d, uid %q", w.ID, w.Revision, w.UID)
			}
			want.ID, want.Revision, want.UID = w.ID, 1, w.UID
			if diff := cmp.Diff(&want, read(t, s, w.ID), cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("came back changed (-in +out):\n%s", diff)
			}
		})
	}
	again := open(t, path)
	view(t, again, func(ctx context.Context, v records.StoreView) error {
		n, err := v.CountWells(ctx)
		if n != 6 {
			t.Errorf("a second opening counts %d wells, want 6", n)
		}
		return err
	})
}

func TestManyRecordsComeBackInOrder(t *testing.T) {
	s, _ := newStore(t)
	const n = 1000 // more than are held back, and no multiple of what a statement takes
	wells := make([]*records.Well, n)
	for i := range wells {
		wells[i] = invented(uint64(i))
		if i%7 == 0 {
			wells[i].Strata = nil
		}
		if i%11 == 0 {
			wells[i].Place = records.Place{}
		}
	}
	put(t, s, wells...)
	i := 0
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachWell(ctx, nil, func(w *records.Well) error {
			if diff := cmp.Diff(wells[i], w, cmpopts.EquateEmpty()); diff != "" {
				return fmt.Errorf("well %d (-in +out):\n%s", i, diff)
			}
			i++
			return nil
		})
	})
	if i != n {
		t.Errorf("streamed %d of %d wells", i, n)
	}
	ex(t, s, "SELECT count(*) FROM strata", int64((n-143)*6))
	ex(t, s, "SELECT count(*) FROM idx_wells_geom", int64(n-91))
	ex(t, s, "SELECT class FROM strata WHERE well_id = 2 AND position = 3", "rock")
}

func TestStaleRevisionIsAConflict(t *testing.T) {
	s, _ := newStore(t)
	w := invented(1)
	put(t, s, w)
	stale := *w
	w.Remarks = "second"
	put(t, s, w)
	for name, fn := range map[string]func(context.Context, records.StoreTx) error{
		"put":    func(ctx context.Context, tx records.StoreTx) error { return tx.PutWell(ctx, &stale, "") },
		"remove": func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, w.ID, 1, "") },
		"uid taken": func(ctx context.Context, tx records.StoreTx) error {
			return tx.PutWell(ctx, &records.Well{UID: w.UID}, "")
		},
		"uid taken in the same transaction": func(ctx context.Context, tx records.StoreTx) error {
			if err := tx.PutWell(ctx, &records.Well{UID: "u"}, ""); err != nil {
				return nil // which fails the test
			}
			return tx.PutWell(ctx, &records.Well{UID: "u"}, "")
		},
		"uid changed": func(ctx context.Context, tx records.StoreTx) error {
			other := *w
			other.UID = "another"
			return tx.PutWell(ctx, &other, "")
		},
	} {
		t.Run(name, func(t *testing.T) {
			err := s.Update(t.Context(), someone, func(tx records.StoreTx) error { return fn(t.Context(), tx) })
			if records.CodeOf(err) != records.Conflict {
				t.Errorf("got %v, want a conflict", err)
			}
		})
	}
	if got := read(t, s, w.ID); got.Remarks != "second" || got.Revision != 2 {
		t.Errorf("the record is at revision %d with %q", got.Revision, got.Remarks)
	}
	err := s.Update(t.Context(), someone, func(tx records.StoreTx) error {
		return tx.PutWell(t.Context(), &records.Well{ID: 99, Revision: 1}, "")
	})
	if records.CodeOf(err) != records.NotFound {
		t.Errorf("a well that is not there: %v", err)
	}
}

func TestRevisionsKeepEarlierImages(t *testing.T) {
	s, _ := newStore(t)
	w := rich(t)
	put(t, s, w)
	first := read(t, s, w.ID)
	w.Place.Lon, w.Place.LonText = -70, ""
	put(t, s, w)
	second := read(t, s, w.ID)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, w.ID, 2, "filed twice") })
	var got []records.Revision
	view(t, s, func(ctx context.Context, v records.StoreView) (err error) {
		if _, err := v.Well(ctx, w.ID); records.CodeOf(err) != records.NotFound {
			t.Errorf("a removed well: %v", err)
		}
		got, err = v.Revisions(ctx, w.ID)
		return err
	})
	want := []records.Revision{
		{WellID: w.ID, Revision: 2, Until: noon, By: "A. Writer", Why: "filed twice", Image: second},
		{WellID: w.ID, Revision: 1, Until: noon, By: "A. Writer", Why: "a reason", Image: first},
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("revisions (-want +got):\n%s", diff)
	}
	for _, table := range []string{"wells", "well_records", "strata", "idx_wells_geom"} {
		ex(t, s, "SELECT count(*) FROM "+table, int64(0))
	}
	// Its key is not used again.
	next := at(1, 1)
	put(t, s, next)
	if next.ID <= w.ID {
		t.Errorf("the next well has key %d, not above %d", next.ID, w.ID)
	}
}

func TestUpdateIsAllOrNothing(t *testing.T) {
	s, _ := newStore(t)
	kept := invented(1)
	put(t, s, kept)
	before, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	stop := errors.New("stop")
	write := func(ctx context.Context, tx records.StoreTx) error {
		for i := range 300 {
			if err := tx.PutWell(ctx, invented(uint64(100+i)), ""); err != nil {
				return err
			}
		}
		changed := *kept
		changed.Remarks = "changed"
		return errors.Join(tx.PutWell(ctx, &changed, ""), tx.PutSetting(ctx, "a", "b"),
			tx.PutPlate(ctx, &records.Plate{Number: "1", WellID: kept.ID}, ""), tx.PutLayer(ctx, &records.Layer{Name: "l", GeoJSON: []byte("{}")}))
	}
	check := func(t *testing.T) {
		t.Helper()
		ex(t, s, "SELECT count(*) FROM wells", int64(1))
		ex(t, s, "SELECT count(*) FROM strata", int64(6))
		ex(t, s, "SELECT count(*) FROM idx_wells_geom", int64(1))
		for _, table := range []string{"revisions", "settings", "plates", "layers", "own_write"} {
			ex(t, s, "SELECT count(*) FROM "+table, int64(0))
		}
		if now, err := s.Changes(t.Context()); err != nil || now != before {
			t.Errorf("commit %d (%v), want %d", now, err, before)
		}
	}
	t.Run("error", func(t *testing.T) {
		err := s.Update(t.Context(), someone, func(tx records.StoreTx) error {
			return errors.Join(write(t.Context(), tx), stop)
		})
		if !errors.Is(err, stop) {
			t.Errorf("got %v, want the error that stopped it", err)
		}
		check(t)
	})
	t.Run("panic", func(t *testing.T) {
		func() {
			defer func() {
				if r := recover(); r != "oh" {
					t.Errorf("recovered %v", r)
				}
			}()
			_ = s.Update(t.Context(), someone, func(tx records.StoreTx) error {
				if err := write(t.Context(), tx); err != nil {
					t.Error(err)
				}
				panic("oh")
			})
		}()
		check(t)
	})
	t.Run("cancelled", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		err := s.Update(ctx, someone, func(tx records.StoreTx) error {
			err := write(ctx, tx)
			cancel()
			return err
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want cancelled", err)
		}
		check(t)
	})
	t.Run("a refusal by SQLite that the caller ignores", func(t *testing.T) {
		scan(t, s, "INSERT INTO rock_units(code, name) VALUES (2, 'in the way') RETURNING code", new(int))
		err := s.Update(t.Context(), someone, func(tx records.StoreTx) error {
			bad := &records.Well{Rock: "another"} // which would get that code
			_ = tx.PutWell(t.Context(), invented(5), "")
			_ = tx.PutWell(t.Context(), bad, "")
			_, _ = tx.CountWells(t.Context())
			return nil
		})
		if records.CodeOf(err) != records.Conflict {
			t.Errorf("got %v, want a conflict", err)
		}
		check(t)
	})
	t.Run("no such batch", func(t *testing.T) {
		bad := invented(5)
		bad.Provenance.Batch = 4711
		err := s.Update(t.Context(), someone, func(tx records.StoreTx) error { return tx.PutWell(t.Context(), bad, "") })
		if records.CodeOf(err) != records.Invalid {
			t.Errorf("got %v, want invalid", err)
		}
		check(t)
	})
	// The store still works.
	if _, err := s.Writer().Exec("DELETE FROM rock_units WHERE name = 'in the way'"); err != nil {
		t.Fatal(err)
	}
	put(t, s, invented(2))
}

func TestUnreadableIsRefused(t *testing.T) {
	s, _ := newStore(t)
	long := make([]byte, 70<<10)
	for i := range long {
		long[i] = 'x'
	}
	for name, w := range map[string]*records.Well{
		"longitude NaN":        at(math.NaN(), 1),
		"latitude infinite":    at(1, math.Inf(1)),
		"longitude beyond":     at(180.0001, 1),
		"latitude beyond":      at(1, -90.0001),
		"kept text no JSON":    {Extra: []records.Member{{Name: "a", JSON: "{"}}},
		"kept name twice":      {Number: "1", Extra: []records.Member{{Name: "number", JSON: "2"}}},
		"source id no JSON":    {Provenance: records.Provenance{SourceID: "abc"}},
		"text beyond all read": {Remarks: string(long)},
	} {
		t.Run(name, func(t *testing.T) {
			err := s.Update(t.Context(), someone, func(tx records.StoreTx) error { return tx.PutWell(t.Context(), w, "") })
			if records.CodeOf(err) != records.Invalid {
				t.Errorf("got %v, want invalid", err)
			}
			// A refusal leaves the transaction usable.
			good := at(1, 2)
			err = s.Update(t.Context(), someone, func(tx records.StoreTx) error {
				if err := tx.PutWell(t.Context(), w, ""); err == nil {
					t.Error("not refused")
				}
				return tx.PutWell(t.Context(), good, "")
			})
			if err != nil {
				t.Errorf("after a refusal: %v", err)
			}
		})
	}
	ex(t, s, "SELECT count(*) FROM wells", int64(8))
}

func TestReadsInsideAnUpdateSeeItsWrites(t *testing.T) {
	s, _ := newStore(t)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if !tx.Now().Equal(noon) {
			t.Errorf("now is %v", tx.Now())
		}
		w := invented(1)
		if err := tx.PutWell(ctx, w, ""); err != nil {
			return err
		}
		if n, err := tx.CountWells(ctx); n != 1 {
			t.Errorf("counted %d (%v)", n, err)
		}
		got, err := tx.Well(ctx, w.ID)
		if err != nil {
			return err
		}
		if diff := cmp.Diff(w, got, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("(-put +read):\n%s", diff)
		}
		w.Remarks = "more"
		if err := tx.PutWell(ctx, w, ""); err != nil {
			return err
		}
		if w.Revision != 2 {
			t.Errorf("revision %d", w.Revision)
		}
		return tx.EachWell(ctx, nil, func(w *records.Well) error {
			w.Remarks = "while streaming"
			return tx.PutWell(ctx, w, "")
		})
	})
	if got := read(t, s, 1); got.Revision != 3 || got.Remarks != "while streaming" {
		t.Errorf("revision %d, %q", got.Revision, got.Remarks)
	}
}

func TestBoundsAgreeWithAPlainScan(t *testing.T) {
	s, _ := newStore(t)
	r := rand.New(rand.NewPCG(1, 2))
	var wells []*records.Well
	for range 500 {
		wells = append(wells, at(r.Float64()*360-180, r.Float64()*180-90))
	}
	wells = append(wells, at(180, 0), at(-180, 0), at(0, 0), &records.Well{Number: "nowhere"}, at(10.000000001, 5))
	put(t, s, wells...)
	boxes := []records.Bounds{
		{West: -180, South: -90, East: 180, North: 90},
		{West: 0, South: 0, East: 0, North: 0},
		{West: 10, South: 4, East: 10.0000000005, North: 6}, // inside the index's rounding, outside the box
		{West: 170, South: -90, East: -170, North: 90},
		{West: 180, South: -1, East: -180, North: 1},
	}
	for range 50 {
		a, b := r.Float64()*180-90, r.Float64()*180-90
		boxes = append(boxes, records.Bounds{West: r.Float64()*360 - 180, East: r.Float64()*360 - 180, South: min(a, b), North: max(a, b)})
	}
	inside := func(b records.Bounds, p records.Place) bool {
		if !p.Located || p.Lat < b.South || p.Lat > b.North {
			return false
		}
		if b.West > b.East {
			return p.Lon >= b.West || p.Lon <= b.East
		}
		return p.Lon >= b.West && p.Lon <= b.East
	}
	for _, b := range boxes {
		var got, want []int64
		view(t, s, func(ctx context.Context, v records.StoreView) error {
			return v.EachWell(ctx, &b, func(w *records.Well) error {
				got = append(got, w.ID)
				return nil
			})
		})
		for _, w := range wells {
			if inside(b, w.Place) {
				want = append(want, w.ID)
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%+v (-want +got):\n%s", b, diff)
		}
	}
}

func TestChangesCountsWritesAlone(t *testing.T) {
	s, path := newStore(t)
	other := open(t, path)
	changes := func(s *sqlite.Store) int64 {
		n, err := s.Changes(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	start := changes(s)
	update(t, s, func(context.Context, records.StoreTx) error { return nil })
	if changes(s) != start {
		t.Error("an update that wrote nothing counts")
	}
	put(t, other, at(1, 1))
	if changes(s) != start+1 {
		t.Error("a write through another handle does not count")
	}
	view(t, s, func(_ context.Context, v records.StoreView) error {
		if v.Commit() != start+1 {
			t.Errorf("the view is at %d", v.Commit())
		}
		put(t, other, at(2, 2))
		n, err := v.CountWells(t.Context())
		if n != 1 {
			t.Errorf("the view sees %d wells, written after it began", n)
		}
		return err
	})
}

func TestSettingsLayersRockUnits(t *testing.T) {
	s, _ := newStore(t)
	layer := records.Layer{Name: "Roads", Kind: "road", GeoJSON: []byte(`{"type":"FeatureCollection","features":[]}`)}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutSetting(ctx, "units", "us"), tx.PutSetting(ctx, "gone", "x"), tx.PutLayer(ctx, &layer))
	})
	layer.Name = "Streets"
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.PutLayer(ctx, &records.Layer{ID: 99, GeoJSON: []byte("{}")}); records.CodeOf(err) != records.NotFound {
			t.Errorf("a layer that is not there: %v", err)
		}
		if err := tx.PutLayer(ctx, &records.Layer{GeoJSON: []byte("{")}); records.CodeOf(err) != records.Invalid {
			t.Errorf("a layer that is not JSON: %v", err)
		}
		return errors.Join(tx.PutSetting(ctx, "units", "si"), tx.PutSetting(ctx, "gone", ""), tx.PutLayer(ctx, &layer))
	})
	w := invented(1)
	w.Rock = "Lower Granite"
	put(t, s, w)
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		units, err := v.Setting(ctx, "units")
		gone, err2 := v.Setting(ctx, "gone")
		if units != "si" || gone != "" {
			t.Errorf("settings %q, %q", units, gone)
		}
		layers, err3 := v.Layers(ctx)
		if diff := cmp.Diff([]records.Layer{layer}, layers); diff != "" {
			t.Errorf("layers (-want +got):\n%s", diff)
		}
		rocks, err4 := v.RockUnits(ctx)
		if diff := cmp.Diff(map[uint16]string{1: "Lower Granite"}, rocks); diff != "" {
			t.Errorf("rock units (-want +got):\n%s", diff)
		}
		return errors.Join(err, err2, err3, err4)
	})
}

func TestPlatesAreLinkedAndUnlinked(t *testing.T) {
	s, _ := newStore(t)
	w := invented(1)
	put(t, s, w)
	plate := &records.Plate{Number: "47?1", Authority: "Some Board", WellID: w.ID, LinkedBy: "A. Writer", LinkedAt: noon,
		Stamped: records.Stamped{Depth: records.Amount[records.Depth]{Qualifier: records.Exact, Value: 30, Given: records.Given{Text: "30", Unit: records.Metre}}},
		Seen:    []records.PlateSighting{{Located: true, Lon: 1, Lat: 2, Legible: "47 1"}}, Evidence: "same depth"}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutPlate(ctx, plate, "") })
	if plate.ID == 0 || plate.Revision != 1 || plate.UID == "" {
		t.Fatalf("after writing: %+v", plate)
	}
	if diff := cmp.Diff([]records.Plate{*plate}, read(t, s, w.ID).Plates, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("plates of the well (-want +got):\n%s", diff)
	}
	stale := *plate
	plate.Evidence = "seen there"
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.PutPlate(ctx, plate, ""); err != nil {
			return err
		}
		if err := tx.PutPlate(ctx, &stale, ""); records.CodeOf(err) != records.Conflict {
			t.Errorf("a stale plate: %v", err)
		}
		if err := tx.PutPlate(ctx, &records.Plate{WellID: 99}, ""); records.CodeOf(err) != records.NotFound {
			t.Errorf("a link to no well: %v", err)
		}
		bad := &records.Plate{Seen: []records.PlateSighting{{Located: true, Lon: math.NaN()}}}
		if err := tx.PutPlate(ctx, bad, ""); records.CodeOf(err) != records.Invalid {
			t.Errorf("a sighting nowhere: %v", err)
		}
		return nil
	})
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, w.ID, w.Revision, "") })
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		n := 0
		err := v.EachPlate(ctx, func(p *records.Plate) error {
			n++
			if p.WellID != 0 || p.LinkedBy != "" || !p.LinkedAt.IsZero() || p.Evidence != "seen there" {
				t.Errorf("after the well went: %+v", p)
			}
			return nil
		})
		_, missing := v.Plate(ctx, 99)
		if n != 1 || records.CodeOf(missing) != records.NotFound {
			t.Errorf("%d plates; a missing one gives %v", n, missing)
		}
		return err
	})
	ex(t, s, "SELECT count(*) FROM plate_revisions", int64(2))
}

func TestFind(t *testing.T) {
	s, _ := newStore(t)
	a, b := at(1, 2), at(3, 4)
	a.Number, a.PermitNumber, a.Place.Parcel = "AB-12", "2004-0099", "7.11"
	b.Number, b.UID = "ab 123", "0190163d-8694-739b-aea5-966c26f8ad91"
	put(t, s, a, b)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutPlate(ctx, &records.Plate{Number: "AB12", WellID: b.ID}, ""),
			tx.PutLayer(ctx, &records.Layer{Name: "Villages", Kind: "place", GeoJSON: []byte(`{"type":"FeatureCollection","features":[
				{"type":"Feature","geometry":{"type":"Point","coordinates":[7,8]},"properties":{"name":"AB 12 Corner"}},
				{"type":"Feature","geometry":{"type":"LineString","coordinates":[[1,1],[3,3]]},"properties":{"name":"Elsewhere"}},
				{"type":"Feature","geometry":null,"properties":{"name":"Elsewhat"}}]}`)}),
			tx.PutPlate(ctx, &records.Plate{Number: "9-9", Seen: []records.PlateSighting{{Located: true, Lon: 5, Lat: 6}}}, ""))
	})
	for text, want := range map[string][]string{
		"ab12":                   {"well_number AB-12", "plate AB12", "well_number ab 123", "place_name AB 12 Corner"},
		"else":                   {"place_name Elsewhere"},
		" AB 12 ":                {"well_number AB-12", "plate AB12", "well_number ab 123", "place_name AB 12 Corner"},
		"20040":                  {"permit_number 2004-0099"},
		"711":                    {"parcel 7.11"},
		"0190163D-8694":          {"uid 0190163d-8694-739b-aea5-966c26f8ad91"},
		"99":                     {"plate 9-9"},
		"zz":                     nil,
		" - ":                    nil,
		"%":                      nil,
		"' OR 1=1 --":            nil,
		"ab1234":                 nil,
		"\U0010FFFF\U0010FFFFab": nil,
	} {
		view(t, s, func(ctx context.Context, v records.StoreView) error {
			ms, err := v.Find(ctx, text, 10)
			var got []string
			for _, m := range ms {
				got = append(got, m.Kind+" "+m.Text)
				if !m.Known {
					t.Errorf("%q: %+v has no position", text, m)
				}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("find %q (-want +got):\n%s", text, diff)
			}
			if ms, err := v.Find(ctx, text, 1); err != nil || len(ms) > 1 {
				t.Errorf("find one %q: %d (%v)", text, len(ms), err)
			}
			return err
		})
	}
	// By index, not by looking at every row.
	for _, column := range []string{"number", "permit_number", "parcel"} {
		var plan string
		scan(t, s, "EXPLAIN QUERY PLAN SELECT w.id FROM wells w WHERE "+sqlite.KeyOf("w."+column)+" = 'X' AND w."+column+" IS NOT NULL", nil, nil, nil, &plan)
		if want := "SEARCH w USING INDEX wells_" + map[string]string{"number": "number", "permit_number": "permit", "parcel": "parcel"}[column] + "_key (<expr>=?)"; plan != want {
			t.Errorf("finding by %s: %s", column, plan)
		}
	}
}

func TestReadersGoOnWhileAWriterWrites(t *testing.T) {
	s, _ := newStore(t)
	put(t, s, invented(0))
	done := make(chan error, 4)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	stop := make(chan struct{})
	for range 3 {
		go func() {
			for last := int64(0); ; {
				select {
				case <-stop:
					done <- nil
					return
				default:
				}
				err := s.View(ctx, func(v records.StoreView) error {
					n, err := v.CountWells(ctx)
					if err != nil {
						return err
					}
					if n < last || n%2 != 1 { // written two by two
						return fmt.Errorf("counted %d wells after %d", n, last)
					}
					last = n
					m := int64(0)
					if err := v.Digests(ctx, func(ds []records.Digest) error { m += int64(len(ds)); return nil }); err != nil {
						return err
					}
					if m != n {
						return fmt.Errorf("%d digests of %d wells", m, n)
					}
					return v.EachWell(ctx, &records.Bounds{West: -180, South: -90, East: 180, North: 90}, func(*records.Well) error { return nil })
				})
				if err != nil {
					done <- err
					return
				}
			}
		}()
	}
	for i := range 40 {
		put(t, s, invented(uint64(2*i+1)), invented(uint64(2*i+2)))
	}
	close(stop)
	for range 3 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}
