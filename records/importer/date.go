package importer

import (
	"fmt"
	"strconv"
	"strings"

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

var monthNames = [...]string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

func monthOf(word string) int {
	if len(word) < 3 {
		return 0
	}
	for i, m := range monthNames {
		if word[:3] == m {
			return i + 1
		}
	}
	return 0
}

// readDate writes a table's date as the record does (2004-06-15), or says why
// it cannot be read. A date such as 6/7/2004 needs the order of the file.
func readDate(s string, order dateOrder) (written, message string) {
	if d, err := records.ParseDate(s); err == nil {
		return d.String(), ""
	}
	bad := fmt.Sprintf("the date %q is not understood", clip(s))
	// Year first, or a time of day behind it: 2004/06/15, 6/15/2004 0:00:00.
	head, _, _ := strings.Cut(strings.ToLower(s), "t0")
	parts := strings.FieldsFunc(head, func(r rune) bool {
		return r == '/' || r == '-' || r == '.' || r == ' ' || r == ',' || r == '\\'
	})
	if len(parts) > 3 && strings.Contains(parts[3], ":") {
		parts = parts[:3]
	}
	if len(parts) != 3 && len(parts) != 2 {
		return "", bad
	}
	var number [3]int
	month := 0
	rest := number[:0]
	for _, p := range parts {
		if m := monthOf(p); m > 0 && month == 0 {
			month = m
			continue
		}
		n, err := strconv.Atoi(p)
		if err != nil || n < 1 || n > 9999 {
			return "", bad
		}
		rest = append(rest, n)
	}
	d, message := assemble(parts, rest, month, order)
	if message != "" {
		return "", fmt.Sprintf("the date %q %s", clip(s), message)
	}
	written = d.String()
	if _, err := records.ParseDate(written); err != nil {
		return "", bad
	}
	return written, ""
}

// assemble puts the parts of a date in their places.
func assemble(parts []string, n []int, month int, order dateOrder) (records.Date, string) {
	long := func(i int) bool { return n[i] >= 1000 }
	const twoDigits = "has no year of four digits"
	switch {
	case month > 0 && len(n) == 1: // Jun 2004
		if !long(0) {
			return records.Date{}, twoDigits
		}
		return records.Date{Year: n[0], Month: month}, ""
	case month > 0 && len(n) == 2 && long(1): // 15 Jun 2004, Jun 15 2004
		return records.Date{Year: n[1], Month: month, Day: n[0]}, ""
	case month > 0 && len(n) == 2 && long(0): // 2004 Jun 15
		return records.Date{Year: n[0], Month: month, Day: n[1]}, ""
	case month > 0:
		return records.Date{}, twoDigits
	case len(n) == 2 && long(0): // 2004/6
		return records.Date{Year: n[0], Month: n[1]}, ""
	case len(n) == 2 && long(1): // 6/2004
		return records.Date{Year: n[1], Month: n[0]}, ""
	case len(n) == 3 && long(0): // 2004/6/15
		return records.Date{Year: n[0], Month: n[1], Day: n[2]}, ""
	case len(n) != 3 || !long(2):
		return records.Date{}, twoDigits
	case order == orderUnknown && n[0] == n[1]:
		return records.Date{Year: n[2], Month: n[0], Day: n[1]}, ""
	case order == monthDayYear || order == orderUnknown && n[1] > 12 && n[0] <= 12:
		return records.Date{Year: n[2], Month: n[0], Day: n[1]}, ""
	case order == dayMonthYear || order == orderUnknown && n[0] > 12 && n[1] <= 12:
		return records.Date{Year: n[2], Month: n[1], Day: n[0]}, ""
	}
	return records.Date{}, "can be read in two ways"
}
