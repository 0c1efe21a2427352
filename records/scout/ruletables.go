package scout

import (
	"fmt"

	"tallybook/records"
)

func ruleField(i int) string { return fmt.Sprintf("rules[%d]", i) }

// RuleTable is a named set of local rules.
type RuleTable struct {
	Name  string
	Note  string
	Rules []LocalRule
}

// exampleNote stands on every example table.
const exampleNote = "an example of what one text asked for in its place and year, never a default: look up what holds here"

// ExampleRules lists a few published tables as examples. An office copies
// what holds for it into a table of its own; nothing is checked against these
// unless somebody chose to. Distances were read in the texts named; years are
// those of the page read, or from memory where the note says so.
func ExampleRules() []RuleTable {
	table := func(name, regulation string, year int, note string, rows ...struct {
		kind string
		feet float64
		note string
	}) RuleTable {
		t := RuleTable{Name: name, Note: exampleNote + note}
		for _, r := range rows {
			t.Rules = append(t.Rules, LocalRule{Kind: r.kind, Distance: records.Length(records.Foot.ToBase(r.feet)), Regulation: regulation, Year: year, Note: r.note})
		}
		return t
	}
	type row = struct {
		kind string
		feet float64
		note string
	}
	return []RuleTable{
		table("CDC page on siting wells, 2009", "US CDC, page on well siting", 2009, "",
			row{"septic_tank", 50, ""}, row{"leach_field", 50, ""}, row{"animal_yard", 50, "livestock yards, silos"},
			row{"fuel_tank", 100, "petroleum tanks"}, row{"chemical_store", 100, "fertiliser"},
			row{"manure", 250, "manure stack; 100 ft from tight storage"}),
		table("New York, Appendix 5-B", "10 NYCRR Appendix 5-B, Table 1", 2005, "; the year is from memory",
			row{"septic_tank", 50, ""}, row{"leach_field", 100, "200 ft in coarse gravel or a direct path"}, row{"animal_yard", 100, ""},
			row{"seepage_pit", 150, ""}, row{"cesspool", 200, ""}, row{"manure", 200, "manure pile"}, row{"landfill", 300, ""},
			row{"salt_pile", 300, ""}, row{"chemical_store", 150, "mixing of fertiliser or pesticide"}, row{"stream", 25, ""},
			row{"sewer", 50, ""}, row{"cemetery", 100, ""}),
		table("Georgia, water well standards", "O.C.G.A. 12-5-134", 1985, "; the year is from memory",
			row{"septic_tank", 50, ""}, row{"leach_field", 100, ""}, row{"animal_yard", 100, ""}, row{"sewer", 10, ""},
			row{"cesspool", 150, ""}, row{"seepage_pit", 150, ""}),
	}
}
