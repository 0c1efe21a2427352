package desk_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

const threeWells = "number,lon,lat,depth_to_bedrock_m\nA,-72,44,3\nB,-72.01,44,4\nC,-72.02,44,5\n"

// A record into which one of the office's own was merged stays, although the
// merge wrote nothing into it: the office's own would be gone with it. The same
// after a later copy of the file had changed it and was taken back.
func TestAnIntakeTakenBackLeavesWhatWasMerged(t *testing.T) {
	for name, copied := range map[string]bool{"as it came": false, "changed by a later copy": true} {
		t.Run(name, func(t *testing.T) {
			d, _ := newDesk(t)
			b := mustTakeInCSV(t, d, "wells.csv", 0, threeWells)
			own := plain(t, d, func(w *records.Well) { w.Number = "OWN" })
			a := wellNumbered(t, d, "A")
			m := mergeTwo(t, d, desk.MergeAsk{Keep: a.ID, Out: own.ID, KeepRevision: 1, OutRevision: own.Revision, How: records.MergedTwin})
			if now := wellNumbered(t, d, "A"); now.Revision != 1 {
				t.Fatalf("the merge wrote into it: revision %d", now.Revision)
			}
			if copied {
				later := mustTakeInCSV(t, d, "wells.csv", b.ID, strings.ReplaceAll(threeWells, "44,3", "44,9"))
				if _, err := d.Withdraw(t.Context(), me, later.ID); err != nil {
					t.Fatal(err)
				}
			}
			if there, written, err := d.IntakeStanding(t.Context(), me, b.ID); err != nil || there != 3 || written < 1 {
				t.Errorf("%d there, %d worked on: %v", there, written, err)
			}
			back, err := d.Withdraw(t.Context(), me, b.ID)
			if err != nil || back != (desk.TakenBack{Removed: 2, Left: 1}) {
				t.Fatalf("%+v: %v", back, err)
			}
			wellNumbered(t, d, "A")
			if _, err := d.SplitMerge(t.Context(), me, m.ID, ""); err != nil {
				t.Fatal(err)
			}
			if own := wellNumbered(t, d, "OWN"); own.Number != "OWN" {
				t.Errorf("the office's own came back as %+v", own)
			}
			sound(t, d)
		})
	}
}

// What was done since a later copy and undone again keeps nothing of the copy.
func TestALaterCopyTakenBackAfterAnUndo(t *testing.T) {
	d, _ := newDesk(t)
	first := mustTakeInCSV(t, d, "wells.csv", 0, threeWells)
	later := mustTakeInCSV(t, d, "wells.csv", first.ID, strings.ReplaceAll(strings.ReplaceAll(threeWells, "44,3", "44,9"), "44,4", "44,8"))
	for _, number := range []string{"A", "B"} {
		w := wellNumbered(t, d, number)
		seen := w.Revision
		w.Remarks = "measured again"
		if _, err := d.Save(t.Context(), me, w, ""); err != nil {
			t.Fatal(err)
		}
		if number == "A" {
			if err := d.Restore(t.Context(), me, w.ID, seen, seen+1); err != nil {
				t.Fatal(err)
			}
		}
	}
	back, err := d.Withdraw(t.Context(), me, later.ID)
	if err != nil || back != (desk.TakenBack{Back: 1, Left: 1}) {
		t.Fatalf("%+v: %v", back, err)
	}
	if a, b := wellNumbered(t, d, "A"), wellNumbered(t, d, "B"); a.Bedrock.Value != 3 || b.Bedrock.Value != 8 || b.Remarks != "measured again" {
		t.Errorf("rock at %v and %v, remarks %q", a.Bedrock.Value, b.Bedrock.Value, b.Remarks)
	}
	sound(t, d)
}

func TestAnIntakeIsTakenBackAndTakenInAnew(t *testing.T) {
	d, _ := newDesk(t)
	b, err := takeIn(t.Context(), d, "wells.csv", strings.NewReader(threeWells), desk.Intake{})
	if err != nil || b.Accepted != 3 {
		t.Fatalf("%+v accepted: %v", b, err)
	}
	// Somebody works on one of them.
	found, err := d.Find(t.Context(), desk.LocalPerson(), "B", 5)
	if err != nil || len(found.Matches) == 0 {
		t.Fatalf("%v %v", found, err)
	}
	sheet, err := d.Well(t.Context(), desk.LocalPerson(), found.Matches[0].WellID)
	if err != nil {
		t.Fatal(err)
	}
	sheet.Well.Remarks = "measured again"
	if _, err := d.Save(t.Context(), desk.LocalPerson(), sheet.Well, "a correction"); err != nil {
		t.Fatal(err)
	}
	back, err := d.Withdraw(t.Context(), desk.LocalPerson(), b.ID)
	if err != nil || back != (desk.TakenBack{Removed: 2, Left: 1}) {
		t.Fatalf("%+v: %v", back, err)
	}
	if n := d.Picture().Len(); n != 1 {
		t.Errorf("%d wells are still shown", n)
	}
	if _, err := d.Withdraw(t.Context(), desk.LocalPerson(), b.ID); records.CodeOf(err) != records.Conflict {
		t.Errorf("taken back twice: %v", err)
	}
	if _, err := d.Withdraw(t.Context(), desk.LocalPerson(), 999); records.CodeOf(err) != records.NotFound {
		t.Errorf("an intake that is not there: %v", err)
	}
	// The same file again: what was taken back comes in, what was kept is
	// there already.
	again, err := takeIn(t.Context(), d, "wells.csv", strings.NewReader(threeWells), desk.Intake{})
	if err != nil {
		t.Fatal(err)
	}
	if again.Accepted != 2 || again.Refused != 1 {
		t.Errorf("taken in anew: %d accepted, %d refused", again.Accepted, again.Refused)
	}
}

// A record to which somebody has linked a plate stays, and the plate with it.
func TestAnIntakeTakenBackLeavesWhatPlatesWereLinkedTo(t *testing.T) {
	d, _ := newDesk(t)
	b := mustTakeInCSV(t, d, "wells.csv", 0, threeWells)
	a := wellNumbered(t, d, "A")
	p := &records.Plate{Number: "P-1"}
	if _, err := d.KeepPlate(t.Context(), me, p, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := d.LinkPlates(t.Context(), me, []desk.PlateCall{{PlateID: p.ID, WellID: a.ID}}); err != nil {
		t.Fatal(err)
	}
	back, err := d.Withdraw(t.Context(), me, b.ID)
	if err != nil || back != (desk.TakenBack{Removed: 2, Left: 1}) {
		t.Fatalf("%+v: %v", back, err)
	}
	if now, err := d.Plate(t.Context(), me, p.ID); err != nil || now.WellID != a.ID {
		t.Errorf("the plate is of %+v: %v", now, err)
	}
	sound(t, d)
}
