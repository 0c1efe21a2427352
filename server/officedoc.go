package server

import (
	"context"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
)

// officeDoc is one document of the office: its form, and how it is read, held
// against its own rules and kept.
type officeDoc struct {
	word    string // in addresses
	setting string
	title   string
	lead    string
	empty   string // said where there is none yet
	enter   string // what one does then
	begin   string // the offer to begin from an invented one
	sheet   *officeSheet
	shown   []string // what the overview shows of it
	invent  func() []byte
	// check reads a text and writes it again; lacks is what it leaves open.
	check func(text []byte) (canonical []byte, faults []records.Fault, lacks []string)
	kept  func(ctx context.Context, d *desk.Desk, a records.Actor) (officeKept, error)
	save  func(ctx context.Context, d *desk.Desk, a records.Actor, text []byte, revision int64, why string) (int64, error)
}

// officeKept is what is kept of a document, whatever its type.
type officeKept = desk.Kept[struct{}]

func untyped[T any](k desk.Kept[T], err error) (officeKept, error) {
	return officeKept{Text: k.Text, Faults: k.Faults, Revision: k.Revision, At: k.At, By: k.By}, err
}

// officeDocs are the documents in the order of the overview.
func officeDocs() []officeDoc {
	return []officeDoc{
		{
			word: "rates", setting: desk.SettingRates, title: "Your rates", sheet: ratesSheet(),
			shown:  []string{"name", "note", "valid_from", "valid_to", "mobilisation_cents", "grout_sack_cents", "pump_set_cents"},
			lead:   "What you charge. Every hole that the records make likely is priced by this table, and by nothing else.",
			empty:  "There is no rate table yet, so nothing is priced.",
			enter:  "Enter your rates",
			begin:  "Begin from the invented example",
			invent: func() []byte { return scout.InventedRates().AppendJSON(nil) },
			check: func(text []byte) ([]byte, []records.Fault, []string) {
				r, faults := scout.ParseRates(text)
				return r.AppendJSON(nil), faults, r.Lacks()
			},
			kept: func(ctx context.Context, d *desk.Desk, a records.Actor) (officeKept, error) {
				return untyped(d.Rates(ctx, a))
			},
			save: func(ctx context.Context, d *desk.Desk, a records.Actor, text []byte, revision int64, why string) (int64, error) {
				r, faults := scout.ParseRates(text)
				if err := records.FaultError(faults); err != nil {
					return 0, err
				}
				return d.SaveRates(ctx, a, r, revision, why)
			},
		},
		{
			word: "practice", setting: desk.SettingPractice, title: "How you make a hole", sheet: practiceSheet(),
			shown:  []string{"socket", "least_casing", "rule", "clearance", "greatest_depth", "rod", "words.firm"},
			lead:   "What a plan takes where the question of the day does not say. Nothing is assumed: what stands empty is left out of plan and cost, and said to be missing.",
			empty:  "Nothing is stated yet.",
			enter:  "State how you do it",
			begin:  "Begin from an invented example",
			invent: func() []byte { return scout.InventedPractice().AppendJSON(nil) },
			check: func(text []byte) ([]byte, []records.Fault, []string) {
				p, faults := scout.ParsePractice(text)
				return p.AppendJSON(nil), faults, p.Lacks()
			},
			kept: func(ctx context.Context, d *desk.Desk, a records.Actor) (officeKept, error) {
				return untyped(d.Practice(ctx, a))
			},
			save: func(ctx context.Context, d *desk.Desk, a records.Actor, text []byte, revision int64, why string) (int64, error) {
				p, faults := scout.ParsePractice(text)
				if err := records.FaultError(faults); err != nil {
					return 0, err
				}
				return d.SavePractice(ctx, a, p, revision, why)
			},
		},
		{
			word: "rules", setting: desk.SettingLocalRules, title: "Distances to keep", sheet: rulesSheet(),
			shown: []string{"name", "note"},
			lead:  "Local code decides how far a well keeps from what. This table is your copy of it: enter what holds where you drill, with the regulation and its year, and look it up again when it changes. Nothing is checked until you enter it.",
			empty: "No distance is entered, so none is checked.",
			enter: "Enter the distances",
			check: func(text []byte) ([]byte, []records.Fault, []string) {
				t, faults := scout.ParseRules(text)
				return t.AppendJSON(nil), faults, nil
			},
			kept: func(ctx context.Context, d *desk.Desk, a records.Actor) (officeKept, error) {
				return untyped(d.LocalRules(ctx, a))
			},
			save: func(ctx context.Context, d *desk.Desk, a records.Actor, text []byte, revision int64, why string) (int64, error) {
				t, faults := scout.ParseRules(text)
				if err := records.FaultError(faults); err != nil {
					return 0, err
				}
				return d.SaveLocalRules(ctx, a, t, revision, why)
			},
		},
		platesDoc(),
	}
}

func officeDocOf(word string) (*officeDoc, error) {
	docs := officeDocs()
	for i := range docs {
		if docs[i].word == word {
			return &docs[i], nil
		}
	}
	return nil, records.Errorf(records.NotFound, "the office has no page %q", word)
}

func (o *officeDoc) path() string { return "/office/" + o.word }

// keepLabel holds an invented table to its label: it stays until the table has
// a name of its own, and goes with that. It says what it did.
func (o *officeDoc) keepLabel(form *officeForm) string {
	if o.word != "rates" {
		return ""
	}
	invented := scout.InventedRates()
	switch named := form.typed["name"] == invented.Name; {
	case named && form.typed["note"] != invented.Note && form.typed["note"] == "":
		form.typed["note"] = invented.Note
		return "The note stays until the table has a name of its own."
	case !named && form.typed["name"] != "" && form.typed["note"] == invented.Note:
		delete(form.typed, "note")
		return "The note “" + invented.Note + "” went with the old name: see that every price is yours."
	}
	return ""
}
