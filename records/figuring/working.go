package figuring

import "tallybook/records"

// Mark says how well a source is known.
type Mark uint8

// The marks, from the firmest. The zero Mark is no mark at all and appears in
// no table.
const (
	Read       Mark = iota + 1 // read in the document named
	Copied                     // read in a copy or a retelling of it
	Computed                   // follows from the formula shown
	Remembered                 // stated from memory: look it up before relying on it
	Ours                       // common practice or our own choice, no source
	Entered                    // as the user gave it
)

// String gives the words that stand after a source.
func (m Mark) String() string {
	switch m {
	case Read:
		return "read in the document"
	case Copied:
		return "read in a second-hand copy"
	case Computed:
		return "computed from the formula"
	case Remembered:
		return "from memory: look it up before relying on it"
	case Ours:
		return "common practice, no source"
	case Entered:
		return "as entered"
	}
	return "source not known"
}

// Source is where a formula or a figure comes from.
type Source struct {
	Text string
	Mark Mark
}

// String is the source and how well it is known, on one line.
func (s Source) String() string {
	if s.Text == "" {
		return s.Mark.String()
	}
	return s.Text + " (" + s.Mark.String() + ")"
}

// Input is one quantity that went into a sum. Value is in Unit, the base unit
// of its dimension, so that a page can show it in the reader's own; counts and
// shares have NoUnit.
type Input struct {
	Name  string
	Value float64
	Unit  records.Unit
}

// Working is how a figure came about, for the page to show one tap away.
type Working struct {
	Title   string
	Formula string // in words and symbols; symbols are the names of Inputs
	Inputs  []Input
	Sources []Source
	Limits  string // what the sum leaves out, where it stops being true
	Caution string // what can hurt; empty where nothing can
}

// Figure is a result with its working.
type Figure[T ~float64] struct {
	Value   T
	Working Working
}

func count(name string, v float64) Input        { return Input{name, v, records.NoUnit} }
func length[T ~float64](name string, v T) Input { return Input{name, float64(v), records.Metre} }
func across(name string, v records.Diameter) Input {
	return Input{name, float64(v), records.Millimetre}
}
func flow(name string, v records.Flow) Input       { return Input{name, float64(v), records.LitrePerSecond} }
func volume(name string, v records.Volume) Input   { return Input{name, float64(v), records.Litre} }
func minutes(name string, v records.Minutes) Input { return Input{name, float64(v), records.Minute} }
func mass(name string, v records.Mass) Input       { return Input{name, float64(v), records.Kilogram} }
func gallons(v float64) records.Volume             { return records.Volume(records.Gallon.ToBase(v)) }
func cubicFeet(v float64) records.Volume           { return records.Volume(records.CubicFoot.ToBase(v)) }
func feet(v float64) records.Length                { return records.Length(records.Foot.ToBase(v)) }
func inches(v float64) records.Diameter            { return records.Diameter(records.InchDiameter.ToBase(v)) }
func pounds(v float64) records.Mass                { return records.Mass(records.Pound.ToBase(v)) }
func gallonsPerMinute(v float64) records.Flow      { return records.Flow(records.GallonPerMinute.ToBase(v)) }

// drawn is the litres that a flow gives in a time.
func drawn(q records.Flow, t records.Minutes) float64 { return float64(q) * float64(t) * 60 }
