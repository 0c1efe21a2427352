package desk_test

import (
	"strings"
	"testing"
)

// TestCheckFindsWhatIsWrong plants one fault in a sound database at a time.
func TestCheckFindsWhatIsWrong(t *testing.T) {
	own := func(sql string) string {
		return "INSERT INTO own_write VALUES (1); " + sql + "; DELETE FROM own_write"
	}
	for _, c := range []struct{ name, sql, words string }{
		{"sound", "SELECT 1", ""},
		{"a record that is no longer valid", own(`UPDATE well_records SET doc = replace(doc, '"total_depth_m":65', '"total_depth_m":-65') WHERE well_id = 101`), "total_depth_m"},
		{"a text that is no JSON", own("UPDATE well_records SET doc = '{' WHERE well_id = 3"), "record 3 cannot be read"},
		{"the index out of step", "DELETE FROM idx_wells_geom WHERE pkid = 3", "record 3 has a position and is not in the spatial index"},
		{"a derived column out of step", own("UPDATE wells SET depth_to_bedrock_m = 777 WHERE id = 5"), "depth_to_bedrock_m, depth_to_bedrock_qualifier is 777, exact, and the record says 7, exact"},
		{"rows not accounted for", "UPDATE batches SET read = read + 1", "121 rows read, but 120 accepted and 0 refused"},
		{"more records than rows", "UPDATE batches SET accepted = 100, refused = 20", "100 rows accepted, but 120 records name it"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, path := newDesk(t)
			mustTakeIn(t, d, features(120))
			damage(t, path, c.sql)
			r, err := d.Check(t.Context(), me, nil)
			if err != nil {
				t.Fatal(err)
			}
			if r.Wells != 120 || r.Sound() != (c.words == "") {
				t.Fatalf("%d wells checked; problems: %v", r.Wells, r.Problems)
			}
			all := ""
			for _, p := range r.Problems {
				all += p.Fault.String() + "\n"
				if p.Fault.Mend == "" {
					t.Errorf("no mend for %s", p.Fault)
				}
			}
			if !strings.Contains(all, c.words) {
				t.Errorf("it finds\n%s", all)
			}
		})
	}
}

// TestChangesByOthersAreSound: what a GIS program writes into the layer is an
// edit and no fault.
func TestChangesByOthersAreSound(t *testing.T) {
	d, path := newDesk(t)
	mustTakeIn(t, d, features(20))
	damage(t, path, "UPDATE wells SET number = 'by GIS', depth_to_bedrock_m = 9 WHERE id = 4; DELETE FROM wells WHERE id = 5")
	if r, err := d.Check(t.Context(), me, nil); err != nil || !r.Sound() || r.Wells != 19 {
		t.Errorf("%+v, %v", r, err)
	}
	if err := d.Refresh(t.Context()); err != nil || d.Picture().Len() != 19 {
		t.Errorf("%d show, %v", d.Picture().Len(), err)
	}
}
