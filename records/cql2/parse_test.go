package cql2_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records/cql2"
)

// sameTree compares trees but for where their parts began.
var sameTree = cmpopts.IgnoreTypes(cql2.Pos(0), cql2.Place{})

func prop(name string) *cql2.Property { return &cql2.Property{Name: name} }
func num(v float64) *cql2.Number      { return &cql2.Number{Value: v} }
func text(s string) *cql2.Text        { return &cql2.Text{Value: s} }

func TestParse(t *testing.T) {
	is := func(op string, l, r cql2.Expr) cql2.Expr { return &cql2.Compare{Op: op, Left: l, Right: r} }
	a, b, c := is("=", prop("a"), num(1)), is("=", prop("b"), num(2)), is("=", prop("c"), num(3))
	for in, want := range map[string]cql2.Expr{
		"a=1":                           a,
		"  a = 1 ":                      a,
		`"a" = +1.0e0`:                  a,
		"a = 1 AND b = 2 AND c = 3":     &cql2.And{Args: []cql2.Expr{a, b, c}},
		"a=1 or b=2 and c=3":            &cql2.Or{Args: []cql2.Expr{a, &cql2.And{Args: []cql2.Expr{b, c}}}},
		"(a=1 or b=2) and c=3":          &cql2.And{Args: []cql2.Expr{&cql2.Or{Args: []cql2.Expr{a, b}}, c}},
		"not a=1 and b=2":               &cql2.And{Args: []cql2.Expr{&cql2.Not{Arg: a}, b}},
		"NOT (a=1 AND b=2)":             &cql2.Not{Arg: &cql2.And{Args: []cql2.Expr{a, b}}},
		"x <> 'it''s'":                  is("<>", prop("x"), text("it's")),
		`x <> 'it\'s'`:                  is("<>", prop("x"), text("it's")),
		`x = 'a\b'`:                     is("=", prop("x"), text(`a\b`)),
		"x = ''":                        is("=", prop("x"), text("")),
		"x>-1.5":                        is(">", prop("x"), num(-1.5)),
		"x >= .5":                       is(">=", prop("x"), num(.5)),
		"-x < - 2":                      is("<", &cql2.Minus{Value: prop("x")}, num(-2)),
		"x+y*2^3 <= 7 - 1 - 1":          is("<=", &cql2.Sum{Op: "+", Left: prop("x"), Right: &cql2.Sum{Op: "*", Left: prop("y"), Right: &cql2.Sum{Op: "^", Left: num(2), Right: num(3)}}}, &cql2.Sum{Op: "-", Left: &cql2.Sum{Op: "-", Left: num(7), Right: num(1)}, Right: num(1)}),
		"(x + y) * 2 = z div 3":         is("=", &cql2.Sum{Op: "*", Left: &cql2.Sum{Op: "+", Left: prop("x"), Right: prop("y")}, Right: num(2)}, &cql2.Sum{Op: "DIV", Left: prop("z"), Right: num(3)}),
		"a1.b_c IS NULL":                &cql2.IsNull{Value: prop("a1.b_c")},
		"x is not null":                 &cql2.Not{Arg: &cql2.IsNull{Value: prop("x")}},
		"x LIKE 'B%'":                   &cql2.Like{Value: prop("x"), Pattern: text("B%")},
		"CASEI(x) NOT LIKE casei('b_')": &cql2.Not{Arg: &cql2.Like{Value: &cql2.Fold{Op: "CASEI", Value: prop("x")}, Pattern: &cql2.Fold{Op: "CASEI", Value: text("b_")}}},
		"x BETWEEN 1 AND 2 AND a=1":     &cql2.And{Args: []cql2.Expr{&cql2.Between{Value: prop("x"), Low: num(1), High: num(2)}, a}},
		"x NOT IN ('p','q')":            &cql2.Not{Arg: &cql2.In{Value: prop("x"), List: []cql2.Expr{text("p"), text("q")}}},
		"true":                          &cql2.Bool{Value: true},
		"date = DATE('2004-02-29')":     is("=", prop("date"), &cql2.Moment{Text: "2004-02-29"}),
		"point = 1 OR \"and\" = 1":      &cql2.Or{Args: []cql2.Expr{is("=", prop("point"), num(1)), is("=", prop("and"), num(1))}},
		"t < TIMESTAMP('2004-01-01T01:00:00.5+02:00')": is("<", prop("t"), &cql2.Moment{Text: "2003-12-31T23:00:00.500000Z"}),
		"T_DURING(t, INTERVAL('..', '2004-01-01T00:00:00Z'))": &cql2.Temporal{Op: "T_DURING", Left: prop("t"),
			Right: &cql2.Interval{From: &cql2.Open{}, To: &cql2.Moment{Text: "2004-01-01T00:00:00.000000Z"}}},
		"t_after(INTERVAL(f, u), date('2004-01-01'))": &cql2.Temporal{Op: "T_AFTER",
			Left: &cql2.Interval{From: prop("f"), To: prop("u")}, Right: &cql2.Moment{Text: "2004-01-01"}},
		"ölçü = 1": is("=", prop("ölçü"), num(1)),
	} {
		got, err := cql2.Parse(in)
		if err != nil {
			t.Errorf("%s: %v", in, err)
			continue
		}
		if diff := cmp.Diff(want, got, sameTree); diff != "" {
			t.Errorf("%s:\n%s", in, diff)
		}
		again, err := cql2.Parse(cql2.Print(got))
		if err != nil || !cmp.Equal(got, again, sameTree) {
			t.Errorf("%s: printed as %s, read as %v, %v", in, cql2.Print(got), again, err)
		}
	}
}

// Filters in the manner of those that OGC 21-065r2 shows, written from memory
// of it: each of its forms has to be read.
func TestParseStandardsForms(t *testing.T) {
	for _, in := range []string{
		"vehicle_height > (bridge_clearance-1)",
		"city='Toronto'",
		"balance-150.0 > 0",
		"updated >= DATE('1970-01-01')",
		"eo:cloud_cover < 0.1 OR eo:cloud_cover > 99.9",
		"name LIKE 'Smith%'",
		"depth BETWEEN 100.0 and 150.0",
		"cityName IN ('Toronto', 'Frankfurt', 'Tokyo', 'New York')",
		"category NOT IN (1,2,3,4)",
		"geophoto IS NOT NULL",
		"CASEI(road_class) IN (CASEI('Οδος'),CASEI('Straße'))",
		"ACCENTI(etat_vol) = ACCENTI('débárquér')",
		"S_INTERSECTS(geometry,POINT(36.319836 32.288087))",
		"S_CROSSES(road,LINESTRING(43.7286 -79.2986,43.7311 -79.2996,43.7323 -79.2972))",
		"S_WITHIN(location,BBOX(-118,33.8,-117.9,34))",
		"S_INTERSECTS(geom,POLYGON((0 0,10 0,10 10,0 10,0 0),(2 2,4 2,4 4,2 4,2 2)))",
		"S_INTERSECTS(geom,MULTIPOINT((1 2),(3 4)))",
		"S_INTERSECTS(geom,MULTIPOINT(1 2,3 4))",
		"S_INTERSECTS(geom,MULTILINESTRING((1 2,3 4),(5 6,7 8)))",
		"S_INTERSECTS(geom,MULTIPOLYGON(((0 0,1 0,1 1,0 0)),((5 5,6 5,6 6,5 5))))",
		"S_INTERSECTS(geom,GEOMETRYCOLLECTION(POINT(1 2),LINESTRING(1 2,3 4)))",
		"S_INTERSECTS(geom,POINT Z(1 2 3))",
		"S_INTERSECTS(geom,BBOX(0,0,-100,1,1,100))",
		"T_INTERSECTS(event_time, INTERVAL('1969-07-16T05:32:00Z', '1969-07-24T16:50:35Z'))",
		"T_DURING(INTERVAL(starts_at, ends_at), INTERVAL('2005-01-10', '2010-02-10'))",
		"T_AFTER(built,INTERVAL('..','2010-02-10'))",
		"(landsat:scene_id = 'LC82030282019133LGN00' and beamMode LIKE 'ScanSAR%') OR NOT (floors>5)",
	} {
		x, err := cql2.Parse(in)
		if err != nil {
			t.Errorf("%s: %v", in, err)
			continue
		}
		again, err := cql2.Parse(cql2.Print(x))
		if err != nil || !cmp.Equal(x, again, sameTree) {
			t.Errorf("%s: printed as %s: %v", in, cql2.Print(x), err)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for in, want := range map[string]string{
		"":                                 "it is empty",
		" \n":                              "it is empty",
		"a = ":                             "character 5, its end: a value or a field's name is missing",
		"a = 1 b = 2":                      "character 7, \"b = 2\": the filter was at its end here",
		"a == 1":                           "character 4",
		"a = 1 = 2":                        "one comparison follows another",
		"a != 1":                           "write <>",
		"a = 'x":                           "this quote has no end",
		"a = 1 AND":                        "a value or a field's name is missing",
		"a = 1 AND OR b = 2":               "a value is missing before OR",
		"(a = 1":                           "\")\" is missing for the bracket at character 1",
		"a IS 5":                           "IS goes with NULL",
		"a NOT 5":                          "NOT after a value goes with LIKE",
		"a BETWEEN 1, 2":                   "AND is missing after BETWEEN",
		"a IN 1":                           "\"(\" is missing after IN",
		"a IN (1; 2)":                      "this character has no meaning",
		"a = 5ft":                          "neither a number nor a name",
		"a = 1e999":                        "too great",
		"é = 'x' AND y = 1 &":              "character 19",
		"sqrt(a) = 1":                      "there is no function sqrt",
		"d = DATE('2004-02-30')":           "no day of the calendar",
		"d = DATE('2004')":                 "INTERVAL('2004-01-01', '2004-12-31')",
		"d = DATE(2004)":                   "single quotes",
		"t = TIMESTAMP('2004-02-01')":      "no moment",
		"t = DATE('2004-02-01T00:00:00Z')": "no day",
		"T_AFTER(d, INTERVAL('2004-02-01', '2003-01-01'))":                            "ends before it begins",
		"T_AFTER(d, INTERVAL('soon', '..'))":                                          "no end of an interval",
		"S_INTERSECTS(g, POINT(1))":                                                   "a number is missing",
		"S_INTERSECTS(g, POINT(1,2))":                                                 "a number is missing",
		"S_INTERSECTS(g, POINT(1 2 3))":                                               "Z stands before the bracket",
		"S_INTERSECTS(g, LINESTRING(1 2))":                                            "two positions at least",
		"S_INTERSECTS(g, POLYGON((0 0,1 0,1 1)))":                                     "four positions at least",
		"S_INTERSECTS(g, POLYGON((0 0,1 0,1 1,0 1)))":                                 "the last of them the first again",
		"S_INTERSECTS(g, BBOX(1,2,3))":                                                "four numbers",
		"S_INTERSECTS(g, GEOMETRYCOLLECTION(1 2))":                                    "a geometry is missing",
		"S_INTERSECTS(g)":                                                             "\",\" is missing",
		"a = 'x\x00'":                                                                 "control character",
		"a = '\xff'":                                                                  "UTF-8",
		strings.Repeat("(", 70) + "a=1":                                               "stand in each other",
		strings.Repeat("NOT ", 70) + "a=1":                                            "stand in each other",
		"1" + strings.Repeat("+1", 70) + " = 1":                                       "stand in each other",
		"a IN (1" + strings.Repeat(",1", 5000) + ")":                                  "more than 2048 parts",
		"a = '" + strings.Repeat("x", 70000) + "'":                                    "longer than 65536 bytes",
		"S_INTERSECTS(g, " + strings.Repeat("GEOMETRYCOLLECTION(", 70) + "POINT(1 2)": "stand in each other",
	} {
		x, err := cql2.Parse(in)
		if err == nil {
			t.Errorf("%.60s: read as %s", in, cql2.Print(x))
			continue
		}
		var e *cql2.Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) || len(err.Error()) > 400 {
			t.Errorf("%.60s: %v; want %s", in, err, want)
		}
	}
}

var fields = []cql2.Field{
	{Name: "geometry", Type: cql2.PlaceType}, {Name: "number", Type: cql2.TextType}, {Name: "yield_lps", Type: cql2.NumberType},
	{Name: "completed", Type: cql2.DateType}, {Name: "kept_at", Type: cql2.TimeType}, {Name: "withdrawn", Type: cql2.BoolType},
}

func TestReadRefuses(t *testing.T) {
	for in, want := range map[string]string{
		"depth > 1":                                "there are completed, geometry, kept_at, number",
		"Yield_lps > 1":                            "write yield_lps",
		"number = 12":                              "number is a text, this is a number; write it in single quotes",
		"12 = number":                              "character 1, \"12 = number\": number is a text",
		"yield_lps > '1'":                          "without quotes",
		"completed > '2004-06-15'":                 "write DATE(",
		"number":                                   "this is a text and no condition",
		"withdrawn":                                "write = TRUE",
		"withdrawn > FALSE":                        "no order",
		"yield_lps + number = 1":                   "sums are made of numbers",
		"CASEI(yield_lps) = 'x'":                   "CASEI takes",
		"yield_lps LIKE '1%'":                      "LIKE compares",
		"number LIKE number":                       "the pattern after LIKE is no text",
		"number LIKE '%%%%%%%%%'":                  "more than 8",
		"geometry = 1":                             "S_INTERSECTS",
		"S_INTERSECTS(geometry, 1)":                "compares places",
		"S_INTERSECTS(POINT(1 2), POINT(1 2))":     "two given places",
		"S_INTERSECTS(geometry, POINT(44.5 -371))": "beyond 180 degrees",
		"S_INTERSECTS(geometry, BBOX(1,3,2,2))":    "upside down",
		"T_AFTER(number, DATE('2004-01-01'))":      "compares times",
		"T_AFTER(kept_at, INTERVAL(number, '..'))": "no end of an interval",
		"kept_at = INTERVAL('2004-01-01', '..')":   "an interval stands in a comparison",
		"(yield_lps > 1) = TRUE":                   "a condition stands where a value should",
		"completed IN (DATE('2004-01-01')" + strings.Repeat(",DATE('2004-01-01')", 300) + ")": "more than 200 times",
		"yield_lps IN (1, 'x')":                      "yield_lps is a number",
		"yield_lps BETWEEN DATE('2004-01-01') AND 2": "yield_lps is a number, this is a date",
	} {
		x, err := cql2.Read(in, fields, cql2.CRS{})
		if err == nil {
			t.Errorf("%s: read as %s", in, cql2.Print(x))
		} else if !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v; want %s", in, err, want)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"a=1", "a LIKE 'b%' OR NOT (c IS NULL AND -d + 2 ^ 3 >= 1e3)", "S_WITHIN(geometry, POLYGON((0 0,1 0,1 1,0 0)))",
		"T_DURING(INTERVAL(a, '..'), INTERVAL('2004-01-01','2004-06-15T10:00:00Z'))", "CASEI(x) IN ('it''s', 'b\\'')", "BBOX(1,2,3,4)", "-(5) = --5", `"a b" = 1`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, in string) {
		x, err := cql2.Parse(in)
		if err != nil {
			if len(err.Error()) > 500 {
				t.Errorf("a message of %d bytes", len(err.Error()))
			}
			return
		}
		// What is printed may be longer than a filter may be, and its brackets
		// deeper: the tree is then not looked at again.
		out := cql2.Print(x)
		again, err := cql2.Parse(out)
		if err != nil {
			if strings.Contains(err.Error(), "longer than") || strings.Contains(err.Error(), "stand in each other") {
				return
			}
			t.Fatalf("%q printed as %q: %v", in, out, err)
		}
		if diff := cmp.Diff(x, again, sameTree, cmpopts.EquateNaNs()); diff != "" {
			t.Fatalf("%q printed as %q:\n%s", in, out, diff)
		}
		if y, err := cql2.Read(in, fields, cql2.CRS{}); err == nil && cql2.Condition(y, fields) == nil {
			t.Fatalf("%q has no condition", in)
		}
	})
}
