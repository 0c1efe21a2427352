package recordstest

import "tallybook/records"

// Full is a well with something in every field that the profile has, and no
// fault.
func Full() *records.Well {
	w := Plain()
	w.PermitNumber = "P-77"
	w.Yields = ptr(true)
	w.Place.Given = "44 15 00 N 72 30 00 W"
	w.Place.Datum = "NAD83"
	w.Place.Elevation = Metres[records.Height]("301.50")
	w.Place.VertDatum = "NAVD88"
	w.Place.Parcel = "12-3"
	w.Place.Address = "1 Nowhere Road"
	w.Place.AccessNotes = "gate \"B\",\nthen left"
	w.Owner = records.Person{Name: "Owner A", Address: "2 Nowhere Road", Telephone: "000"}
	w.Crew.Firm, w.Crew.Rig, w.Crew.Helper = "Firm A", "Rig 1", "Helper A"
	w.Setting, w.Rock, w.LandUse = "slope", "Example Granite", "pasture"
	w.Started = records.Date{Year: 2004, Month: 6, Day: 14}
	w.Shifts = []records.Shift{{Date: w.Started, From: Feet[records.Depth]("0"), To: Feet[records.Depth]("100"), Note: "half a day"}}
	w.CompletedDepth = Feet[records.Depth]("203")
	w.Works = []records.Work{{
		Kind: "drill", Firm: "Firm A", PermitNumber: "P-77", Started: w.Started, Completed: w.Completed,
		TotalDepth: Feet[records.Depth]("203"), Yield: Gpm("6"), Report: "R-1", Note: "as first drilled",
	}}
	w.Bores = []records.Bore{
		{From: Feet[records.Depth]("0"), To: Feet[records.Depth]("51"), Diameter: Inches("9 7/8"), Method: "air_rotary"},
		{From: Feet[records.Depth]("51"), To: Feet[records.Depth]("203"), Diameter: Inches("6"), Method: "air_hammer"},
	}
	c := &w.Casing[0]
	c.OutsideDia, c.Wall = Inches("6-5/8"), Inches("0.280")
	c.Schedule, c.Joint, c.DriveShoe = "40", "welded", ptr(true)
	c.SocketToRock = Feet[records.Length]("11")
	w.Screens = []records.Screen{{
		From: Feet[records.Depth]("180"), To: Feet[records.Depth]("190"), Diameter: Inches("4"), Slot: Inches("0.020"), Material: "pvc",
	}}
	w.Grout = []records.Grout{{
		From: Feet[records.Depth]("0"), To: Feet[records.Depth]("51"), Material: "neat_cement", Method: "tremie",
		Placed:   Read[records.Volume]("120", records.DimVolume, records.Gallon),
		Planned:  Read[records.Volume]("112", records.DimVolume, records.Gallon),
		ToppedUp: Read[records.Volume]("5", records.DimVolume, records.Gallon), Witnessed: "Inspector A",
	}}
	s := &w.Strata[4]
	s.Color, s.Hardness, s.Weathering, s.Water = "brown", "soft", "slight", "2 gpm"
	w.Strikes[0].Note = "in the seam"
	w.StaticLevels = []records.Level{{
		Date: w.Completed, Depth: Feet[records.Depth]("18"), From: "top of casing",
		AtRest: Read[records.Minutes]("12 h", records.DimDuration, records.Minute), Method: "tape",
	}}
	w.YieldTests = []records.YieldTest{{
		Date: w.Completed, Method: "airlift", Duration: Read[records.Minutes]("60", records.DimDuration, records.Minute),
		Measured: Gpm("8"), Injected: Gpm("1"), Net: Gpm("6"), Before: Feet[records.Depth]("18"), Drawdown: Feet[records.Length]("40"),
		Steadied: ptr(false), PumpDepth: Feet[records.Depth]("190"), Note: "clear after 20 min",
	}}
	w.Quality = []records.Analysis{{
		Date: w.Completed, Kind: "iron", Value: Read[records.Pure]("<0.05", records.DimNone, records.NoUnit), Unit: "mg/L",
		Method: "kit", Lab: "Lab A", InField: ptr(true),
	}}
	w.Treatments = []records.Treatment{{
		Kind: "disinfection", Date: w.Completed, From: Feet[records.Depth]("0"), To: Feet[records.Depth]("203"),
		Pressure:    Read[records.Pressure]("10", records.DimPressure, records.PoundPerSquareInch),
		YieldBefore: Gpm("6"), YieldAfter: Gpm("6"), Product: "bleach", Strength: "5 %", Amount: "3 pints",
		Contact:  Read[records.Minutes]("12 h", records.DimDuration, records.Minute),
		Duration: Read[records.Minutes]("1 h", records.DimDuration, records.Minute), Note: "flushed after",
	}}
	w.Rods = []records.Rod{{Number: 1, From: Feet[records.Depth]("0"), To: Feet[records.Depth]("20"), Time: Read[records.Minutes]("12", records.DimDuration, records.Minute), Remark: "smooth"}}
	w.Finish = records.Finish{
		Cap: "sanitary", Liner: "none", Pitless: "4 ft below ground", StickUp: Feet[records.Length]("2"),
		Inspector: "Inspector A", Inspected: records.Date{Year: 2004, Month: 7}, Result: "passed", Ties: "12.5 m to the north corner",
	}
	w.Pump = records.Pump{SetDepth: Feet[records.Depth]("190"), Type: "submersible", Power: Read[records.Power]("1/2 hp", records.DimPower, records.Kilowatt)}
	w.OwnPicks = []records.OwnPick{{
		Set: "first reading", Of: records.PickBedrock, Depth: Feet[records.Depth]("~42"), Reason: "the log calls a boulder ledge", By: "Reviewer A", Date: records.Date{Year: 2026, Month: 3, Day: 2},
	}}
	w.Unreliable = []records.Doubt{{About: records.DoubtYield, Reason: "measured while the rig put water in", By: "Reviewer A", Date: records.Date{Year: 2026, Month: 3, Day: 2}}}
	w.Attachments = []records.Attachment{{Name: "log.jpg", Kind: "image/jpeg", SHA256: "00", Note: "front"}}
	w.Remarks = "nothing more"
	w.Provenance.Note = "typed from paper"
	w.Extra = []records.Member{{Name: "tile", JSON: `{"a":[1,2.50]}`}}
	w.Strata[0].Extra = []records.Member{{Name: "sample", JSON: "7"}}
	return w
}

func ptr[T any](v T) *T { return &v }
