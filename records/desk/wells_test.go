package desk_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

func TestSaveKeepsWhatWasBefore(t *testing.T) {
	d, _ := newDesk(t)
	w := plain(t, d, nil)
	if w.ID == 0 || w.Revision != 1 || w.UID == "" {
		t.Fatalf("saved as %d, revision %d, %q", w.ID, w.Revision, w.UID)
	}
	mine, err := d.Well(t.Context(), me, w.ID)
	if err != nil {
		t.Fatal(err)
	}
	yours, err := d.Well(t.Context(), me, w.ID)
	if err != nil {
		t.Fatal(err)
	}
	mine.Well.Remarks = "first"
	if _, err := d.Save(t.Context(), me, mine.Well, "a remark"); err != nil {
		t.Fatal(err)
	}
	yours.Well.Remarks = "second"
	if _, err := d.Save(t.Context(), me, yours.Well, "another"); records.CodeOf(err) != records.Conflict {
		t.Fatalf("a stale write gives %v, want a conflict", err)
	}
	now, err := d.Well(t.Context(), me, w.ID)
	if err != nil || now.Well.Remarks != "first" || now.Well.Revision != 2 {
		t.Fatalf("%q at revision %d, %v", now.Well.Remarks, now.Well.Revision, err)
	}
	revs, err := d.Revisions(t.Context(), me, w.ID)
	if err != nil || len(revs) != 1 || revs[0].Image.Remarks != "" || revs[0].Why != "a remark" || revs[0].By != me.Name {
		t.Fatalf("%+v, %v", revs, err)
	}
	// And the map shows it at once.
	row, ok := d.Picture().ByID(w.ID)
	if !ok || row.Digest().Revision != 2 {
		t.Errorf("the picture has revision %d", row.Digest().Revision)
	}
}

func TestSaveRefusesWhatIsWrong(t *testing.T) {
	d, _ := newDesk(t)
	w := recordstest.Plain()
	w.UID = ""
	w.Strata[1].Top, w.Strata[1].Bottom = w.Strata[1].Bottom, w.Strata[1].Top
	faults, err := d.Save(t.Context(), me, w, "")
	if records.CodeOf(err) != records.Invalid || !records.Refuses(faults) {
		t.Errorf("an upside-down stratum gives %v, %v", faults, err)
	}
	if d.Picture().Len() != 0 || w.ID != 0 {
		t.Error("it was written")
	}
}

func TestRestore(t *testing.T) {
	d, _ := newDesk(t)
	w := plain(t, d, nil)
	w.Remarks = "changed"
	if _, err := d.Save(t.Context(), me, w, "why"); err != nil {
		t.Fatal(err)
	}
	if err := d.Restore(t.Context(), me, w.ID, 1, 1); records.CodeOf(err) != records.Conflict {
		t.Errorf("restoring over a state that was not seen gives %v", err)
	}
	if err := d.Restore(t.Context(), me, w.ID, 7, 2); records.CodeOf(err) != records.NotFound {
		t.Errorf("restoring what never was gives %v", err)
	}
	if err := d.Restore(t.Context(), me, w.ID, 1, 2); err != nil {
		t.Fatal(err)
	}
	now, err := d.Well(t.Context(), me, w.ID)
	if err != nil || now.Well.Remarks != "" || now.Well.Revision != 3 {
		t.Errorf("%q at revision %d, %v", now.Well.Remarks, now.Well.Revision, err)
	}
	revs, err := d.Revisions(t.Context(), me, w.ID)
	if err != nil || len(revs) != 2 || revs[0].Image.Remarks != "changed" {
		t.Errorf("the state that was replaced is not kept: %+v, %v", revs, err)
	}
}

func TestRemoveAndBringBack(t *testing.T) {
	d, _ := newDesk(t)
	w := plain(t, d, nil)
	if err := d.Remove(t.Context(), me, w.ID, 9, "stale"); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale removal gives %v", err)
	}
	if err := d.Remove(t.Context(), me, w.ID, w.Revision, "entered twice"); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Well(t.Context(), me, w.ID); records.CodeOf(err) != records.NotFound || d.Picture().Len() != 0 {
		t.Errorf("after removal: %v, %d show", err, d.Picture().Len())
	}
	if err := d.Restore(t.Context(), me, w.ID, w.Revision, w.Revision); err != nil {
		t.Fatal(err)
	}
	id, err := d.WellIDByUID(t.Context(), me, w.UID)
	if err != nil {
		t.Fatal(err)
	}
	back, err := d.Well(t.Context(), me, id)
	if err != nil || back.Well.Number != w.Number || d.Picture().Len() != 1 {
		t.Errorf("brought back as %+v, %v", back, err)
	}
}

// TestPrivateThings: an export is without them unless they are asked for.
func TestPrivateThings(t *testing.T) {
	d, _ := newDesk(t)
	plain(t, d, func(w *records.Well) {
		w.Owner = records.Person{Name: "Invented Owner", Telephone: "000"}
		w.Place.Address = "1 Invented Road"
	})
	for _, private := range []bool{false, true} {
		err := d.GiveOut(t.Context(), me, nil, private, func(w *records.Well, total int64) error {
			if shown := w.Owner.Name != "" || w.Owner.Telephone != "" || w.Place.Address != ""; shown != private || total != 1 {
				t.Errorf("private %v: owner %+v, address %q, of %d", private, w.Owner, w.Place.Address, total)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

func TestAddAllIsAllOrNothing(t *testing.T) {
	d, _ := newDesk(t)
	good, bad := recordstest.Plain(), recordstest.Plain()
	good.UID, bad.UID = "", ""
	bad.Place.Lat = 95
	if err := d.AddAll(t.Context(), me, []*records.Well{good, bad}, nil, nil); records.CodeOf(err) != records.Invalid {
		t.Errorf("a latitude of 95 gives %v", err)
	}
	if d.Picture().Len() != 0 {
		t.Errorf("%d were written", d.Picture().Len())
	}
	other := recordstest.Plain()
	other.UID, good.UID = "0190a1b2-c3d4-7e5f-8a6b-0123456789ab", "0190a1b2-c3d4-7e5f-8a6b-0123456789ab"
	if err := d.AddAll(t.Context(), me, []*records.Well{good, other}, nil, nil); records.CodeOf(err) != records.Conflict || d.Picture().Len() != 0 {
		t.Errorf("two of one name give %v, and %d show", err, d.Picture().Len())
	}
	good.UID, good.ID, good.Revision = "", 0, 0
	plate := &records.Plate{Number: "P-7"}
	if err := d.AddAll(t.Context(), me, []*records.Well{good}, []desk.PlateOf{{Plate: plate, Well: 0}}, nil); err != nil {
		t.Fatal(err)
	}
	sheet, err := d.Well(t.Context(), me, good.ID)
	if err != nil || len(sheet.Well.Plates) != 1 || sheet.Well.Plates[0].LinkedBy != me.Name {
		t.Errorf("%+v, %v", sheet, err)
	}
	if names, err := d.Numbers(t.Context(), me, []int64{good.ID}); err != nil || names[0] != "T-1" {
		t.Errorf("%v, %v", names, err)
	}
	if p, err := d.Plate(t.Context(), me, plate.ID); err != nil || p.WellID != good.ID {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestLayersAndFind(t *testing.T) {
	d, _ := newDesk(t)
	plain(t, d, nil)
	for _, c := range []struct{ name, geojson, words string }{
		{"not JSON", "roads", "not a GeoJSON"},
		{"nothing in it", `{"type":"FeatureCollection","features":[]}`, "nothing to draw"},
		{"projected", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[500000,4900000],[500100,4900000]]}}]}`, "reproject"},
		{"deep", `{"type":"FeatureCollection","features":[` + strings.Repeat(`[`, 100_000), "not a GeoJSON"},
		{"one number", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[5],[6]]}}]}`, ""},
		{"no coordinates", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[]}}]}`, ""},
	} {
		err := d.SaveLayer(t.Context(), me, &records.Layer{Name: c.name, Kind: "road", GeoJSON: []byte(c.geojson)})
		if records.CodeOf(err) != records.Invalid || err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	for _, kind := range []string{"road", "place"} {
		l := &records.Layer{Name: kind + "s", Kind: kind, GeoJSON: []byte("\ufeff" + `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Mill"},"geometry":{"type":"LineString","coordinates":[[-72,44],[-72.1,44.1]]}}]}`)}
		if err := d.SaveLayer(t.Context(), me, l); err != nil {
			t.Fatalf("%s: %v", kind, err)
		}
	}
	if layers, err := d.Layers(t.Context(), me); err != nil || len(layers) != 2 {
		t.Errorf("%d layers, %v", len(layers), err)
	}
	for _, c := range []struct {
		text    string
		matches int
		at      bool
		doubt   bool
	}{
		{"T-1", 1, false, false},
		{"mill", 2, false, false},
		{"44.25 -72.5", 0, true, false},
		{"144.25 -72.5", 0, false, true},
		{"nothing of the kind", 0, false, false},
	} {
		f, err := d.Find(t.Context(), me, c.text, 10)
		if err != nil || len(f.Matches) != c.matches || (f.Position != nil) != c.at || (f.Doubt != "") != c.doubt {
			t.Errorf("%q finds %+v, %v", c.text, f, err)
		}
	}
	if _, err := d.Find(t.Context(), me, "  ", 10); records.CodeOf(err) != records.Invalid {
		t.Errorf("nothing to find gives %v", err)
	}
}
