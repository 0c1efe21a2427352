package scout

import "tallybook/records"

// exampleNote stands on every example table.
const exampleNote = "an example of what one text asked for in its place and year, never a default: look up what holds here"

// exampleRow is a line of an example table, in feet as it was read.
type exampleRow struct {
	kind string
	feet float64
	note string
}

func exampleTable(name, regulation string, year int, note string, rows ...exampleRow) RuleTable {
	t := RuleTable{Name: name, Note: exampleNote + note, Units: US}
	for _, r := range rows {
		t.Rules = append(t.Rules, LocalRule{
			Kind: r.kind, Distance: records.Of(records.Length(records.Foot.ToBase(r.feet))),
			Regulation: regulation, Year: year, Note: r.note,
		})
	}
	return t
}

// ExampleRules lists a few published tables as examples. An office copies what
// holds for it into a table of its own; nothing is checked against these
// unless somebody chose to. Distances were read in the texts named; years are
// those of the page read, or from memory where the note says so.
func ExampleRules() []RuleTable {
	return []RuleTable{
		exampleTable("CDC page on siting wells, 2009", "US CDC, page on siting of wells", 2009, "",
			exampleRow{"septic_tank", 50, ""}, exampleRow{"leach_field", 50, ""},
			exampleRow{"animal_yard", 50, "livestock yards, silos"}, exampleRow{"fuel_tank", 100, "petroleum tanks"},
			exampleRow{"chemical_store", 100, "fertiliser"}, exampleRow{"manure", 250, "manure stack; 100 ft from tight storage"}),
		exampleTable("New York, Appendix 5-B", "10 NYCRR Appendix 5-B, Table 1", 2005, "; the year is from memory",
			exampleRow{"septic_tank", 50, ""}, exampleRow{"leach_field", 100, "200 ft in coarse gravel or a direct path"},
			exampleRow{"animal_yard", 100, ""}, exampleRow{"seepage_pit", 150, ""}, exampleRow{"cesspool", 200, ""},
			exampleRow{"manure", 200, "manure pile"}, exampleRow{"landfill", 300, ""}, exampleRow{"salt_pile", 300, ""},
			exampleRow{"chemical_store", 150, "mixing of fertiliser or pesticide"}, exampleRow{"stream", 25, ""},
			exampleRow{"sewer", 50, ""}, exampleRow{"cemetery", 100, ""}),
		exampleTable("Georgia, water well standards", "O.C.G.A. 12-5-134", 1985, "; the year is from memory",
			exampleRow{"septic_tank", 50, ""}, exampleRow{"leach_field", 100, ""}, exampleRow{"animal_yard", 100, ""},
			exampleRow{"sewer", 10, ""}, exampleRow{"cesspool", 150, ""}, exampleRow{"seepage_pit", 150, ""}),
	}
}
