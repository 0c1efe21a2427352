package importer

import (
	"fmt"
	"strings"

	"tallybook/records"
)

// platesProperty lists the plates that belong to a well.
const platesProperty = "plates"

// derivedProperty is what an export adds when it is asked for what is derived
// from a record or its place. It is told by naming the vocabulary or the
// elevation grid it was derived with, and is passed over: it would be stale as soon as the record is edited.
const derivedProperty = "derived"

// takeOwn takes from the extra properties those of the exchange format that
// are no part of the well itself.
func takeOwn(row *Row) {
	kept := row.Well.Extra[:0]
	for _, m := range row.Well.Extra {
		switch {
		case m.Name == platesProperty && m.JSON == "null":
		case m.Name == platesProperty:
			readPlates(row, []byte(m.JSON))
		case m.Name == derivedProperty && (strings.Contains(m.JSON, `"vocabulary":`) || strings.Contains(m.JSON, `"ground_elevation_from":`)):
		case strings.HasPrefix(m.Name, derivedProperty+".ground_elevation_"): // of a table
		default:
			kept = append(kept, m)
		}
	}
	row.Well.Extra = kept
	if len(kept) == 0 {
		row.Well.Extra = nil
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
