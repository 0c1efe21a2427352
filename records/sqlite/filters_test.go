package sqlite_test

import (
	"context"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/cql2"
	"tallybook/records/recordstest"
)

func TestFiltersConform(t *testing.T) { recordstest.ConformFilters(t, fresh) }

// The longest and the deepest filters that are read are answered.
func TestLongFilters(t *testing.T) {
	s, _ := newStore(t)
	put(t, s, at(-72, 44))
	many := func(n int, one, joint string) string { return strings.TrimSuffix(strings.Repeat(one+joint, n), joint) }
	for name, filter := range map[string]string{
		"or":         many(500, "number = 'x'", " OR "),
		"and":        many(500, "yield_lps IS NULL", " AND "),
		"dates":      "NOT (" + many(400, "completed < DATE('2004-06-15')", " OR ") + ")",
		"list":       "number IN (" + strings.TrimSuffix(strings.Repeat("'x',", 2000), ",") + ")",
		"dates list": "completed NOT IN (" + strings.TrimSuffix(strings.Repeat("DATE('2004-06-15'),", 190), ",") + ")",
		"not":        strings.Repeat("NOT (", 31) + "completed < DATE('2004-06-15')" + strings.Repeat(")", 31),
		"null":       strings.Repeat("(", 60) + "completed IS NULL" + strings.Repeat(") IS NULL", 60),
		"sum":        "yield_lps" + strings.Repeat(" + yield_lps", 60) + " > 1",
		"power":      strings.Repeat("(2 ^ ", 55) + "yield_lps" + strings.Repeat(")", 55) + " > 1",
		"fold":       strings.Repeat("CASEI(", 60) + "number" + strings.Repeat(")", 60) + " = 'x'",
		"times":      many(225, "T_DURING(INTERVAL(completed, '..'), INTERVAL('2004-01-01', completed))", " OR "),
		"shapes":     many(400, "S_TOUCHES(geometry, POINT(1 2))", " OR "),
		"outline":    "S_WITHIN(geometry, POLYGON((" + strings.Repeat("0 0,1 0,1 1,", 5000) + "0 0)))",
	} {
		if _, err := ask(t.Context(), s, filter); err != nil {
			t.Errorf("%s, %d bytes: %.300v", name, len(filter), err)
		}
	}
}

// ask counts the wells that a filter chooses.
func ask(ctx context.Context, s records.Store, filter string) (n int, err error) {
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		return 0, err
	}
	where, err := cql2.Ask(filter, c, cql2.CRS{})
	if err != nil {
		return 0, err
	}
	err = s.View(ctx, func(v records.StoreView) error {
		return v.EachFeature(ctx, records.FeatureQuery{Collection: c.Name, Where: where}, func(*records.Feature) error {
			n++
			return nil
		})
	})
	return n, err
}

// FuzzFilter: whatever is read as a filter is answered, and a filter and its
// contrary choose nothing twice.
func FuzzFilter(f *testing.F) {
	for _, s := range []string{"number = 'A' OR yield_lps > 1", "S_TOUCHES(geometry, LINESTRING(0 0, 1 1))", "T_MEETS(completed, INTERVAL('..', '2004-01-01'))",
		"completed IN (DATE('2004-01-01'))", "1 / yield_lps ^ -2 % 3 DIV 2 = 0", "CASEI(ACCENTI(number)) LIKE '%a\\%_'", "(number IS NULL) IS NULL"} {
		f.Add(s)
	}
	s, _ := newStore(f)
	put(f, s, at(0, 0), &records.Well{Number: "A", Completed: records.Date{Year: 2004}}, &records.Well{Number: "a%", Yield: records.Of(records.Flow(2))})
	f.Fuzz(func(t *testing.T, filter string) {
		n, err := ask(t.Context(), s, filter)
		if err != nil {
			if records.CodeOf(err) != records.Invalid {
				t.Fatalf("%q: %v", filter, err)
			}
			return
		}
		not, err := ask(t.Context(), s, "NOT ("+filter+")")
		unknown, err2 := ask(t.Context(), s, "("+filter+") IS NULL")
		if err != nil || err2 != nil { // it may stand too deep by then
			return
		}
		if n+not+unknown != 3 {
			t.Fatalf("%q is true of %d of 3 wells, false of %d, unknown of %d", filter, n, not, unknown)
		}
	})
}

// What another program put where a date belongs and is none is a date that is
// missing; so is a text where a number belongs.
func TestFiltersOfWhatIsNone(t *testing.T) {
	s, path := newStore(t)
	for _, put := range []string{"'2004-02-30'", "'2004-13-01'", "'now'", "'soon'", "'20040615'", "2004.5", "'2004-06-15x'", "x'00'", "''", "'2004-6-15'"} {
		foreign(t, path, "DELETE FROM wells", "INSERT INTO wells(number, completed) VALUES ('A', "+put+")")
		for filter, want := range map[string]int{
			"completed IS NULL": 1, "completed >= DATE('0001-01-01') OR completed < DATE('0001-01-01')": 0,
			"(completed = DATE('2004-02-29')) IS NULL": 1, "T_AFTER(completed, DATE('0001-01-01'))": 0, "NOT T_AFTER(completed, DATE('0001-01-01'))": 0,
		} {
			if got, err := ask(t.Context(), s, filter); err != nil || got != want {
				t.Errorf("%s with %s: %d, %v, want %d", filter, put, got, err, want)
			}
		}
	}
	foreign(t, path, "DELETE FROM wells", "INSERT INTO wells(number, yield_lps) VALUES (7, 'lots')")
	for filter, want := range map[string]int{"yield_lps IS NULL": 1, "yield_lps > 0 OR yield_lps <= 0": 0, "yield_lps + 1 = 1": 0, "number = '7'": 1} {
		if got, err := ask(t.Context(), s, filter); err != nil || got != want {
			t.Errorf("%s: %d, %v, want %d", filter, got, err, want)
		}
	}
}
