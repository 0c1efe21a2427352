package exchange

import (
	"strings"

	"tallybook/records"
)

// What the columns of a GIS copy are called and say.

func text(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// number is a quantity that is a number or a bound; what it is stands in the
// qualifier beside it.
func number[T ~float64](a records.Amount[T]) any {
	if !a.Known() || !finite(float64(a.Value)) {
		return nil
	}
	return float64(a.Value)
}

func qualifier[T ~float64](a records.Amount[T]) any {
	if !a.Known() {
		return nil
	}
	return a.Qualifier.String()
}

func upper[T ~float64](a records.Amount[T]) any {
	if a.Qualifier != records.Between || !finite(float64(a.High)) {
		return nil
	}
	return float64(a.High)
}

func column(name, kind, title, unit, about string) records.LayerColumn {
	return records.LayerColumn{Name: name, Type: kind, Title: title, Unit: unit, About: about}
}

func textField[T any](name, title, about string, value func(T) string) layerField[T] {
	return layerField[T]{column(name, "text", title, "", about), func(r T) any { return text(value(r)) }}
}

// unitEndings are the units by the ending of a column's name.
var unitEndings = map[string]string{"m": "m", "lps": "L/s", "mm": "mm"}

// quantityFields are a quantity, its qualifier and, for 'between', its upper
// end.
func quantityFields[T any, Q ~float64](base, ending, title, about string, value func(T) records.Amount[Q]) []layerField[T] {
	unit := unitEndings[ending]
	return []layerField[T]{
		{column(base+"_"+ending, "number", title, unit, about), func(r T) any { return number(value(r)) }},
		{column(base+"_qualifier", "text", title+": how it is meant", "", "exact, about, less_than, greater_than or between; nothing where it is not known"), func(r T) any { return qualifier(value(r)) }},
		{column(base+"_high_"+ending, "number", title+": upper end", unit, "for between alone"), func(r T) any { return upper(value(r)) }},
	}
}

func joined[T any](parts ...[]layerField[T]) []layerField[T] {
	var out []layerField[T]
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// groundFields say where heights come from.
func groundFields[T any](of func(T) *GroundLevel) []layerField[T] {
	return []layerField[T]{
		{column("ground_elevation_m", "number", "Ground elevation", "m", "metres above the vertical datum"), func(r T) any {
			if g := of(r); g != nil {
				return float64(g.M)
			}
			return nil
		}},
		textField("elevation_from", "Elevation from", "record, or the grid from which it was derived", func(r T) string {
			if g := of(r); g != nil {
				return g.From
			}
			return ""
		}),
		textField("vertical_datum", "Vertical datum", "of elevations and of the heights of geometries; 'not stated' where nobody said", func(r T) string {
			switch g := of(r); {
			case g == nil:
				return ""
			case g.Datum == "":
				return "not stated"
			default:
				return g.Datum
			}
		}),
	}
}

// below is the elevation of a depth, nil where either is not a number.
func below(g *GroundLevel, d records.Amount[records.Depth]) any {
	v, ok := d.Number()
	if !ok || g == nil {
		return nil
	}
	return float64(g.M) - float64(v)
}

func wellFields(private bool) []layerField[wellRow] {
	type r = wellRow
	out := joined(
		[]layerField[r]{
			textField("uid", "Public name", "the same in every copy", func(x r) string { return x.w.UID }),
			textField("number", "Well number", "", func(x r) string { return x.w.Number }),
			textField("permit_number", "Permit number", "", func(x r) string { return x.w.PermitNumber }),
			textField("status", "Status", "", func(x r) string { return x.w.Status }),
			textField("purpose", "Purpose", "", func(x r) string { return x.w.Purpose }),
			textField("completed", "Completed", "a year, a month or a day, as far as known", func(x r) string { return x.w.Completed.String() }),
		},
		quantityFields("total_depth", "m", "Total depth", "as drilled", func(x r) records.Amount[records.Depth] { return x.w.TotalDepth }),
		quantityFields("bedrock", "m", "Depth to bedrock", "derived from the record: strata, what the driller stated, the casing's seat", func(x r) records.Amount[records.Depth] { return x.picks.Bedrock.Depth }),
		[]layerField[r]{
			textField("bedrock_why", "Depth to bedrock: why", "", func(x r) string {
				if !x.picks.Bedrock.Depth.Known() {
					return ""
				}
				return x.picks.Bedrock.Why
			}),
			{column("bedrock_elevation_m", "number", "Elevation of bedrock", "m", "ground elevation less the depth, where both are numbers"), func(x r) any { return below(x.ground, x.picks.Bedrock.Depth) }},
		},
		quantityFields("bedrock_stated", "m", "Depth to bedrock, as stated", "what the driller wrote", func(x r) records.Amount[records.Depth] { return x.w.Bedrock }),
		quantityFields("yield", "lps", "Yield", "the final yield", func(x r) records.Amount[records.Flow] { return x.w.Yield }),
		quantityFields("static_level", "m", "Static water level", "below ground; below nought in a flowing well", func(x r) records.Amount[records.Depth] { return x.w.StaticLevel }),
		[]layerField[r]{
			{column("casing_depth_m", "number", "Casing, lowest end", "m", ""), func(x r) any {
				if seat, ok := x.w.CasingSeat(); ok {
					return float64(seat)
				}
				return nil
			}},
		},
		groundFields(func(x r) *GroundLevel { return x.ground }),
		[]layerField[r]{
			textField("located_by", "Located by", "", func(x r) string { return x.w.Place.Method }),
			{column("accuracy_m", "number", "Accuracy of the position", "m", ""), func(x r) any { return number(x.w.Place.Accuracy) }},
			unreliableField(func(x r) *records.Well { return x.w }),
			textField("setting", "Topographic setting", "", func(x r) string { return x.w.Setting }),
			textField("rock_unit", "Rock unit", "", func(x r) string { return x.w.Rock }),
			textField("parcel", "Parcel", "", func(x r) string { return x.w.Place.Parcel }),
			textField("driller", "Driller", "", func(x r) string { return x.w.Crew.Driller }),
			textField("firm", "Firm", "", func(x r) string { return x.w.Crew.Firm }),
			textField("plates", "Plates", "numbers of the plates that are linked, by semicolons", func(x r) string {
				var numbers []string
				for i := range x.w.Plates {
					numbers = append(numbers, x.w.Plates[i].Number)
				}
				return strings.Join(numbers, "; ")
			}),
			{column("strata_count", "whole", "Strata logged", "", ""), func(x r) any { return int64(len(x.w.Strata)) }},
			{column("strike_count", "whole", "Water strikes", "", ""), func(x r) any { return int64(len(x.w.Strikes)) }},
			textField("source", "Where the record comes from", "", func(x r) string { return x.w.Provenance.Source }),
			{column("own_picks", "whole", "Own picks", "", "how many stand beside the driller's log"), func(x r) any { return int64(len(x.w.OwnPicks)) }},
			textField("own_bedrock_set", "Own bedrock: set", "the set that the latest own pick of bedrock belongs to", func(x r) string { return x.ownBedrock().Set }),
		},
		quantityFields("own_bedrock", "m", "Own bedrock", "by the latest own pick, whatever the driller wrote", func(x r) records.Amount[records.Depth] { return x.ownBedrock().Depth }))
	if !private {
		return out
	}
	return append(out,
		textField("owner_name", "Owner", "private", func(x r) string { return x.w.Owner.Name }),
		textField("owner_address", "Owner's address", "private", func(x r) string { return x.w.Owner.Address }),
		textField("owner_telephone", "Owner's telephone", "private", func(x r) string { return x.w.Owner.Telephone }),
		textField("address", "Address of the well", "private", func(x r) string { return x.w.Place.Address }))
}

// ownBedrock is the latest own pick of bedrock; the zero pick where none is.
func (r wellRow) ownBedrock() *records.OwnPick {
	if p := r.w.LatestOwnBedrock(); p != nil {
		return p
	}
	return &records.OwnPick{}
}

// unreliableField tells what of a well's log is marked. What is marked stands
// in the other columns as it was written.
func unreliableField[T any](of func(T) *records.Well) layerField[T] {
	return textField("marked_unreliable", "Marked unreliable", "what of the well's log is not to be relied on (all, strata, yield, position), by commas; nothing where nothing is marked", func(r T) string {
		return strings.Join(of(r).UnreliableWords(), ", ")
	})
}

// stratumRow is an interval of a well.
type stratumRow struct {
	wellRow
	s    *records.Stratum
	no   int
	read records.Ground
}

// line is the interval as it stands in the ground; nil where a number for it
// is wanting.
func (r stratumRow) line() []records.Vertex {
	top, ok := r.s.Top.Number()
	bottom, ok2 := r.s.Bottom.Number()
	p := &r.w.Place
	if !ok || !ok2 || r.ground == nil || len(pointOf(p.Located, p.Lon, p.Lat)) == 0 || !finite(float64(top)) || !finite(float64(bottom)) {
		return nil
	}
	at := func(d records.Depth) records.Vertex {
		return records.Vertex{Lon: p.Lon, Lat: p.Lat, Height: float64(r.ground.M) - float64(d)}
	}
	return []records.Vertex{at(top), at(bottom)}
}

// ofWell name the well of a row.
func ofWell[T any](of func(T) *records.Well) []layerField[T] {
	return []layerField[T]{
		textField("well_uid", "Well, public name", "the uid in wells", func(r T) string { return of(r).UID }),
		textField("well_number", "Well number", "", func(r T) string { return of(r).Number }),
	}
}

func stratumFields(o LayerOptions) []layerField[stratumRow] {
	type r = stratumRow
	return joined(
		ofWell(func(x r) *records.Well { return x.w }),
		[]layerField[r]{{column("position", "whole", "Interval", "", "from 1, downwards"), func(x r) any { return int64(x.no) }}},
		quantityFields("top", "m", "Top", "depth from ground", func(x r) records.Amount[records.Depth] { return x.s.Top }),
		quantityFields("bottom", "m", "Bottom", "depth from ground", func(x r) records.Amount[records.Depth] { return x.s.Bottom }),
		[]layerField[r]{
			{column("top_elevation_m", "number", "Elevation of the top", "m", ""), func(x r) any { return below(x.ground, x.s.Top) }},
			{column("bottom_elevation_m", "number", "Elevation of the bottom", "m", ""), func(x r) any { return below(x.ground, x.s.Bottom) }},
		},
		groundFields(func(x r) *GroundLevel { return x.ground }),
		[]layerField[r]{
			textField("description", "As written", "the driller's words", func(x r) string { return x.s.Description }),
			textField("material", "Material", "code, as the words were read", func(x r) string { return x.read.Material }),
			textField("material_name", "Material, in words", "", func(x r) string {
				if x.read.Material == "" {
					return ""
				}
				return o.Label(x.read.Material)
			}),
			textField("class", "Class", "soil, transition, rock, void or unknown", func(x r) string { return x.read.Class.String() }),
			textField("color", "Colour", "", func(x r) string { return x.s.Color }),
			textField("hardness", "Hardness", "", func(x r) string { return x.s.Hardness }),
			textField("weathering", "Weathering", "", func(x r) string { return x.s.Weathering }),
			textField("water", "Water", "what was said of water here", func(x r) string { return x.s.Water }),
			unreliableField(func(x r) *records.Well { return x.w }),
		})
}

// strikeRow is a depth at which water came.
type strikeRow struct {
	wellRow
	s  *records.Strike
	no int
}

func (r strikeRow) point() []records.Vertex {
	p := &r.w.Place
	at := pointOf(p.Located, p.Lon, p.Lat)
	d, ok := r.s.Depth.Number()
	if at == nil || r.ground == nil || !ok || !finite(float64(d)) {
		return nil
	}
	at[0].Height = float64(r.ground.M) - float64(d)
	return at
}

func strikeFields() []layerField[strikeRow] {
	type r = strikeRow
	return joined(
		ofWell(func(x r) *records.Well { return x.w }),
		[]layerField[r]{{column("position", "whole", "Strike", "", "from 1, as recorded"), func(x r) any { return int64(x.no) }}},
		quantityFields("depth", "m", "Depth", "from ground", func(x r) records.Amount[records.Depth] { return x.s.Depth }),
		[]layerField[r]{{column("elevation_m", "number", "Elevation", "m", ""), func(x r) any { return below(x.ground, x.s.Depth) }}},
		quantityFields("flow", "lps", "Flow", "a gain or a running total, as flow_is says", func(x r) records.Amount[records.Flow] { return x.s.Flow }),
		[]layerField[r]{
			textField("flow_is", "Flow is", "gain or total; nothing where nobody said", func(x r) string { return x.w.StrikesAs }),
		},
		groundFields(func(x r) *GroundLevel { return x.ground }),
		[]layerField[r]{
			textField("note", "Note", "", func(x r) string { return x.s.Note }),
			unreliableField(func(x r) *records.Well { return x.w }),
		})
}
