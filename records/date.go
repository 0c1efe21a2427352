package records

import (
	"fmt"
	"strconv"
	"time"
)

// Date is a day, a month or a year: old logs often say no more than the year.
// The zero Date is missing.
type Date struct {
	Year  int // 0: missing
	Month int // 0: only the year is known
	Day   int // 0: only the month is known
}

// IsZero says whether the date is missing.
func (d Date) IsZero() bool { return d.Year == 0 }

// String writes 2004, 2004-06 or 2004-06-15, and nothing when missing.
func (d Date) String() string {
	var room [10]byte
	return string(d.append(room[:0]))
}

func (d Date) append(b []byte) []byte {
	if d.Year == 0 {
		return b
	}
	b = appendPadded(b, d.Year, 4)
	if d.Month == 0 {
		return b
	}
	b = appendPadded(append(b, '-'), d.Month, 2)
	if d.Day == 0 {
		return b
	}
	return appendPadded(append(b, '-'), d.Day, 2)
}

func appendPadded(b []byte, n, width int) []byte {
	for w, most := 1, 10; w < width; w, most = w+1, most*10 {
		if n >= 0 && n < most {
			for ; w < width; w++ {
				b = append(b, '0')
			}
			break
		}
	}
	return strconv.AppendInt(b, int64(n), 10)
}

// DecimalYear places the date in time, the middle of what is known: 2004.5
// for the year 2004 alone. It is 0 when missing.
func (d Date) DecimalYear() float64 {
	switch {
	case d.Year == 0:
		return 0
	case d.Month == 0:
		return float64(d.Year) + 0.5
	case d.Day == 0:
		return float64(d.Year) + (float64(d.Month)-0.5)/12
	}
	t := time.Date(d.Year, time.Month(d.Month), d.Day, 12, 0, 0, 0, time.UTC)
	start := time.Date(d.Year, 1, 1, 0, 0, 0, 0, time.UTC)
	end := time.Date(d.Year+1, 1, 1, 0, 0, 0, 0, time.UTC)
	return float64(d.Year) + float64(t.Sub(start))/float64(end.Sub(start))
}

// Compare orders dates; a date less precisely known comes before those
// within it.
func (d Date) Compare(e Date) int {
	if d.Year != e.Year {
		return sign(d.Year - e.Year)
	}
	if d.Month != e.Month {
		return sign(d.Month - e.Month)
	}
	return sign(d.Day - e.Day)
}

// Before says whether d is certainly before e: what neither states is not
// compared, so that 2004 is not before 2004-06.
func (d Date) Before(e Date) bool {
	switch {
	case d.IsZero() || e.IsZero():
		return false
	case d.Year != e.Year:
		return d.Year < e.Year
	case d.Month == 0 || e.Month == 0:
		return false
	case d.Month != e.Month:
		return d.Month < e.Month
	}
	return d.Day != 0 && e.Day != 0 && d.Day < e.Day
}

// possible says whether the calendar has such a day, month or year.
func (d Date) possible() bool {
	if d.Year < 1 || d.Year > 9999 || d.Month < 0 || d.Month > 12 || d.Day < 0 || d.Month == 0 && d.Day != 0 {
		return false
	}
	return d.Day <= 28 || d.Day <= time.Date(d.Year, time.Month(d.Month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// next is the day after a whole date.
func (d Date) next() Date {
	if d.Day == 0 || d.Day < 28 {
		if d.Day != 0 {
			d.Day++
		}
		return d
	}
	return DateOf(time.Date(d.Year, time.Month(d.Month), d.Day+1, 0, 0, 0, 0, time.UTC))
}

func sign(n int) int {
	switch {
	case n < 0:
		return -1
	case n > 0:
		return 1
	}
	return 0
}

// ParseDate reads what String writes (ISO 8601: year, year-month or
// year-month-day; a time of day after 'T' is dropped). Other orders are for
// the importer, which knows the order of its file; here they are refused.
func ParseDate(s string) (Date, error) {
	if len(s) > 10 && (s[10] == 'T' || s[10] == ' ') {
		s = s[:10]
	}
	bad := func() (Date, error) {
		return Date{}, fmt.Errorf("date %q is not year, year-month or year-month-day (2004, 2004-06, 2004-06-15)", clip(s, 40))
	}
	part := func(t string, low, high int) (int, bool) {
		for i := range len(t) {
			if t[i] < '0' || t[i] > '9' {
				return 0, false
			}
		}
		n, err := strconv.Atoi(t)
		return n, err == nil && n >= low && n <= high
	}
	var d Date
	var ok bool
	if len(s) != 4 && len(s) != 7 && len(s) != 10 {
		return bad()
	}
	if d.Year, ok = part(s[:4], 1, 9999); !ok {
		return bad()
	}
	if len(s) >= 7 {
		if d.Month, ok = part(s[5:7], 1, 12); !ok || s[4] != '-' {
			return bad()
		}
	}
	if len(s) == 10 {
		if d.Day, ok = part(s[8:10], 1, 31); !ok || s[7] != '-' {
			return bad()
		}
		if t := time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC); t.Day() != d.Day {
			return Date{}, fmt.Errorf("date %q: the month has no day %d", s, d.Day)
		}
	}
	return d, nil
}

// clip shortens untrusted text for a message.
func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n]) + "…"
}
