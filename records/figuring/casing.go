package figuring

import (
	"math"

	"tallybook/records"
)

// CasingRule is what decides how much casing is set. The caller gives it: the
// office's own, never below the local rule.
type CasingRule struct {
	Socket  records.Length // into sound bedrock
	Least   records.Depth  // the seat is never above this depth below ground
	StickUp records.Length // above ground
}

// CasingRuleExample is a rule of one place, as an example and never a default.
type CasingRuleExample struct {
	Place      string
	Regulation string
	Rule       CasingRule
	Notes      string
	Source     Source
}

// CasingRuleExamples lists rules of a few places with their regulation.
func CasingRuleExamples() []CasingRuleExample {
	rule := func(socketFt, leastFt, stickUpFt float64) CasingRule {
		return CasingRule{Socket: feet(socketFt), Least: records.Depth(feet(leastFt)), StickUp: feet(stickUpFt)}
	}
	return []CasingRuleExample{
		{"New Hampshire", "We 602.22", rule(10, 20, 8./12), "at least 20 ft of casing, taken here as depth below ground; 10 ft into competent bedrock; 18 in above ground for a public system", Source{"N.H. Admin. We 602.22", Read}},
		{"New York", "10 NYCRR App. 5-B.3", rule(0, 19, 1), "from 1 ft above to 19 ft below grade; further rules by ground in table 2", Source{"10 NYCRR Appendix 5-B", Read}},
		{"West Virginia", "64-46-6", rule(5, 19, 1), "5 ft into unweathered bedrock", Source{"West Virginia rule 64-46-6", Read}},
		{"North Carolina", "15A NCAC 02C", rule(1, 20, 1), "35 ft in a listed area; 1 ft below the top of consolidated rock", Source{"county code repeating the state rule", Read}},
	}
}

// CasingPlan is the casing for one hole.
type CasingPlan struct {
	Seat    records.Depth  // bottom of the casing, below ground
	Length  records.Length // seat and stick-up
	ByRule  bool           // the least depth decided, and not the rock
	Working Working
}

// CasingToSet is the depth to sound bedrock and the socket, never less than
// the rule's least depth, and the stick-up on top. Sound bedrock is the rock
// that goes on to the bottom, not the first ledge met. A bedrock depth of zero
// is rock at the surface.
func CasingToSet(bedrock records.Depth, r CasingRule) (CasingPlan, error) {
	err := firstOf(anyLength("bedrock_m", "the depth to bedrock", records.Length(bedrock)), anyLength("socket_m", "the socket", r.Socket),
		anyLength("least_casing_m", "the least casing", records.Length(r.Least)), anyLength("stick_up_m", "the stick-up", r.StickUp))
	if err != nil {
		return CasingPlan{}, err
	}
	p := CasingPlan{Seat: bedrock + records.Depth(r.Socket)}
	if r.Least > p.Seat {
		p.Seat, p.ByRule = r.Least, true
	}
	p.Length = records.Length(p.Seat) + r.StickUp
	p.Working = Working{
		Title:   "casing to set",
		Formula: "the larger of (depth to sound bedrock + socket) and the least depth, and the stick-up",
		Inputs:  []Input{length("depth to sound bedrock", bedrock), length("socket", r.Socket), length("least depth", r.Least), length("stick-up", r.StickUp)},
		Sources: []Source{{"construction rules of this form, such as N.H. Admin. We 602.22; the figures are the office's own", Read}},
		Limits:  "rotten or broken rock under the contact, a seam below a ledge, or a wet seam high in the rock asks for more casing than this",
		Caution: "seat the casing in rock that is sound all round: a seat in a boulder or above a seam lets soil and surface water into the well; the local rule comes first",
	}
	return p, nil
}

// Pieces is a number of equal pieces that cover a length.
type Pieces struct {
	Each    records.Length
	Needed  int // whole, rounded up
	Spare   int
	Covers  records.Length // what the needed pieces come to
	Working Working
}

// Total is needed and spare.
func (p Pieces) Total() int { return p.Needed + p.Spare }

// Sticks is the casing to load: whole sticks that cover the length, rounded
// up, and the spares that the caller wants beside them.
func Sticks(of, each records.Length, spare int) (Pieces, error) {
	return pieces(of, each, spare, "casing sticks", "sticks of different lengths, and the bit of thread or bevel lost at a joint, are not counted")
}

// Rods is the drill rods for a depth: whole rods, rounded up, and spares.
func Rods(depth records.Depth, each records.Length, spare int) (Pieces, error) {
	return pieces(records.Length(depth), each, spare, "drill rods", "the length of hammer and bit is not taken off, nor the rod's height above the table added")
}

func pieces(of, each records.Length, spare int, title, limits string) (Pieces, error) {
	err := firstOf(anyLength("length_m", "the length", of), someLength("piece_m", "the length of a piece", each))
	switch {
	case err != nil:
	case each < 0.1:
		err = bad("piece_m", "a piece is shorter than 10 cm: look at its unit")
	case spare < 0 || spare > math.MaxInt16:
		err = bad("spare", "give the number of spares, none being 0")
	}
	if err != nil {
		return Pieces{}, err
	}
	p := Pieces{Each: each, Needed: wholeUp(float64(of / each)), Spare: spare}
	p.Covers = each * records.Length(p.Needed)
	p.Working = Working{
		Title:   title,
		Formula: "length / length of a piece, rounded up to whole pieces, and spares",
		Inputs:  []Input{length("length", of), length("length of a piece", each), count("spare", float64(spare))},
		Sources: []Source{{"arithmetic", Computed}},
		Limits:  limits,
	}
	return p, nil
}

// Line is one line of what to load. Quantity is in Unit; pieces, bags and
// other counts have NoUnit and Item names them.
type Line struct {
	Item     string
	Quantity float64
	Unit     records.Unit
	Why      string
}

// Line is the pieces to load, spares among them.
func (p Pieces) Line(item, why string) Line {
	return Line{Item: item, Quantity: float64(p.Total()), Why: why}
}

// Lines is the bags and the mixing water to load.
func (b Batch) Lines(why string) []Line {
	lines := []Line{{Item: "bags of " + b.Mix.Name, Quantity: float64(b.Bags), Why: why}}
	if b.Water > 0 {
		lines = append(lines, Line{Item: "water to mix grout", Quantity: float64(b.Water), Unit: records.Litre, Why: "for every bag; washing up comes on top"})
	}
	return lines
}
