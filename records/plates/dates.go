package plates

import (
	"strconv"
	"time"

	"tallybook/records"
)

// Levels of dates.
const (
	dateEqual = iota
	dateMonth
	dateYear
	dateNear
	dateSlip
	dateWithinYear
	dateDiffers
)

// day is a date packed: year, month (0: not said), day (0: not said).
type day int32

func dayOf(d records.Date) day {
	if d.Year < 1 || d.Year > 9999 {
		return 0
	}
	return day(d.Year<<9 | d.Month<<5 | d.Day)
}

func (d day) date() records.Date {
	return records.Date{Year: int(d >> 9), Month: int(d >> 5 & 15), Day: int(d & 31)}
}

// number counts days, for differences; the middle of what is known.
func (d day) number() int {
	t := d.date()
	month, dom := t.Month, t.Day
	if month == 0 {
		month, dom = 7, 1
	} else if dom == 0 {
		dom = 15
	}
	return int(time.Date(t.Year, time.Month(month), dom, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// nearDays is how far the day of completion and that of the report, the pump
// or the stamp lie apart.
const nearDays = 45

// slipDay says whether two whole dates differ as they do when they were copied
// wrongly: day and month exchanged, the year of before (or after) New Year, a
// digit of the year, a digit of the day.
func slipDay(a, b records.Date) bool {
	if a.Day == 0 || b.Day == 0 {
		return a.Month != 0 && a.Month == b.Month && slipYear(a.Year, b.Year)
	}
	switch {
	case a.Year == b.Year && a.Month == b.Day && a.Day == b.Month:
		return true
	case a.Month == b.Month && a.Day == b.Day:
		return slipYear(a.Year, b.Year)
	}
	return false
}

func slipYear(a, b int) bool {
	if a-b == 1 || b-a == 1 {
		return true
	}
	var roomA, roomB [8]byte
	ka, kb := strconv.AppendInt(roomA[:0], int64(a), 10), strconv.AppendInt(roomB[:0], int64(b), 10)
	return len(ka) == len(kb) && compareSameLength(ka, kb) <= numberOneOff
}

func compareDays(a, b day) int {
	if a == 0 || b == 0 {
		return missing
	}
	x, y := a.date(), b.date()
	if x.Year == y.Year {
		switch {
		case x.Month == 0 || y.Month == 0:
			return dateYear
		case x.Month == y.Month && (x.Day == 0 || y.Day == 0):
			return dateMonth
		case x.Month == y.Month && x.Day == y.Day:
			return dateEqual
		}
	}
	if slipDay(x, y) {
		return dateSlip
	}
	d := a.number() - b.number()
	if d < 0 {
		d = -d
	}
	switch {
	case d <= nearDays && x.Month != 0 && y.Month != 0:
		return dateNear
	case d <= 366:
		return dateWithinYear
	}
	return dateDiffers
}

// compareDates takes the best of two dates on each side.
func compareDates(a, b [2]day) (level, i, j int) {
	level = missing
	for x, da := range a {
		for y, db := range b {
			if l := compareDays(da, db); l < level {
				level, i, j = l, x, y
			}
		}
	}
	return level, i, j
}
