package importer

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
)

// dateOrder is the order in which a table writes the parts of its dates.
type dateOrder uint8

const (
	orderUnknown dateOrder = iota // only what can be read in one way
	yearMonthDay
	monthDayYear
	dayMonthYear
)

func parseDateOrder(s string) (dateOrder, bool) {
	switch strings.ToLower(s) {
	case "ymd":
		return yearMonthDay, true
	case "mdy":
		return monthDayYear, true
	case "dmy":
		return dayMonthYear, true
	}
	return orderUnknown, false
}

// dateRule is what is said of a column's dates.
type dateRule struct {
	order dateOrder
	// pivot is the first year of the hundred that two digits stand for: with
	// 1930, 87 is 1987 and 05 is 2005. 0: a year of two digits is refused.
	pivot int
	// serials says in which system bare numbers are a spreadsheet's days:
	// 1900, 1904, or 0 where they are not.
	serials int
}

var monthNames = [...]string{"january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"}

// monthOf is the number of a month by its name or the first three or more
// letters of it, 0 for another word.
func monthOf(word string) int {
	if len(word) < 3 {
		return 0
	}
	for i, m := range monthNames {
		if strings.HasPrefix(m, word) || word == "sept" && i == 8 {
			return i + 1
		}
	}
	return 0
}

// readDate writes a table's date as the record does (2004-06-15), or says why
// it cannot be read. A date such as 6/7/2004 needs the order of the file.
func readDate(s string, order dateOrder) (written, message string) {
	return dateRule{order: order}.read(s)
}

// read reads a date as people write it: 2004-06-15, 6/15/2004, 12-Jun-87,
// June 1987, 6/87, 1987, 19870612, 1987-06-00 and, where they are said to be
// such, a spreadsheet's day numbers. What can be read in two ways is refused.
func (r dateRule) read(s string) (written, message string) {
	text := strings.TrimSpace(s)
	if d, err := records.ParseDate(text); err == nil {
		return d.String(), ""
	}
	d, message := r.parse(strings.ToLower(text))
	switch {
	case message != "":
		return "", fmt.Sprintf("the date %q %s", clip(text), message)
	case !possible(d):
		return "", fmt.Sprintf("the date %q %s", clip(text), "is no day of the calendar")
	}
	return d.String(), ""
}

const notDate = "is not understood"

func (r dateRule) parse(s string) (records.Date, string) {
	if d, message, ok := r.digits(s); ok {
		return d, message
	}
	numbers, words, message := dateParts(s)
	if message != "" {
		return records.Date{}, message
	}
	n := make([]int, len(numbers))
	for i, p := range numbers {
		v, err := strconv.Atoi(p)
		if err != nil || len(p) > 4 {
			return records.Date{}, notDate
		}
		n[i] = v
	}
	month, at := 0, 0
	for _, w := range words {
		m := monthOf(w.text)
		if m == 0 || month > 0 {
			return records.Date{}, notDate
		}
		month, at = m, w.behind
	}
	if month > 0 {
		return r.named(numbers, n, month, at)
	}
	return r.numbered(numbers, n)
}

// datePart is a word of a date and how many numbers stand before it.
type datePart struct {
	text   string
	behind int
}

// dateParts cuts a date into numbers and words; ordinals (12th), an
// apostrophe before the year ('87) and a time of day behind it are taken off.
func dateParts(s string) (numbers []string, words []datePart, message string) {
	if i := strings.IndexByte(s, ':'); i > 0 { // a time of day
		k := strings.LastIndexAny(s[:i], " t")
		if k <= 0 {
			return nil, nil, notDate
		}
		s = s[:k]
	}
	for i := 0; i < len(s); {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			j := i
			for j < len(s) && s[j] >= '0' && s[j] <= '9' {
				j++
			}
			numbers = append(numbers, s[i:j])
			i = j
			for _, end := range []string{"st", "nd", "rd", "th"} {
				if strings.HasPrefix(s[i:], end) && (i+2 == len(s) || !isLetter(s[i+2])) {
					i += 2
					break
				}
			}
		case isLetter(c):
			j := i
			for j < len(s) && isLetter(s[j]) {
				j++
			}
			if w := s[i:j]; w != "of" && w != "the" {
				words = append(words, datePart{w, len(numbers)})
			}
			i = j
		case strings.IndexByte(`/-., '\`, c) >= 0:
			i++
		default:
			return nil, nil, notDate
		}
	}
	if len(numbers) == 0 || len(numbers) > 3 || len(words) > 1 {
		return nil, nil, notDate
	}
	return numbers, words, ""
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' }

// digits reads a date of digits alone: a year, 19870612, a day number.
func (r dateRule) digits(s string) (d records.Date, message string, ok bool) {
	whole, fraction, pointed := strings.Cut(s, ".")
	if strings.Trim(whole, "0123456789") != "" || whole == "" || pointed && strings.Trim(fraction, "0123456789") != "" {
		return d, "", false
	}
	v, err := strconv.Atoi(whole)
	switch {
	case err != nil:
		return d, notDate, true
	case r.serials != 0 && len(whole) == 5:
		d, ok = serialDate(v, r.serials)
		if !ok {
			return d, "is no day number of a spreadsheet", true
		}
		return d, "", true
	case pointed:
		return d, "", false // 6.1987
	case len(whole) == 5:
		return d, "looks like a spreadsheet's day number, and the file is not said to have such", true
	case len(whole) == 8:
		d, message = r.eight(v)
		return d, message, true
	case len(whole) == 2 && r.pivot > 0:
		return records.Date{Year: r.century(v)}, "", true
	case len(whole) == 4:
		return records.Date{Year: v}, "", true // a year below 1, since ParseDate has not read it
	}
	return d, notDate, true
}

// eight reads eight digits: 19870612, or 06121987 where the order says so.
func (r dateRule) eight(v int) (records.Date, string) {
	likely := func(d records.Date) bool { return d.Year >= 1700 && d.Year <= 2200 && possible(d) }
	compact := records.Date{Year: v / 10000, Month: v / 100 % 100, Day: v % 100}
	other := records.Date{Year: v % 10000, Month: v / 1000000, Day: v / 10000 % 100}
	if r.order == dayMonthYear {
		other.Month, other.Day = other.Day, other.Month
	}
	stated := r.order == monthDayYear || r.order == dayMonthYear
	switch {
	case likely(compact) && stated && likely(other):
		return compact, twoWays
	case likely(compact):
		return zeroDay(compact), ""
	case stated && likely(other):
		return other, ""
	}
	return compact, notDate
}

// serialDate turns a spreadsheet's day number into a date. In the system of
// 1900 day 1 is 1 January 1900 and day 60 a 29 February 1900 that never was;
// in that of 1904 day 0 is 1 January 1904 (ECMA-376 part 1, 18.17.4.1).
func serialDate(n, system int) (records.Date, bool) {
	switch {
	case system == 1904 && n >= 0:
		return records.DateOf(time.Date(1904, 1, 1+n, 0, 0, 0, 0, time.UTC)), true
	case system == 1900 && n > 60:
		return records.DateOf(time.Date(1899, 12, 30+n, 0, 0, 0, 0, time.UTC)), true
	case system == 1900 && n > 0 && n < 60:
		return records.DateOf(time.Date(1899, 12, 31+n, 0, 0, 0, 0, time.UTC)), true
	}
	return records.Date{}, false
}

// century puts a year of two digits into the hundred years that the pivot
// begins.
func (r dateRule) century(yy int) int {
	y := r.pivot - r.pivot%100 + yy
	if y < r.pivot {
		y += 100
	}
	return y
}

const (
	twoDigits = "has no year of four digits, and it is not said which century is meant"
	twoWays   = "can be read in two ways"
)

// year reads a number as a year.
func (r dateRule) year(text string, v int) (int, string) {
	switch {
	case len(text) == 4:
		return v, ""
	case len(text) != 2:
		return 0, notDate
	case r.pivot == 0:
		return 0, twoDigits
	}
	return r.century(v), ""
}

// named reads a date whose month is a word: 12-Jun-87, June 12th, 1987, June
// 1987, 1987 Jun 12.
func (r dateRule) named(text []string, n []int, month, at int) (records.Date, string) {
	d := records.Date{Month: month}
	var message string
	switch {
	case len(n) == 1: // June 1987, 1987 June; a number of two digits could be the day
		if len(text[0]) != 4 && r.pivot == 0 {
			return d, twoDigits
		}
		if len(text[0]) == 2 && at == 1 && n[0] <= 31 && r.order != yearMonthDay {
			return d, "has no year"
		}
		d.Year, message = r.year(text[0], n[0])
		return d, message
	case len(n) != 2:
		return d, notDate
	case len(text[0]) == 4 && len(text[1]) <= 2 || r.order == yearMonthDay && len(text[1]) <= 2 && at == 1: // 1987 Jun 12
		d.Year, message = r.year(text[0], n[0])
		d.Day = n[1]
	default: // 12 Jun 1987, Jun 12 1987
		d.Year, message = r.year(text[1], n[1])
		d.Day = n[0]
	}
	return d, message
}

// numbered reads a date of two or three numbers.
func (r dateRule) numbered(text []string, n []int) (records.Date, string) {
	long := func(i int) bool { return len(text[i]) == 4 }
	if len(n) == 2 {
		return r.monthAndYear(text, n)
	}
	if len(n) != 3 {
		return records.Date{}, notDate
	}
	switch {
	case long(0) || r.order == yearMonthDay && !long(2): // 2004/6/15
		y, message := r.year(text[0], n[0])
		return zeroDay(records.Date{Year: y, Month: n[1], Day: n[2]}), message
	case !long(2) && len(text[2]) != 2:
		return records.Date{}, notDate
	}
	y, message := r.year(text[2], n[2])
	if message != "" {
		return records.Date{}, message
	}
	md := records.Date{Year: y, Month: n[0], Day: n[1]}
	dm := records.Date{Year: y, Month: n[1], Day: n[0]}
	switch {
	case n[0] == 0 && n[1] == 0: // 0/0/1987: only the year is known
		return records.Date{Year: y}, ""
	case r.order == monthDayYear:
		return zeroDay(md), ""
	case r.order == dayMonthYear:
		return zeroDay(dm), ""
	case n[0] == 0 || n[1] == 0:
		return records.Date{Year: y, Month: n[0] + n[1]}, ""
	case n[0] == n[1] || possible(md) && !possible(dm):
		return r.notYearFirst(text, n, md)
	case possible(dm) && !possible(md):
		return r.notYearFirst(text, n, dm)
	case possible(md):
		return md, twoWays
	}
	return records.Date{}, "is no day of the calendar"
}

// notYearFirst refuses a date of three short numbers whose first could be the
// year.
func (r dateRule) notYearFirst(text []string, n []int, d records.Date) (records.Date, string) {
	if len(text[2]) == 2 && len(text[0]) == 2 && possible(records.Date{Year: r.century(n[0]), Month: n[1], Day: n[2]}) {
		return d, twoWays
	}
	return d, ""
}

// monthAndYear reads 6/1987, 1987/6, 6/87.
func (r dateRule) monthAndYear(text []string, n []int) (records.Date, string) {
	switch {
	case len(text[0]) == 4:
		return zeroDay(records.Date{Year: n[0], Month: n[1]}), ""
	case len(text[1]) == 4:
		return zeroDay(records.Date{Year: n[1], Month: n[0]}), ""
	case len(text[1]) == 2 && n[1] > 31 && n[0] <= 12: // 6/87 is no day of a month
		y, message := r.year(text[1], n[1])
		return records.Date{Year: y, Month: n[0]}, message
	case len(text[0]) == 2 && n[0] > 31 && n[1] <= 12:
		y, message := r.year(text[0], n[0])
		return records.Date{Year: y, Month: n[1]}, message
	}
	return records.Date{}, "has no year, or can be read in two ways"
}

// zeroDay takes a day or month of nought for one that nobody knew, as people
// write 1987-06-00.
func zeroDay(d records.Date) records.Date {
	if d.Month == 0 {
		d.Day = 0
	}
	return d
}

// possible says whether the calendar has such a date.
func possible(d records.Date) bool {
	_, err := records.ParseDate(d.String())
	return err == nil && d.Year > 0 && d.Month >= 0 && d.Day >= 0
}
