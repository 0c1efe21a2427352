package server

import (
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// rigAsk is the question of the page beside the drill, all of it in the
// address: the place, how deep the hole is and what it gives, what is needed,
// and the casing at hand. Bare numbers are in the units that the address names
// itself (in=us or in=si).
type rigAsk struct {
	at      position.LonLat
	in      say.System // of the bare numbers in the address
	depthM  float64
	yield   float64 // L/s
	needLps float64
	holeMM  float64
	pipeMM  float64
	people  int
	rock    records.Amount[records.Depth]  // where bedrock was met
	casing  records.Amount[records.Length] // at hand
	typed   url.Values
	faults  map[string]string // by the field at fault, with its mend
}

// asked says whether there is a question to answer.
func (a *rigAsk) asked() bool { return len(a.faults) == 0 && a.depthM > 0 }

// rigNumber is one number of the question.
type rigNumber struct {
	name  string
	label string
	hint  string
	dim   records.Dimension
	unit  func(say.System) records.Unit
	most  float64 // base unit
	more  bool    // folded away
}

// rigNumbers are the fields of the form in their order.
var rigNumbers = [...]rigNumber{
	{"depth", "Depth now", "", records.DimLength, say.System.LengthUnit, 3000, false},
	{"yield", "Gives now", "without what the rig puts in", records.DimFlow, say.System.FlowUnit, 1000, false},
	{"need", "Needed", "", records.DimFlow, say.System.FlowUnit, 1000, false},
	{"casing", "No bedrock yet: casing at hand", "in the hole and on the truck, together", records.DimLength, say.System.LengthUnit, 1000, false},
	{"rock", "Sound bedrock met at", "empty: not said", records.DimLength, say.System.LengthUnit, 3000, true},
	{"hole", "Hole across", "below the casing", records.DimDiameter, say.System.DiameterUnit, 2000, true},
	{"pipe", "Casing across, outside", "", records.DimDiameter, say.System.DiameterUnit, 2000, true},
}

// parseRigAsk reads the question. Only a place that cannot be read is an error;
// every other fault is kept beside its field, to be mended there.
func parseRigAsk(q url.Values, reader say.System) (*rigAsk, error) {
	r, err := position.Parse(q.Get("at"))
	if err != nil {
		return nil, &records.Error{Code: records.Invalid, Field: "at", Message: "the place of the hole: " + err.Error()}
	}
	a := &rigAsk{
		at: r.At, in: reader, typed: q, people: startPeople, faults: map[string]string{},
		needLps: records.GallonPerMinute.ToBase(startNeedGPM), holeMM: records.InchDiameter.ToBase(startHoleIn), pipeMM: records.InchDiameter.ToBase(startPipeIn),
	}
	if given, ok := say.Parse(q.Get("in")); ok {
		a.in = given
	}
	for i := range rigNumbers {
		n := &rigNumbers[i]
		if v, ok := a.number(n); ok {
			a.set(n.name, v)
		}
	}
	if t := strings.TrimSpace(q.Get("people")); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil || n < 0 || n > 100000 {
			a.faults["people"] = clipText(t, 20) + " is no number of people; write a whole number such as 4"
		} else {
			a.people = n
		}
	}
	if v, ok := a.rock.Number(); ok && a.depthM > 0 && float64(v) > a.depthM {
		a.faults["rock"] = "deeper than the hole is; mend this or the depth now"
	}
	if a.needLps == 0 {
		a.faults["need"] = "a need of nothing is met by every hole; write the flow that is asked for"
	}
	if len(q) > 1 && a.depthM == 0 && q.Has("depth") && a.faults["depth"] == "" {
		a.faults["depth"] = "say how deep the hole is now"
	}
	return a, nil
}

// number reads one field in base units; ok is false where it is empty or at
// fault.
func (a *rigAsk) number(n *rigNumber) (float64, bool) {
	t := strings.TrimSpace(a.typed.Get(n.name))
	if t == "" {
		return 0, false
	}
	unit := n.unit(a.in)
	v, err := records.ParseAmount(t, n.dim, unit)
	base, isNumber := v.Number()
	if plain := unit.FromBase(base); err == nil && isNumber {
		if was := asWas(a.typed, n.name, plain); was != plain {
			base = unit.ToBase(was)
		}
	}
	most := trimFloat(unit.FromBase(n.most), 0) + " " + unit.Symbol()
	switch {
	case err != nil:
		a.faults[n.name] = clipText(t, 20) + " cannot be read as a number; write one from 0 to " + most
	case !isNumber:
		a.faults[n.name] = clipText(t, 20) + " is no plain number; write one from 0 to " + most
	case base < 0 || base > n.most:
		a.faults[n.name] = clipText(t, 20) + " is out of range; it may be from 0 to " + most
	default:
		return base, true
	}
	return 0, false
}

func (a *rigAsk) set(name string, v float64) {
	switch name {
	case "depth":
		a.depthM = v
	case "yield":
		a.yield = v
	case "need":
		a.needLps = v
	case "casing":
		a.casing = records.Of(records.Length(v))
	case "rock":
		a.rock = records.Of(records.Depth(v))
	case "hole":
		a.holeMM = v
	case "pipe":
		a.pipeMM = v
	}
}

// query is the question as an address says it, in the units u.
func (a *rigAsk) query(u say.System) url.Values {
	q := a.scout().query(u)
	set := func(name string, unit records.Unit, base float64) {
		q.Set(name, trimFloat(unit.FromBase(base), exactDecimals))
	}
	if a.depthM > 0 {
		set("depth", u.LengthUnit(), a.depthM)
	}
	if a.yield > 0 {
		set("yield", u.FlowUnit(), a.yield)
	}
	if v, ok := a.casing.Number(); ok {
		set("casing", u.LengthUnit(), float64(v))
	}
	if v, ok := a.rock.Number(); ok {
		set("rock", u.LengthUnit(), float64(v))
	}
	return q
}

// scout is what of the question the scouting page asks too.
func (a *rigAsk) scout() *scoutAsk {
	return &scoutAsk{at: a.at, needLps: a.needLps, holeMM: a.holeMM, pipeMM: a.pipeMM, people: a.people}
}

// rigHref is the address of the page beside the drill for a question of the
// scouting page.
func rigHref(s *scoutAsk, u say.System) string {
	a := &rigAsk{at: s.at, needLps: s.needLps, holeMM: s.holeMM, pipeMM: s.pipeMM, people: s.people}
	return a.href(u, 0)
}

// href is the address of the same question with so many metres added to the
// depth.
func (a *rigAsk) href(u say.System, deeperM float64) string {
	c := *a
	c.depthM = max(c.depthM+deeperM, 0)
	return "/rig?" + c.query(u).Encode()
}

// ask is the question as the desk is asked it.
func (a *rigAsk) ask(u say.System) desk.RigAsk {
	ahead, curve := stretches(u)
	return desk.RigAsk{
		At: a.at, Depth: records.Depth(a.depthM), Yield: records.Flow(a.yield), Need: records.Flow(a.needLps),
		Hole: records.Diameter(a.holeMM), Casing: records.Diameter(a.pipeMM), Rock: a.rock, Aboard: a.casing,
		Ahead: ahead, Curve: curve, Daily: records.Volume(float64(a.people) * litresAPerson), Shape: "two-peaks",
	}
}

// stretches are the lengths that are asked about, and those of the curve: 50,
// 100 and 200 ft, or 15, 30 and 60 m.
func stretches(u say.System) (ahead, curve []records.Length) {
	step, steps := records.Foot.ToBase(5), [...]float64{10, 20, 40}
	if u == say.SI {
		step, steps = 1.5, [...]float64{10, 20, 40}
	}
	for _, n := range steps {
		ahead = append(ahead, records.Length(n*step))
	}
	for i := range int(steps[2]) + 1 {
		curve = append(curve, records.Length(float64(i)*step))
	}
	return ahead, curve
}
