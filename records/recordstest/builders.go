// Package recordstest builds records for tests. Everything in it is invented:
// no person, firm or place is meant.
package recordstest

import "tallybook/records"

// Plain is a well as most logs hold it: a place, a date, a depth, a casing, a
// yield and six strata with rock from 12.192 m (40 ft) down. Depths were
// given in feet, flows in gallons a minute.
func Plain() *records.Well {
	return &records.Well{
		UID:    "0190a1b2-c3d4-7e5f-8a6b-0123456789ab",
		Number: "T-1", Status: "in_use", Purpose: "domestic",
		Place:      records.Place{Located: true, Lon: -72.5, Lat: 44.25, Method: "gps", Accuracy: Metres[records.Length]("5")},
		Crew:       records.Crew{Driller: "Driller A", Licence: "0"},
		Completed:  records.Date{Year: 2004, Month: 6, Day: 15},
		TotalDepth: Feet[records.Depth]("203"),
		Bedrock:    Feet[records.Depth]("40"),
		StopReason: "enough_water",
		Casing: []records.Casing{{
			From: Feet[records.Depth]("-2"), To: Feet[records.Depth]("51"), Material: "steel", Diameter: Inches("6"),
		}},
		StaticLevel: Feet[records.Depth]("18"),
		Yield:       Gpm("6"),
		YieldMethod: "airlift",
		Strata: []records.Stratum{
			Stratum("0", "4", "topsoil, sandy", "topsoil"),
			Stratum("4", "22", "brown sandy clay w/ cobbles", "clay"),
			Stratum("22", "40", "hardpan", "till"),
			Stratum("40", "96", "gray granite, hard", "granite"),
			Stratum("96", "99", "soft brown seam, water", "granite"),
			Stratum("99", "203", "gray granite", "granite"),
		},
		Strikes:    []records.Strike{{Depth: Feet[records.Depth]("97"), Flow: Gpm("2")}, {Depth: Feet[records.Depth]("188"), Flow: Gpm("4")}},
		StrikesAs:  "gain",
		Provenance: records.Provenance{Source: "own_log"},
	}
}

// Stratum makes an interval given in feet.
func Stratum(top, bottom, description, material string) records.Stratum {
	return records.Stratum{Top: Feet[records.Depth](top), Bottom: Feet[records.Depth](bottom), Description: description, Material: material}
}

// Feet reads a length given in feet.
func Feet[T ~float64](text string) records.Amount[T] {
	return Read[T](text, records.DimLength, records.Foot)
}

// Metres reads a length given in metres.
func Metres[T ~float64](text string) records.Amount[T] {
	return Read[T](text, records.DimLength, records.Metre)
}

// Inches reads a diameter given in inches.
func Inches(text string) records.Amount[records.Diameter] {
	return Read[records.Diameter](text, records.DimDiameter, records.InchDiameter)
}

// Gpm reads a flow given in US gallons a minute.
func Gpm(text string) records.Amount[records.Flow] {
	return Read[records.Flow](text, records.DimFlow, records.GallonPerMinute)
}

// Read reads a quantity as a person writes it. It panics on a text that is no
// quantity: the test is wrong then.
func Read[T ~float64](text string, d records.Dimension, u records.Unit) records.Amount[T] {
	a, err := records.ParseAmount(text, d, u)
	if err != nil {
		panic("recordstest: " + err.Error())
	}
	return records.Amount[T]{Qualifier: a.Qualifier, Value: T(a.Value), High: T(a.High), Given: a.Given}
}

// ByClass is a Reader that takes Stratum.Material for the name of a class
// (soil, transition, rock, void), and knows a few materials.
type ByClass struct{}

var classOf = map[string]records.Class{
	"topsoil": records.ClassSoil, "clay": records.ClassSoil, "till": records.ClassSoil, "sand": records.ClassSoil, "gravel": records.ClassSoil,
	"saprolite": records.ClassTransition, "granite": records.ClassRock, "slate": records.ClassRock, "limestone": records.ClassRock,
}

// Ground implements records.Reader.
func (ByClass) Ground(s *records.Stratum) records.Ground {
	c, ok := classOf[s.Material]
	if !ok {
		var err error
		if c, err = records.ParseClass(s.Material); err != nil {
			return records.Ground{Material: "unknown"}
		}
	}
	return records.Ground{Material: s.Material, Class: c, Index: uint8(c)}
}

// Version implements records.Reader.
func (ByClass) Version() string { return "recordstest" }
