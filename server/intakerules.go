package server

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"tallybook/records/importer"
)

// columnRuleSet is what may be decided of a column beside what the form has
// controls for; the form carries it along.
type columnRuleSet struct {
	Pivot   int    `json:"pivot,omitempty"`
	Serials string `json:"serials,omitempty"`
	Decimal string `json:"decimal,omitempty"`
}

// columnRules writes what was decided of a column, and says it in words; both
// are "" for nothing.
func columnRules(c *importer.ColumnMapping) (text, words string) {
	var said []string
	if c.Pivot != 0 {
		said = append(said, fmt.Sprintf("years of two digits are %d to %d", c.Pivot, c.Pivot+99))
	}
	if c.Serials != "" {
		said = append(said, "day numbers count from "+c.Serials)
	}
	if c.Decimal != "" {
		said = append(said, "decimals have a "+c.Decimal)
	}
	return rulesText(columnRuleSet{c.Pivot, c.Serials, c.Decimal}, said)
}

func rulesText(v any, said []string) (text, words string) {
	if len(said) == 0 {
		return "", ""
	}
	b, err := json.Marshal(v)
	if err != nil {
		return "", ""
	}
	return string(b), strings.Join(said, ", ")
}

func setColumnRules(c *importer.ColumnMapping, text string) {
	var v columnRuleSet
	if text != "" && c.Field != "" && json.Unmarshal([]byte(text), &v) == nil {
		c.Pivot, c.Serials, c.Decimal = v.Pivot, v.Serials, v.Decimal
	}
}

// sheetRuleSet is what may be decided of the positions of a table.
type sheetRuleSet struct {
	Area *importer.Area `json:"area,omitempty"`
	Mend []string       `json:"mend,omitempty"`
}

func sheetRules(s *importer.SheetMapping) (text, words string) {
	var said []string
	if s.Area != nil {
		said = append(said, "the wells lie in "+s.Area.String())
	}
	if slices.Contains(s.Mend, "swap") {
		said = append(said, "latitude and longitude that were changed about are put right")
	}
	if slices.Contains(s.Mend, "sign") {
		said = append(said, "a sign that was lost is put back")
	}
	return rulesText(sheetRuleSet{s.Area, s.Mend}, said)
}

func setSheetRules(s *importer.SheetMapping, text string) {
	var v sheetRuleSet
	if text != "" && json.Unmarshal([]byte(text), &v) == nil {
		s.Area, s.Mend = v.Area, v.Mend
	}
}
