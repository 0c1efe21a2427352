package records

import "strconv"

// trail is where a walk through a record is. It is put in words only when
// there is something to tell.
type trail []step

// step is one part of a trail; index -1 for a group.
type step struct {
	name  string
	index int
}

// to writes the path of the property called name: strata[2].bottom_m. An
// empty name stands for the part itself.
func (t trail) to(name string) string {
	var b []byte
	for i, s := range t {
		if i > 0 {
			b = append(b, '.')
		}
		b = append(b, s.name...)
		if s.index >= 0 {
			b = append(strconv.AppendInt(append(b, '['), int64(s.index), 10), ']')
		}
	}
	if len(t) > 0 && name != "" {
		b = append(b, '.')
	}
	return string(append(b, name...))
}
