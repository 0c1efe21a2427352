package records

// The properties of a record, in the order in which they are written. This
// file is the profile: what stands here is what a GeoJSON feature may carry.
var (
	fAccuracy       = amountOf("accuracy", DimLength)
	fGround         = amountOf("ground_elevation", DimLength).signed()
	fTotalDepth     = amountOf("total_depth", DimLength)
	fCompletedDepth = amountOf("completed_depth", DimLength)
	fBedrock        = amountOf("depth_to_bedrock", DimLength)
	fYield          = amountOf("yield", DimFlow)
	fStatic         = amountOf("static_level", DimLength).signed()
	fFrom           = amountOf("from", DimLength).signed()
	fTo             = amountOf("to", DimLength).signed()
	fTop            = amountOf("top", DimLength).signed()
	fBottom         = amountOf("bottom", DimLength).signed()
	fDepth          = amountOf("depth", DimLength).signed()
	fDiameter       = amountOf("diameter", DimDiameter)
	fOutside        = amountOf("outside_diameter", DimDiameter)
	fWall           = amountOf("wall", DimDiameter)
	fSlot           = amountOf("slot", DimDiameter)
	fSocket         = amountOf("socket_in_rock", DimLength)
	fPlaced         = amountOf("placed", DimVolume)
	fPlanned        = amountOf("planned", DimVolume)
	fToppedUp       = amountOf("topped_up", DimVolume)
	fFlow           = amountOf("flow", DimFlow)
	fAtRest         = amountOf("at_rest", DimDuration)
	fDuration       = amountOf("duration", DimDuration)
	fContact        = amountOf("contact_time", DimDuration)
	fTime           = amountOf("time", DimDuration)
	fMeasured       = amountOf("measured_flow", DimFlow)
	fInjected       = amountOf("injected_flow", DimFlow)
	fNet            = amountOf("net_flow", DimFlow)
	fLevelBefore    = amountOf("level_before", DimLength).signed()
	fDrawdown       = amountOf("drawdown", DimLength)
	fPumpDepth      = amountOf("pump_depth", DimLength)
	fPressure       = amountOf("pressure", DimPressure)
	fYieldBefore    = amountOf("yield_before", DimFlow)
	fYieldAfter     = amountOf("yield_after", DimFlow)
	fValue          = amountOf("value", DimNone).signed()
	fStickUp        = amountOf("stick_up", DimLength).signed()
	fSetDepth       = amountOf("set_depth", DimLength)
	fPower          = amountOf("power", DimPower)
	fCasingDepth    = amountOf("casing_depth", DimLength)
)

// visit names the well's properties. Plates are listed by the exchange
// format, not here: they are records of their own.
func (w *Well) visit(f fields) {
	f.text("uid", &w.UID)
	f.text("number", &w.Number)
	f.text("permit_number", &w.PermitNumber)
	f.word("status", &w.Status, statusWords)
	f.word("purpose", &w.Purpose, purposeWords)
	f.flag("counts_for_yield", &w.Yields)

	f.text("coordinates_given", &w.Place.Given)
	f.text("datum", &w.Place.Datum)
	f.word("located_by", &w.Place.Method, locatedWords)
	f.amount(fAccuracy, &w.Place.Accuracy)
	f.amount(fGround, &w.Place.Elevation)
	f.text("vertical_datum", &w.Place.VertDatum)
	f.text("parcel", &w.Place.Parcel)
	f.text("access_notes", &w.Place.AccessNotes)
	f.private("owner", &w.Owner)
	f.private("site", (*siteAddress)(&w.Place))
	f.group("crew", &w.Crew)

	f.word("setting", &w.Setting, settingWords)
	f.text("rock_unit", &w.Rock)
	f.text("land_use", &w.LandUse)
	f.date("started", &w.Started)
	f.date("completed", &w.Completed)
	f.rows("shifts", rowsOf(&w.Shifts))

	f.amount(fTotalDepth, &w.TotalDepth)
	f.amount(fCompletedDepth, &w.CompletedDepth)
	f.amount(fBedrock, &w.Bedrock)
	f.word("stop_reason", &w.StopReason, stopWords)
	f.amount(fStatic, &w.StaticLevel)
	f.amount(fYield, &w.Yield)
	f.word("yield_method", &w.YieldMethod, yieldWords)

	f.rows("works", rowsOf(&w.Works))
	f.rows("bores", rowsOf(&w.Bores))
	f.rows("casing", rowsOf(&w.Casing))
	f.rows("screens", rowsOf(&w.Screens))
	f.rows("grout", rowsOf(&w.Grout))
	f.rows("strata", rowsOf(&w.Strata))
	f.word("strikes_as", &w.StrikesAs, strikeWords)
	f.rows("strikes", rowsOf(&w.Strikes))
	f.rows("static_levels", rowsOf(&w.StaticLevels))
	f.rows("yield_tests", rowsOf(&w.YieldTests))
	f.rows("quality", rowsOf(&w.Quality))
	f.rows("treatments", rowsOf(&w.Treatments))
	f.rows("rods", rowsOf(&w.Rods))
	f.group("finish", &w.Finish)
	f.group("pump", &w.Pump)
	f.rows("own_picks", rowsOf(&w.OwnPicks))
	f.rows("unreliable", rowsOf(&w.Unreliable))
	f.rows("attachments", rowsOf(&w.Attachments))
	f.text("remarks", &w.Remarks)
	f.group("provenance", &w.Provenance)
}

// siteAddress is the private part of a Place.
type siteAddress Place

func (p *siteAddress) visit(f fields) { f.text("address", &p.Address) }

func (p *Person) visit(f fields) {
	f.text("name", &p.Name)
	f.text("address", &p.Address)
	f.text("telephone", &p.Telephone)
}

func (c *Crew) visit(f fields) {
	f.text("driller", &c.Driller)
	f.text("licence", &c.Licence)
	f.text("firm", &c.Firm)
	f.text("rig", &c.Rig)
	f.text("helper", &c.Helper)
}

func (s *Shift) visit(f fields) {
	f.date("date", &s.Date)
	f.amount(fFrom, &s.From)
	f.amount(fTo, &s.To)
	f.text("note", &s.Note)
}

func (w *Work) visit(f fields) {
	f.word("kind", &w.Kind, workWords)
	f.text("firm", &w.Firm)
	f.text("permit_number", &w.PermitNumber)
	f.date("started", &w.Started)
	f.date("completed", &w.Completed)
	f.amount(fTotalDepth, &w.TotalDepth)
	f.amount(fYield, &w.Yield)
	f.text("report", &w.Report)
	f.text("note", &w.Note)
}

func (b *Bore) visit(f fields) {
	f.amount(fFrom, &b.From)
	f.amount(fTo, &b.To)
	f.amount(fDiameter, &b.Diameter)
	f.word("method", &b.Method, drillWords)
}

func (c *Casing) visit(f fields) {
	f.amount(fFrom, &c.From)
	f.amount(fTo, &c.To)
	f.word("material", &c.Material, casingWords)
	f.amount(fDiameter, &c.Diameter)
	f.amount(fOutside, &c.OutsideDia)
	f.amount(fWall, &c.Wall)
	f.text("schedule", &c.Schedule)
	f.text("joint", &c.Joint)
	f.flag("drive_shoe", &c.DriveShoe)
	f.amount(fSocket, &c.SocketToRock)
}

func (s *Screen) visit(f fields) {
	f.amount(fFrom, &s.From)
	f.amount(fTo, &s.To)
	f.amount(fDiameter, &s.Diameter)
	f.amount(fSlot, &s.Slot)
	f.text("material", &s.Material)
}

func (g *Grout) visit(f fields) {
	f.amount(fFrom, &g.From)
	f.amount(fTo, &g.To)
	f.word("material", &g.Material, groutWords)
	f.text("method", &g.Method)
	f.amount(fPlaced, &g.Placed)
	f.amount(fPlanned, &g.Planned)
	f.amount(fToppedUp, &g.ToppedUp)
	f.text("witnessed", &g.Witnessed)
}

func (s *Stratum) visit(f fields) {
	f.amount(fTop, &s.Top)
	f.amount(fBottom, &s.Bottom)
	f.text("description", &s.Description)
	f.text("material", &s.Material)
	f.text("color", &s.Color)
	f.text("hardness", &s.Hardness)
	f.text("weathering", &s.Weathering)
	f.text("water", &s.Water)
}

func (s *Strike) visit(f fields) {
	f.amount(fDepth, &s.Depth)
	f.amount(fFlow, &s.Flow)
	f.text("note", &s.Note)
}

func (l *Level) visit(f fields) {
	f.date("date", &l.Date)
	f.amount(fDepth, &l.Depth)
	f.text("measured_from", &l.From)
	f.amount(fAtRest, &l.AtRest)
	f.text("method", &l.Method)
}

func (t *YieldTest) visit(f fields) {
	f.date("date", &t.Date)
	f.word("method", &t.Method, yieldWords)
	f.amount(fDuration, &t.Duration)
	f.amount(fMeasured, &t.Measured)
	f.amount(fInjected, &t.Injected)
	f.amount(fNet, &t.Net)
	f.amount(fLevelBefore, &t.Before)
	f.amount(fDrawdown, &t.Drawdown)
	f.flag("steadied", &t.Steadied)
	f.amount(fPumpDepth, &t.PumpDepth)
	f.text("note", &t.Note)
}

func (a *Analysis) visit(f fields) {
	f.date("date", &a.Date)
	f.text("kind", &a.Kind)
	f.amount(fValue, &a.Value)
	f.text("unit", &a.Unit)
	f.text("method", &a.Method)
	f.text("laboratory", &a.Lab)
	f.flag("in_field", &a.InField)
}

func (t *Treatment) visit(f fields) {
	f.word("kind", &t.Kind, treatmentWords)
	f.date("date", &t.Date)
	f.amount(fFrom, &t.From)
	f.amount(fTo, &t.To)
	f.amount(fPressure, &t.Pressure)
	f.amount(fYieldBefore, &t.YieldBefore)
	f.amount(fYieldAfter, &t.YieldAfter)
	f.text("product", &t.Product)
	f.text("strength", &t.Strength)
	f.text("amount", &t.Amount)
	f.amount(fContact, &t.Contact)
	f.amount(fDuration, &t.Duration)
	f.text("note", &t.Note)
}

func (r *Rod) visit(f fields) {
	f.whole("number", &r.Number)
	f.amount(fFrom, &r.From)
	f.amount(fTo, &r.To)
	f.amount(fTime, &r.Time)
	f.text("remark", &r.Remark)
}

func (x *Finish) visit(f fields) {
	f.text("cap", &x.Cap)
	f.text("liner", &x.Liner)
	f.text("pitless", &x.Pitless)
	f.amount(fStickUp, &x.StickUp)
	f.text("inspector", &x.Inspector)
	f.date("inspected", &x.Inspected)
	f.text("result", &x.Result)
	f.text("ties", &x.Ties)
}

func (p *Pump) visit(f fields) {
	f.amount(fSetDepth, &p.SetDepth)
	f.text("type", &p.Type)
	f.amount(fPower, &p.Power)
}

func (a *Attachment) visit(f fields) {
	f.text("name", &a.Name)
	f.text("kind", &a.Kind)
	f.text("sha256", &a.SHA256)
	f.text("note", &a.Note)
}

func (p *Provenance) visit(f fields) {
	f.word("source", &p.Source, sourceWords)
	f.text("note", &p.Note)
}

func (p *Plate) visit(f fields) {
	f.text("uid", &p.UID)
	f.text("number", &p.Number)
	f.text("authority", &p.Authority)
	f.text("series", &p.Series)
	f.date("since", &p.Since)
	f.date("until", &p.Until)
	f.group("stamped", &p.Stamped)
	f.rows("seen", rowsOf(&p.Seen))
	f.text("evidence", &p.Evidence)
}

func (s *Stamped) visit(f fields) {
	f.date("date", &s.Date)
	f.amount(fTotalDepth, &s.Depth)
	f.amount(fCasingDepth, &s.Casing)
	f.amount(fDiameter, &s.Diameter)
	f.amount(fYield, &s.Yield)
	f.amount(fStatic, &s.Static)
	f.amount(fPumpDepth, &s.PumpDepth)
	f.text("driller", &s.Driller)
}

func (s *PlateSighting) visit(f fields) {
	f.date("date", &s.Date)
	f.text("by", &s.By)
	f.position(&s.Located, &s.Lon, &s.Lat)
	f.amount(fAccuracy, &s.Accuracy)
	f.text("legible", &s.Legible)
	f.text("note", &s.Note)
}
