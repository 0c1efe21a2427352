package importer

import (
	"strconv"
	"strings"

	"tallybook/records"
)

// tally adds the text of one cell to what is known of its column.
func (c *ColumnLook) tally(cell string) {
	text := strings.TrimSpace(cell)
	if text == "" {
		return
	}
	c.Filled++
	kind := kindOfText(text)
	if text == c.last {
		c.again++
	}
	c.last = text
	switch kind {
	case "number":
		c.number(text)
	case "date":
		c.date(text)
	}
	switch c.Kind {
	case "", kind:
		c.Kind = kind
	default:
		c.Kind = "mixed"
	}
	if len(c.Samples) < mostSamples {
		shown := clip(text)
		for _, s := range c.Samples {
			if s == shown {
				return
			}
		}
		c.Samples = append(c.Samples, shown)
	}
}

// kindOfText says what one text looks like.
func kindOfText(text string) string {
	switch {
	case looksNumber(text):
		return "number"
	case flagWord(text) == "true" || flagWord(text) == "false":
		return "yes or no"
	}
	if month, day := dateWays(text); month || day {
		return "date"
	}
	return "text"
}

// looksNumber says whether a text is digits with at most one sign, point or
// decimal comma.
func looksNumber(text string) bool {
	return records.IsJSONNumber(strings.TrimPrefix(strings.Replace(text, ",", ".", 1), "+")) || records.IsJSONNumber(strings.TrimLeft(text, "0"))
}

// number notes the size of a number.
func (c *ColumnLook) number(text string) {
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		return
	}
	if c.Numbers == 0 {
		c.least, c.most = v, v
	}
	c.least, c.most = min(c.least, v), max(c.most, v)
	c.Numbers++
}

// date notes in which orders a date can be read.
func (c *ColumnLook) date(text string) {
	month, day := dateWays(text)
	if _, message := readDate(text, orderUnknown); message != "" {
		c.twoWays++
		return
	}
	switch {
	case month && !day:
		c.onlyMonthFirst++
	case day && !month:
		c.onlyDayFirst++
	}
}

// dateWays says whether a text is a date with the month first, and with the
// day first.
func dateWays(text string) (monthFirst, dayFirst bool) {
	_, m := readDate(text, monthDayYear)
	_, d := readDate(text, dayMonthYear)
	return m == "", d == ""
}
