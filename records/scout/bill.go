package scout

import (
	"math"

	"tallybook/records"
)

// Line is one line of a bill.
type Line struct {
	Kind     LineKind
	What     string  // "rock, from 100 ft"; "" where the kind says it all
	Quantity float64 // in Unit; 0 where the line is a lump
	Unit     string
	Each     Price // for one unit
	Cents    Cents
}

// Bill is what one hole costs.
type Bill struct {
	Lines   []Line
	Total   Cents
	Missing []string // what the table does not price
}

// Hole is a hole to be billed.
type Hole struct {
	Depth   records.Depth
	Casing  records.Depth // how deep casing goes
	Ground  []Ground      // as logged; the rest by Bedrock
	Bedrock records.Depth
	Overrun float64 // grout placed over annulus; 0 or NaN: 1
	// Wanted says that the hole gives what was needed; Yield is read only
	// where it does not.
	Wanted bool
	Yield  records.Flow
}

// Bill prices a hole. Every line is rounded to the cent; the total is their
// sum. A length in ground without a price is left out and named in Missing.
//
// A dry hole (not what was needed, and below the flow of the dry-hole terms)
// is charged its share of drilling, is sealed, and gets neither pump nor
// disinfection nor plate.
func (r *Rates) Bill(h Hole, p *Plan) Bill {
	b := biller{rates: r, plan: p, words: true}
	b.run(&h)
	return b.bill
}

// isDry says whether the dry-hole terms hold.
func (r *Rates) isDry(h *Hole) bool {
	if h.Wanted {
		return false
	}
	below, _ := r.Dry.Below.Number()
	return h.Yield < below || h.Yield <= 0
}

// biller adds up bills.
type biller struct {
	rates *Rates
	plan  *Plan
	words bool // whether lines are for people, and not for their total alone
	bill  Bill

	ground []Ground // room for the ground of one bill
	uses   []use
	// sacks were counted for this casing and overrun.
	sacks           float64
	counted         bool
	sackDepth       records.Depth
	sackOver        float64
	sackCountedOnce bool
}

// use is a length drilled at one rate.
type use struct {
	rate   *DrillRate
	class  records.Class
	length records.Length
}

// total is the bill's total alone, without allocating.
func (b *biller) total(h Hole) Cents {
	b.bill = Bill{Lines: b.bill.Lines[:0]}
	b.run(&h)
	return b.bill.Total
}

func (b *biller) run(h *Hole) {
	r := b.rates
	dry := r.isDry(h)
	b.lump(LineMobilisation, r.Mobilisation)
	drilled := b.drilling(h)
	b.casing(h)
	b.grout(h)
	for i := range r.Hours {
		if w := &r.Hours[i]; w.ByHour.Set && w.Hours > 0 {
			b.add(Line{Kind: LineHours, What: w.Name, Quantity: w.Hours, Unit: "h", Each: w.ByHour, Cents: w.ByHour.times(w.Hours)})
		}
	}
	if !dry {
		b.lump(LineDisinfection, r.Disinfection)
		b.lump(LinePump, r.PumpSet)
		b.lump(LinePlate, r.Plate)
	}
	b.lump(LinePermit, r.Permit)
	if dry {
		b.lump(LineSealing, r.Sealing)
		b.length(LineSealing, "by length", records.Length(h.Depth), r.SealingBy)
		if share, ok := r.Dry.FootageShare.Number(); ok && share < 1 {
			b.add(Line{Kind: LineDryTerms, What: "part of drilling not charged", Cents: -roundCents(float64(drilled) * (1 - float64(share)))})
		}
	}
	b.tax()
}

func (b *biller) add(l Line) {
	b.bill.Lines = append(b.bill.Lines, l)
	b.bill.Total += l.Cents
}

func (b *biller) lump(k LineKind, p Price) {
	if p.Set {
		b.add(Line{Kind: k, Each: p, Cents: p.Cents})
	}
}

func (b *biller) length(k LineKind, what string, l records.Length, p Price) Cents {
	if !p.Set || !(l > 0) {
		return 0
	}
	u := b.rates.Units
	quantity := u.charge(l)
	cents := p.times(quantity)
	b.add(Line{Kind: k, What: what, Quantity: quantity, Unit: u.Of(records.DimLength).Symbol(), Each: p, Cents: cents})
	return cents
}

func (b *biller) missing(what string) {
	if !b.words {
		return
	}
	for _, m := range b.bill.Missing {
		if m == what {
			return
		}
	}
	b.bill.Missing = append(b.bill.Missing, what)
}

// drilling charges every stretch of ground by the steps of its rate, the same
// step in one line, and the minimum where the hole is shorter: at the price
// of the last stretch drilled.
func (b *biller) drilling(h *Hole) (sum Cents) {
	b.uses = b.uses[:0]
	b.ground = appendCharged(b.ground[:0], h.Ground, h.Bedrock, h.Depth)
	var last Price
	for _, g := range b.ground {
		at := g.Top
		for at < g.Bottom {
			rate, until := b.rates.drillRate(g.Class, at)
			bottom := min(g.Bottom, until)
			if !(bottom > at) { // a step no longer than rounding
				bottom = g.Bottom
			}
			if rate == nil {
				if b.words {
					b.missing(b.rates.noPrice(g.Class))
				}
				at = bottom
				continue
			}
			last = rate.ByLength
			found := false
			for i := range b.uses {
				if b.uses[i].rate == rate && b.uses[i].class == g.Class {
					b.uses[i].length += records.Length(bottom - at)
					found = true
				}
			}
			if !found {
				b.uses = append(b.uses, use{rate, g.Class, records.Length(bottom - at)})
			}
			at = bottom
		}
	}
	for _, u := range b.uses {
		what := u.class.String()
		if from, _ := u.rate.span(); from > 0 && b.words {
			what += ", from " + b.rates.depthWords(from)
		}
		sum += b.length(LineDrilling, what, u.length, u.rate.ByLength)
	}
	if least, ok := b.rates.MinimumLength.Number(); ok && least > records.Length(h.Depth) {
		sum += b.length(LineMinimum, "up to the least length charged", least-records.Length(h.Depth), last)
	}
	return sum
}

// noPrice says that ground of a class is not priced, or not at every depth.
func (r *Rates) noPrice(c records.Class) string {
	s := "no price for drilling in " + c.String()
	if len(r.steps(c)) > 0 || len(r.steps(records.ClassUnknown)) > 0 {
		s += " at every depth"
	}
	return s
}

// drillRate is the rate for ground of a class at a depth, and how far down it
// holds. Without one it is nil, down to where one begins.
func (r *Rates) drillRate(c records.Class, at records.Depth) (rate *DrillRate, until records.Depth) {
	until = noEnd
	for _, want := range []records.Class{c, records.ClassUnknown} {
		for i := range r.Drilling {
			d := &r.Drilling[i]
			if d.Ground != want || !d.ByLength.Set {
				continue
			}
			from, to := d.span()
			if at >= from && at < to {
				return d, min(to, until)
			}
			if from > at {
				until = min(until, from)
			}
		}
	}
	return nil, until
}

func (b *biller) casing(h *Hole) {
	l := records.Length(wholeUp(float64(records.Length(h.Casing)+b.plan.StickUp), float64(b.plan.CasingStick)))
	if !(h.Casing > 0) {
		return
	}
	if rate := b.rates.casingRate(b.plan); rate != nil {
		b.length(LineCasing, rate.Material, l, rate.ByLength)
	} else {
		b.missing("no price for this casing")
	}
	if b.plan.Shoe {
		b.lump(LineShoe, b.rates.DriveShoe)
		if !b.rates.DriveShoe.Set {
			b.missing("no price for the drive shoe")
		}
	}
}

// casingSlackMM is how far sizes may differ and be the same casing, named in
// inches here and in millimetres there.
const casingSlackMM = 2

// casingRate is the first rate for the plan's casing: of its size and
// material, else of its size, or with neither stated.
func (r *Rates) casingRate(p *Plan) *CasingRate {
	for _, strict := range []bool{true, false} {
		for i := range r.Casing {
			c := &r.Casing[i]
			size, sized := c.Diameter.Number()
			fits := !sized || math.Abs(float64(size-p.CasingSize)) <= casingSlackMM
			same := c.Material == p.CasingKind || !strict && (c.Material == "" || p.CasingKind == "")
			if c.ByLength.Set && fits && same {
				return c
			}
		}
	}
	return nil
}

func (b *biller) grout(h *Hole) {
	if !b.sackCountedOnce || b.sackDepth != h.Casing || b.sackOver != h.Overrun {
		b.sacks, b.counted = b.rates.Sacks(h, b.plan)
		b.sackDepth, b.sackOver, b.sackCountedOnce = h.Casing, h.Overrun, true
	}
	sacks, ok := b.sacks, b.counted
	if !ok || sacks == 0 {
		if !ok {
			b.missing("grout cannot be counted: hole, casing or what a sack makes is not stated")
		}
		return
	}
	if !b.rates.GroutSack.Set {
		b.missing("no price for grout")
		return
	}
	b.add(Line{Kind: LineGrout, What: b.rates.SackProduct, Quantity: sacks, Unit: "sacks", Each: b.rates.GroutSack, Cents: b.rates.GroutSack.times(sacks)})
}

// tax is charged on the sum of the taxed lines.
func (b *biller) tax() {
	share, ok := b.rates.Tax.Share.Number()
	if !ok || share == 0 {
		return
	}
	var sum Cents
	for _, l := range b.bill.Lines {
		if b.rates.taxes(l.Kind) {
			sum += l.Cents
		}
	}
	b.add(Line{Kind: LineTax, What: b.rates.Tax.Name, Quantity: float64(share) * 100, Unit: "%", Cents: roundCents(float64(sum) * float64(share))})
}

// taxes says whether lines of a kind are taxed. What the dry-hole terms take
// off drilling is taken off before tax.
func (r *Rates) taxes(k LineKind) bool {
	for _, on := range r.Tax.On {
		if on == k || on == LineDrilling && (k == LineMinimum || k == LineDryTerms) {
			return true
		}
	}
	return false
}
