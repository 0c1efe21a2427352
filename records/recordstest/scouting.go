package recordstest

import "tallybook/records"

// FullSighting is a sighting with something in every field, and no fault: a
// test pit that met refusal at eight feet.
func FullSighting() *records.Sighting {
	return &records.Sighting{
		UID:  "0190a1b2-c3d4-7e5f-8a6b-00000000000a",
		Kind: records.SawRefusal, Located: true, Lon: -72.5125, Lat: 44.2575,
		Given: "44 15 27 N 72 30 45 W", Datum: "WGS 84", Method: "gps",
		Accuracy: Metres[records.Length]("25"),
		Depth:    Feet[records.Depth]("8"),
		Date:     records.Date{Year: 2026, Month: 2, Day: 14},
		By:       "Invented Digger", Note: "test pit for a septic field; \"ledge\" by ear",
	}
}
