package records_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

// TestSearchTextKeepsPeopleApart: nothing that is private stands among what all
// may search, and every name stands among what is private.
func TestSearchTextKeepsPeopleApart(t *testing.T) {
	w := recordstest.Full()
	w.Owner = records.Person{Name: "Xowner", Address: "Xroad 9", Telephone: "555 0199"}
	w.Place.Address = "Xlane 4"
	w.Extra = []records.Member{{Name: "OWNER_NM", JSON: `"Xextra"`}}
	w.Strata[0].Description = "blue clay"
	open, private := w.SearchText()
	for _, name := range []string{"Xowner", "Xroad", "0199", "Xlane", "Xextra"} {
		if strings.Contains(open, name) {
			t.Errorf("%q is open to all", name)
		}
		if !strings.Contains(private, name) {
			t.Errorf("%q cannot be found by anybody", name)
		}
	}
	if !strings.Contains(open, "blue clay") || strings.Contains(open, w.UID) && w.UID != "" {
		t.Errorf("open: %q", open)
	}
}
