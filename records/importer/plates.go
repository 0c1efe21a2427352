package importer

import (
	"fmt"

	"tallybook/records"
)

// platesProperty lists the plates that belong to a well.
const platesProperty = "plates"

// takePlates reads the property "plates", which is no part of the well itself.
func takePlates(row *Row) {
	extra := row.Well.Extra
	for i, m := range extra {
		if m.Name != platesProperty {
			continue
		}
		row.Well.Extra = append(extra[:i], extra[i+1:]...)
		if m.JSON != "null" {
			readPlates(row, []byte(m.JSON))
		}
		return
	}
}

func readPlates(row *Row, raw []byte) {
	parts, ok := splitList(raw)
	if !ok {
		row.refuse(platesProperty, "is "+kindOf(raw)+" where a list belongs", "give a list of objects, one for each plate")
		return
	}
	for i, part := range parts {
		p := &records.Plate{}
		for _, f := range p.ParsePlate(part) {
			row.Faults = append(row.Faults, onPlate(i, f))
		}
		row.Plates = append(row.Plates, p)
	}
}

func onPlate(i int, f records.Fault) records.Fault {
	f.Field = fmt.Sprintf("%s[%d].%s", platesProperty, i, f.Field)
	return f
}

// splitList cuts a JSON list that was checked before into its elements.
func splitList(raw []byte) (parts [][]byte, ok bool) {
	if len(raw) == 0 || raw[0] != '[' {
		return nil, false
	}
	var s bracketScan
	for i := 1; i < len(raw); {
		switch raw[i] {
		case ' ', '\t', '\r', '\n', ',':
			i++
			continue
		case ']':
			return parts, true
		}
		s.reset()
		n, done, err := s.feed(raw[i:])
		if err != nil || !done {
			return parts, false
		}
		parts = append(parts, raw[i:i+n])
		i += n
	}
	return parts, false
}
