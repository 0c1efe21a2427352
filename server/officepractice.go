package server

import (
	"strings"

	"tallybook/records"
	"tallybook/records/scout"
)

// practiceSheet is the form of how the office makes its holes.
func practiceSheet() *officeSheet {
	return &officeSheet{parts: []officePart{
		{id: "casing", title: "Casing", cautions: []string{"Casing and its seal keep surface water out of the well. Local code sets the least, and a licensed driller answers for it: what stands here is never a reason to set less."},
			fields: []officeField{
				{path: "socket", label: "Into sound bedrock", kind: asQuantity, dim: records.DimLength, does: "How far casing goes on below the top of sound rock.", caution: "Too short a socket leaves the joint in broken rock, where surface water gets in."},
				{path: "least_casing", label: "Never less than", kind: asQuantity, dim: records.DimLength, does: "Casing below ground where bedrock is shallow.", caution: "Write what the rule below asks for, or more."},
				{path: "rule", label: "The rule", kind: asWords, does: "What asks for these, with its year; it is said beside every length of casing."},
				{path: "stick_up", label: "Above ground", kind: asQuantity, dim: records.DimLength, does: "Casing left standing, counted with the rest.", caution: "Local code sets the least, above ground and above flood water."},
				{path: "casing_material", label: "Material", kind: asChoice, choices: casingChoices("not stated"), does: "Finds its price in the rate table."},
				{path: "drive_shoe", label: "Drive shoe", kind: asFlag, does: "One is set on every string of casing."},
			}},
		{id: "grout", title: "Grout", fields: []officeField{
			{path: "clearance", label: "Hole wider by", kind: asQuantity, dim: records.DimDiameter, does: "The hole around the casing less the casing's outside diameter, both sides together.", caution: "Too narrow a space lets grout bridge and leaves the seal open below. Local code sets the least."},
			{path: "grout_extra_share", label: "Beyond the space", kind: asPercent, does: "Grout counted on top of the space to be filled, where no neighbouring record says what it took.", caution: "Broken ground takes more. Running out half way leaves a seal with a gap: bring spare sacks."},
		}},
		{id: "reach", title: "Depth and tools", fields: []officeField{
			{path: "greatest_depth", label: "Never deeper than", kind: asQuantity, dim: records.DimLength, does: "Where a plan stops when the customer names no depth; empty: 500 ft (152 m), common practice."},
			{path: "rod", label: "A drill rod", kind: asQuantity, dim: records.DimLength, does: "Depths are drilled to whole rods; empty: not rounded."},
			{path: "casing_stick", label: "A stick of casing", kind: asQuantity, dim: records.DimLength, does: "Casing is charged and loaded in whole sticks; empty: not rounded."},
			{path: "spares", label: "Spares", kind: asNumber, unit: "rods, and as many sticks", does: "Taken along beside those that are needed."},
		}},
		{id: "pump", title: "Pump", fields: []officeField{
			{path: "pump_above_bottom", label: "Above the bottom", kind: asQuantity, dim: records.DimLength, does: "How far the pump's intake hangs above the end of the hole; the water below it does not count as stored.", caution: "Too near the bottom it draws cuttings and wears."},
		}},
		{id: "words", title: "On your papers", fields: []officeField{
			{path: "words.firm", label: "Firm", kind: asWords, does: "At the head of a sheet."},
			{path: "words.licence", label: "Licence", kind: asWords, does: "Its number, and who gave it."},
			{path: "words.reach", label: "How to reach you", kind: asWords, does: "Telephone, address."},
			{path: "words.terms", label: "Terms", kind: asLongWords, does: "Beneath a quote, in your own words."},
			{path: "words.quote_days", label: "A quote holds for", kind: asNumber, unit: "days", does: "Counted from the day it is made."},
		}},
	}}
}

// hazardChoices are the kinds of hazards that are offered; an office may coin
// others.
func hazardChoices() []officeChoice {
	var out []officeChoice
	for _, w := range scout.HazardWords() {
		out = append(out, officeChoice{w, strings.ReplaceAll(w, "_", " ")})
	}
	return out
}

// rulesSheet is the form of the distances that the office asks for.
func rulesSheet() *officeSheet {
	return &officeSheet{parts: []officePart{
		{id: "table", title: "The table", fields: []officeField{
			{path: "name", label: "Name", kind: asWords, does: "Such as the county or the state that it holds in."},
			{path: "note", label: "Note", kind: asWords, does: "Said wherever a distance is checked."},
		}},
		{id: "rules", title: "Distances", lead: "How far a well keeps from what can foul it, or from what the rig can hit. A kind that has no row is shown on a scouting page without a verdict.",
			cautions: []string{"Overhead lines kill without being touched. A distance here is no clearance for a mast: ask the line's owner."},
			rows: &officeRows{path: "rules", word: "distance", fields: []officeField{
				{path: "kind", label: "from", kind: asCoined, choices: hazardChoices()},
				{path: "distance", label: "at least", kind: asQuantity, dim: records.DimLength},
				{path: "regulation", label: "regulation", kind: asWords},
				{path: "year", label: "year", kind: asNumber},
				{path: "note", label: "note", kind: asWords},
			}}},
	}}
}
