package figuring

import "tallybook/records"

// GainRange is a published range of what hydrofracturing adds to a yield.
type GainRange struct {
	Name      string
	Low, High records.Flow
	Source    Source
}

// FractureGains lists published ranges. They are what contractors report of
// wells that were worth fracturing, and no forecast for one well.
func FractureGains() []GainRange {
	return []GainRange{
		{"usual gain", gallonsPerMinute(0.5), gallonsPerMinute(5), Source{"hydrofracturing practice page", Copied}},
	}
}

// FractureRule is a published figure or rule about how hydrofracturing is
// done, in its own words. All are examples.
type FractureRule struct {
	Place  string
	Text   string
	Source Source
}

// FractureRules lists separations, depths and records as examples.
func FractureRules() []FractureRule {
	md := Source{"COMAR 26.04.04.28", Read}
	page := Source{"hydrofracturing practice page", Copied}
	return []FractureRule{
		{"Maryland", "50 ft from any potable well; within 100 ft of another supply well only with approval", md},
		{"Maryland", "100 ft from a source of contamination; within 500 ft of a landfill only with approval", md},
		{"Maryland", "not in carbonate rock without permission; report within 45 days", md},
		{"Maryland", "the volume put in is taken out before the yield is tested", Source{"COMAR 26.04.04.28 K", Read}},
		{"Oregon", "no fracturing within 20 ft of the bottom of the casing", Source{"OAR 690-210-0065", Read}},
		{"practice", "packer at least 20 ft below the casing and 60 ft below ground; others 50 ft below the casing", page},
		{"practice", "most jobs 500 to 2,000 psi, up to 3,000 psi in tight rock", page},
		{"practice", "50 to 75 gpm, 1,500 to 2,000 gallons, 5 to 30 minutes a zone of 30 to 60 ft", page},
	}
}

// Fractured is a yield as it might be after hydrofracturing.
type Fractured struct {
	Low, High records.Flow
	Working   Working
}

// AfterFracture adds a published range to a yield. It is a question asked of
// storage ('would that be enough?'), never a promise: some wells gain nothing.
func AfterFracture(yield records.Flow, gain GainRange) (Fractured, error) {
	err := firstOf(anyFlow("yield_lps", "the yield", yield), anyFlow("gain_low_lps", "the lower gain", gain.Low), anyFlow("gain_high_lps", "the upper gain", gain.High))
	if err == nil && gain.High < gain.Low {
		err = bad("gain_high_lps", "the upper gain is below the lower one: exchange them")
	}
	if err != nil {
		return Fractured{}, err
	}
	return Fractured{Low: yield + gain.Low, High: yield + gain.High, Working: Working{
		Title:   "yield after hydrofracturing, if it works",
		Formula: "yield + published range of gain",
		Inputs:  []Input{flow("yield", yield), flow("gain, low", gain.Low), flow("gain, high", gain.High)},
		Sources: []Source{gain.Source},
		Limits:  "from contractors' reports; no share of wells that gain nothing was found in an independent source, and success rates in advertising are advertising",
		Caution: "high pressure: keep off hoses and well head; it can open a way to a neighbour's well or to a source of contamination: distances and approval by local rule",
	}}, nil
}
