package records

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"time"
)

// Correction is one change made alike to many records: which ones, and what is
// changed in them.
type Correction struct {
	Choose CorrectionChoice `json:"choose"`
	Rule   CorrectionRule   `json:"rule"`
}

// CorrectionChoice says which records are meant: those to which all of it
// applies. The zero choice means every record.
type CorrectionChoice struct {
	Batch    int64  `json:"intake,omitempty"`    // came in with this intake
	Driller  string `json:"driller,omitempty"`   // in the driller's or the firm's name, in any case
	FromYear int    `json:"from_year,omitempty"` // of completion
	ToYear   int    `json:"to_year,omitempty"`
	Words    string `json:"words,omitempty"` // in the driller's words of a stratum, in any case
	Has      string `json:"has,omitempty"`   // a field that says something
	Lacks    string `json:"lacks,omitempty"` // a field that says nothing
	// Within is a box of degrees: west, south, east, north.
	Within *[4]float64 `json:"within,omitempty"`
	// Of is a quantity, and Least and Most what it may be, in its base unit.
	Of    string   `json:"of,omitempty"`
	Least *float64 `json:"least,omitempty"`
	Most  *float64 `json:"most,omitempty"`
	// Filter is a filter in CQL2 text (package cql2) over the fields of the
	// collection of wells. Whoever has the records looks which it chooses, and
	// whether it can be read: Chosen and Check know nothing of it.
	Filter string `json:"filter,omitempty"`
}

// CorrectionRule is what is changed. What was written is read anew, never
// multiplied: a rule that would change the driller's own words of the ground
// does not exist.
type CorrectionRule struct {
	// Kind is unit, datum, text or material; see the Correct constants.
	Kind  string `json:"kind"`
	Field string `json:"field,omitempty"` // path without a unit or row: total_depth, strata.top, crew.driller
	From  string `json:"from"`            // what it is now; "" for nothing, "*" for anything
	To    string `json:"to"`              // what it is to be; "" for nothing
	// By and On are who marks, and the day, of the kinds that mark; they are
	// filled in where nobody says.
	By string `json:"by,omitempty"`
	On string `json:"on,omitempty"`
}

// Kinds of rules.
const (
	CorrectUnit     = "unit"     // what was given in one unit was in another
	CorrectDatum    = "datum"    // the coordinates were given on another datum
	CorrectText     = "text"     // a text or a word of a list: a name, a purpose
	CorrectMaterial = "material" // the material of strata whose words are so

	// Field is what of the log (DoubtWords; "*" for whatever is marked, when a
	// mark is taken off), To the reason.
	CorrectMark   = "mark_unreliable"
	CorrectUnmark = "unmark"
)

// CorrectionDone is a correction that was applied.
type CorrectionDone struct {
	ID         int64
	Correction Correction
	At         time.Time
	By         string
	Why        string
	Records    int64 // how many it changed
	UndoneAt   time.Time
	UndoneBy   string
	Left       int64 // how many undoing left, since somebody had worked on them
}

// CorrectedRecord is a record that a correction changed.
type CorrectedRecord struct {
	WellID        int64
	Before, After int64 // its revisions ahead of it and behind it
}

// ParseCorrection reads a correction as JSON. What it does not know is an error,
// since a rule that is half understood is a wrong one.
func ParseCorrection(data []byte) (Correction, error) {
	var c Correction
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&c); err != nil {
		var wrong *json.UnmarshalTypeError
		if errors.As(err, &wrong) {
			return c, Errorf(Invalid, "the correction cannot be read: %s holds a %s, which it cannot be", wrong.Field, wrong.Value)
		}
		return c, Errorf(Invalid, "the correction is no JSON of choose and rule: %s", strings.TrimPrefix(err.Error(), "json: "))
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return c, Errorf(Invalid, "something stands behind the correction; give one")
	}
	return c, c.Check()
}

// Check says what is wrong with a correction.
func (c *Correction) Check() error {
	c.Choose.Filter = strings.TrimSpace(c.Choose.Filter)
	p := pathsOfRecord()
	for name, path := range map[string]string{"has": c.Choose.Has, "lacks": c.Choose.Lacks} {
		if path != "" && !p.all[path] {
			return Errorf(Invalid, "%s: there is no field %q", name, path)
		}
	}
	switch of := c.Choose.Of; {
	case of == "" && (c.Choose.Least != nil || c.Choose.Most != nil):
		return Errorf(Invalid, "say of which quantity the limits are")
	case of != "" && p.amounts[of] == DimNone:
		return Errorf(Invalid, "%q is no quantity of a record", of)
	}
	if b := c.Choose.Within; b != nil && !(b[1] <= b[3] && b[1] >= -90 && b[3] <= 90 && b[0] >= -180 && b[0] <= 180 && b[2] >= -180 && b[2] <= 180) {
		return Errorf(Invalid, "the box is west, south, east, north in degrees")
	}
	r := &c.Rule
	switch r.Kind {
	case CorrectUnit:
		d, ok := p.amounts[r.Field]
		if !ok || d == DimNone {
			return Errorf(Invalid, "%q is no quantity with a unit", r.Field)
		}
		from, ok1 := d.UnitBySymbol(r.From)
		to, ok2 := d.UnitBySymbol(r.To)
		if !ok1 || !ok2 || from == to {
			var units []string
			for _, u := range d.Units() {
				units = append(units, u.Symbol())
			}
			return Errorf(Invalid, "say in which unit %s was taken and in which it was given, two of: %s", r.Field, strings.Join(units, ", "))
		}
	case CorrectDatum:
		if r.To == "" || r.From == r.To {
			return Errorf(Invalid, "say on which datum the coordinates were given")
		}
		r.Field = "datum"
	case CorrectText:
		if !p.texts[r.Field] {
			return Errorf(Invalid, "%q is no text that is changed for many at once; there are: %s", r.Field, strings.Join(p.textNames(), ", "))
		}
		if r.From == r.To || r.From == "*" && r.To == "*" {
			return Errorf(Invalid, "say what stands there now and what is to stand there")
		}
	case CorrectMaterial:
		r.Field = "strata.material"
		if strings.TrimSpace(r.From) == "" {
			return Errorf(Invalid, "say which words of the driller are meant")
		}
	case CorrectMark, CorrectUnmark:
		return r.checkMark()
	default:
		return Errorf(Invalid, "a rule is of kind unit, datum, text or material, or of mark_unreliable or unmark, not %q", r.Kind)
	}
	return nil
}

// CorrectionFields are the fields that rules of a kind change, in the order of
// the profile.
func CorrectionFields(kind string) []string {
	p := pathsOfRecord()
	switch kind {
	case CorrectUnit:
		return slices.Clone(p.amountOrder)
	case CorrectText:
		return p.textNames()
	case CorrectMark:
		return DoubtWords()
	case CorrectUnmark:
		return append([]string{"*"}, doubtWords...)
	}
	return nil
}

// CorrectionUnits are the symbols of the units that a quantity may be in.
func CorrectionUnits(field string) []string {
	var out []string
	for _, u := range pathsOfRecord().amounts[field].Units() {
		out = append(out, u.Symbol())
	}
	return out
}
