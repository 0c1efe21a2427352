package scout

import (
	"fmt"
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
)

// QuoteSheet is what a contractor hands to a customer: a range, never one
// figure, and what holds if the ground disappoints. It is plain data for a
// page to print.
type QuoteSheet struct {
	Prepared, ValidUntil records.Date // zero: not stated
	Currency             string
	Rates                string // name of the rate table
	RatesNote            string // "invented example, not a price"
	// RatesOver says that the table does not hold on the day of the sheet.
	RatesOver bool

	Need      records.Flow
	Low, High Cents // eight holes in ten
	Middle    Cents
	// HighOpen says that High is only a limit that the true end lies above;
	// MiddleOpen the same of Middle.
	HighOpen, MiddleOpen bool
	// Ceiling is the most that a hole under this plan can cost.
	Ceiling Cents
	// MetLow and MetHigh are the least and greatest chance that the need is
	// met within the plan.
	MetLow, MetHigh float64

	Lines    []Line // of the one hole nearest to the middle
	LinesSum Cents
	LinesOf  string // number of the well whose ground they are for

	MaxDepth          records.Depth
	CallDepth         records.Depth // 0: none
	CallLow, CallHigh float64       // chance of coming to it
	Budget            Cents         // 0: none

	MinimumLength records.Amount[records.Length]
	DryBelow      records.Amount[records.Flow]
	FootageShare  records.Amount[records.Pure]
	DryWords      string
	Standby       Price // an hour
	Permit        Price
	Sealing       Price
	SealingBy     Price // by length
	PumpSet       Price
	Units         Units

	Assumptions []string
	Missing     []string // what the range leaves out
	Cautions    []string
	Words       Words // the contractor's own, printed as they are
}

// NewQuoteSheet makes the sheet of a forecast. prepared and validUntil may be
// zero; the sheet is valid no longer than the rate table.
func NewQuoteSheet(f *Forecast, r *Rates, prepared, validUntil records.Date, words Words) QuoteSheet {
	if !r.ValidTo.IsZero() && (validUntil.IsZero() || r.ValidTo.Before(validUntil)) {
		validUntil = r.ValidTo
	}
	q := QuoteSheet{
		Prepared: prepared, ValidUntil: validUntil, Currency: r.Currency, Rates: r.Name, RatesNote: r.Note,
		Need: f.Plan.Need, MetLow: f.MetLow, MetHigh: f.MetHigh,
		MaxDepth: f.Plan.MaxDepth, CallDepth: f.Plan.CallDepth, Budget: f.Plan.Budget,
		MinimumLength: r.MinimumLength, DryBelow: r.Dry.Below, FootageShare: r.Dry.FootageShare, DryWords: r.Dry.Words,
		Standby: r.Standby, Permit: r.Permit, Sealing: r.Sealing, SealingBy: r.SealingBy, PumpSet: r.PumpSet, Units: r.Units,
		Missing: f.Missing, Words: words,
	}
	q.RatesOver = !prepared.IsZero() && (!r.ValidTo.IsZero() && r.ValidTo.Before(prepared) || prepared.Before(r.ValidFrom))
	q.CallLow, q.CallHigh = f.CallShare()
	if !f.Cost.Empty() {
		rng := f.Range80()
		q.Low = roundCents(rng.Low)
		q.High, q.HighOpen = openCents(&f.Cost, rng.High)
		q.HighOpen = q.HighOpen || rng.AtLeastHigh
		q.Middle, q.MiddleOpen = openCents(&f.Cost, f.Cost.Median())
		q.Ceiling = f.Ceiling
		q.Lines, q.LinesSum, q.LinesOf = f.Middle.Bill.Lines, f.Middle.Bill.Total, f.Middle.Number
	}
	q.Assumptions = f.assumptions(r)
	q.Cautions = []string{
		"This is a range from what was found in wells nearby, no promise: the ground decides.",
		"Depth of casing, grout, distances and sealing follow local code and licensed practice, which come before anything on this sheet.",
	}
	return q
}

// openCents is a quantile in cents, or the limit beyond which it lies.
func openCents(d *predict.Distribution, v float64) (cents Cents, open bool) {
	if math.IsInf(v, 1) {
		_, v, _ = d.UpperUnknown()
		return roundCents(v), true
	}
	return roundCents(v), false
}

// assumptions say in plain words what the range was made from.
func (f *Forecast) assumptions(r *Rates) []string {
	b := &f.Basis
	out := []string{
		fmt.Sprintf("%d wells nearby stand for what may be found here; the nearer count more, so that they weigh as much as %.0f that count alike.", b.Outcomes, b.Effective),
		fmt.Sprintf("Drilling stops where %s is reached, and at %s whatever was found.", flowWords(r.Units, f.Plan.Need), r.depthWords(f.Plan.MaxDepth)),
		fmt.Sprintf("Casing goes %s into sound bedrock and never less than %s below ground.", r.depthWords(records.Depth(f.Plan.Socket)), r.depthWords(records.Depth(f.Plan.MinCasing))),
	}
	count := func(n int, one, many string) {
		switch {
		case n == 1:
			out = append(out, one)
		case n > 1:
			out = append(out, fmt.Sprintf(many, n))
		}
	}
	count(b.StoppedEarly, "One of the wells stopped before this need was met; it counts as 'at least'.", "%d of the wells stopped before this need was met; they count as 'at least'.")
	count(b.Placed, "One of the wells gives its water without saying where it came; it is placed as drilling goes.", "%d of the wells give their water without saying where it came; it is placed as drilling goes.")
	count(b.DrewBedrock, "One well does not give its bedrock; a likely one was drawn.", "%d wells do not give their bedrock; likely ones were drawn.")
	count(b.DrewYield, "One well does not give its water; a likely yield was drawn.", "%d wells do not give their water; likely yields were drawn.")
	for _, h := range r.Hours {
		if h.ByHour.Set && h.Hours > 0 {
			words := fmt.Sprintf("%g hours are", h.Hours)
			if h.Hours == 1 {
				words = "One hour is"
			}
			out = append(out, fmt.Sprintf("%s taken for: %s.", words, h.Name))
		}
	}
	return out
}

func flowWords(u Units, f records.Flow) string {
	unit := u.Of(records.DimFlow)
	return fmt.Sprintf("%.3g %s", unit.FromBase(float64(f)), unit.Symbol())
}
