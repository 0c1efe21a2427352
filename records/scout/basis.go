package scout

// Basis says how the outcomes were come by.
type Basis struct {
	Outcomes  int
	Effective float64 // Kish's number: (sum w)^2 / sum w^2
	// Numbers of outcomes and, below, their share of the weight.
	Met, Short, StoppedEarly, Either         int
	ShareMet, ShareShort, ShareStopped       float64
	ShareEither                              float64
	DrewBedrock, DrewDepth, DrewYield, Cased int
	// Placed is how many tell of their water only where it may have come in.
	Placed int
}

func basisOf(outcomes []Costed) Basis {
	b := Basis{Outcomes: len(outcomes)}
	var all mass
	for i := range outcomes {
		o := &outcomes[i]
		all.add(o.Weight)
		count, share := &b.Met, &b.ShareMet
		switch o.Result {
		case Short:
			count, share = &b.Short, &b.ShareShort
		case StoppedEarly:
			count, share = &b.StoppedEarly, &b.ShareStopped
		case Either:
			count, share = &b.Either, &b.ShareEither
		}
		*count++
		*share += o.Weight
		for _, d := range []struct {
			what  Drawn
			count *int
		}{{DrewBedrock, &b.DrewBedrock}, {DrewDepth, &b.DrewDepth}, {DrewYield, &b.DrewYield}} {
			if o.Drawn&d.what != 0 {
				*d.count++
			}
		}
		if o.CasedOff {
			b.Cased++
		}
		if len(o.Parts) > 1 {
			b.Placed++
		}
	}
	for _, share := range []*float64{&b.ShareMet, &b.ShareShort, &b.ShareStopped, &b.ShareEither} {
		*share /= all.sum
	}
	b.Effective = all.effective()
	return b
}
