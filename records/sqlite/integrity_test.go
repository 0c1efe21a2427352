package sqlite_test

import (
	"strings"
	"testing"

	"tallybook/records"
)

// TestIntegrity plants one thing at a time that is out of step and wants it
// found and named, and nothing else.
func TestIntegrity(t *testing.T) {
	own := func(sql string) string {
		return "INSERT INTO own_write VALUES (1); " + sql + "; DELETE FROM own_write"
	}
	for _, c := range []struct{ name, sql, field, words string }{
		{"sound", "SELECT 1", "", ""},
		{"not in the index", "DELETE FROM idx_wells_geom WHERE pkid = 3", "spatial index", "record 3 has a position"},
		{"too much in the index", "INSERT INTO idx_wells_geom VALUES (99, 1, 1, 1, 1)", "spatial index", "record 99"},
		{"elsewhere in the index", "UPDATE idx_wells_geom SET xmin = 10, xmax = 10 WHERE pkid = 4", "spatial index", "record 4 lies at"},
		{"a derived column", own("UPDATE wells SET casing_depth_m = 777 WHERE id = 5"), "layer", "casing_depth_m is 777"},
		{"a column behind the record's back", own("UPDATE wells SET number = 'X' WHERE id = 5"), "layer", "number is X"},
		{"a revision", own("UPDATE well_records SET revision = 9 WHERE well_id = 5"), "layer", "at 9 in its text"},
		{"a uid", own("UPDATE wells SET uid = 'other' WHERE id = 5"), "layer", "called other"},
		{"a stratum moved", own("UPDATE strata SET top_m = top_m + 1 WHERE well_id = 6 AND position = 2"), "strata", "record 6"},
		{"a stratum gone", own("DELETE FROM strata WHERE well_id = 6 AND position = 5"), "strata", "record 6"},
		{"a stratum too many", "INSERT INTO strata VALUES (6, 6, 1, 2, '', '', '')", "strata", "record 6"},
		{"a text gone", own("DELETE FROM well_records WHERE well_id = 7"), "", "record 7 is in the layer without a text"},
		{"a text left over", "INSERT INTO well_records VALUES (98, 1, '{}')", "references", "98"},
		{"an intake that is not there", own("UPDATE wells SET batch_id = 55 WHERE id = 8"), "", "intake 55"},
		{"a review that cannot be read", "INSERT INTO reviews(uid, kept_at, kept_by, title, data_commit, data_digest, wells, doc) VALUES ('r', '2026-01-01T00:00:00Z', 'x', 'x', 1, 'ab', 3, '{')", "reviews", "review 1 cannot be read"},
		{"a review of other records", "INSERT INTO reviews(uid, kept_at, kept_by, title, data_commit, data_digest, wells, doc) VALUES ('r', '2026-01-01T00:00:00Z', 'x', 'x', 1, 'ab', 3, '{\"data\":{\"digest\":\"ab\",\"wells\":4}}')", "reviews", "names other records"},
		{"a picture", "UPDATE picture SET data = substr(data, 1, 40) || x'AB' || substr(data, 42)", "picture", "records 0 to 4095"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _ := newStore(t)
			for i := range 10 {
				put(t, s, invented(uint64(i)))
			}
			err := s.View(t.Context(), func(v records.StoreView) error {
				return v.Digests(t.Context(), func([]records.Digest) error { return nil }) // makes the picture
			})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := s.Writer().Exec(c.sql); err != nil {
				t.Fatal(err)
			}
			faults, err := s.CheckIntegrity(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if c.words == "" {
				if len(faults) > 0 {
					t.Errorf("nothing is wrong, and it finds %v", faults)
				}
				return
			}
			found := false
			for _, f := range faults {
				if c.field != "" && f.Field != c.field {
					t.Errorf("it finds also %s", f)
				}
				found = found || strings.Contains(f.Message, c.words)
				if f.Mend == "" {
					t.Errorf("no mend for %s", f)
				}
			}
			if !found {
				t.Errorf("not found; it finds %v", faults)
			}
		})
	}
}
