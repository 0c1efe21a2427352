package scout

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tallybook/records"
)

// noEnd is the depth of a step that goes on.
var noEnd = records.Depth(math.Inf(1))

// Validate reports every fault of the table: a Refusal for what would make a
// wrong bill, a Warning for what is missing from it.
func (r *Rates) Validate() []records.Fault {
	s := &sheet{}
	if r.Currency == "" && r.Charges() {
		s.fault(records.Refusal, "currency", "is missing, and prices without it mean nothing", `write the three letters of ISO 4217: "USD"`)
	} else if r.Currency != "" && !isCurrency(r.Currency) {
		s.fault(records.Refusal, "currency", fmt.Sprintf("%q is no code of a currency", clip(r.Currency)), `write the three letters of ISO 4217: "USD"`)
	}
	if r.Units.String() == "" && r.Charges() {
		s.fault(records.Refusal, "units", "are missing: nobody can tell whether prices are by the foot or by the metre", `write "us" or "si"`)
	}
	if !r.ValidTo.IsZero() && r.ValidTo.Before(r.ValidFrom) {
		s.fault(records.Refusal, "valid_to", r.ValidTo.String()+" is before valid_from, "+r.ValidFrom.String(), "correct one of them")
	}
	for _, p := range r.prices() {
		checkPrice(s, p.name, p.price)
	}
	r.checkDrilling(s)
	for i := range r.Casing {
		checkCasing(s, r.Casing[:i+1])
	}
	for i, h := range r.Hours {
		at := fmt.Sprintf("hours[%d]", i)
		checkPrice(s, at+".cents_per_hour", h.ByHour)
		if !(h.Hours >= 0) || h.Hours > maxHours {
			s.fault(records.Refusal, at+".hours", fmt.Sprintf("%g hours make no job", h.Hours), "write the hours assumed for one job, 0 where none are")
		}
	}
	checkPositive(s, "minimum", r.MinimumLength)
	checkPositive(s, "grout_sack_yield", r.SackYield)
	checkPositive(s, "grout_sack_water", r.SackWater)
	checkPositive(s, "dry_hole.below", r.Dry.Below)
	checkShare(s, "dry_hole.footage_share", r.Dry.FootageShare)
	checkShare(s, "tax.share", r.Tax.Share)
	if len(r.Tax.On) == 0 && r.Tax.Share.Value > 0 {
		s.fault(records.Refusal, "tax.on", "names no line, so that nothing is taxed", "name the lines that are taxed, or leave the tax out")
	}
	for _, what := range r.Lacks() {
		s.fault(records.Warning, "", what, "set it, or take it that the figure leaves it out")
	}
	return s.faults
}

// maxHours is half a year without a break: no water well takes as long.
const maxHours = 4400

type namedPrice struct {
	name  string
	price Price
}

func (r *Rates) prices() []namedPrice {
	return []namedPrice{
		{"mobilisation_cents", r.Mobilisation}, {"drive_shoe_cents", r.DriveShoe}, {"grout_sack_cents", r.GroutSack},
		{"standby_cents_per_hour", r.Standby}, {"disinfection_cents", r.Disinfection}, {"pump_set_cents", r.PumpSet},
		{"plate_cents", r.Plate}, {"permit_cents", r.Permit}, {"sealing_cents", r.Sealing}, {"sealing by length", r.SealingBy},
	}
}

func checkPrice(s *sheet, name string, p Price) {
	if p.Cents < 0 {
		s.fault(records.Refusal, name, fmt.Sprintf("%d cents is below nothing", p.Cents), "write what is charged, 0 where nothing is")
	}
	if p.Cents > maxCents {
		s.fault(records.Refusal, name, fmt.Sprintf("%d cents is more than any job costs", p.Cents), "check the digits")
	}
}

func checkPositive[T ~float64](s *sheet, name string, a records.Amount[T]) {
	if a.Known() && (!(a.Value > 0) || !finite(float64(a.Value))) {
		s.fault(records.Refusal, name, "is "+clip(a.Given.Text)+", not above 0", "correct it or leave it out")
	}
}

func checkShare(s *sheet, name string, a records.Amount[records.Pure]) {
	if a.Known() && !(a.Value >= 0 && a.Value <= 1) {
		s.fault(records.Refusal, name, fmt.Sprintf("%g is no share between 0 and 1", float64(a.Value)), "write 6 % as 0.06")
	}
}

func isCurrency(c string) bool {
	return len(c) == 3 && strings.Trim(c, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}

// checkDrilling holds the steps of each ground against each other: two prices
// for one metre are a mistake, none for a metre a gap.
func (r *Rates) checkDrilling(s *sheet) {
	for i := range r.Drilling {
		d := &r.Drilling[i]
		at := fmt.Sprintf("drilling[%d]", i)
		from, to := d.span()
		switch {
		case !d.ByLength.Set:
			s.fault(records.Refusal, at, "has no price", "set cents_per_"+r.Units.Of(records.DimLength).Suffix()+" or take the row out")
		case !(from >= 0) || !finite(float64(from)):
			s.fault(records.Refusal, at+".from", "begins above ground", "write depths down from ground")
		case !(to > from):
			s.fault(records.Refusal, at+".to", "ends where it begins or above", "write the deeper end here, or leave it out where the step goes on")
		}
		checkPrice(s, at, d.ByLength)
	}
	for _, c := range []records.Class{records.ClassUnknown, records.ClassSoil, records.ClassTransition, records.ClassRock} {
		steps := r.steps(c)
		for i := 1; i < len(steps); i++ {
			_, end := steps[i-1].span()
			from, _ := steps[i].span()
			switch gap := float64(from - end); {
			case gap < -stepSlackM:
				s.fault(records.Refusal, "drilling", fmt.Sprintf("two prices hold for %s below %s", groundWord(c), r.depthWords(from)), "let each step begin where the one above it ends")
			case gap > stepSlackM:
				s.fault(records.Warning, "drilling", fmt.Sprintf("no price holds for %s between %s and %s", groundWord(c), r.depthWords(end), r.depthWords(from)), "let each step begin where the one above it ends")
			}
		}
	}
}

// stepSlackM forgives steps that were rounded to another unit.
const stepSlackM = 0.01

func (r *Rates) steps(c records.Class) []*DrillRate {
	var out []*DrillRate
	for i := range r.Drilling {
		if r.Drilling[i].Ground == c {
			out = append(out, &r.Drilling[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *DrillRate) int {
		fa, _ := a.span()
		fb, _ := b.span()
		return cmp.Compare(fa, fb)
	})
	return out
}

func groundWord(c records.Class) string {
	if c == records.ClassUnknown {
		return "any ground"
	}
	return c.String()
}

// depthWords writes a depth in the table's units.
func (r *Rates) depthWords(d records.Depth) string {
	unit := r.Units.Of(records.DimLength)
	return fmt.Sprintf("%.6g %s", unit.FromBase(float64(d)), unit.Symbol())
}

// checkCasing looks at the last of the rows: whether it has a price, and
// whether an earlier row says the same.
func checkCasing(s *sheet, rows []CasingRate) {
	last := len(rows) - 1
	c := &rows[last]
	at := fmt.Sprintf("casing[%d]", last)
	checkPrice(s, at, c.ByLength)
	checkPositive(s, at+".diameter", c.Diameter)
	if !c.ByLength.Set {
		s.fault(records.Refusal, at, "has no price", "set it or take the row out")
	}
	if c.Material != "" && !slices.Contains(records.CasingWords(), c.Material) {
		s.fault(records.Warning, at+".material", fmt.Sprintf("%q is no casing material that records use", clip(c.Material)), "write one of "+strings.Join(records.CasingWords(), ", "))
	}
	for i := range last {
		if rows[i].Material == c.Material && rows[i].Diameter.Value == c.Diameter.Value {
			s.fault(records.Refusal, at, fmt.Sprintf("names the same casing as casing[%d]", i), "keep one of them")
		}
	}
}

// Lacks says in words what the table does not price, of what nearly every job
// needs; a figure made from it leaves these out.
func (r *Rates) Lacks() []string {
	if !r.Charges() {
		return []string{"the rate table is empty: nothing can be priced"}
	}
	var out []string
	lack := func(missing bool, what string) {
		if missing {
			out = append(out, what)
		}
	}
	lack(!r.Mobilisation.Set, "no price for mobilisation")
	for _, c := range []records.Class{records.ClassSoil, records.ClassTransition, records.ClassRock} {
		lack(len(r.steps(c)) == 0 && len(r.steps(records.ClassUnknown)) == 0, r.noPrice(c))
	}
	lack(len(r.Casing) == 0, "no price for casing")
	lack(!r.GroutSack.Set, "no price for grout")
	lack(r.GroutSack.Set && !r.SackYield.Known(), "the grout that one sack makes is not stated, so that sacks cannot be counted")
	lack(!r.Disinfection.Set, "no price for disinfection")
	lack(!r.PumpSet.Set, "no price for the pump set")
	lack(!r.Sealing.Set && !r.SealingBy.Set, "no price for sealing a dry hole")
	return out
}
