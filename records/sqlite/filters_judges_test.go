//go:build judges

package sqlite_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tallybook/records"
	"tallybook/records/cql2"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

// SpatiaLite (by GEOS) chooses the same points by each spatial predicate.
func TestJudgeSpatialPredicates(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wells.sqlite")
	s, err := sqlite.Open(t.Context(), options(path))
	if err != nil {
		t.Fatal(err)
	}
	var wells []*records.Well
	for x := -4.0; x <= 4; x += 0.5 {
		for y := -4.0; y <= 4; y += 0.5 {
			wells = append(wells, at(x, y))
		}
	}
	put(t, s, wells...)
	var script, filters []string
	for _, place := range recordstest.Places(300) {
		wkt, ok := forGEOS(place)
		if !ok {
			continue
		}
		for ours, theirs := range map[string]string{"S_INTERSECTS": "ST_Intersects", "S_DISJOINT": "ST_Disjoint", "S_WITHIN": "ST_Within", "S_CONTAINS": "ST_Contains",
			"S_EQUALS": "ST_Equals", "S_TOUCHES": "ST_Touches", "S_OVERLAPS": "ST_Overlaps", "S_CROSSES": "ST_Crosses"} {
			filters = append(filters, ours+"(geometry, "+cql2.Print(place)+")", ours+"("+cql2.Print(place)+", geometry)")
			script = append(script,
				fmt.Sprintf("SELECT ifnull(group_concat(id), '') FROM (SELECT id FROM wells WHERE %s(geom, GeomFromText('%s', 4326)) = 1 ORDER BY id);", theirs, wkt),
				fmt.Sprintf("SELECT ifnull(group_concat(id), '') FROM (SELECT id FROM wells WHERE %s(GeomFromText('%s', 4326), geom) = 1 ORDER BY id);", theirs, wkt))
		}
	}
	if len(filters) < 3000 {
		t.Fatalf("only %d filters", len(filters))
	}
	file := filepath.Join(t.TempDir(), "ask.sql")
	if err := os.WriteFile(file, []byte(strings.Join(script, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	// A line before and behind: empty answers at the ends are trimmed off else.
	answers := strings.Split(judge(t, "sh", "-c", `echo .; spatialite -silent -batch "$1" < "$2"; echo .`, "sh", path, file), "\n")
	if len(answers) != len(filters)+2 {
		t.Fatalf("%d answers to %d questions", len(answers)-2, len(filters))
	}
	answers = answers[1:]
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		t.Fatal(err)
	}
	chosen := 0
	err = s.View(t.Context(), func(v records.StoreView) error {
		for i, filter := range filters {
			where, err := cql2.Ask(filter, c, cql2.CRS{})
			if err != nil {
				return err
			}
			got, err := keysWhere(t.Context(), v, where)
			if err != nil {
				return err
			}
			if got != answers[i] {
				t.Errorf("%s\nours:       %s\nSpatiaLite: %s\n%s", filter, got, answers[i], script[i])
			}
			if got != "" {
				chosen++
			}
		}
		return nil
	})
	if err != nil || chosen < 500 {
		t.Errorf("%d filters chose some: %v", chosen, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// forGEOS writes a place as WKT; not what GEOS takes otherwise: a box over the
// antimeridian, one of no width, and collections.
func forGEOS(place cql2.Expr) (wkt string, ok bool) {
	if b, is := place.(*cql2.Box); is {
		if b.Min[0] >= b.Max[0] || b.Min[1] >= b.Max[1] {
			return "", false
		}
		place = &cql2.Shape{Geometry: orb.Bound{Min: b.Min, Max: b.Max}.ToPolygon()}
	}
	_, isCollection := place.(*cql2.Shape).Geometry.(orb.Collection)
	return cql2.Print(place), !isCollection
}

// keysWhere lists the keys of the wells of which a condition is true.
func keysWhere(ctx context.Context, v records.StoreView, where records.Condition) (string, error) {
	var keys []string
	err := v.EachFeature(ctx, records.FeatureQuery{Collection: records.FeaturesWells, Where: where}, func(f *records.Feature) error {
		keys = append(keys, fmt.Sprint(f.Key.Record))
		return nil
	})
	return strings.Join(keys, ","), err
}
