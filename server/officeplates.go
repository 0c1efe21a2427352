package server

import (
	"context"

	"tallybook/records"
	"tallybook/records/desk"
)

// plateFieldLabels are what the office chooses among, in more words than a plate
// has room for.
var plateFieldLabels = map[string]string{
	"contractor": "firm, or driller", "licence": "driller's licence", "permit": "permit number", "completed": "day completed", "depth": "total depth",
	"casing": "depth of casing", "diameter": "diameter of casing", "screens": "screened from, to", "yield": "yield", "static": "static level and its day", "pump": "depth of the pump",
}

// platesSheet is the form of how plates are made.
func platesSheet() *officeSheet {
	var fields []officeChoice
	for _, w := range records.PlateFieldWords() {
		fields = append(fields, officeChoice{w, plateFieldLabels[w]})
	}
	return &officeSheet{parts: []officePart{
		{id: "leads", title: "Where a code leads", lead: "A plate bears a code that a telephone's camera reads. With a public address it leads to the record; without one it holds the plate's number.",
			cautions: []string{"A plate stays for decades. An address of this machine or of your own network is refused: it would lead nowhere."},
			fields: []officeField{
				{path: "public_base", label: "Public address", kind: asWords, does: "Under which your records are reached from anywhere, such as https://wells.example.org; /p/ and the number follow it. Empty: the plain number."},
			}},
		{id: "says", title: "What it says", lead: "The number always. What else is stamped, rules differ on: the day, the depth, the yield and who drilled it are asked for most.",
			cautions: []string{"Local code says what a plate must show, and where and how soon it is fixed. Owners are never stamped: anybody can read a plate."},
			fields: []officeField{
				{path: "heading", label: "Above the number", kind: asWords, does: "Such as the name of your office."},
				{path: "fields", label: "Beside the number", kind: asLines, choices: fields},
			}},
		{id: "plate", title: "The plate", fields: []officeField{
			{path: "width_mm", label: "Wide", kind: asNumber, unit: "mm", does: "Empty: 80 by 50 mm."},
			{path: "height_mm", label: "High", kind: asNumber, unit: "mm"},
			{path: "holes_mm", label: "Holes", kind: asNumber, unit: "mm across", does: "One in each corner, kept clear of words; empty: none."},
			{path: "tool", label: "Made by", kind: asChoice, choices: []officeChoice{{"", "a label printer"}, {string(records.PlateEngraver), "an engraver"}}, does: "An engraver is given lines alone: nothing is filled."},
			{path: "line_mm", label: "Its line", kind: asNumber, unit: "mm wide", does: "How wide the engraver's point cuts; empty: 0.2 mm."},
		}},
	}}
}

func platesDoc() officeDoc {
	return officeDoc{
		word: "plates", setting: desk.SettingPlateFormat, title: "Plates you make", sheet: platesSheet(),
		shown:  []string{"public_base", "heading", "fields", "width_mm", "height_mm", "tool"},
		lead:   "What stands on the plates that you print or have engraved for wellheads, and how large they are.",
		empty:  "Nothing is set: plates are 80 by 50 mm for a label printer, and their code holds the plain number.",
		enter:  "Set how plates are made",
		invent: nil,
		check: func(text []byte) ([]byte, []records.Fault, []string) {
			f, faults := records.ParsePlateFormat(text)
			return f.AppendJSON(nil), faults, f.Lacks()
		},
		kept: func(ctx context.Context, d *desk.Desk, a records.Actor) (officeKept, error) {
			return untyped(d.PlateFormat(ctx, a))
		},
		save: func(ctx context.Context, d *desk.Desk, a records.Actor, text []byte, revision int64, why string) (int64, error) {
			f, faults := records.ParsePlateFormat(text)
			if err := records.FaultError(faults); err != nil {
				return 0, err
			}
			return d.SavePlateFormat(ctx, a, f, revision, why)
		},
	}
}
