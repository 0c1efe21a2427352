package desk_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

const threeWells = "number,lon,lat,depth_to_bedrock_m\nA,-72,44,3\nB,-72.01,44,4\nC,-72.02,44,5\n"

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
