package scout

import (
	"tallybook/records"
)

// InventedPracticeLabel stands in every invented practice and table of rules.
const InventedPracticeLabel = "invented example, not a rule"

const inventedPractice = `{
  "units": "us",
  "socket_ft": 10,
  "least_casing_ft": 20,
  "rule": "` + InventedPracticeLabel + `: name the rule that holds where you drill",
  "stick_up_ft": 1.5,
  "casing_material": "steel",
  "drive_shoe": true,
  "clearance_in": 3.125,
  "grout_extra_share": 0.25,
  "greatest_depth_ft": 600,
  "rod_ft": 20,
  "casing_stick_ft": 20,
  "pump_above_bottom_ft": 20,
  "spares": 1,
  "words": {"firm": "Example firm (invented)", "terms": "Invented terms: an estimate from records, not a promise.", "quote_days": 30}
}`

// InventedPractice is a way of making holes for demonstrations; its rule and
// its words say that it is invented. Its lengths are common in the trade, no
// source.
func InventedPractice() Practice {
	p, _ := ParsePractice([]byte(inventedPractice)) // a test holds it to have no fault
	return p
}

// InventedRules is a small table of distances for demonstrations. It names
// a regulation that does not exist.
func InventedRules() RuleTable {
	t := RuleTable{Name: "Example distances", Note: InventedPracticeLabel + ": look up what holds where you drill", Units: US}
	for _, r := range []struct {
		kind string
		feet float64
	}{
		{"septic_tank", 50}, {"leach_field", 100}, {"animal_yard", 100}, {"fuel_tank", 100}, {"stream", 25}, {propertyLine, 10}, {"road", 15},
	} {
		t.Rules = append(t.Rules, LocalRule{Kind: r.kind, Distance: records.Of(records.Length(records.Foot.ToBase(r.feet))), Regulation: "invented rule of Ninefold Township", Year: 2020})
	}
	return t
}
