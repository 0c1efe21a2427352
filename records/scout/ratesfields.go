package scout

import "tallybook/records"

// visit shows a form every property of the table, in the order in which they
// are written; reading and writing both go by it. The units come first, since
// the names of the others bear them.
func (r *Rates) visit(f *form) {
	f.text("name", &r.Name)
	f.text("note", &r.Note)
	f.text("currency", &r.Currency)
	f.units("units", &r.Units)
	f.date("valid_from", &r.ValidFrom)
	f.date("valid_to", &r.ValidTo)
	f.price("mobilisation_cents", &r.Mobilisation)
	list(f, "drilling", &r.Drilling, (*DrillRate).visit)
	quantity(f, "minimum", records.DimLength, &r.MinimumLength)
	list(f, "casing", &r.Casing, (*CasingRate).visit)
	f.price("drive_shoe_cents", &r.DriveShoe)
	f.price("grout_sack_cents", &r.GroutSack)
	quantity(f, "grout_sack_yield", records.DimVolume, &r.SackYield)
	quantity(f, "grout_sack_water", records.DimVolume, &r.SackWater)
	f.text("grout_sack_product", &r.SackProduct)
	list(f, "hours", &r.Hours, (*HourRate).visit)
	f.price("standby_cents_per_hour", &r.Standby)
	f.price("disinfection_cents", &r.Disinfection)
	f.price("pump_set_cents", &r.PumpSet)
	f.price("plate_cents", &r.Plate)
	f.price("permit_cents", &r.Permit)
	f.price("sealing_cents", &r.Sealing)
	f.perLength("sealing", &r.SealingBy)
	group(f, "dry_hole", &r.Dry, (*DryTerms).visit)
	group(f, "tax", &r.Tax, (*Tax).visit)
}

func (d *DrillRate) visit(f *form) {
	f.class("ground", &d.Ground)
	quantity(f, "from", records.DimLength, &d.From)
	quantity(f, "to", records.DimLength, &d.To)
	f.perLength("", &d.ByLength)
}

func (c *CasingRate) visit(f *form) {
	f.text("material", &c.Material)
	quantity(f, "diameter", records.DimDiameter, &c.Diameter)
	f.perLength("", &c.ByLength)
}

func (h *HourRate) visit(f *form) {
	f.text("name", &h.Name)
	f.price("cents_per_hour", &h.ByHour)
	f.number("hours", &h.Hours)
}

func (d *DryTerms) visit(f *form) {
	quantity(f, "below", records.DimFlow, &d.Below)
	quantity(f, "footage_share", records.DimNone, &d.FootageShare)
	f.text("words", &d.Words)
}

func (t *Tax) visit(f *form) {
	f.text("name", &t.Name)
	quantity(f, "share", records.DimNone, &t.Share)
	f.kinds("on", &t.On)
}
