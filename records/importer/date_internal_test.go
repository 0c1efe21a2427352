package importer

import (
	"strings"
	"testing"
)

// The readings were worked by hand. Day numbers: ECMA-376 part 1, 18.17.4.1
// has 1 January 1900 as day 1 of the system of 1900 and counts a 29 February
// 1900 (day 60); 1 January 1904 is day 0 of that of 1904, which is day 1462 of
// the other (from memory).
func TestReadDates(t *testing.T) {
	for _, c := range []struct {
		rule dateRule
		text string
		want string // "!words" of the refusal
	}{
		{dateRule{}, "2004-06-15", "2004-06-15"},
		{dateRule{}, "2004-06-15T10:20:00Z", "2004-06-15"},
		{dateRule{}, "1987", "1987"},
		{dateRule{}, "19870612", "1987-06-12"},
		{dateRule{order: monthDayYear}, "19870612", "1987-06-12"},
		{dateRule{order: monthDayYear}, "06121987", "1987-06-12"},
		{dateRule{}, "06121987", "!not understood"},
		{dateRule{}, "June 1987", "1987-06"},
		{dateRule{}, "june 12th, 1987", "1987-06-12"},
		{dateRule{}, "12 Sept. 1987", "1987-09-12"},
		{dateRule{}, "12-Jun-1987", "1987-06-12"},
		{dateRule{}, "1987 Jun 12", "1987-06-12"},
		{dateRule{}, "12-Jun-87", "!century"},
		{dateRule{pivot: 1930}, "12-Jun-87", "1987-06-12"},
		{dateRule{pivot: 1930}, "12-Jun-05", "2005-06-12"},
		{dateRule{pivot: 1930, order: yearMonthDay}, "05-Jun-12", "2005-06-12"},
		{dateRule{pivot: 1930}, "Jun '87", "1987-06"},
		{dateRule{pivot: 1930}, "6/87", "1987-06"},
		{dateRule{}, "6/87", "!century"},
		{dateRule{pivot: 1930}, "6/12", "!two ways"},
		{dateRule{}, "6/1987", "1987-06"},
		{dateRule{}, "1987/6", "1987-06"},
		{dateRule{pivot: 1930}, "87", "1987"},
		{dateRule{}, "87", "!not understood"},
		{dateRule{}, "6/25/1987", "1987-06-25"},
		{dateRule{}, "25.6.1987", "1987-06-25"},
		{dateRule{}, "6/6/1987", "1987-06-06"},
		{dateRule{}, "03/04/1987", "!two ways"},
		{dateRule{order: monthDayYear}, "03/04/1987", "1987-03-04"},
		{dateRule{order: dayMonthYear}, "03/04/1987", "1987-04-03"},
		{dateRule{order: monthDayYear}, "25/6/1987", "!no day"},
		{dateRule{order: monthDayYear, pivot: 1930}, "3/4/87", "1987-03-04"},
		{dateRule{order: monthDayYear}, "6/15/2004 0:00:00", "2004-06-15"},
		{dateRule{order: monthDayYear}, "6/15/2004 12:00 AM", "2004-06-15"},
		{dateRule{order: yearMonthDay, pivot: 1930}, "87-06-12", "1987-06-12"},
		{dateRule{}, "1987-06-00", "1987-06"},
		{dateRule{}, "1987-00-00", "1987"},
		{dateRule{}, "0/0/1987", "1987"},
		{dateRule{}, "6/0/1987", "1987-06"},
		{dateRule{order: dayMonthYear}, "0/6/1987", "1987-06"},
		{dateRule{}, "31 Feb 1987", "!no day"},
		{dateRule{}, "2/30/1987", "!no day"},
		{dateRule{}, "31939", "!day number"},
		{dateRule{serials: 1900}, "31940", "1987-06-12"},
		{dateRule{serials: 1900}, "31940.5", "1987-06-12"},
		{dateRule{serials: 1904}, "30478", "1987-06-12"},
		{dateRule{}, "fall 1987", "!not understood"},
		{dateRule{}, "c. 1987", "!not understood"},
		{dateRule{}, "12-June", "!no year of four"},
		{dateRule{}, "soon", "!not understood"},
		{dateRule{}, "1/2/3/4", "!not understood"},
		{dateRule{}, "6/7/04", "!no year of four"},
		{dateRule{}, "", "!not understood"},
		{dateRule{}, "0000", "!"},
	} {
		got, message := c.rule.read(c.text)
		if why, refuse := strings.CutPrefix(c.want, "!"); refuse {
			if got != "" || message == "" || !strings.Contains(message, why) {
				t.Errorf("%+v %q: got %q, %q, want a refusal with %q", c.rule, c.text, got, message, why)
			}
			continue
		}
		if got != c.want || message != "" {
			t.Errorf("%+v %q: got %q, %q, want %q", c.rule, c.text, got, message, c.want)
		}
	}
	for n, want := range map[int]string{1: "1900-01-01", 59: "1900-02-28", 61: "1900-03-01", 1462: "1904-01-01"} {
		if d, ok := serialDate(n, 1900); !ok || d.String() != want {
			t.Errorf("day %d is %v, want %s", n, d, want)
		}
	}
	if _, ok := serialDate(60, 1900); ok {
		t.Error("29 February 1900 was taken for a day")
	}
	if d, ok := serialDate(0, 1904); !ok || d.String() != "1904-01-01" {
		t.Errorf("day 0 of 1904 is %v", d)
	}
}

func FuzzReadDate(f *testing.F) {
	for _, s := range []string{"12-Jun-87", "6/7/2004", "1987", "31940", "1987-00-00", "June 12th, '87", "0/0/0000", "99/99/9999", "2004-06-15T1"} {
		f.Add(s, uint8(0), 0, 0)
		f.Add(s, uint8(2), 1930, 1900)
	}
	f.Fuzz(func(t *testing.T, s string, order uint8, pivot, serials int) {
		r := dateRule{order: dateOrder(order % 4), pivot: max(0, min(pivot, 9900)), serials: []int{0, 1900, 1904}[uint(serials)%3]}
		got, message := r.read(s)
		if (got == "") == (message == "") {
			t.Fatalf("%q: %q and %q", s, got, message)
		}
		if got != "" {
			if again, message := r.read(got); again != got && r.serials == 0 {
				t.Fatalf("%q reads as %q, and that as %q, %q", s, got, again, message)
			}
		}
	})
}
