package exchange

import (
	"bytes"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// Beside the wells a set of tables holds plates (plates, one a row; plate_seen,
// one reading of a plate a row) and sightings of the ground. Each is begun with
// its first row. What the model has no place for is not in them: GeoJSON
// carries it.

// flatTable spreads JSON objects over the columns of a table.
type flatTable struct {
	name, about string
	columns     []records.Property
	place       map[string]int
	cells       []string
	points      bool // its rows have a place, which stands in lon and lat or in the geometry
}

// newFlatTable makes a table of the properties of a profile that begin with a
// prefix, after columns of its own.
func newFlatTable(name, about string, profile []records.Property, prefix string, private bool, own ...string) *flatTable {
	f := &flatTable{name: name, about: about, place: map[string]int{}}
	for _, c := range own {
		f.columns = append(f.columns, records.Property{Name: c, Type: "text"})
	}
	for _, p := range profile {
		rest, ok := strings.CutPrefix(p.Name, prefix)
		if !ok || strings.Contains(rest, "[]") || p.Type == "list" || p.Type == "group" || p.Private && !private {
			continue
		}
		f.place[rest] = len(f.columns)
		p.Name = rest
		f.columns = append(f.columns, p)
	}
	f.cells = make([]string, len(f.columns))
	return f
}

// fill spreads an object, whose groups are named by a prefix.
func (f *flatTable) fill(prefix string, object []byte, say func(string) string) {
	for _, m := range readMembers(object) {
		if i, ok := f.place[prefix+m.Name]; ok {
			f.cells[i] = say(m.JSON)
		} else if prefix == "" && m.JSON[0] == '{' {
			f.fill(m.Name+".", []byte(m.JSON), say)
		}
	}
}

// otherTables are the tables beside the wells'. emit writes the cells of one as
// a row; at is its place, nil where it has none.
type otherTables struct {
	plates, seen, sightings *flatTable
	private                 bool
	say                     func(string) string
	guard                   func(string) string
	emit                    func(f *flatTable, at *[2]float64) error
	count                   map[string]int64
}

const linkedTo = "well_uid"

func newOtherTables(private bool, say, guard func(string) string, emit func(*flatTable, *[2]float64) error) *otherTables {
	o := &otherTables{private: private, say: say, guard: guard, emit: emit, count: map[string]int64{},
		plates:    newFlatTable("plates", "Plates on wellheads, one a row; well_uid is the uid of the well that a plate is linked to.", records.PlateProfile(), "", private, linkedTo),
		seen:      newFlatTable("plate_seen", "Readings of plates, one a row; plate_uid is the uid of the plate.", records.PlateProfile(), "seen[].", private, "plate_uid"),
		sightings: newFlatTable("sightings", "What was seen of the ground that is no well: ledges, pits, dry holes by hearsay.", records.SightingProfile(), "", private),
	}
	o.seen.points, o.sightings.points = true, true
	return o
}

// plate writes a plate and its readings; well is the public name of the well
// that it is linked to, or "".
func (o *otherTables) plate(p *records.Plate, well string) error {
	object := p.AppendPlate(nil)
	clear(o.plates.cells)
	o.plates.fill("", object, o.say)
	o.plates.cells[0] = o.guard(well)
	o.count[o.plates.name]++
	if err := o.emit(o.plates, nil); err != nil {
		return err
	}
	for _, m := range readMembers(object) {
		if m.Name == "seen" {
			return o.readings(p, m.JSON)
		}
	}
	return nil
}

func (o *otherTables) readings(p *records.Plate, list string) error {
	d := jsontext.NewDecoder(strings.NewReader(list))
	if _, err := d.ReadToken(); err != nil {
		return records.WrapError(records.Internal, err, "the readings of the plate %s cannot be read", p.UID)
	}
	for i := 0; d.PeekKind() != ']'; i++ {
		item, err := d.ReadValue()
		if err != nil || i >= len(p.Seen) {
			return records.WrapError(records.Internal, err, "the readings of the plate %s cannot be read", p.UID)
		}
		clear(o.seen.cells)
		o.seen.fill("", bytes.Clone(item), o.say)
		o.seen.cells[0] = o.guard(p.UID)
		o.count[o.seen.name]++
		if err := o.emit(o.seen, spotOf(p.Seen[i].Located, p.Seen[i].Lon, p.Seen[i].Lat)); err != nil {
			return err
		}
	}
	return nil
}

func (o *otherTables) sighting(s *records.Sighting) error {
	clear(o.sightings.cells)
	o.sightings.fill("", s.AppendSighting(nil, records.WriteOptions{Private: o.private}), o.say)
	o.count[o.sightings.name]++
	return o.emit(o.sightings, spotOf(s.Located, s.Lon, s.Lat))
}

func spotOf(located bool, lon, lat float64) *[2]float64 {
	if !located || !finite(lon) || !finite(lat) {
		return nil
	}
	return &[2]float64{lon, lat}
}
