package server

import (
	"sort"
	"strings"
	"sync"

	"tallybook/records/importer"
)

// What is typed for a column that gives no field.
const (
	keptColumn = "kept as it stands"
	outColumn  = "left out"
)

// fieldTitles are the fields whose own names say too little.
var fieldTitles = map[string]string{"lon": "longitude", "lat": "latitude", "number": "well number", "id": "identifier"}

// fieldSaid says a field as a person reads it: total_depth is "total depth",
// strata.top is "strata: top".
func fieldSaid(name string) string {
	if t, ok := fieldTitles[name]; ok {
		return t
	}
	part, rest, nested := strings.Cut(name, ".")
	if !nested {
		return strings.ReplaceAll(name, "_", " ")
	}
	return strings.ReplaceAll(part, "_", " ") + ": " + strings.ReplaceAll(rest, "_", " ")
}

// intakeFields are the fields that columns may hold, by what is typed for
// them.
var intakeFields = sync.OnceValue(func() map[string]importer.FieldInfo {
	out := map[string]importer.FieldInfo{}
	for _, f := range importer.Fields() {
		out[heldKey(f.Name)] = f
		out[heldKey(fieldSaid(f.Name))] = f
	}
	return out
})

// knownProperty says whether a property of a feature is one of the profile, or
// a part of it.
func knownProperty(name string) bool {
	key := heldKey(name)
	for _, n := range []string{key, heldKey(withoutUnit(name)), heldKey(strings.TrimSuffix(name, "_qualifier")), heldKey(strings.TrimSuffix(name, "_given"))} {
		if _, ok := intakeFields()[n]; ok {
			return true
		}
	}
	for _, f := range intakeFields() {
		if f.Part != "" && heldKey(f.Part) == key {
			return true
		}
	}
	return false
}

// heldKey makes what is typed for a field comparable.
func heldKey(typed string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(typed), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	}), " ")
}

// fieldOptions are the words that the form offers, in the order of the
// profile.
var fieldOptions = sync.OnceValue(func() []string {
	out := []string{keptColumn, outColumn}
	for _, f := range importer.Fields() {
		out = append(out, fieldSaid(f.Name))
	}
	return out
})

// inOptions are the units, orders and datums that the form offers.
var inOptions = sync.OnceValue(func() []string {
	seen := map[string]bool{}
	var units []string
	for _, f := range importer.Fields() {
		for _, u := range f.Units {
			if !seen[u] {
				seen[u] = true
				units = append(units, u)
			}
		}
	}
	sort.Strings(units)
	return append(units, "ymd", "mdy", "dmy", "WGS 84", "NAD83", "NAD27", "NAVD 88", "NGVD 29")
})
