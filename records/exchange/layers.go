package exchange

import (
	"strings"

	"tallybook/records"
)

// Layers writes a GIS copy: wells and plates as points, strata as vertical
// lines and water strikes as points with heights, one row each, and the same
// again in feet and gallons a minute as views.
//
// A height is the ground's elevation less the depth, in metres above the
// vertical datum that the row names. Where the ground's elevation or the place
// is not known, the row is there without a geometry.
type Layers struct {
	sink   records.LayerSink
	o      LayerOptions
	wells  []layerField[wellRow]
	strata []layerField[stratumRow]
	strike []layerField[strikeRow]
	values []any
	plates map[int64]wellRow // of wells that have one, by plate
	Counts LayerCounts
	err    error
}

// LayerCounts says how many rows were written.
type LayerCounts struct {
	Wells, Strata, Strikes, Plates, Sightings int64
	// Flat are the strata and strikes without a geometry, for want of a place,
	// a depth or the ground's elevation.
	Flat int64
}

// LayerOptions say what a GIS copy holds.
type LayerOptions struct {
	Private bool           // with what only some may see
	Reader  records.Reader // reads the ground of strata; required
	// Label is what people call a material of the vocabulary.
	Label func(code string) string
	// Ground gives the ground's elevation at a well whose record has none; nil
	// gives none.
	Ground func(*records.Well) (GroundLevel, bool)
}

// GroundLevel is an elevation of the ground.
type GroundLevel struct {
	M     records.Height
	Datum string // the vertical datum, "" where nobody said
	From  string // record, or the name of what it was derived from
}

// wellRow is what the rows of a well say of it.
type wellRow struct {
	w      *records.Well
	picks  records.Picks
	ground *GroundLevel
}

// layerField is a column with what a row says there.
type layerField[T any] struct {
	records.LayerColumn
	value func(T) any
}

// NewLayers begins the layers.
func NewLayers(sink records.LayerSink, o LayerOptions) (*Layers, error) {
	if o.Label == nil {
		o.Label = func(code string) string { return code }
	}
	l := &Layers{sink: sink, o: o, wells: wellFields(o.Private), strata: stratumFields(o), strike: strikeFields(), plates: map[int64]wellRow{}}
	for _, f := range []records.LayerForm{
		{Name: "wells", Title: "Wells", About: "One row a well, as its record stands. Depths are metres down from ground.", Shape: records.ShapePoint, Columns: columnsOf(l.wells)},
		{Name: "strata", Title: "Strata", About: "One row an interval of ground, drawn as a vertical line between the heights of its top and bottom.", Shape: records.ShapeLineZ, Columns: columnsOf(l.strata)},
		{Name: "water_strikes", Title: "Water strikes", About: "One row a depth at which water came.", Shape: records.ShapePointZ, Columns: columnsOf(l.strike)},
		{Name: "plates", Title: "Plates on wellheads", About: "One row a plate, where it was seen last, else at the well that it is linked to.", Shape: records.ShapePoint, Columns: columnsOf(plateFields())},
		{Name: "sightings", Title: "Sightings of the ground", About: "What was seen of bedrock or of water that is no well: ledges, pits, dry holes by hearsay.", Shape: records.ShapePoint, Columns: columnsOf(sightingFields())},
	} {
		if err := sink.Layer(f); err != nil {
			return nil, err
		}
		if err := sink.View(inUSUnits(f)); err != nil {
			return nil, err
		}
	}
	return l, nil
}

func columnsOf[T any](fields []layerField[T]) []records.LayerColumn {
	var out []records.LayerColumn
	for _, f := range fields {
		out = append(out, f.LayerColumn)
	}
	return out
}

// usUnits are the units of the views: the ending of a column's name, the unit
// and the term that turns one into the other. 1 ft = 0.3048 m and 1 US gal =
// 3.785411784 L, both exactly (NIST Special Publication 811, 2008, appendix
// B); rounding takes away what dividing has added.
var usUnits = map[string]struct{ from, ending, unit, term string }{
	"m":   {"_m", "_ft", "ft", "round(%s / 0.3048, 6)"},
	"L/s": {"_lps", "_gpm", "gpm", "round(%s * 60 / 3.785411784, 6)"},
	"mm":  {"_mm", "_in", "in", "round(%s / 25.4, 6)"},
}

// inUSUnits is a view of a layer in feet and gallons a minute. Geometries stay
// as they are: their heights are metres.
func inUSUnits(f records.LayerForm) records.LayerView {
	v := records.LayerView{Of: f.Name, LayerForm: records.LayerForm{
		Name: f.Name + "_us", Title: f.Title + ", feet and gallons a minute", About: f.About + " The same rows in US units, to be read; geometries keep heights in metres.", Shape: f.Shape,
	}}
	v.About = strings.ReplaceAll(v.About, "Depths are metres", "Depths are feet")
	for _, c := range f.Columns {
		term := c.Name
		if u, ok := usUnits[c.Unit]; ok {
			term = strings.ReplaceAll(u.term, "%s", c.Name)
			c.Name, c.Unit = strings.TrimSuffix(c.Name, u.from)+u.ending, u.unit
		}
		v.Columns, v.Terms = append(v.Columns, c), append(v.Terms, term)
	}
	return v
}

// Write writes one well with its strata and strikes. Once writing has failed,
// it gives that error again.
func (l *Layers) Write(w *records.Well) error {
	if l.err != nil {
		return l.err
	}
	row := wellRow{w: w, picks: records.DerivePicks(w, l.o.Reader), ground: l.groundOf(w)}
	l.Counts.Wells++
	put(l, "wells", pointOf(w.Place.Located, w.Place.Lon, w.Place.Lat), l.wells, row)
	for i := range w.Strata {
		l.Counts.Strata++
		s := stratumRow{wellRow: row, s: &w.Strata[i], no: i + 1, read: l.o.Reader.Ground(&w.Strata[i])}
		put(l, "strata", l.counted(s.line()), l.strata, s)
	}
	for i := range w.Strikes {
		l.Counts.Strikes++
		s := strikeRow{wellRow: row, s: &w.Strikes[i], no: i + 1}
		put(l, "water_strikes", l.counted(s.point()), l.strike, s)
	}
	if len(w.Plates) > 0 {
		kept := wellRow{w: &records.Well{UID: w.UID, Number: w.Number, Place: records.Place{Located: w.Place.Located, Lon: w.Place.Lon, Lat: w.Place.Lat}}}
		for i := range w.Plates {
			l.plates[w.Plates[i].ID] = kept
		}
	}
	return l.err
}

// counted counts what has no geometry.
func (l *Layers) counted(shape []records.Vertex) []records.Vertex {
	if len(shape) == 0 {
		l.Counts.Flat++
	}
	return shape
}

func put[T any](l *Layers, layer string, shape []records.Vertex, fields []layerField[T], row T) {
	if l.err != nil {
		return
	}
	l.values = l.values[:0]
	for _, f := range fields {
		l.values = append(l.values, f.value(row))
	}
	l.err = l.sink.Row(layer, shape, l.values)
}

// groundOf is the ground's elevation at a well: what its record says, else
// what can be derived.
func (l *Layers) groundOf(w *records.Well) *GroundLevel {
	if m, ok := w.Place.Elevation.Number(); ok && finite(float64(m)) {
		return &GroundLevel{M: m, Datum: w.Place.VertDatum, From: "record"}
	}
	if l.o.Ground == nil || !w.Place.Located {
		return nil
	}
	if g, ok := l.o.Ground(w); ok && finite(float64(g.M)) {
		return &g
	}
	return nil
}

func pointOf(located bool, lon, lat float64) []records.Vertex {
	if !located || !finite(lon) || !finite(lat) {
		return nil
	}
	return []records.Vertex{{Lon: lon, Lat: lat}}
}

// WritePlate writes a plate, linked or not, after the wells.
func (l *Layers) WritePlate(p *records.Plate) error {
	row := plateRow{p: p}
	if of, ok := l.plates[p.ID]; ok && p.WellID != 0 {
		row.well = of.w
	}
	l.Counts.Plates++
	shape := row.shape()
	put(l, "plates", shape, plateFields(), row)
	return l.err
}

// WriteSighting writes a sighting of the ground.
func (l *Layers) WriteSighting(s *records.Sighting) error {
	l.Counts.Sightings++
	put(l, "sightings", pointOf(s.Located, s.Lon, s.Lat), sightingFields(), s)
	return l.err
}

// Close ends the file.
func (l *Layers) Close() error {
	if l.err != nil {
		_ = l.sink.Drop() // the first error is the one that counts
		return l.err
	}
	return l.sink.Close()
}
