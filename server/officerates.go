package server

import (
	"strings"

	"tallybook/records"
	"tallybook/records/scout"
)

// groundChoices are the grounds that are charged for.
var groundChoices = []officeChoice{{"", "–"}, {"soil", "soil"}, {"transition", "weathered rock"}, {"rock", "rock"}, {"any", "any other ground"}}

func casingChoices(none string) []officeChoice {
	out := []officeChoice{{"", none}}
	for _, w := range records.CasingWords() {
		out = append(out, officeChoice{w, plainWord(w)})
	}
	return out
}

func lineChoices() []officeChoice {
	var out []officeChoice
	for _, k := range scout.LineKinds() {
		if k != scout.LineTax {
			out = append(out, officeChoice{k.String(), strings.ReplaceAll(k.String(), "_", " ")})
		}
	}
	return out
}

// ratesSheet is the form of the rate table.
func ratesSheet() *officeSheet {
	return &officeSheet{parts: []officePart{
		{id: "table", title: "The table", fields: []officeField{
			{path: "name", label: "Name", kind: asWords, does: "Stands beside every cost made from it."},
			{path: "note", label: "Note", kind: asWords, does: "Said wherever a cost is shown."},
			{path: currencyPath, label: "Currency", kind: asWords, short: true, does: "Three letters, such as USD or EUR."},
			{path: "valid_from", label: "Holds from", kind: asDate, does: "Year-month-day; empty where it is not stated."},
			{path: "valid_to", label: "Holds to", kind: asDate, does: "The last day."},
		}},
		{id: "coming", title: "Coming to the site", fields: []officeField{
			{path: "mobilisation_cents", label: "Mobilisation", kind: asMoney, does: "Rig and crew brought to the site and back, for the job."},
		}},
		{id: "drilling", title: "Drilling", lead: "A price by length for each ground, and where it changes with depth a row for each step. Where a ground has no row, 'any other ground' counts.",
			rows: &officeRows{path: "drilling", word: "step", fields: []officeField{
				{path: "ground", label: "ground", kind: asChoice, choices: groundChoices},
				{path: "from", label: "from", kind: asQuantity, dim: records.DimLength},
				{path: "to", label: "to", kind: asQuantity, dim: records.DimLength},
				{path: "by_length", label: "price", kind: asMoneyByLength},
			}},
			after: []officeField{{path: "minimum", label: "Charged at least", kind: asQuantity, dim: records.DimLength, does: "A shorter hole is charged as if it were this long."}},
		},
		{id: "casing", title: "Casing", lead: "By the length set, stick-up included. A row without material is for any; the size is the one it is sold as.",
			rows: &officeRows{path: "casing", word: "size", fields: []officeField{
				{path: "material", label: "material", kind: asChoice, choices: casingChoices("any")},
				{path: "diameter", label: "size", kind: asQuantity, dim: records.DimDiameter},
				{path: "by_length", label: "price", kind: asMoneyByLength},
			}},
			after: []officeField{{path: "drive_shoe_cents", label: "Drive shoe", kind: asMoney, unit: "each", does: "Charged where the office's practice sets one."}},
		},
		{id: "grout", title: "Grout", fields: []officeField{
			{path: "grout_sack_cents", label: "A sack, placed", kind: asMoney, does: "What a sack costs the customer once it is in the hole."},
			{path: "grout_sack_yield", label: "Grout from a sack", kind: asQuantity, dim: records.DimVolume, does: "Mixed as the maker says; without it sacks cannot be counted.", caution: "Too high a figure orders too few sacks, and a seal that stops short lets surface water down. Take it from the sack or the maker's sheet."},
			{path: "grout_sack_water", label: "Water to a sack", kind: asQuantity, dim: records.DimVolume, does: "For the load-out: how much mixing water to bring.", caution: "More water than the maker says makes a weak grout that shrinks. Local code sets the most."},
			{path: "grout_sack_product", label: "What it holds", kind: asWords, does: "Such as 'neat cement, 94 lb'."},
		}},
		{id: "hours", title: "Work by the hour", lead: "Each with the hours assumed for a job; 0 hours are not charged until they are worked.",
			rows: &officeRows{path: "hours", word: "kind of work", fields: []officeField{
				{path: "name", label: "work", kind: asWords},
				{path: "cents_per_hour", label: "price", kind: asMoney, unit: "per hour"},
				{path: "hours", label: "hours assumed", kind: asNumber, unit: "h"},
			}},
			after: []officeField{{path: "standby_cents_per_hour", label: "Standing by", kind: asMoney, unit: "per hour", does: "Waiting that is not the contractor's doing; never part of an estimate."}},
		},
		{id: "finish", title: "Finishing", fields: []officeField{
			{path: "disinfection_cents", label: "Disinfection", kind: asMoney, does: "For the job, with what goes in."},
			{path: "pump_set_cents", label: "Pump set", kind: asMoney, does: "Pump, pipe, wire and its setting, where the hole gives enough."},
			{path: "plate_cents", label: "Plate", kind: asMoney, does: "The well's number, fixed to it."},
			{path: "permit_cents", label: "Permit", kind: asMoney, does: "Fees paid for the customer."},
		}},
		{id: "dry", title: "A hole that gives too little", fields: []officeField{
			{path: "dry_hole.below", label: "Dry below", kind: asQuantity, dim: records.DimFlow, does: "A final flow under this counts as dry; empty: only a hole without any water."},
			{path: "dry_hole.footage_share", label: "Drilling still due", kind: asPercent, does: "The part of the drilling charge that is due for a dry hole; empty: all of it."},
			{path: "sealing_cents", label: "Sealing, the job", kind: asMoney, does: "Closing the hole for good.", caution: "An open hole is a way down for surface water, and for a child. Local code says how it is sealed and by whom."},
			{path: "sealing_by_length", label: "Sealing, by length", kind: asMoneyByLength, does: "Added to the charge for the job."},
			{path: "dry_hole.words", label: "As agreed", kind: asLongWords, does: "The terms in your own words, as they stand on a quote."},
		}},
		{id: "tax", title: "Tax", fields: []officeField{
			{path: "tax.name", label: "Called", kind: asWords, does: "Such as 'sales tax'."},
			{path: "tax.share", label: "Share", kind: asPercent, does: "Of the lines chosen below."},
			{path: "tax.on", label: "On", kind: asLines, choices: lineChoices()},
		}},
	}}
}
