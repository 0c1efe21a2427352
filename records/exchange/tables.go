package exchange

import "tallybook/records"

// TableSink takes typed tables, such as a GeoPackage. A cell without a text
// has no value; at is the place, longitude first, nil where there is none.
type TableSink interface {
	Table(name, about string, columns []records.Property, points bool) error
	Row(name string, at *[2]float64, cells []string) error
	Close() error
}

// Tables writes wells into typed tables: wells as points with the columns of a
// flat table (see CSV), and one table for each list that any well has, joined
// by the well's public name. What a set of CSV tables leaves out (see CSVSet)
// is left out here too.
type Tables struct {
	sink  TableSink
	o     Options
	flat  *CSV
	keep  []int // the columns that are written: the place is the point
	cells []string
	parts []*partTable
	// others are the tables beside the wells', see CSVSet.
	others *otherTables
	begun  map[string]bool
	count  int64
	buf    []byte
	err    error
}

// NewTables begins the table of the wells.
func NewTables(sink TableSink, o Options) (*Tables, error) {
	flat, types, err := newFlat(o)
	if err != nil {
		return nil, err
	}
	t := &Tables{sink: sink, o: o, flat: flat, parts: newPartTables(o.Private), begun: map[string]bool{}}
	t.others = newOtherTables(o.Private, bare, func(text string) string { return text }, t.otherRow)
	var columns []records.Property
	for i, name := range flat.columns {
		if name != "lon" && name != "lat" {
			t.keep = append(t.keep, i)
			columns = append(columns, records.Property{Name: name, Type: types[i]})
		}
	}
	t.cells = make([]string, len(t.keep))
	return t, sink.Table("wells", "Wells, one a row; units stand in the names of the columns, depths are down from ground.", columns, true)
}

// Count is how many wells have been written.
func (t *Tables) Count() int64 { return t.count }

// LeftOut is how many extra properties were not written because their names
// say that they are about people.
func (t *Tables) LeftOut() int64 { return t.flat.LeftOut() }

// Write writes one well and its lists. Once writing has failed, it gives that
// error again.
func (t *Tables) Write(w *records.Well) error {
	if t.err != nil {
		return t.err
	}
	t.flat.understand(w)
	for i, k := range t.keep {
		t.cells[i] = t.flat.cells[k]
	}
	var at *[2]float64
	if p := &w.Place; p.Located && finite(p.Lon) && finite(p.Lat) {
		at = &[2]float64{p.Lon, p.Lat}
	}
	if t.err = t.sink.Row("wells", at, t.cells); t.err != nil {
		return t.err
	}
	t.count++
	t.buf = w.AppendProperties(t.buf[:0], records.WriteOptions{Private: t.o.Private})
	for _, m := range readMembers(t.buf) {
		for _, p := range t.parts {
			if p.list == m.Name && t.err == nil {
				t.err = t.items(p, w.UID, m.JSON)
			}
		}
	}
	for i := range w.Plates {
		if t.err == nil {
			t.err = t.others.plate(&w.Plates[i], w.UID)
		}
	}
	return t.err
}

// WritePlate writes a plate that is linked to no well.
func (t *Tables) WritePlate(p *records.Plate) error {
	if t.err == nil {
		t.err = t.others.plate(p, "")
	}
	return t.err
}

// WriteSighting writes a sighting of the ground.
func (t *Tables) WriteSighting(s *records.Sighting) error {
	if t.err == nil {
		t.err = t.others.sighting(s)
	}
	return t.err
}

// otherRow writes a row of a table beside the wells'; a place is a point.
func (t *Tables) otherRow(f *flatTable, at *[2]float64) error {
	var columns []records.Property
	var cells []string
	for i, c := range f.columns {
		if f.points && (c.Name == "lon" || c.Name == "lat") {
			continue
		}
		columns, cells = append(columns, c), append(cells, f.cells[i])
	}
	if !t.begun[f.name] {
		t.begun[f.name] = true
		if err := t.sink.Table(f.name, f.about, columns, f.points); err != nil {
			return err
		}
	}
	return t.sink.Row(f.name, at, cells)
}

func (t *Tables) items(p *partTable, uid, list string) error {
	return p.each(uid, list, func() error {
		if !t.begun[p.list] {
			t.begun[p.list] = true
			var columns []records.Property
			for i, name := range p.columns {
				columns = append(columns, records.Property{Name: name, Type: p.types[i]})
			}
			about := "Parts of wells, one a row; uid is that of the well. Units stand in the names of the columns, depths are down from ground."
			if err := t.sink.Table(p.list, about, columns, false); err != nil {
				return err
			}
		}
		return t.sink.Row(p.list, nil, p.cells)
	}, bare)
}

// Close ends the tables.
func (t *Tables) Close() error {
	if err := t.sink.Close(); t.err == nil {
		t.err = err
	}
	return t.err
}
