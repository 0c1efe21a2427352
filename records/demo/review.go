package demo

import (
	"fmt"
	"math"
	"math/rand/v2"

	"tallybook/records"
)

// reviewed adds what a laboratory and a consultant left in the records: results
// of water quality, own picks beside the driller's, and logs that are not to be
// relied on. It draws its own numbers, so that the township stays as it was.
func reviewed(wells []*records.Well, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	for _, w := range wells {
		if w.Completed.Year >= 1985 && r.Float64() < 0.14 {
			analysed(r, w)
		}
	}
	picked := 0
	for _, w := range wells {
		b, ok := w.Bedrock.Number()
		if !ok || len(w.Strata) < 3 || r.Float64() > 0.02 || picked == 8 {
			continue
		}
		picked++
		w.OwnPicks = append(w.OwnPicks, records.OwnPick{
			Set: "first reading (invented)", Of: records.PickBedrock, Depth: feet(float64(b) + 0.6 + 1.5*r.Float64()),
			Reason: "the first rock of the log reads as a weathered cap; sound rock begins below it", By: "Invented Reviewer", Date: records.Date{Year: 2025, Month: 12, Day: 15},
		})
	}
	marked := 0
	for i := len(wells) / 3; i < len(wells) && marked < 3; i += len(wells) / 5 {
		reason := []string{"word for word the log of the next lot, with another number", "the depths run past the total depth of the bill", "the driller's book was lost; written from memory years later"}[marked]
		wells[i].Unreliable = append(wells[i].Unreliable, records.Doubt{About: records.DoubtStrata, Reason: reason, By: "Invented Reviewer", Date: records.Date{Year: 2025, Month: 12, Day: 15}})
		marked++
	}
}

// analysed adds the results of one sample; the amounts are invented and of no
// meaning.
func analysed(r *rand.Rand, w *records.Well) {
	when := w.Completed
	lab := "Invented Laboratory"
	one := func(kind, unit, text string) {
		a, err := records.ParseAmount(text, records.DimNone, records.NoUnit)
		if err != nil {
			panic(err) // the texts stand below
		}
		w.Quality = append(w.Quality, records.Analysis{Date: when, Kind: kind, Unit: unit, Method: "invented", Lab: lab,
			Value: records.Amount[records.Pure]{Qualifier: a.Qualifier, Value: records.Pure(a.Value), High: records.Pure(a.High), Given: a.Given}})
	}
	one("ph", "", fmt.Sprintf("%.1f", 6.2+1.9*r.Float64()))
	one("hardness", "mg/L", fmt.Sprintf("%.0f", 40+180*r.Float64()))
	if iron := 0.02 * math.Exp(2.6*r.Float64()); iron < 0.05 {
		one("iron", "mg/L", "<0.05")
	} else {
		one("iron", "mg/L", fmt.Sprintf("%.2f", iron))
	}
	if r.Float64() < 0.5 {
		one("conductivity", "uS/cm", fmt.Sprintf("%.0f", 120+300*r.Float64()))
	}
}
