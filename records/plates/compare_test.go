package plates_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/plates"
)

// The levels and tolerances are our own (common practice, no source); these
// cases were worked by hand.

func TestNumbers(t *testing.T) {
	const same, fits, misread, off, other = "the same", "fits what was read", "one digit misread or two exchanged", "one digit off", "another"
	for _, c := range []struct{ a, b, want string }{
		{"40117", "40117", same},
		{"w-40117", "W 40117", same},
		{"401?7", "40117", fits},
		{"4?1?7", "40117", fits},
		{"???17", "40117", other}, // too little was read
		{"40117", "40111", misread},
		{"60117", "80117", misread},
		{"40171", "40117", misread},
		{"40127", "40117", off},
		{"4017", "40117", off},
		{"401117", "40117", off},
		{"40117", "W40117", off},
		{"NF-0180", "180", off}, // the same without its letters
		{"40117", "50218", other},
		{"12", "13", other}, // so short that one digit is half of it
		{"", "40117", plates.Missing},
		{"--", "40117", plates.Missing},
	} {
		if got := plates.CompareNumbers(c.a, c.b); got != c.want {
			t.Errorf("%q, %q: %s, want %s", c.a, c.b, got, c.want)
		}
		if got := plates.CompareNumbers(c.b, c.a); got != c.want {
			t.Errorf("%q, %q: %s, want %s", c.b, c.a, got, c.want)
		}
	}
}

func TestDates(t *testing.T) {
	date := func(s string) records.Date {
		d, err := records.ParseDate(s)
		if s != "" && err != nil {
			t.Fatal(err)
		}
		return d
	}
	for _, c := range []struct{ a, b, want string }{
		{"1996-04-22", "1996-04-22", "the same day"},
		{"1996-04-22", "1996-04", "the same month, as far as said"},
		{"1996-04-22", "1996", "the same year, as far as said"},
		{"1996-04-22", "1996-05-30", "within some weeks"},
		{"1996-12-22", "1997-01-30", "within some weeks"},
		{"1996-04-07", "1996-07-04", "as if miswritten"},
		{"1996-04-22", "1995-04-22", "as if miswritten"},
		{"1996-04-22", "1969-04-22", "as if miswritten"},
		{"1996-04-22", "1996-09-22", "within a year"},
		{"1996-04-22", "1999-08-22", "another"},
		{"1996", "1999", "another"},
		{"", "1999", plates.Missing},
	} {
		if got := plates.CompareDates(date(c.a), date(c.b)); got != c.want {
			t.Errorf("%s, %s: %s, want %s", c.a, c.b, got, c.want)
		}
		if got := plates.CompareDates(date(c.b), date(c.a)); got != c.want {
			t.Errorf("%s, %s: %s, want %s", c.b, c.a, got, c.want)
		}
	}
}

func TestDepths(t *testing.T) {
	feet := func(v float64) records.DigestValue { return exact(v * 0.3048) }
	for _, c := range []struct {
		a, b records.DigestValue
		want string
	}{
		{feet(305), feet(305), "the same"},
		{exact(93), feet(305), "the same"},                 // 305.1 ft
		{feet(305), feet(303), "within what is rounded"},   // a stick-up
		{feet(305), feet(293), "close"},                    // within five in a hundred
		{feet(305), feet(805), "one digit off"},            // 3 for 8
		{feet(305), feet(350), "one digit off"},            // exchanged
		{feet(305), feet(35), "one digit off"},             // one left out
		{feet(305), exact(305), "as if in the other unit"}, // metres
		{feet(305), feet(93), "as if in the other unit"},   // 92.96 m
		{feet(305), feet(420), "another"},
		{feet(305), records.DigestValue{}, plates.Missing},
		{feet(305), records.DigestValue{Value: 90, Qualifier: records.GreaterThan}, "close"},
		{feet(305), records.DigestValue{Value: 120, Qualifier: records.GreaterThan}, "another"},
		{records.DigestValue{Value: 60, High: 100, Qualifier: records.Between}, feet(305), "close"},
	} {
		if got := plates.CompareDepths(c.a, c.b); got != c.want {
			t.Errorf("%v, %v: %s, want %s", c.a, c.b, got, c.want)
		}
		if got := plates.CompareDepths(c.b, c.a); got != c.want {
			t.Errorf("%v, %v: %s, want %s", c.b, c.a, got, c.want)
		}
	}
}

func TestYields(t *testing.T) {
	const gpm = 3.785411784 / 60
	of := func(v float64) records.DigestValue { return exact(v * gpm) }
	less := func(v float64) records.DigestValue {
		return records.DigestValue{Value: v * gpm, Qualifier: records.LessThan}
	}
	for _, c := range []struct {
		a, b records.DigestValue
		want string
	}{
		{of(5), of(5), "the same"},
		{of(0), of(0), "the same"},
		{of(5), of(6), "nearly the same"},
		{of(0), of(0.25), "nearly the same"}, // dry, and as good as dry
		{less(1), of(0.5), "fits the bound"},
		{less(1), less(1), "the same"},
		{less(1), of(5), "another"},
		{of(5), of(9), "within twofold"},
		{of(15), of(51), "one digit off"},
		{of(5), exact(5), "as if in another unit"},       // L/s
		{of(5), exact(5. / 60), "as if in another unit"}, // L/min
		{of(5), of(50), "one digit off"},
		{of(2), of(7), "another"},
		{of(5), records.DigestValue{}, plates.Missing},
	} {
		if got := plates.CompareYields(c.a, c.b); got != c.want {
			t.Errorf("%v, %v: %s, want %s", c.a, c.b, got, c.want)
		}
		if got := plates.CompareYields(c.b, c.a); got != c.want {
			t.Errorf("%v, %v: %s, want %s", c.b, c.a, got, c.want)
		}
	}
}

func TestDiameters(t *testing.T) {
	for _, c := range []struct {
		a, b float64
		want string
	}{{152.4, 150, "the same"}, {152.4, 168.3, "nearly the same"}, {152.4, 203.2, "another"}} {
		if got := plates.CompareDiameters(c.a, c.b); got != c.want {
			t.Errorf("%g, %g: %s, want %s", c.a, c.b, got, c.want)
		}
	}
}

func TestNames(t *testing.T) {
	for _, c := range []struct{ a, b, want string }{
		{"Plumbline Wells Ltd.", "PLUMBLINE WELL DRILLING CO", "the same"},
		{"Ida Auger", "Auger, Ida", "the same"},
		{"I. Auger", "Ida Auger", "nearly the same"},
		{"Auger", "Ida Auger", "nearly the same"},
		{"Plumbline", "Plumblien", "nearly the same"},
		{"Ida Auger", "Ida Bailey", "another"},
		{"The Well Company", "Well Co", "another"},
		{"...", "Auger", plates.Missing},
		{"", "Auger", plates.Missing},
	} {
		if got := plates.CompareNames(c.a, c.b); got != c.want {
			t.Errorf("%q, %q: %s, want %s", c.a, c.b, got, c.want)
		}
		if got := plates.CompareNames(c.b, c.a); got != c.want {
			t.Errorf("%q, %q: %s, want %s", c.b, c.a, got, c.want)
		}
	}
}

// TestPlaces: a minute of latitude is some 1853 m on the mean sphere.
func TestPlaces(t *testing.T) {
	const metre = 1 / 111195.0 // of a degree of latitude
	for _, c := range []struct {
		north, east, a, b float64
		want              string
	}{
		{10, 0, 5, 10, "within their accuracy"},
		{20, 0, 5, 10, "within twice their accuracy"},
		{40, 0, 5, 10, "within four times their accuracy"},
		{0, 100, 5, 10, "within ten times their accuracy"},
		{0, 120, 5, 10, "far apart"},
		{0, 120, 5, 250, "within their accuracy"},
	} {
		got := plates.ComparePlaces(180, 60, c.a, -180+c.east*metre/math.Cos(60*math.Pi/180), 60+c.north*metre, c.b)
		if got != c.want {
			t.Errorf("%g m north and %g m east: %s, want %s", c.north, c.east, got, c.want)
		}
	}
}

// FuzzNumbers: comparing is the same from both sides, a number agrees with
// itself, and every slip that is looked for is found to be one.
func FuzzNumbers(f *testing.F) {
	for _, s := range [][2]string{{"40117", "401?7"}, {"NF-0180", "180"}, {"??", "12"}, {"é1", "1"}, {"a", "A"}, {"W1", "W7"}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, a, b string) {
		if x, y := plates.CompareNumbers(a, b), plates.CompareNumbers(b, a); x != y {
			t.Errorf("%q, %q: %s, and from the other side %s", a, b, x, y)
		}
		key := plates.NumberKey(a)
		if len(key) > 24 || plates.NumberKey(key) != key {
			t.Errorf("%q becomes %q, then %q", a, key, plates.NumberKey(key))
		}
		for v := range plates.Variants(key) {
			if len(v) <= 24 && len(key) > 2 && plates.CompareNumbers(key, v) == "another" && plates.CompareNumbers(key, key) != "another" {
				t.Errorf("%q is looked for as a slip of %q and is none", v, key)
			}
		}
		plates.CompareNames(a, b)
	})
}
