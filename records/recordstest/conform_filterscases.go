package recordstest

import (
	"context"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/cql2"
)

// filterCases are filters of pickedWells and what they choose, worked by hand
// from the meanings of OGC 21-065r2 (from memory).
var filterCases = []struct {
	filter, want string
	crs          cql2.CRS
}{
	{filter: "TRUE", want: "A b C é D%x E"},
	{filter: "FALSE"},
	{filter: "NOT FALSE", want: "A b C é D%x E"},
	{filter: "number = 'b'", want: "b"},
	{filter: "'b' = number", want: "b"},
	{filter: "number <> 'b'", want: "A C é D%x E"},
	{filter: "number < 'a'", want: "A C é D%x E"}, // capitals come first
	{filter: "yield_lps >= 0.5", want: "b C é"},
	{filter: "NOT yield_lps >= 0.5", want: "A"},
	{filter: "yield_lps = 0", want: "A"},
	{filter: "yield_lps IS NULL", want: "D%x E"},
	{filter: "yield_lps IS NOT NULL", want: "A b C é"},
	{filter: "(yield_lps > 0) IS NULL", want: "D%x E"},
	{filter: "yield_lps > 0 OR number = 'E'", want: "b C é E"},
	{filter: "yield_lps > 0 AND number = 'E'"},
	{filter: "yield_lps BETWEEN 0.5 AND 1", want: "b C é"},
	{filter: "yield_lps NOT BETWEEN 0.5 AND 1", want: "A"},
	{filter: "number IN ('A', 'E', 'z')", want: "A E"},
	{filter: "number NOT IN ('A', 'E', 'z')", want: "b C é D%x"},
	{filter: "yield_lps IN (0, 1)", want: "A C é"},
	{filter: "number LIKE '_'", want: "A b E"},
	{filter: "number LIKE 'D\\%%'", want: "D%x"},
	{filter: "number LIKE 'd%'"},
	{filter: "CASEI(number) LIKE CASEI('d%')", want: "D%x"},
	{filter: "CASEI(number) = CASEI('B')", want: "b"},
	{filter: "ACCENTI(number) = ACCENTI('C e')", want: "C é"},
	{filter: "CASEI(ACCENTI(number)) = 'c e'", want: "C é"},
	{filter: "yield_lps * 2 + 1 = 3", want: "C é"},
	{filter: "1 / yield_lps > 0", want: "b C é"}, // what is divided by zero is missing
	{filter: "7 % 4 = 3 AND 7 DIV 4 = 1 AND -7 DIV 4 = -1 AND 2 ^ 3 = 8", want: "A b C é D%x E"},
	{filter: "7 / 4 = 1.75", want: "A b C é D%x E"},

	// A: 2004, b: 2004-06, C é: 2004-06-15, D%x: 2005-01-01.
	{filter: "completed < DATE('2005-01-01')", want: "A b C é"},
	{filter: "completed >= DATE('2004-01-01')", want: "A b C é D%x"},
	{filter: "completed >= DATE('2004-06-01')", want: "b C é D%x"},
	{filter: "completed < DATE('2004-06-16')", want: "C é"},
	{filter: "NOT completed < DATE('2004-06-16')", want: "D%x"},
	{filter: "(completed < DATE('2004-06-16')) IS NULL", want: "A b E"},
	{filter: "completed = DATE('2004-06-15')", want: "C é"},
	{filter: "completed <> DATE('2004-06-15')", want: "D%x"},
	{filter: "completed BETWEEN DATE('2004-01-01') AND DATE('2004-12-31')", want: "A b C é"},
	{filter: "completed >= TIMESTAMP('2004-06-15T23:00:00Z')", want: "C é D%x"}, // its day
	{filter: "T_INTERSECTS(completed, DATE('2004-06-15'))", want: "A b C é"},
	{filter: "T_INTERSECTS(completed, INTERVAL('2004-06-20', '..'))", want: "A b D%x"},
	{filter: "T_DISJOINT(completed, DATE('2004-06-15'))", want: "D%x"},
	{filter: "T_AFTER(completed, DATE('2004-06-15'))", want: "D%x"},
	{filter: "T_BEFORE(completed, DATE('2004-07-01'))", want: "b C é"},
	{filter: "T_DURING(completed, INTERVAL('2003-12-31', '2004-07-01'))", want: "b C é"},
	{filter: "T_DURING(completed, INTERVAL('2004-06-01', '2004-07-01'))", want: "C é"}, // not from the first day on
	{filter: "T_STARTS(completed, INTERVAL('2004-06-01', '2004-07-01'))", want: "b"},
	{filter: "T_FINISHES(completed, INTERVAL('2004-01-01', '2004-06-30'))", want: "b"},
	{filter: "T_EQUALS(completed, INTERVAL('2004-01-01', '2004-12-31'))", want: "A"},
	{filter: "T_CONTAINS(completed, DATE('2004-06-15'))", want: "A b"},
	{filter: "T_MEETS(completed, INTERVAL('2004-06-30', '..'))", want: "b"},
	{filter: "T_METBY(completed, INTERVAL('..', '2004-06-01'))", want: "b"},
	{filter: "T_OVERLAPS(completed, INTERVAL('2004-06-15', '2005-06-15'))", want: "A b"},
	{filter: "T_OVERLAPPEDBY(completed, INTERVAL('2003-06-15', '2004-06-15'))", want: "A b"},
	{filter: "T_STARTEDBY(completed, DATE('2004-01-01'))", want: "A"},
	{filter: "T_FINISHEDBY(completed, DATE('2004-06-30'))", want: "b"},

	// A: -72 44, b: -72 45, C é: 179.5 -10, D%x: -179.5 -10, E: nowhere.
	{filter: "geometry IS NULL", want: "E"},
	{filter: "S_INTERSECTS(geometry, POINT(-72 44))", want: "A"},
	{filter: "S_INTERSECTS(POINT(-72 44), geometry)", want: "A"},
	{filter: "S_INTERSECTS(geometry, BBOX(-72, 44, -70, 45))", want: "A b"}, // its border is in it
	{filter: "S_INTERSECTS(geometry, BBOX(-72, 44, 0, -70, 45, 9))", want: "A b"},
	{filter: "S_WITHIN(geometry, BBOX(-72, 44, -70, 45))"},
	{filter: "S_TOUCHES(geometry, BBOX(-72, 44, -70, 45))", want: "A b"},
	{filter: "S_INTERSECTS(geometry, BBOX(179, -20, -179, 0))", want: "C é D%x"},
	{filter: "NOT S_INTERSECTS(geometry, BBOX(179, -20, -179, 0))", want: "A b"},
	{filter: "S_DISJOINT(geometry, BBOX(179, -20, -179, 0))", want: "A b"},
	{filter: "S_INTERSECTS(geometry, POLYGON((-73 43, -71 43, -71 46, -73 43)))", want: "A"},
	{filter: "S_INTERSECTS(geometry, POLYGON((-75 40, -70 40, -70 50, -75 50, -75 40), (-73 43.5, -71 43.5, -71 44.5, -73 44.5, -73 43.5)))", want: "b"},
	{filter: "S_WITHIN(geometry, LINESTRING(-72 43, -72 45))", want: "A"},
	{filter: "S_TOUCHES(geometry, LINESTRING(-72 43, -72 45))", want: "b"},
	{filter: "S_EQUALS(geometry, MULTIPOINT((-72 44), (-72 44)))", want: "A"},
	{filter: "S_CONTAINS(geometry, POINT(-72 45))", want: "b"},
	{filter: "S_CONTAINS(BBOX(-73, 40, -71, 44.5), geometry)", want: "A"},
	{filter: "S_CROSSES(geometry, LINESTRING(-72 43, -72 45))"},
	{filter: "S_OVERLAPS(geometry, POINT(-72 44))"},

	// In other reference systems; the zone's numbers by gdaltransform: A lies at
	// 740526.321 4876249.127 in zone 18.
	{filter: "S_INTERSECTS(geometry, POINT(44 -72))", want: "A", crs: cql2.CRS{LatFirst: true}},
	{filter: "S_INTERSECTS(geometry, BBOX(-20, 179, 0, -179))", want: "C é D%x", crs: cql2.CRS{LatFirst: true}},
	{filter: "S_INTERSECTS(geometry, BBOX(740526.3, 4876249.1, 740526.4, 4876249.2))", want: "A", crs: cql2.CRS{Plane: position.UTM(18, true)}},
	{filter: "S_INTERSECTS(geometry, POLYGON((700000 4900000, 800000 5000000, 700000 5000000, 700000 4900000)))", want: "b", crs: cql2.CRS{Plane: position.UTM(18, true)}},
	{filter: "S_DISJOINT(geometry, BBOX(700000, 4800000, 800000, 4900000))", want: "b C é D%x", crs: cql2.CRS{Plane: position.UTM(18, true)}},
	{filter: "S_INTERSECTS(geometry, BBOX(-8100000, 0, -8000000, 5500000))", want: "A", crs: cql2.CRS{Plane: position.WebMercator{}}},
}

func filtersWorked(t *testing.T, s records.Store) {
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		for _, w := range pickedWells() {
			if err := tx.PutWell(ctx, w, ""); err != nil {
				return err
			}
		}
		return nil
	})
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		t.Fatal(err)
	}
	number, _ := c.Field("number")
	for _, one := range filterCases {
		where, err := cql2.Ask(one.filter, c, one.crs)
		if err != nil {
			t.Errorf("%s: %v", one.filter, err)
			continue
		}
		var got []string
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			return v.EachFeature(ctx, records.FeatureQuery{Collection: c.Name, Where: where}, func(f *records.Feature) error {
				got = append(got, f.Values[number].(string))
				return nil
			})
		})
		if strings.Join(got, " ") != one.want {
			t.Errorf("%s: got %q, want %q", one.filter, strings.Join(got, " "), one.want)
		}
	}
}

// filtersInTime tries every predicate of time on every pair of intervals of few
// days: one right way for each of the ways in which two can lie.
func filtersInTime(t *testing.T, s records.Store) {
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutWell(ctx, &records.Well{Number: "only", Completed: records.Date{Year: 2004, Month: 2}}, "")
	})
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		t.Fatal(err)
	}
	only := kept(t, s, records.FeatureQuery{Collection: c.Name})[0]
	ends := []string{"..", "2004-01-31", "2004-02-01", "2004-02-29", "2004-03-01", ".."}
	times := []string{"completed", "DATE('2004-02-01')", "TIMESTAMP('2004-02-29T12:00:00Z')"}
	for i, from := range ends[:5] {
		for _, to := range ends[max(i, 1):] {
			times = append(times, "INTERVAL('"+from+"', '"+to+"')")
		}
	}
	fields := cql2.FieldsOf(c)
	n := 0
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		for _, op := range strings.Fields("T_AFTER T_BEFORE T_CONTAINS T_DISJOINT T_DURING T_EQUALS T_FINISHEDBY T_FINISHES T_INTERSECTS T_MEETS T_METBY T_OVERLAPPEDBY T_OVERLAPS T_STARTEDBY T_STARTS") {
			some := 0
			for _, a := range times {
				for _, b := range times {
					filter := op + "(" + a + ", " + b + ")"
					x, err := cql2.Read(filter, fields, cql2.CRS{})
					if err != nil {
						return err
					}
					got, _, err := v.CountFeatures(ctx, c.Name, cql2.Condition(x, fields))
					if want := Chosen(x, c, only); err != nil || want != (got == 1) {
						t.Errorf("%s: %d, want %v, %v", filter, got, want, err)
					}
					n++
					some += int(got)
				}
			}
			if some == 0 {
				t.Errorf("%s is true of nothing", op)
			}
		}
		return nil
	})
	if n < 4000 {
		t.Errorf("only %d were tried", n)
	}
}
