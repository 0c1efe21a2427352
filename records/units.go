package records

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
	unitCount
)

// Exact by definition: the international foot and inch (1959), the US gallon
// of 231 cubic inches, the imperial gallon of 4.54609 L, the avoirdupois
// pound of 0.45359237 kg, standard gravity 9.80665 m/s2 (for the pound-force
// in psi), the mechanical horsepower of 550 ft.lbf/s.
const (
	metresPerFoot   = 0.3048
	litresPerGallon = 3.785411784
	litresPerImpGal = 4.54609
	litresPerCuFoot = metresPerFoot * metresPerFoot * metresPerFoot * 1000
	kgPerPound      = 0.45359237
	gravity         = 9.80665
	kPaPerPsi       = kgPerPound * gravity / (0.0254 * 0.0254) / 1000
	kWPerHorsepower = 550 * metresPerFoot * kgPerPound * gravity / 1000
)

type unitInfo struct {
	symbol    string // as written after a number: "ft"
	suffix    string // as written at the end of a property name: "ft"
	dimension Dimension
	factor    float64 // base units in one of this unit
}

var unitTable = [unitCount]unitInfo{
	NoUnit:                  {"", "", DimNone, 1},
	Metre:                   {"m", "m", DimLength, 1},
	Foot:                    {"ft", "ft", DimLength, metresPerFoot},
	Inch:                    {"in", "in", DimLength, 0.0254},
	Centimetre:              {"cm", "cm", DimLength, 0.01},
	Fathom:                  {"fathom", "fathom", DimLength, 6 * metresPerFoot},
	Millimetre:              {"mm", "mm", DimDiameter, 1},
	InchDiameter:            {"in", "in", DimDiameter, 25.4},
	CentimetreDiameter:      {"cm", "cm", DimDiameter, 10},
	FootDiameter:            {"ft", "ft", DimDiameter, 1000 * metresPerFoot},
	LitrePerSecond:          {"L/s", "lps", DimFlow, 1},
	GallonPerMinute:         {"gpm", "gpm", DimFlow, litresPerGallon / 60},
	GallonPerHour:           {"gph", "gph", DimFlow, litresPerGallon / 3600},
	ImperialGallonPerMinute: {"igpm", "igpm", DimFlow, litresPerImpGal / 60},
	LitrePerMinute:          {"L/min", "lpm", DimFlow, 1.0 / 60},
	CubicMetrePerHour:       {"m3/h", "m3h", DimFlow, 1000.0 / 3600},
	CubicMetrePerDay:        {"m3/d", "m3d", DimFlow, 1000.0 / 86400},
	CubicFootPerSecond:      {"cfs", "cfs", DimFlow, litresPerCuFoot},
	Litre:                   {"L", "l", DimVolume, 1},
	Gallon:                  {"gal", "gal", DimVolume, litresPerGallon},
	ImperialGallon:          {"imp gal", "impgal", DimVolume, litresPerImpGal},
	CubicFoot:               {"ft3", "ft3", DimVolume, litresPerCuFoot},
	CubicMetre:              {"m3", "m3", DimVolume, 1000},
	Minute:                  {"min", "min", DimDuration, 1},
	Second:                  {"s", "s", DimDuration, 1.0 / 60},
	Hour:                    {"h", "h", DimDuration, 60},
	Day:                     {"d", "d", DimDuration, 1440},
	Kilopascal:              {"kPa", "kpa", DimPressure, 1},
	PoundPerSquareInch:      {"psi", "psi", DimPressure, kPaPerPsi},
	Bar:                     {"bar", "bar", DimPressure, 100},
	Kilowatt:                {"kW", "kw", DimPower, 1},
	Horsepower:              {"hp", "hp", DimPower, kWPerHorsepower},
	Kilogram:                {"kg", "kg", DimMass, 1},
	Pound:                   {"lb", "lb", DimMass, kgPerPound},
}

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
func (u Unit) ToBase(v float64) float64 { return v * u.info().factor }

// FromBase turns a number of base units into this unit.
func (u Unit) FromBase(v float64) float64 { return v / u.info().factor }

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
