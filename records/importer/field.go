package importer

import (
	"sort"
	"strings"

	"tallybook/records"
)

// fieldKind says how the text of a column is read.
type fieldKind uint8

const (
	textField fieldKind = iota
	flagField
	dateField
	numberField // a bare number that stands beside a quantity
	quantityField
	extraField // a JSON object of properties that the model has no place for
	placeField // a part of the position, or the row's identifier: see readPlace
	logField   // a free-text log: see readLog
	legalField // a legal land description: see readLegal
)

// field is what a column of a flat table may hold: a property of the profile,
// one of a group, written group.property, or one of the first part of a list.
type field struct {
	name      string
	kind      fieldKind
	dimension records.Dimension
	list      bool // the group is a list, of which a table gives the first
	beside    bool // stands beside a quantity, and is not listed in errors
}

// placeFields are the fields that are no properties.
var placeFields = [...]string{"id", "lon", "lat", "coordinates", "easting", "northing", "utm_zone"}

// tableFields are the fields that a flat table may give, in the order of the
// profile.
func tableFields() []field {
	var out []field
	for _, name := range placeFields {
		out = append(out, field{name: name, kind: placeField})
	}
	out = append(out, field{name: "log", kind: logField, dimension: records.DimLength}, field{name: "legal", kind: legalField})
	out = appendFields(out, records.Profile(), "")
	return appendFields(out, records.PlateProfile(), platesProperty+"[].")
}

func appendFields(out []field, properties []records.Property, prefix string) []field {
	for _, p := range properties {
		name := prefix + p.Name
		if strings.Count(name, "[]")+strings.Count(strings.ReplaceAll(name, "[].", ""), ".") > 1 {
			continue // a part of a part has no place in a flat table
		}
		f := field{name: strings.ReplaceAll(name, "[].", "."), list: strings.Contains(name, "[]"), beside: p.Beside != ""}
		switch p.Type {
		case "text", "word":
		case "flag":
			f.kind = flagField
		case "date":
			f.kind = dateField
		case "whole":
			f.kind = numberField
		case "number":
			f.kind = numberField
			if p.Quantity != nil {
				f.kind, f.dimension = quantityField, p.Quantity.Dimension
				f.name = strings.ReplaceAll(prefix+p.Quantity.Base, "[].", ".")
			}
		default:
			continue
		}
		out = append(out, f)
	}
	return out
}

// otherNames are names that tables use for a field, when a column has them.
var otherNames = map[string]string{
	"longitude": "lon", "long": "lon", "lng": "lon", "latitude": "lat",
	"well_number": "number", "owner": "owner.name", "driller": "crew.driller", "licence": "crew.licence",
	"license": "crew.licence", "rig": "crew.rig", "address": "site.address", "plate": "plates.number",
	"plate_number": "plates.number", "casing_depth": "casing.to", "casing_diameter": "casing.diameter",
	"bedrock_depth": "depth_to_bedrock", "zone": "utm_zone",
}

// plainName makes the names of columns and fields comparable: lower case, and
// an underscore for whatever is no letter or digit.
func plainName(s string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(s) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '.' || r >= 0x80:
			if gap && b.Len() > 0 {
				b.WriteByte('_')
			}
			gap = false
			b.WriteRune(r)
		default:
			gap = true
		}
	}
	return b.String()
}

// unitWords are words for units beside their symbols and suffixes.
var unitWords = map[string]string{
	"feet": "ft", "foot": "ft", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
	"inch": "in", "inches": "in", "gal_min": "gpm", "us_gpm": "gpm", "l_s": "lps", "l_min": "lpm",
	"m3_h": "m3h", "m3_d": "m3d", "fathoms": "fathom", "gallons": "gal", "litres": "l", "liters": "l",
}

// unitOf reads a unit's symbol, suffix or word.
func unitOf(d records.Dimension, s string) (records.Unit, bool) {
	if u, ok := d.UnitBySymbol(s); ok {
		return u, true
	}
	name := plainName(s)
	if word, ok := unitWords[name]; ok {
		name = word
	}
	return d.UnitBySymbol(name)
}

// fieldAndUnit finds the field that a name stands for, with the unit that the
// name ends in ("total_depth_ft"); unit is records.NoUnit where it names none.
func fieldAndUnit(fields []field, name string) (f field, unit records.Unit, ok bool) {
	name = plainName(name)
	if other, found := otherNames[name]; found {
		name = other
	}
	for _, f := range fields {
		if f.name == name {
			return f, records.NoUnit, true
		}
	}
	for i := len(name) - 1; i > 0; i-- {
		if name[i] != '_' {
			continue
		}
		stem, suffix := name[:i], name[i+1:]
		if other, found := otherNames[stem]; found {
			stem = other
		}
		for _, f := range fields {
			if f.name == stem && (f.kind == quantityField || f.kind == logField) {
				if u, found := unitOf(f.dimension, suffix); found {
					return f, u, true
				}
			}
		}
	}
	return field{}, records.NoUnit, false
}

// nearest lists the names most like s, for an error: at most three, each at
// most a third of its letters away.
func nearest(s string, names []string) []string {
	type candidate struct {
		name string
		away int
	}
	var found []candidate
	plain := plainName(s)
	for _, n := range names {
		p := plainName(n)
		away := editDistance(plain, p)
		if len(plain) >= 3 && (strings.Contains(p, plain) || len(p) >= 3 && strings.Contains(plain, p)) {
			away = min(away, 1)
		}
		if away <= max(1, max(len(plain), len(p))/3) {
			found = append(found, candidate{n, away})
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].away < found[j].away })
	var out []string
	for _, c := range found[:min(3, len(found))] {
		out = append(out, c.name)
	}
	return out
}

// editDistance is the Levenshtein distance between two short names, in bytes.
func editDistance(a, b string) int {
	const most = 200
	a, b = a[:min(len(a), most)], b[:min(len(b), most)]
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
