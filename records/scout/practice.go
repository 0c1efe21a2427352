package scout

import (
	"fmt"

	"tallybook/records"
)

// Practice is how an office makes its holes: what a Plan takes where the
// question of the day does not say. Nothing in it is assumed: what an office
// has not stated is missing, and Lacks says so.
type Practice struct {
	Units Units // what the names of the text bear

	Socket    records.Amount[records.Length] // casing into sound bedrock
	MinCasing records.Amount[records.Length] // casing below ground never less
	Rule      string                         // the local rule that asks for these, and its year
	StickUp   records.Amount[records.Length]

	CasingKind string // material, see records.CasingWords
	Shoe       bool
	Clearance  records.Amount[records.Diameter] // hole around the casing less its outside
	GroutExtra records.Amount[records.Pure]     // share beyond the annulus where no neighbour tells

	MaxDepth    records.Amount[records.Depth]
	Rod         records.Amount[records.Length]
	CasingStick records.Amount[records.Length]
	PumpAbove   records.Amount[records.Length] // pump's intake above the bottom

	Spares records.Amount[records.Pure] // rods and sticks taken beside those needed

	Words Words
}

// Words are what the contractor's papers say in the contractor's own words.
type Words struct {
	Firm    string // as it stands at the head of a sheet
	Licence string
	Reach   string                       // how to reach the firm
	Terms   string                       // beneath a quote
	Days    records.Amount[records.Pure] // for how many days a quote holds
}

func (p *Practice) visit(f *form) {
	f.units("units", &p.Units)
	quantity(f, "socket", records.DimLength, &p.Socket)
	quantity(f, "least_casing", records.DimLength, &p.MinCasing)
	f.text("rule", &p.Rule)
	quantity(f, "stick_up", records.DimLength, &p.StickUp)
	f.text("casing_material", &p.CasingKind)
	f.flag("drive_shoe", &p.Shoe)
	quantity(f, "clearance", records.DimDiameter, &p.Clearance)
	quantity(f, "grout_extra_share", records.DimNone, &p.GroutExtra)
	quantity(f, "greatest_depth", records.DimLength, &p.MaxDepth)
	quantity(f, "rod", records.DimLength, &p.Rod)
	quantity(f, "casing_stick", records.DimLength, &p.CasingStick)
	quantity(f, "pump_above_bottom", records.DimLength, &p.PumpAbove)
	quantity(f, "spares", records.DimNone, &p.Spares)
	group(f, "words", &p.Words, (*Words).visit)
}

func (w *Words) visit(f *form) {
	f.text("firm", &w.Firm)
	f.text("licence", &w.Licence)
	f.text("reach", &w.Reach)
	f.text("terms", &w.Terms)
	quantity(f, "quote_days", records.DimNone, &w.Days)
}

// flag is yes or no; it is written where it is yes.
func (f *form) flag(name string, p *bool) {
	if f.write != nil {
		if *p {
			f.put(name, []byte("true"))
		}
		return
	}
	v, ok := f.take(name)
	if !ok {
		return
	}
	switch v.Kind() {
	case 't':
		*p = true
	case 'f':
		*p = false
	default:
		f.fault(name, "is "+kindOf(v)+" where yes or no belongs", "write true or false")
	}
}

// ParsePractice reads an office's practice from a JSON object and reports
// every fault. What can be read is read even so.
func ParsePractice(text []byte) (Practice, []records.Fault) {
	var p Practice
	faults := readForm(text, p.visit)
	return p, append(faults, p.Validate()...)
}

// AppendJSON appends the practice as one JSON object, as ParsePractice reads
// it.
func (p Practice) AppendJSON(dst []byte) []byte { return appendObject(dst, 0, p.visit) }

// Validate reports every fault of the practice.
func (p *Practice) Validate() []records.Fault {
	s := &sheet{}
	check := func(name string, known bool, v, most float64) {
		if known && !(v >= 0 && v <= most) {
			s.fault(records.Refusal, name, fmt.Sprintf("%g is out of range", v), fmt.Sprintf("it may be from 0 to %g in base units", most))
		}
	}
	check("socket", p.Socket.Known(), float64(p.Socket.Value), 100)
	check("least_casing", p.MinCasing.Known(), float64(p.MinCasing.Value), 500)
	check("stick_up", p.StickUp.Known(), float64(p.StickUp.Value), 5)
	check("clearance", p.Clearance.Known(), float64(p.Clearance.Value), 1000)
	check("grout_extra_share", p.GroutExtra.Known(), float64(p.GroutExtra.Value), 5)
	check("greatest_depth", p.MaxDepth.Known(), float64(p.MaxDepth.Value), 3000)
	check("rod", p.Rod.Known(), float64(p.Rod.Value), 30)
	check("casing_stick", p.CasingStick.Known(), float64(p.CasingStick.Value), 30)
	check("pump_above_bottom", p.PumpAbove.Known(), float64(p.PumpAbove.Value), 300)
	check("spares", p.Spares.Known(), float64(p.Spares.Value), 100)
	check("words.quote_days", p.Words.Days.Known(), float64(p.Words.Days.Value), 3650)
	return s.faults
}

// Lacks names what the office has not stated and a plan is worse without.
func (p *Practice) Lacks() []string {
	var out []string
	if !p.Socket.Known() && !p.MinCasing.Known() {
		out = append(out, "how far casing goes into sound bedrock, and how much at least: the local rule decides")
	}
	if !p.Clearance.Known() {
		out = append(out, "how much wider the hole around the casing is: grout is not counted")
	}
	return out
}

// commonMaxDepthM is how deep a plan goes at most where neither the question
// nor the office says: 500 ft (common practice, no source).
const commonMaxDepthM = 152.4

// Plan is the plan for a need, a hole below the casing and a casing by its
// outside diameter, with everything else by the office's practice.
func (p *Practice) Plan(need records.Flow, hole, casing records.Diameter) Plan {
	plan := Plan{
		Need: need, MaxDepth: commonMaxDepthM, OpenBore: hole, CasingOD: casing, CasingSize: nominal(casing),
		CasingKind: p.CasingKind, Shoe: p.Shoe,
	}
	if v, ok := p.MaxDepth.Number(); ok && v > 0 {
		plan.MaxDepth = v
	}
	plan.Socket, _ = p.Socket.Number()
	plan.MinCasing, _ = p.MinCasing.Number()
	plan.StickUp, _ = p.StickUp.Number()
	plan.Rod, _ = p.Rod.Number()
	plan.CasingStick, _ = p.CasingStick.Number()
	extra, _ := p.GroutExtra.Number()
	plan.GroutExtra = float64(extra)
	if v, ok := p.Clearance.Number(); ok && v > 0 && casing > 0 {
		plan.CasedBore = casing + v
	}
	return plan
}

// nominal is the size that steel pipe of an outside diameter is sold as, in
// whole inches; other pipe keeps its outside diameter.
func nominal(outside records.Diameter) records.Diameter {
	for _, s := range []struct{ outside, nominal float64 }{
		{4.5, 4}, {5.563, 5}, {6.625, 6}, {8.625, 8}, {10.75, 10}, {12.75, 12}, // ASME B36.10, from memory
	} {
		if d := float64(outside) - s.outside*25.4; d > -1 && d < 1 {
			return records.Diameter(s.nominal * 25.4)
		}
	}
	return outside
}
