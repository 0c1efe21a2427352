package records

import "math"

// Depth is metres below ground level, positive down. A negative depth is
// above ground (a stick-up, the level of a flowing well).
type Depth float64

// Length is a distance or thickness in metres.
type Length float64

// Height is metres up from a vertical datum that is named beside it. It is
// never a Depth: subtract one from the other only through Elevation.
type Height float64

// Diameter is millimetres.
type Diameter float64

// Flow is litres per second.
type Flow float64

// Volume is litres.
type Volume float64

// Minutes is a duration in minutes.
type Minutes float64

// Pressure is kilopascals.
type Pressure float64

// Power is kilowatts.
type Power float64

// Mass is kilograms.
type Mass float64

// Pure is a number without a unit, or one whose unit is named beside it.
type Pure float64

// Dimension says what a quantity measures, and so which units it may be
// given in.
type Dimension uint8

// The dimensions of quantities in a record.
const (
	DimNone Dimension = iota
	DimLength
	DimDiameter
	DimFlow
	DimVolume
	DimDuration
	DimPressure
	DimPower
	DimMass
)

// Unit is a unit of measurement that a person or a file may give.
type Unit uint8

// The units that are read. The first of each dimension is the one that is
// computed with and that names properties and columns.
const (
	NoUnit Unit = iota
	Metre
	Foot
	Inch
	Centimetre
	Fathom
	Millimetre
	InchDiameter
	CentimetreDiameter
	LitrePerSecond
	GallonPerMinute
	GallonPerHour
	ImperialGallonPerMinute
	LitrePerMinute
	CubicMetrePerHour
	CubicMetrePerDay
	CubicFootPerSecond
	Litre
	Gallon
	ImperialGallon
	CubicFoot
	CubicMetre
	Minute
	Second
	Hour
	Day
	Kilopascal
	PoundPerSquareInch
	Bar
	Kilowatt
	Horsepower
	Kilogram
	Pound
	FootDiameter
	MinersInch40
	MinersInch50
	MinersInchColorado
	unitCount
)

// Exact by definition: the international foot and inch (1959), the US gallon
// of 231 cubic inches, the imperial gallon of 4.54609 L, the avoirdupois
// pound of 0.45359237 kg, standard gravity 9.80665 m/s2 (for the pound-force
// in psi), the mechanical horsepower of 550 ft.lbf/s.
//
// Factors are kept as fractions of whole numbers where a float64 holds both:
// 18 ft times 3048, over 10000, is the float64 nearest to 5.4864, while 18
// times 0.3048 is its neighbour, which prints as 5.486400000000001.
type unitInfo struct {
	symbol    string // as written after a number: "ft"
	suffix    string // as written at the end of a property name: "ft"
	dimension Dimension
	num, den  float64 // base units in one of this unit: num / den
}

const kWPerHorsepower = 550 * 0.3048 * 4.4482216152605 / 1000 // a pound-force is 4.4482216152605 N

var unitTable = [unitCount]unitInfo{
	NoUnit:                  {"", "", DimNone, 1, 1},
	Metre:                   {"m", "m", DimLength, 1, 1},
	Foot:                    {"ft", "ft", DimLength, 3048, 10000},
	Inch:                    {"in", "in", DimLength, 254, 10000},
	Centimetre:              {"cm", "cm", DimLength, 1, 100},
	Fathom:                  {"fathom", "fathom", DimLength, 18288, 10000},
	Millimetre:              {"mm", "mm", DimDiameter, 1, 1},
	InchDiameter:            {"in", "in", DimDiameter, 254, 10},
	CentimetreDiameter:      {"cm", "cm", DimDiameter, 10, 1},
	FootDiameter:            {"ft", "ft", DimDiameter, 3048, 10},
	MinersInch40:            {"miner's in (1/40 cfs)", "minersin40", DimFlow, cfsNum, 40 * cfsDen},
	MinersInch50:            {"miner's in (1/50 cfs)", "minersin50", DimFlow, cfsNum, 50 * cfsDen},
	MinersInchColorado:      {"miner's in (1/38.4 cfs)", "minersin38", DimFlow, cfsNum * 10, 384 * cfsDen},
	LitrePerSecond:          {"L/s", "lps", DimFlow, 1, 1},
	GallonPerMinute:         {"gpm", "gpm", DimFlow, 3785411784, 60e9},
	GallonPerHour:           {"gph", "gph", DimFlow, 3785411784, 3600e9},
	ImperialGallonPerMinute: {"igpm", "igpm", DimFlow, 454609, 60e5},
	LitrePerMinute:          {"L/min", "lpm", DimFlow, 1, 60},
	CubicMetrePerHour:       {"m3/h", "m3h", DimFlow, 1000, 3600},
	CubicMetrePerDay:        {"m3/d", "m3d", DimFlow, 1000, 86400},
	CubicFootPerSecond:      {"cfs", "cfs", DimFlow, 28316846592, 1e9},
	Litre:                   {"L", "l", DimVolume, 1, 1},
	Gallon:                  {"gal", "gal", DimVolume, 3785411784, 1e9},
	ImperialGallon:          {"imp gal", "impgal", DimVolume, 454609, 1e5},
	CubicFoot:               {"ft3", "ft3", DimVolume, 28316846592, 1e9},
	CubicMetre:              {"m3", "m3", DimVolume, 1000, 1},
	Minute:                  {"min", "min", DimDuration, 1, 1},
	Second:                  {"s", "s", DimDuration, 1, 60},
	Hour:                    {"h", "h", DimDuration, 60, 1},
	Day:                     {"d", "d", DimDuration, 1440, 1},
	Kilopascal:              {"kPa", "kpa", DimPressure, 1, 1},
	PoundPerSquareInch:      {"psi", "psi", DimPressure, 44482216152605, 6451600000000},
	Bar:                     {"bar", "bar", DimPressure, 100, 1},
	Kilowatt:                {"kW", "kw", DimPower, 1, 1},
	Horsepower:              {"hp", "hp", DimPower, kWPerHorsepower, 1},
	Kilogram:                {"kg", "kg", DimMass, 1, 1},
	Pound:                   {"lb", "lb", DimMass, 45359237, 1e8},
}

// A miner's inch is what the law of the place says: there is no other. Values
// from memory: 1/40 cubic foot a second by statute in California (Water Code
// section 24: one and one-half cubic feet a minute) and Montana (Code section
// 85-2-103: a hundred are 2.5 cubic feet a second), and in Arizona, Nevada and
// Oregon; 1/50 in Idaho (Code section 42-102), Nebraska, New Mexico, the
// Dakotas, Utah and Washington; 1/38.4 in Colorado. Each is a unit of its own,
// and an inch without a law is refused.
const cfsNum, cfsDen = 28316846592, 1e9 // litres in a cubic foot

// info is the unit's line of the table; a number that names no unit is
// treated as NoUnit.
func (u Unit) info() *unitInfo {
	if u >= unitCount {
		u = NoUnit
	}
	return &unitTable[u]
}

// Symbol is how the unit is written after a number ("ft", "gpm").
func (u Unit) Symbol() string { return u.info().symbol }

// Suffix is how the unit ends a property or column name ("ft", "lps").
func (u Unit) Suffix() string { return u.info().suffix }

// Dimension is what the unit measures.
func (u Unit) Dimension() Dimension { return u.info().dimension }

// ToBase turns a number of this unit into the base unit of its dimension.
func (u Unit) ToBase(v float64) float64 {
	i := u.info()
	return v * i.num / i.den
}

// FromBase turns a number of base units into this unit. What ToBase made of a
// whole number, or of quarters, comes back as it was.
func (u Unit) FromBase(v float64) float64 {
	i := u.info()
	p := v * i.den
	if whole := math.Round(p); math.Abs(p-whole) <= 4e-16*math.Abs(p) { // but for rounding
		p = whole
	}
	return p / i.num
}

// Base is the unit in which a dimension is computed and stored.
func (d Dimension) Base() Unit {
	switch d {
	case DimLength:
		return Metre
	case DimDiameter:
		return Millimetre
	case DimFlow:
		return LitrePerSecond
	case DimVolume:
		return Litre
	case DimDuration:
		return Minute
	case DimPressure:
		return Kilopascal
	case DimPower:
		return Kilowatt
	case DimMass:
		return Kilogram
	}
	return NoUnit
}

// Units lists the units that a quantity of this dimension may be given in,
// the base unit first.
func (d Dimension) Units() []Unit {
	if d == DimNone {
		return nil
	}
	var out []Unit
	for u := Unit(1); u < unitCount; u++ {
		if unitTable[u].dimension == d {
			out = append(out, u)
		}
	}
	return out
}

// UnitBySymbol finds the unit of this dimension that Symbol or Suffix writes
// so.
func (d Dimension) UnitBySymbol(s string) (Unit, bool) {
	for u := Unit(1); u < unitCount; u++ {
		if unitTable[u].dimension == d && (unitTable[u].symbol == s || unitTable[u].suffix == s) {
			return u, true
		}
	}
	return NoUnit, false
}
