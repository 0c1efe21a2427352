package snapshot_test

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tallybook/records"
	"tallybook/records/snapshot"
)

// Worked by hand: what crosses itself or encloses nothing is no outline.
func TestOutlineIsSound(t *testing.T) {
	square := orb.Ring{{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}}
	for name, tc := range map[string]struct {
		polygon orb.Polygon
		refused string // "" when it is sound
	}{
		"square":                        {orb.Polygon{square}, ""},
		"with a hole":                   {orb.Polygon{square, {{1, 1}, {1, 2}, {2, 2}, {2, 1}, {1, 1}}}, ""},
		"a hole that touches":           {orb.Polygon{square, {{0, 2}, {1, 3}, {1, 1}, {0, 2}}}, ""},
		"bow tie":                       {orb.Polygon{{{0, 0}, {4, 4}, {4, 0}, {0, 4}, {0, 0}}}, "near 2.00000, 2.00000"},
		"a hole that crosses its shell": {orb.Polygon{square, {{3, 1}, {5, 1}, {5, 2}, {3, 2}, {3, 1}}}, "crosses itself"},
		"a line there and back":         {orb.Polygon{{{0, 0}, {2, 2}, {4, 4}, {0, 0}}}, "no area"},
	} {
		_, err := snapshot.OutlineArea(orb.MultiPolygon{tc.polygon})
		if tc.refused == "" && err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if tc.refused != "" && (records.CodeOf(err) != records.Invalid || !strings.Contains(err.Error(), tc.refused)) {
			t.Errorf("%s gives %v, want it refused with %q", name, err, tc.refused)
		}
	}
}
