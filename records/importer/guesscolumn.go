package importer

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"tallybook/records"
)

// knownFields is tableFields, made once: a guess asks for it often.
var knownFields = sync.OnceValue(tableFields)

// guessColumns guesses what each column means, in a sheet whose role is known.
func (s *SheetLook) guessColumns() {
	if s.Role == Skip {
		return
	}
	taken := make(map[string]string)
	var known map[string]bool
	if s.features {
		known = propertyNames()
		for _, f := range knownFields() { // and what stands beside them
			known[f.name] = true
		}
	}
	for i := range s.Columns {
		c := &s.Columns[i]
		if known[c.Name] {
			c.Why = "it is read as the profile has it"
			continue
		}
		f, unit, ok := guessField(s.Role, c.Name)
		if !ok {
			f, ok = guessByValues(c)
		}
		if ok && s.Role != Wells && s.Key != "" && c.Name == s.Key && !strings.HasPrefix(f.name, string(s.Role)+".") && s.joined {
			c.Why = "tells which well the row belongs to, and joins the sheets"
			continue
		}
		switch {
		case !ok:
			c.Why = "its name is not known: kept as it stands"
		case c.Filled == 0:
			c.Why = "it is empty in the rows looked at"
		case s.joined && s.Role != Wells && !strings.HasPrefix(f.name, string(s.Role)+"."):
			c.Why = "says something of the well, which stands in a sheet of its own: kept as it stands"
		case taken[f.name] != "":
			c.Why = fmt.Sprintf("%q gives %s already: kept as it stands", taken[f.name], f.name)
		default:
			taken[f.name] = c.Name
			c.guessed(f, unit)
		}
	}
	s.guessNumber()
	s.guessUnits()
}

// guessNumber has wells known by the source's identifier where nothing else
// numbers them: it is the number that people look a well up by.
func (s *SheetLook) guessNumber() {
	id := -1
	for i := range s.Columns {
		switch c := &s.Columns[i]; {
		case c.Field == "number":
			return
		case c.Field == "id" && strings.Contains(plainName(c.Name), "well") || c.Field == "id" && strings.Contains(plainName(c.Name), "hole"):
			id = i
		}
	}
	if id >= 0 {
		s.Columns[id].Field = "number"
		s.Columns[id].Why += "; no other column numbers the wells"
	}
}

// guessed notes the field of a column, with what its name says of unit and
// datum.
func (c *ColumnLook) guessed(f field, unit records.Unit) {
	c.Field = f.name
	if c.Why == "" {
		c.Why = "by its name"
	}
	switch f.kind {
	case quantityField, logField:
		if unit == records.NoUnit {
			if k := strings.LastIndexByte(plainName(c.Name), '_'); k > 0 {
				unit, _ = unitOf(f.dimension, plainName(c.Name)[k+1:])
			}
		}
		if unit == records.NoUnit && plainName(c.Name) == "gpm" {
			unit = records.GallonPerMinute
		}
		if unit != records.NoUnit {
			c.Unit = unit.Symbol()
			c.Why += ", which says " + c.Unit
		}
	case dateField:
		c.guessOrder()
	case placeField:
		if positionFields[f.name] {
			c.Datum = datumIn(plainName(c.Name))
		}
	}
}

// guessOrder proposes the order of dates where what was seen proves it.
func (c *ColumnLook) guessOrder() {
	switch {
	case c.twoWays == 0:
	case c.onlyMonthFirst > 0 && c.onlyDayFirst == 0:
		c.Order = "mdy"
		c.Why += fmt.Sprintf("; the month comes first in %d that can be read in no other way", c.onlyMonthFirst)
	case c.onlyDayFirst > 0 && c.onlyMonthFirst == 0:
		c.Order = "dmy"
		c.Why += fmt.Sprintf("; the day comes first in %d that can be read in no other way", c.onlyDayFirst)
	default:
		c.Why += fmt.Sprintf("; %d can be read with the month or the day first: say which", c.twoWays)
	}
}

// guessByValues takes bare x and y for a position where the numbers fit one.
func guessByValues(c *ColumnLook) (field, bool) {
	name := ""
	degrees := c.Numbers > 0 && math.Abs(c.least) <= 180 && math.Abs(c.most) <= 180
	metres := c.Numbers > 0 && c.least >= 10000 && c.most < 10010000
	switch plain := plainName(c.Name); {
	case (plain == "x" || strings.HasPrefix(plain, "x_")) && degrees:
		name = "lon"
	case (plain == "y" || strings.HasPrefix(plain, "y_")) && degrees && math.Abs(c.least) <= 90 && math.Abs(c.most) <= 90:
		name = "lat"
	case (plain == "x" || strings.HasPrefix(plain, "x_")) && metres:
		name = "easting"
	case (plain == "y" || strings.HasPrefix(plain, "y_")) && metres:
		name = "northing"
	default:
		return field{}, false
	}
	c.Why = "by its name and the size of its numbers"
	for _, f := range knownFields() {
		if f.name == name {
			return f, true
		}
	}
	return field{}, false
}

// datumIn is the datum that a name bears in one of its words, "" for none.
func datumIn(plain string) string {
	for word := range strings.SplitSeq(plain, "_") {
		switch word {
		case "nad27":
			return "NAD27"
		case "nad83":
			return "NAD83"
		case "wgs84":
			return "WGS 84"
		}
	}
	return ""
}

// guessUnits proposes for the lengths of which nothing is said the one unit
// that the others have.
func (s *SheetLook) guessUnits() {
	said := make(map[records.Dimension]string)
	by := make(map[records.Dimension]string)
	mixed := make(map[records.Dimension]bool)
	each := func(fn func(c *ColumnLook, d records.Dimension)) {
		for i := range s.Columns {
			c := &s.Columns[i]
			for _, f := range knownFields() {
				if c.Field != "" && f.name == c.Field && (f.kind == quantityField || f.kind == logField) && f.dimension.Base() != records.NoUnit {
					fn(c, f.dimension)
				}
			}
		}
	}
	each(func(c *ColumnLook, d records.Dimension) {
		if c.Unit != "" && said[d] != "" && said[d] != c.Unit {
			mixed[d] = true
		}
		if c.Unit != "" {
			said[d], by[d] = c.Unit, c.Name
		}
	})
	each(func(c *ColumnLook, d records.Dimension) {
		switch {
		case c.Unit != "":
		case said[d] != "" && !mixed[d]:
			c.Unit = said[d]
			c.Why += fmt.Sprintf("; no unit is said: %s, as in %q", c.Unit, by[d])
		case c.Field == "log":
			c.Why += "; no unit is said: a log whose depths have none gives no strata unless you say"
		default:
			c.Why += fmt.Sprintf("; no unit is said: numbers alone are read as %s unless you say", d.Base().Symbol())
		}
	})
}
