package importer

import (
	"tallybook/records"
)

// besideProperties is what a GeoJSON feature carries outside its properties
// and the model has no place for, so that an export can give it back. It is kept with the record as one extra
// property named FeatureMember, an object with the members "members" (of the
// feature), "geometry" (of its geometry) and "beyond" (the numbers after
// longitude and latitude), each left out where there is nothing.
type besideProperties struct {
	Members  []records.Member // members of the feature that RFC 7946 does not know, and bbox
	Geometry []records.Member // the same of its geometry
	Beyond   string           // JSON list of the coordinates after the second, or ""
}

func (b *besideProperties) member() (records.Member, bool) {
	if len(b.Members) == 0 && len(b.Geometry) == 0 && b.Beyond == "" {
		return records.Member{}, false
	}
	out := []byte{'{'}
	out = appendMembers(out, "members", b.Members)
	out = appendMembers(out, "geometry", b.Geometry)
	if b.Beyond != "" {
		out = appendName(out, "beyond")
		out = append(out, b.Beyond...)
	}
	return records.Member{Name: FeatureMember, JSON: string(append(out, '}'))}, true
}

func appendMembers(out []byte, name string, members []records.Member) []byte {
	if len(members) == 0 {
		return out
	}
	out = append(appendName(out, name), '{')
	return append(appendAll(out, members), '}')
}

func appendName(out []byte, name string) []byte {
	if out[len(out)-1] != '{' {
		out = append(out, ',')
	}
	return append(append(out, quote(name)...), ':')
}
