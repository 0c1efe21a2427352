package records_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallybook/records"
)

func TestDatesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := records.Date{Year: rapid.IntRange(1, 9999).Draw(t, "year")}
		want := fmt.Sprintf("%04d", d.Year)
		if d.Month = rapid.IntRange(0, 12).Draw(t, "month"); d.Month > 0 {
			want += fmt.Sprintf("-%02d", d.Month)
			if d.Day = rapid.IntRange(0, 28).Draw(t, "day"); d.Day > 0 {
				want += fmt.Sprintf("-%02d", d.Day)
			}
		}
		if d.String() != want {
			t.Fatalf("wrote %q, want %q", d.String(), want)
		}
		if got, err := records.ParseDate(want); err != nil || got != d {
			t.Fatalf("%q came back as %v, %v", want, got, err)
		}
	})
}

func TestParseDateRefuses(t *testing.T) {
	for _, s := range []string{"", "0000", "04", "2004-13", "2004-00", "2004-02-30", "2004/06/15", "15.06.2004", "2004-6-1", "2004-06-15x", "20040615", "+004", "2004-06-1５"} {
		if d, err := records.ParseDate(s); err == nil {
			t.Errorf("%q read as %v", s, d)
		}
	}
	if d, err := records.ParseDate("2004-06-15T10:00:00Z"); err != nil || d != (records.Date{Year: 2004, Month: 6, Day: 15}) {
		t.Errorf("a time of day: %v, %v", d, err)
	}
}

// Worked by hand: 2004 is a leap year, its 15 June the 167th day, whose noon
// is 166.5 days after the year began.
func TestDecimalYear(t *testing.T) {
	for _, c := range []struct {
		d    records.Date
		want float64
	}{
		{records.Date{}, 0},
		{records.Date{Year: 2004}, 2004.5},
		{records.Date{Year: 2004, Month: 1}, 2004 + 0.5/12},
		{records.Date{Year: 2004, Month: 6, Day: 15}, 2004 + 166.5/366},
	} {
		if got := c.d.DecimalYear(); !close12(got, c.want) {
			t.Errorf("%v: %v, want %v", c.d, got, c.want)
		}
	}
}

func TestDateBefore(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"2004", "2005", true}, {"2004", "2004-06", false}, {"2004-06", "2004", false},
		{"2004-06-14", "2004-06-15", true}, {"2004-06-15", "2004-06-15", false}, {"2004-05", "2004-06-15", true}, {"2004-06", "2004-06-15", false},
	} {
		a, errA := records.ParseDate(c.a)
		b, errB := records.ParseDate(c.b)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if got := a.Before(b); got != c.want {
			t.Errorf("%s before %s: %v", c.a, c.b, got)
		}
	}
	if (records.Date{}).Before(records.Date{Year: 1}) {
		t.Error("a missing date is before nothing")
	}
	if got := records.DateOf(time.Date(2024, 2, 29, 23, 0, 0, 0, time.UTC)); got != (records.Date{Year: 2024, Month: 2, Day: 29}) {
		t.Errorf("DateOf: %v", got)
	}
}
