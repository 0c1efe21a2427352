package exchange

import "tallybook/records"

// plateRow is a plate and the well that it is linked to, if any.
type plateRow struct {
	p    *records.Plate
	well *records.Well
}

func (r plateRow) shape() []records.Vertex {
	if s := r.p.LastSeen(); s != nil {
		return pointOf(true, s.Lon, s.Lat)
	}
	if r.well != nil {
		return pointOf(r.well.Place.Located, r.well.Place.Lon, r.well.Place.Lat)
	}
	return nil
}

func plateFields() []layerField[plateRow] {
	type r = plateRow
	seen := func(x r) records.PlateSighting {
		if s := x.p.LastSeen(); s != nil {
			return *s
		}
		return records.PlateSighting{}
	}
	return joined(
		[]layerField[r]{
			textField("uid", "Public name", "the same in every copy", func(x r) string { return x.p.UID }),
			textField("number", "Number", "as stamped; ? for a digit that could not be read", func(x r) string { return x.p.Number }),
			textField("authority", "Authority", "", func(x r) string { return x.p.Authority }),
			textField("series", "Series", "", func(x r) string { return x.p.Series }),
			textField("well_uid", "Well, public name", "of the well that it is linked to", func(x r) string {
				if x.well == nil {
					return ""
				}
				return x.well.UID
			}),
			textField("well_number", "Well number", "", func(x r) string {
				if x.well == nil {
					return ""
				}
				return x.well.Number
			}),
			textField("position_from", "Position from", "seen: where it was seen last; well: that of the well", func(x r) string {
				switch {
				case x.p.LastSeen() != nil:
					return "seen"
				case len(x.shape()) > 0:
					return "well"
				}
				return ""
			}),
			textField("seen_on", "Seen on", "", func(x r) string { return seen(x).Date.String() }),
			{column("accuracy_m", "number", "Accuracy of the position", "m", ""), func(x r) any { return number(seen(x).Accuracy) }},
			textField("stamped_on", "Date stamped", "", func(x r) string { return x.p.Stamped.Date.String() }),
		},
		quantityFields("stamped_depth", "m", "Depth stamped", "", func(x r) records.Amount[records.Depth] { return x.p.Stamped.Depth }),
		quantityFields("stamped_yield", "lps", "Yield stamped", "", func(x r) records.Amount[records.Flow] { return x.p.Stamped.Yield }))
}

func sightingFields() []layerField[*records.Sighting] {
	type r = *records.Sighting
	return joined(
		[]layerField[r]{
			textField("uid", "Public name", "the same in every copy", func(x r) string { return x.UID }),
			textField("kind", "Kind", "ledge, refusal, no_refusal, dry_hole or other", func(x r) string { return x.Kind }),
			textField("seen_on", "Seen on", "", func(x r) string { return x.Date.String() }),
		},
		quantityFields("depth", "m", "Depth looked", "from ground", func(x r) records.Amount[records.Depth] { return x.Depth }),
		quantityFields("bedrock", "m", "Depth to bedrock", "as stated", func(x r) records.Amount[records.Depth] { return x.Bedrock }),
		quantityFields("yield", "lps", "Yield", "", func(x r) records.Amount[records.Flow] { return x.Yield }),
		[]layerField[r]{
			{column("accuracy_m", "number", "Accuracy of the position", "m", ""), func(x r) any { return number(x.Accuracy) }},
			textField("note", "Note", "", func(x r) string { return x.Note }),
		})
}
