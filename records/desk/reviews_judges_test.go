//go:build judges

package desk_test

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/sqlite"
)

// TestCompletenessAgainstSQL counts the same by the decade with the sqlite3
// program (Debian package sqlite3) on the layer as any other program sees it.
func TestCompletenessAgainstSQL(t *testing.T) {
	path := filepath.Join(t.TempDir(), "judged.db")
	store, err := sqlite.Open(t.Context(), sqlite.Options{Path: path, Create: true, Reader: lithology.Default()})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), desk.Options{Store: store, Now: func() time.Time { return time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC) }})
	if err != nil {
		t.Fatal(err)
	}
	wells := demo.Make(5).Wells
	for i, w := range wells { // gaps, as real files have them
		if i%7 == 0 {
			w.StaticLevel.Qualifier, w.StaticLevels = 0, nil
		}
		if i%11 == 0 {
			w.Rock, w.Purpose = "", ""
		}
		if i%13 == 0 {
			w.Setting, w.Place.Located = "", false
		}
	}
	if err := d.AddAll(t.Context(), desk.LocalPerson(), wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	doc := worked(t, d, reviewSettings(nil))
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	ours := map[string]string{}
	table := doc.Answer("completeness").Table("by_decade")
	with, all := table.Texts("with_it"), table.Texts("records")
	decades := table.Texts("decade")
	for i, thing := range table.Texts("thing") {
		ours[thing+" "+decades[i]] = with[i] + " of " + all[i]
	}
	judged := 0
	for thing, there := range map[string]string{
		"position": "geom IS NOT NULL", "purpose": "purpose IS NOT NULL", "setting": "setting IS NOT NULL", "rock_unit": "rock_unit IS NOT NULL",
		"static_level": "static_level_m IS NOT NULL", "casing": "casing_depth_m IS NOT NULL", "ground_elevation": "ground_elevation_m IS NOT NULL",
		"position_accuracy": "accuracy_m IS NOT NULL", "log_of_strata": "EXISTS (SELECT 1 FROM strata WHERE well_id = wells.id)",
		"total_depth": "total_depth_m IS NOT NULL",
	} {
		query := fmt.Sprintf("SELECT CASE WHEN completed IS NULL THEN 'undated' ELSE substr(completed, 1, 3) || '0s' END AS decade, sum(%s), count(*) FROM wells GROUP BY decade;", there)
		out, err := exec.Command("sqlite3", "-readonly", "-separator", " ", path, query).CombinedOutput()
		if err != nil {
			t.Fatalf("sqlite3 (Debian package sqlite3) is needed here: %v\n%s", err, out)
		}
		for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
			f := strings.Fields(line)
			if len(f) != 3 {
				t.Fatalf("%s: sqlite3 answered %q", thing, line)
			}
			judged++
			if got, want := ours[thing+" "+f[0]], f[1]+" of "+f[2]; got != want {
				t.Errorf("%s in the %s: %s, sqlite3 says %s", thing, f[0], got, want)
			}
		}
	}
	if judged < 40 {
		t.Errorf("only %d counts were judged", judged)
	}
	t.Logf("%d counts agree", judged)
}
