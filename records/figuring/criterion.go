package figuring

import "tallybook/records"

// Criterion is what a rule or an adviser asks of a domestic supply: a flow
// held for a time, and a volume that must be stored beside it. Zero stands for
// 'not asked'.
type Criterion struct {
	Name   string
	Place  string
	Flow   records.Flow
	For    records.Minutes
	Stored records.Volume
	Source Source
}

// Volume is what must be had within the time: flow times time.
func (c Criterion) Volume() records.Volume { return records.Volume(drawn(c.Flow, c.For)) }

// Criteria lists rules as examples. They hold in their place alone and none is
// a default.
func Criteria() []Criterion {
	ask := func(name, place string, gpm, hours, storedGal float64, source string, mark Mark) Criterion {
		return Criterion{name, place, gallonsPerMinute(gpm), records.Minutes(hours * 60), gallons(storedGal), Source{source, mark}}
	}
	return []Criterion{
		ask("1 gpm for 6 hours", "Maryland", 1, 6, 0, "COMAR 26.04.04.26", Read),
		ask("5 gpm, mean", "New York, subdivisions", 5, 0, 0, "6 NYCRR 653.5", Read),
		ask("600 gallons within 2 hours", "New Hampshire, advice", 5, 2, 0, "New Hampshire Water Well Board", Copied),
		ask("5 gpm for 10 minutes", "Virginia, the system", 5, 1./6, 0, "12VAC5-610-1140", Read),
		ask("5 gpm for 4 hours", "California counties", 5, 4, 0, "county '1,200-gallon' rule", Copied),
		ask("2.5 gpm for 4 hours and 1,250 gallons", "San Mateo County, California", 2.5, 4, 1250, "county code 4.68.190", Read),
		ask("2.5 gpm and 1,000 gallons", "San Luis Obispo County, California", 2.5, 0, 1000, "county code 19.07.040", Read),
		ask("5 gpm for 4 hours", "Strongsville, Ohio", 5, 4, 0, "city code 1042.03", Read),
		{"1,200 L within 2 hours for 4 persons", "worked example", 10. / 60, 120, 0, Source{"Groundwater Project, Domestic Wells (2022), box 1", Read}},
	}
}

// Shortage is the plain sum that rules work storage by.
type Shortage struct {
	Needed  records.Volume // must come from storage: volume less what the well gives meanwhile, never below zero
	Short   records.Volume // of that, what neither hole nor pressure tank holds
	Working Working
}

// Met says whether yield and storage do.
func (s Shortage) Met() bool { return s.Short == 0 }

// StorageNeeded is a volume to be had within a time, less what the well yields
// in that time, less a quarter of the pressure tank (what it gives between
// cut-in and cut-out), less the water standing above the pump:
// V - Q t - tank/4 - standing. Some counties work auxiliary storage so, with
// 1,200 gallons in 240 minutes, and accept no well below 1 gpm. A day's
// pattern tells more: see Carry.
func StorageNeeded(need records.Volume, inTime records.Minutes, yield records.Flow, pressureTank, standing records.Volume) (Shortage, error) {
	const given = 0.25 // of a pressure tank, as the county rule has it
	err := firstOf(anyVolume("need_l", "the volume needed", need), someMinutes("within_min", "the time", inTime), anyFlow("yield_lps", "the yield", yield),
		anyVolume("pressure_tank_l", "the pressure tank", pressureTank), anyVolume("standing_l", "the water standing", standing))
	if err != nil {
		return Shortage{}, err
	}
	s := Shortage{Needed: max(0, need-records.Volume(drawn(yield, inTime)))}
	s.Short = max(0, s.Needed-given*pressureTank-standing)
	s.Working = Working{
		Title:   "storage needed",
		Formula: "volume - yield x time - pressure tank / 4 - water standing above the pump",
		Inputs:  []Input{volume("volume", need), minutes("time", inTime), flow("yield", yield), volume("pressure tank", pressureTank), volume("water standing above the pump", standing)},
		Sources: []Source{{"California counties, the '1,200-gallon' rule", Copied}, {"Groundwater Project, Domestic Wells (2022), box 1: volume stored and yield x time against need", Read}},
		Limits:  "one draw from a full hole: whether the hole is full again before the next is not asked; counties that use the rule accept no well below 1 gpm",
		Caution: needCaution,
	}
	return s, nil
}

const needCaution = "a well drawn down to its pump harms the pump and can draw in sediment: a low-yield well needs a cut-off; the local rule on yield and storage comes first"

// LengthHolding is the length of round hole that holds a volume, in metres.
func LengthHolding(of records.Volume, inside records.Diameter) (Figure[records.Length], error) {
	if err := firstOf(anyVolume("volume_l", "the volume", of), someDiameter("inside_mm", "the inside diameter", inside)); err != nil {
		return Figure[records.Length]{}, err
	}
	return Figure[records.Length]{
		Value: records.Length(float64(of) / litresPerMetre(inside)),
		Working: Working{
			Title:   "hole that holds a volume",
			Formula: "volume / (pi/4 x inside diameter^2)",
			Inputs:  []Input{volume("volume", of), across("inside diameter", inside)},
			Sources: []Source{handbookVolumes},
			Limits:  "the length must stand in water: below the static level and above the pump's intake",
		},
	}, nil
}
