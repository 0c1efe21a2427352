package ogc

import (
	"tallybook/records"
	"tallybook/records/cql2"
)

// Filters (OGC 19-079r2, Part 3) in CQL2 text (OGC 21-065r2): read by
// records/cql2, asked of the store like any other condition.

const filterLang = "cql2-text"

// filterParameters are those by which features are filtered.
func filterParameters(c *records.FeatureCollection) []parameter {
	return []parameter{
		{name: "filter", about: "Features of which this is true alone, in CQL2 text over the properties that the queryables list and geometry, such as " + filterExample(c) + ".",
			schema: schema{Type: "string"}, example: filterExample(c),
			read: func(a *ask, value string) error { a.filter = value; return nil }},
		{name: "filter-lang", about: "The language of the filter.", schema: schema{Type: "string", Enum: []any{filterLang}, Default: filterLang}, example: filterLang,
			read: func(_ *ask, value string) error {
				if value != filterLang {
					return records.Errorf(records.Invalid, "filter-lang=%s is no language of filters here; there is: %s", clip(value), filterLang)
				}
				return nil
			}},
		crsParameter("filter-crs", "The coordinate reference system of the positions in the filter.", func(a *ask, s refSystem) { a.filterCRS = s }),
	}
}

// filterExample is a filter of a collection that can be given.
func filterExample(c *records.FeatureCollection) string {
	when := c.When + " >= DATE('2000-01-01')"
	for i := range c.Fields {
		if f := &c.Fields[i]; f.Queryable && f.Type == records.FieldNumber {
			return f.Name + " >= 20 AND " + when
		}
	}
	return when + " OR geometry IS NULL"
}

// settle makes conditions of what is read together: the box and the filter with
// their reference systems.
func (a *ask) settle(c *records.FeatureCollection) error {
	if a.boxSaid != "" {
		where, err := boxCondition(a.box, a.boxCRS, a.boxSaid)
		if err != nil {
			return err
		}
		a.where = append(a.where, where)
	}
	if a.filter != "" {
		where, err := cql2.Ask(a.filter, c, a.filterCRS.CRS)
		if err != nil {
			return err
		}
		a.where = append(a.where, where)
	}
	return nil
}
