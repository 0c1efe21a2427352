package importer

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// epoch is the day from which a workbook counts its dates (ECMA-376 part 1,
// section 18.17.4.1).
type epoch uint8

const (
	since1900 epoch = iota
	since1904
)

// cellStyle says how a number is shown, as far as it changes what it means.
type cellStyle uint8

const (
	plainNumber cellStyle = iota
	dayDate               // with a day
	monthDate             // a month and a year: the day was made up
	yearDate              // a year alone
	dayTime               // a day and a time
	clockTime             // a time of day alone
)

// styleOf tells the style of a number format: one of the built-in ones
// (section 18.8.30), or by its code.
func styleOf(id int, code string) cellStyle {
	if code != "" {
		return styleOfCode(code)
	}
	switch {
	case id >= 14 && id <= 16 || id >= 27 && id <= 31 || id == 36 || id >= 50 && id <= 54 || id >= 57 && id <= 58:
		return dayDate
	case id == 17 || id == 55 || id == 56: // mmm-yy
		return monthDate
	case id == 22:
		return dayTime
	case id >= 18 && id <= 21 || id == 32 || id == 33 || id == 34 || id == 35:
		return clockTime
	}
	return plainNumber
}

// styleOfCode reads a format's code: which letters of dates and times stand in
// it, outside of quotes, brackets and escapes.
func styleOfCode(code string) cellStyle {
	code, _, _ = strings.Cut(strings.ToLower(code), ";")
	if code == "standard" {
		return plainNumber
	}
	var day, month, year, clock, digits bool
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case '"':
			if k := strings.IndexByte(code[i+1:], '"'); k >= 0 {
				i += k + 1
			}
		case '[':
			k := strings.IndexByte(code[i:], ']')
			if k < 0 {
				continue
			}
			if strings.Trim(code[i+1:i+k], "hms") == "" {
				return plainNumber // a duration
			}
			i += k
		case '\\', '_', '*':
			i++
		case 'd':
			day = true
		case 'm':
			month = true
		case 'y', 'e':
			year = year || c == 'y'
		case 'h', 's':
			clock = true
		case '0', '#', '?':
			digits = true
		case 'g': // General
			if strings.HasPrefix(code[i:], "general") {
				return plainNumber
			}
		}
	}
	switch {
	case day && clock:
		return dayTime
	case day:
		return dayDate
	case clock:
		return clockTime
	case month && (year || !digits):
		return monthDate
	case year:
		return yearDate
	}
	return plainNumber
}

// written gives a number as its style means it: a date as the record writes
// dates, anything else with the digits that make the same number.
func (s cellStyle) written(v float64, from epoch) string {
	plain := strconv.FormatFloat(v, 'f', -1, 64)
	if math.Abs(v) >= 1e21 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	if s == plainNumber || s == clockTime && v >= 1 {
		return plain
	}
	if v < 0 || v >= 2958466 { // the year 10000
		return plain
	}
	t := serialTime(v, from)
	switch s {
	case clockTime:
		return t.Format("15:04")
	case dayTime:
		return t.Format("2006-01-02 15:04")
	case monthDate:
		return t.Format("2006-01")
	case yearDate:
		return t.Format("2006")
	}
	return t.Format("2006-01-02")
}

// serialTime is the time of a serial number. In the count from 1900 the number
// 60 is a 29 February 1900 that never was, so that those before it are a day
// further on.
func serialTime(v float64, from epoch) time.Time {
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if from == since1904 {
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	} else if v < 60 {
		start = start.AddDate(0, 0, 1)
	}
	days := math.Floor(v)
	seconds := math.Round((v - days) * 86400)
	return start.AddDate(0, 0, int(days)).Add(time.Duration(seconds) * time.Second)
}
