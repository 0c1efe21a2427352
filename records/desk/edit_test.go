package desk_test

import (
	"maps"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

func us(d records.Dimension) records.Unit {
	switch d {
	case records.DimLength:
		return records.Foot
	case records.DimFlow:
		return records.GallonPerMinute
	}
	return d.Base()
}

// formOf is the form of a record as it stands, with what is typed into it.
func formOf(t testing.TB, d *desk.Desk, id int64, typed records.Typed) desk.RecordEdit {
	t.Helper()
	s, err := d.Well(t.Context(), me, id)
	if err != nil {
		t.Fatal(err)
	}
	e := desk.RecordEdit{ID: id, Revision: s.Well.Revision, Typed: d.TypedOf(me, s.Well, us), Unit: us}
	maps.Copy(e.Typed, typed)
	return e
}

func saveEdit(t testing.TB, d *desk.Desk, e desk.RecordEdit) *desk.Edited {
	t.Helper()
	out, err := d.SaveEdit(t.Context(), me, e)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func wellOf(t testing.TB, d *desk.Desk, id int64) *records.Well {
	t.Helper()
	s, err := d.Well(t.Context(), me, id)
	if err != nil {
		t.Fatal(err)
	}
	return s.Well
}

func TestSaveEdit(t *testing.T) {
	d, _ := newDesk(t)
	made := saveEdit(t, d, desk.RecordEdit{UID: "0190a1b2-c3d4-7e5f-8a6b-00000000e001", Unit: us, Typed: records.Typed{"number": "N-1", "coordinates_given": "44.5, -72", "total_depth": "203'", "strata.rows": "0", "strata[0].top": "0", "strata[0].bottom": "12", "strata[0].description": "clay"}})
	w := wellOf(t, d, made.Well.ID)
	if !made.Saved || made.Was != 0 || w.Number != "N-1" || w.TotalDepth.Value != 203*0.3048 || len(w.Strata) != 1 || w.Strata[0].Bottom.Given.Unit != records.Foot || w.Provenance.Source != "own_log" {
		t.Fatalf("%+v: %+v", made, w)
	}
	if d.Picture().Len() != 1 {
		t.Error("a new record is not in the picture")
	}
	if _, err := d.SaveEdit(t.Context(), me, desk.RecordEdit{UID: w.UID, Typed: records.Typed{"number": "N-1"}}); records.CodeOf(err) != records.Conflict {
		t.Errorf("the same form sent twice: %v", err)
	}
	// Nothing typed makes no record.
	if out := saveEdit(t, d, desk.RecordEdit{UID: "0190a1b2-c3d4-7e5f-8a6b-00000000e002", Unit: us, Typed: records.Typed{"number": " ", "strata.rows": "0"}}); out.Saved || !records.Refuses(out.Faults) || d.Picture().Len() != 1 {
		t.Errorf("a record of nothing: %+v", out)
	}
	// A fault refuses, and says where.
	out := saveEdit(t, d, formOf(t, d, w.ID, records.Typed{"strata[0].bottom": "x", "number": "N-2"}))
	if out.Saved || !records.Refuses(out.Faults) || wellOf(t, d, w.ID).Number != "N-1" {
		t.Errorf("saved with a fault: %+v", out)
	}
	out = saveEdit(t, d, formOf(t, d, w.ID, records.Typed{"strata[0].bottom": "-5"}))
	if out.Saved || out.Reading.Field(out.Faults[0].Field) != "strata[0].bottom" {
		t.Errorf("saved with a fault: %+v", out.Faults)
	}
	// Nothing to save is no write; a change is one, and can be taken back.
	out = saveEdit(t, d, formOf(t, d, w.ID, nil))
	if !out.Saved || !out.Same || wellOf(t, d, w.ID).Revision != 1 {
		t.Errorf("nothing changed: %+v", out)
	}
	out = saveEdit(t, d, formOf(t, d, w.ID, records.Typed{"number": "N-2"}))
	if !out.Saved || out.Was != 1 || out.Well.Revision != 2 {
		t.Errorf("changed: %+v", out)
	}
	if err := d.Restore(t.Context(), me, w.ID, out.Was, out.Well.Revision); err != nil || wellOf(t, d, w.ID).Number != "N-1" {
		t.Errorf("taken back: %v", err)
	}
	for what, err := range map[string]error{
		"save":       second(d.SaveEdit(t.Context(), stranger, desk.RecordEdit{Typed: records.Typed{}})),
		"look":       second(d.LookAtEdit(t.Context(), stranger, desk.RecordEdit{Typed: records.Typed{}})),
		"remove":     second(d.RemoveRecord(t.Context(), stranger, w.ID, 3, "")),
		"bring back": second(d.BringBackRecord(t.Context(), stranger, w.ID, 3, nil)),
		"drafts":     second(d.Drafts(t.Context(), stranger)),
		"draft":      second(d.Draft(t.Context(), stranger, 1)),
		"keep":       d.KeepDraft(t.Context(), stranger, &records.Draft{Typed: records.Typed{}}),
		"end":        d.EndDraft(t.Context(), stranger, 1, 1, records.DraftDiscarded),
	} {
		if records.CodeOf(err) != records.Forbidden {
			t.Errorf("%s by a stranger: %v", what, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// Two people have the same record open; the second to save loses nothing, and
// neither does the first.
func TestSaveEditStale(t *testing.T) {
	d, _ := newDesk(t)
	full := recordstest.Full()
	if _, err := d.Save(t.Context(), me, full, ""); err != nil {
		t.Fatal(err)
	}
	theirs := formOf(t, d, full.ID, records.Typed{"number": "A", "strata[0].description": "their clay", "remarks": "their remark"})
	ours := formOf(t, d, full.ID, records.Typed{"number": "B", "strata[3].description": "my granite", "crew.rig": "rig 7"})
	if out := saveEdit(t, d, theirs); !out.Saved {
		t.Fatal(out.Faults)
	}
	out := saveEdit(t, d, ours)
	if out.Saved || out.Stale == nil || out.Stale.By != me.Name || len(out.Stale.Clashes) != 1 || out.Stale.Clashes[0].Field != "number" {
		t.Fatalf("%+v", out.Stale)
	}
	if wellOf(t, d, full.ID).Number != "A" {
		t.Error("a stale form was written")
	}
	// Seen, but nothing chosen; chosen, but another state was seen.
	ours.Against = out.Stale.Theirs.Revision
	if saveEdit(t, d, ours).Saved {
		t.Error("saved with an unsettled clash")
	}
	ours.Choose, ours.Against = map[string]records.Side{"number": records.Ours}, out.Stale.Theirs.Revision+1
	if saveEdit(t, d, ours).Saved {
		t.Error("saved over a state that was not seen")
	}
	ours.Against--
	saved := saveEdit(t, d, ours)
	if !saved.Saved || saved.Was != 2 {
		t.Fatalf("%+v", saved)
	}
	w := wellOf(t, d, full.ID)
	if w.Number != "B" || w.Strata[0].Description != "their clay" || w.Strata[3].Description != "my granite" || w.Remarks != "their remark" || w.Crew.Rig != "rig 7" {
		t.Errorf("merged: %+v", w)
	}
	revs, err := d.Revisions(t.Context(), me, full.ID)
	if err != nil || len(revs) != 2 || revs[0].Image.Number != "A" {
		t.Errorf("their state is not kept: %v %v", err, revs)
	}

	// The same form sent twice is saved once, and meets nobody.
	twice := formOf(t, d, full.ID, records.Typed{"land_use": "orchard"})
	saveEdit(t, d, twice)
	if out := saveEdit(t, d, twice); !out.Saved || !out.Already || wellOf(t, d, full.ID).Revision != w.Revision+1 {
		t.Errorf("sent twice: %+v", out)
	}
	w = wellOf(t, d, full.ID)

	// Taken out meanwhile: told, and brought back as typed where that is asked.
	ours = formOf(t, d, full.ID, records.Typed{"number": "C"})
	if _, err := d.RemoveRecord(t.Context(), me, full.ID, w.Revision, "a twin"); err != nil {
		t.Fatal(err)
	}
	out = saveEdit(t, d, ours)
	if out.Saved || out.Stale == nil || !out.Stale.Gone {
		t.Fatalf("%+v", out)
	}
	ours.Against = desk.BringBack
	if out = saveEdit(t, d, ours); !out.Saved || out.Well.UID != w.UID || wellOf(t, d, out.Well.ID).Number != "C" {
		t.Errorf("%+v", out)
	}
}

// A record that is taken out comes back with its plate.
func TestBringBackWithItsPlate(t *testing.T) {
	d, _ := newDesk(t)
	w := recordstest.Full()
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	p := &records.Plate{Number: "12", WellID: w.ID, LinkedBy: "x", LinkedAt: noon}
	if err := d.SavePlate(t.Context(), me, p, ""); err != nil {
		t.Fatal(err)
	}
	was := wellOf(t, d, w.ID)
	if _, err := d.BringBackRecord(t.Context(), me, w.ID, w.Revision, nil); records.CodeOf(err) != records.Conflict {
		t.Errorf("one that is there: %v", err)
	}
	plates, err := d.RemoveRecord(t.Context(), me, w.ID, w.Revision, "")
	if err != nil || cmp.Diff([]int64{p.ID}, plates) != "" {
		t.Fatalf("%v %v", plates, err)
	}
	id, err := d.BringBackRecord(t.Context(), me, w.ID, w.Revision, plates)
	if err != nil {
		t.Fatal(err)
	}
	is := wellOf(t, d, id)
	if is.UID != was.UID || len(records.Diff(was, is)) > 0 || len(is.Plates) != 1 || is.Plates[0].ID != p.ID {
		t.Errorf("came back as %+v", is)
	}
}

func TestDrafts(t *testing.T) {
	d, path := newDesk(t)
	w := recordstest.Full()
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	keep := func(x *records.Draft) *records.Draft {
		t.Helper()
		if err := d.KeepDraft(t.Context(), me, x); err != nil {
			t.Fatal(err)
		}
		return x
	}
	open := func() int {
		t.Helper()
		all, err := d.Drafts(t.Context(), me)
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	a := keep(&records.Draft{WellID: w.ID, WellRevision: 1, Title: "T-1", Typed: records.Typed{"number": "one"}})
	other := *a // the same draft in another window, which writes first
	other.Typed = records.Typed{"number": "two"}
	keep(&other)
	a.Typed = records.Typed{"number": "three"}
	keep(a)
	if a.ID == other.ID || open() != 2 {
		t.Errorf("two windows wrote into draft %d and %d, %d are open", a.ID, other.ID, open())
	}
	// Another process sees them: they are in the file.
	second := openDesk(t, path, 0)
	if got, err := second.Draft(t.Context(), me, a.ID); err != nil || got.Typed["number"] != "three" {
		t.Errorf("%v %v", got, err)
	}
	// A record saved from a draft ends it, and only in the state that was sent.
	e := formOf(t, d, w.ID, records.Typed{"number": "three"})
	e.DraftID, e.DraftRevision = a.ID, a.Revision
	if out := saveEdit(t, d, e); !out.Saved || open() != 1 {
		t.Errorf("saved: %v, %d drafts are open", out.Saved, open())
	}
	if err := d.KeepDraft(t.Context(), me, a); records.CodeOf(err) != records.Conflict {
		t.Errorf("a draft was written after its record was saved: %v", err)
	}
	e = formOf(t, d, w.ID, records.Typed{"number": "four"})
	e.DraftID, e.DraftRevision = other.ID, other.Revision-1
	if out := saveEdit(t, d, e); !out.Saved || open() != 1 {
		t.Errorf("a draft that had gone on was ended: %d are open", open())
	}
	if err := d.EndDraft(t.Context(), me, other.ID, other.Revision, records.DraftDiscarded); err != nil || open() != 0 {
		t.Errorf("discarded: %v, %d are open", err, open())
	}
	if err := d.EndDraft(t.Context(), me, other.ID, other.Revision, ""); err != nil || open() != 1 {
		t.Errorf("taken back: %v, %d are open", err, open())
	}
}
