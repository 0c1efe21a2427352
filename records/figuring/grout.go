package figuring

import (
	"math"

	"tallybook/records"
)

// MixKind is what an annulus is sealed with.
type MixKind uint8

// The kinds of grout.
const (
	Cement MixKind = iota + 1
	BentoniteSlurry
	DryBentonite
)

// String gives the trade's name.
func (k MixKind) String() string {
	switch k {
	case Cement:
		return "neat cement"
	case BentoniteSlurry:
		return "bentonite slurry"
	case DryBentonite:
		return "dry bentonite"
	}
	return "unknown"
}

// Mix is a grout by the bag.
type Mix struct {
	Kind    MixKind
	Name    string
	Bag     records.Mass
	Water   records.Volume // mixed with one bag; zero where it is placed dry
	Yield   records.Volume // what one bag makes
	Density float64        // kg/L of the slurry, of the dry product in bulk
	Solids  float64        // share by weight, 0 to 1
	Working Working
}

// Constants of the handbook formula, in the units it is printed in.
const (
	cementSG         = 3.15
	bentoniteSG      = 2.6
	waterLbPerCuFt   = 62.4
	waterLbPerGallon = 8.33
	cementSackLb     = 94
	cubicFtPerGallon = 231. / 1728
)

const (
	cementCaution = "cement is caustic: gloves and eye protection, wash off at once; setting cement gives heat that can soften plastic casing, and a full column outside can collapse it; do not drill on before the local curing time is over"
	dustCaution   = "bentonite and cement dust harm the lungs: keep down-wind of the mixer or wear a mask"
)

// NeatCement is the yield of one 94-lb sack of portland cement with so much
// water: 94/(3.15 x 62.4) + 0.13368 x gallons, in cubic feet (cement and water
// by absolute volume); density (94 + 8.33 gallons)/volume. Water from 3 to 10
// US gallons a sack is accepted; far drier cannot be pumped, far wetter
// settles and shrinks. Local rules allow much less: see MixLimits.
func NeatCement(waterPerSack records.Volume) (Mix, error) {
	gal := records.Gallon.FromBase(float64(waterPerSack))
	switch {
	case math.IsNaN(gal):
		return Mix{}, bad("water_l", "the water to a sack is not a number: give one")
	case gal < 3 || gal > 10:
		return Mix{}, bad("water_l", "neat cement is mixed with some 5 to 6 gallons (19 to 23 L) of water to a 94-lb sack: give a figure from 3 to 10 gallons")
	}
	return neatCement("neat cement", gal), nil
}

func neatCement(name string, gal float64) Mix {
	return slurry(Cement, name, cementSackLb, gal, cementSG, Working{
		Title:   "yield of a sack of neat cement",
		Formula: "94/(3.15 x 62.4) + 0.13368 x gallons of water, cubic feet a 94-lb sack",
		Sources: []Source{{"'Volume of grout', Concrete Construction: 0.478 cubic feet of cement and the water's own volume", Read}},
		Limits:  "portland cement of specific gravity 3.15 with water alone; bentonite, sand or accelerator change the yield; no loss in hose and tub",
		Caution: cementCaution + "; " + dustCaution,
	})
}

// Bentonite is the yield of a bag of powdered or granular bentonite mixed to a
// slurry: bag/(2.6 x 62.4) + 0.13368 x gallons, in cubic feet. The maker's
// sheet comes first.
func Bentonite(bag records.Mass, waterPerBag records.Volume) (Mix, error) {
	lb, gal := records.Pound.FromBase(float64(bag)), records.Gallon.FromBase(float64(waterPerBag))
	err := firstOf(within("bag_kg", "the weight of a bag", float64(bag), 0, mostMassKg, true),
		within("water_l", "the water to a bag", float64(waterPerBag), 0, mostVolumeL, true))
	if err == nil && (lb/(lb+waterLbPerGallon*gal) > 0.5 || lb/(lb+waterLbPerGallon*gal) < 0.02) {
		err = bad("water_l", "bentonite grout is mixed to some 20 to 30 per cent solids (14 to 24 gallons to a 50-lb bag): look at the bag's weight, the water and their units")
	}
	if err != nil {
		return Mix{}, err
	}
	return bentonite("bentonite slurry", lb, gal), nil
}

func bentonite(name string, lb, gal float64) Mix {
	return slurry(BentoniteSlurry, name, lb, gal, bentoniteSG, Working{
		Title:   "yield of a bag of bentonite slurry",
		Formula: "bag/(2.6 x 62.4) + 0.13368 x gallons of water, cubic feet a bag; solids = bag/(bag + 8.33 x gallons)",
		Sources: []Source{{"absolute volumes at specific gravity 2.6", Computed}, {"mixes of 24 and 14 gallons to a 50-lb bag: National Driller", Read}},
		Limits:  "the maker's mixing table comes first; some rules allow bentonite only in unconsolidated ground, and not in acid or salty water",
		Caution: dustCaution,
	})
}

func slurry(kind MixKind, name string, lb, gal, sg float64, w Working) Mix {
	cuFt := lb/(sg*waterLbPerCuFt) + gal*cubicFtPerGallon
	m := Mix{
		Kind: kind, Name: name, Bag: pounds(lb), Water: gallons(gal), Yield: cubicFeet(cuFt),
		Density: records.Pound.ToBase(lb+waterLbPerGallon*gal) / records.CubicFoot.ToBase(cuFt),
		Solids:  lb / (lb + waterLbPerGallon*gal),
		Working: w,
	}
	m.Working.Inputs = []Input{mass("bag", m.Bag), volume("water a bag", m.Water)}
	return m
}

// Chips is bentonite poured dry: a bag fills its weight over the bulk density
// of the product, in kg/L.
func Chips(bag records.Mass, bulkKgPerL float64) (Mix, error) {
	err := firstOf(within("bag_kg", "the weight of a bag", float64(bag), 0, mostMassKg, true),
		within("bulk_kg_per_l", "the bulk density", bulkKgPerL, 0.3, 2.7, true))
	if err != nil {
		return Mix{}, err
	}
	return chips("bentonite chips", bag, bulkKgPerL), nil
}

func chips(name string, bag records.Mass, bulkKgPerL float64) Mix {
	return Mix{
		Kind: DryBentonite, Name: name, Bag: bag, Yield: records.Volume(float64(bag) / bulkKgPerL), Density: bulkKgPerL, Solids: 1,
		Working: Working{
			Title:   "what a bag of chips fills",
			Formula: "bag / bulk density",
			Inputs:  []Input{mass("bag", bag), count("bulk density, kg/L", bulkKgPerL)},
			Sources: []Source{{"bulk densities of 71 and 74 lb a cubic foot, state plugging table", Copied}},
			Limits:  "chips bridge in a narrow annulus: pour slowly, sound the top; some rules allow them only in a short annulus; water to wet them above the water level is not counted",
			Caution: dustCaution,
		},
	}
}

// MixExamples lists mixes as published, to choose from: none is a default.
func MixExamples() []Mix {
	published := func(m Mix, text string, mark Mark) Mix {
		m.Working.Sources = append([]Source{{text, mark}}, m.Working.Sources...)
		return m
	}
	bulk := func(lbPerCuFt float64) float64 {
		return records.Pound.ToBase(lbPerCuFt) / records.CubicFoot.ToBase(1)
	}
	return []Mix{
		published(neatCement("neat cement, 5.2 gal a sack", 5.2), "API class A and B mixture, Driscoll 1986", Remembered),
		published(neatCement("neat cement, 6 gal a sack", 6), "the wettest that COMAR 26.04.04.19 and 12VAC5-630-400 allow", Read),
		published(bentonite("bentonite, 20 % solids", 50, 24), "24 gal to a 50-lb bag, National Driller", Read),
		published(bentonite("bentonite, 30 % solids", 50, 14), "14 gal to a 50-lb bag, National Driller", Read),
		published(chips("bentonite chips, 3/4 in", pounds(50), bulk(71)), "71 lb a cubic foot, state plugging table", Copied),
		published(chips("bentonite chips, 3/8 in", pounds(50), bulk(74)), "74 lb a cubic foot, state plugging table", Copied),
	}
}

// MixLimit is what one rule asks of a mix. Zero stands for no limit.
type MixLimit struct {
	Place       string
	Regulation  string
	Kind        MixKind
	LeastWater  records.Volume // to one 94-lb sack of cement
	MostWater   records.Volume
	LeastSolids float64 // share by weight
	Source      Source
}

// MixLimits lists rules as examples. They hold in their place and year alone.
func MixLimits() []MixLimit {
	cement := func(place, rule string, least, most float64, mark Mark) MixLimit {
		return MixLimit{Place: place, Regulation: rule, Kind: Cement, LeastWater: gallons(least), MostWater: gallons(most), Source: Source{rule, mark}}
	}
	return []MixLimit{
		cement("Maryland", "COMAR 26.04.04.19", 0, 6, Read),
		cement("Virginia", "12VAC5-630-400", 0, 6, Read),
		cement("Minnesota", "Minn. R. 4725", 0, 6, Copied),
		cement("Kern County, California", "county well standard", 5, 6, Read),
		cement("Contra Costa County, California", "county well standard", 4.5, 6.5, Read),
		{Place: "Maryland", Regulation: "COMAR 26.04.04", Kind: BentoniteSlurry, LeastSolids: 0.20, Source: Source{"COMAR 26.04.04", Read}},
	}
}

// Allows says whether a mix keeps to the limit. A limit for another kind of
// grout allows it.
func (l MixLimit) Allows(m Mix) bool {
	const slack = 1e-9 // of rounding between units
	if m.Kind != l.Kind {
		return true
	}
	scale := 1.0
	if m.Kind == Cement && m.Bag > 0 {
		scale = float64(pounds(cementSackLb) / m.Bag)
	}
	water := float64(m.Water) * scale
	return (l.MostWater == 0 || water <= float64(l.MostWater)*(1+slack)) &&
		water >= float64(l.LeastWater)*(1-slack) &&
		m.Solids >= l.LeastSolids*(1-slack)
}

// Broken gives those of the limits that the mix does not keep to.
func (m Mix) Broken(limits []MixLimit) []MixLimit {
	var out []MixLimit
	for _, l := range limits {
		if !l.Allows(m) {
			out = append(out, l)
		}
	}
	return out
}
