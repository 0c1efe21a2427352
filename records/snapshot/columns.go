package snapshot

import (
	"fmt"
	"math"

	"tallybook/records"
)

// amounts is one column of values with their qualifiers. Upper ends of
// 'between' are rare and kept aside.
type amounts struct {
	value     []float64
	qualifier []records.Qualifier
	high      map[int32]float64
}

func (a *amounts) add(v records.DigestValue) {
	if v.Qualifier == records.Between {
		if a.high == nil {
			a.high = make(map[int32]float64)
		}
		a.high[int32(len(a.value))] = v.High
	}
	a.value = append(a.value, v.Value)
	a.qualifier = append(a.qualifier, v.Qualifier)
}

func (a *amounts) at(i int32) records.DigestValue {
	v := records.DigestValue{Value: a.value[i], Qualifier: a.qualifier[i]}
	if v.Qualifier == records.Between {
		v.High = a.high[i]
	}
	return v
}

func (a *amounts) grow(n int) {
	a.value = make([]float64, 0, n)
	a.qualifier = make([]records.Qualifier, 0, n)
}

// columns holds digests as flat arrays, one element a well in each.
type columns struct {
	id         []int64
	revision   []int32
	key        []uint64
	lon, lat   []float64
	accuracyM  []float32
	bedrock    amounts
	yield      amounts
	totalDepth amounts
	firstRockM []float32
	casingM    []float32
	staticM    []float32
	groundM    []float32
	year       []float32
	purpose    []uint8
	setting    []uint8
	rock       []uint16
	materials  []uint64
	strikesM   [][3]float32
	flags      []records.DigestFlags
	own        map[int32][]records.DigestPick // few have any; see HasOwnBedrock
	marked     []int32                        // those marked unreliable in anything
}

func newColumns(n int) *columns {
	c := &columns{
		id: make([]int64, 0, n), revision: make([]int32, 0, n), key: make([]uint64, 0, n),
		lon: make([]float64, 0, n), lat: make([]float64, 0, n), accuracyM: make([]float32, 0, n),
		firstRockM: make([]float32, 0, n), casingM: make([]float32, 0, n), staticM: make([]float32, 0, n),
		groundM: make([]float32, 0, n), year: make([]float32, 0, n), purpose: make([]uint8, 0, n),
		setting: make([]uint8, 0, n), rock: make([]uint16, 0, n), materials: make([]uint64, 0, n),
		strikesM: make([][3]float32, 0, n), flags: make([]records.DigestFlags, 0, n),
	}
	c.bedrock.grow(n)
	c.yield.grow(n)
	c.totalDepth.grow(n)
	return c
}

func (c *columns) len() int { return len(c.id) }

func (c *columns) add(d *records.Digest) {
	c.bedrock.add(d.Bedrock)
	c.yield.add(d.Yield)
	c.totalDepth.add(d.TotalDepth)
	c.id = append(c.id, d.ID)
	c.revision = append(c.revision, int32(d.Revision))
	c.key = append(c.key, d.Key)
	c.lon = append(c.lon, d.Lon)
	c.lat = append(c.lat, d.Lat)
	c.accuracyM = append(c.accuracyM, d.AccuracyM)
	c.firstRockM = append(c.firstRockM, d.FirstRockM)
	c.casingM = append(c.casingM, d.CasingM)
	c.staticM = append(c.staticM, d.StaticM)
	c.groundM = append(c.groundM, d.GroundM)
	c.year = append(c.year, d.Year)
	c.purpose = append(c.purpose, d.Purpose)
	c.setting = append(c.setting, d.Setting)
	c.rock = append(c.rock, d.Rock)
	c.materials = append(c.materials, d.Materials)
	c.strikesM = append(c.strikesM, d.StrikesM)
	if d.Flags&records.AnyUnreliable != 0 {
		c.marked = append(c.marked, int32(len(c.flags)))
	}
	if len(d.Own) > 0 {
		if c.own == nil {
			c.own = make(map[int32][]records.DigestPick)
		}
		c.own[int32(len(c.flags))] = d.Own
	}
	c.flags = append(c.flags, d.Flags)
}

// Row is one well of a picture: a cheap handle, valid as long as anybody
// holds it.
type Row struct {
	c *columns
	i int32
}

// Digest assembles everything the picture knows of the well.
func (r Row) Digest() records.Digest {
	c, i := r.c, r.i
	return records.Digest{
		ID: c.id[i], Revision: int64(c.revision[i]), Key: c.key[i], Lon: c.lon[i], Lat: c.lat[i], AccuracyM: c.accuracyM[i],
		Bedrock: c.bedrock.at(i), Yield: c.yield.at(i), TotalDepth: c.totalDepth.at(i),
		FirstRockM: c.firstRockM[i], CasingM: c.casingM[i], StaticM: c.staticM[i], GroundM: c.groundM[i],
		Year: c.year[i], Purpose: c.purpose[i], Setting: c.setting[i], Rock: c.rock[i],
		Materials: c.materials[i], StrikesM: c.strikesM[i], Flags: c.flags[i], Own: c.own[i],
	}
}

// ID is the record's key.
func (r Row) ID() int64 { return r.c.id[r.i] }

// Key breaks ties between wells, the same in every copy of the data.
func (r Row) Key() uint64 { return r.c.key[r.i] }

// Position is the place in degrees, WGS 84; ok is false when the well is not
// located.
func (r Row) Position() (lon, lat float64, ok bool) {
	lon, lat = r.c.lon[r.i], r.c.lat[r.i]
	return lon, lat, !math.IsNaN(lon)
}

// Year is the decimal year of completion, 0 when unknown.
func (r Row) Year() float64 { return float64(r.c.year[r.i]) }

// GroundM is the elevation of the ground as the record says, metres; NaN where
// it does not.
func (r Row) GroundM() float64 { return float64(r.c.groundM[r.i]) }

// Value is the well's value of a field, in the field's base unit.
func (r Row) Value(f Field) records.DigestValue {
	switch f {
	case Bedrock:
		return r.c.bedrock.at(r.i)
	case Yield:
		return r.c.yield.at(r.i)
	case TotalDepth:
		return r.c.totalDepth.at(r.i)
	}
	return records.DigestValue{}
}

// Field is a quantity that can be mapped and estimated.
type Field uint8

// The fields.
const (
	Bedrock    Field = iota + 1 // depth to sound bedrock, m
	Yield                       // L/s, as first drilled
	TotalDepth                  // m, as first drilled
	// BedrockElevation is the ground's elevation less the depth to sound bedrock,
	// m. It is no field of a well by itself, and not among Fields: it takes the
	// ground, which the records may not have.
	BedrockElevation
)

var fieldNames = [...]string{Bedrock: "depth_to_bedrock", Yield: "yield", TotalDepth: "total_depth", BedrockElevation: "bedrock_elevation"}

// Fields lists those that a well says by itself.
func Fields() []Field { return []Field{Bedrock, Yield, TotalDepth} }

// String gives the field's name in addresses, files and on the command line.
func (f Field) String() string {
	if int(f) < len(fieldNames) {
		return fieldNames[f]
	}
	return ""
}

// ParseField reads the names that String writes.
func ParseField(s string) (Field, error) {
	for _, f := range Fields() {
		if f.String() == s {
			return f, nil
		}
	}
	return 0, records.Errorf(records.Invalid, "%q is no field that can be mapped; use %s", s,
		fmt.Sprintf("%s, %s or %s", Bedrock, Yield, TotalDepth))
}

// AccuracyM is how far off the position may be, metres; 0 where nobody says.
func (r Row) AccuracyM() float64 { return float64(r.c.accuracyM[r.i]) }

// ParseMapField is ParseField for those who can draw the elevation of bedrock
// too.
func ParseMapField(s string) (Field, error) {
	if s == BedrockElevation.String() {
		return BedrockElevation, nil
	}
	f, err := ParseField(s)
	if err != nil {
		return 0, records.Errorf(records.Invalid, "%q is no field that can be mapped; use %s, %s, %s or %s", s, Bedrock, BedrockElevation, Yield, TotalDepth)
	}
	return f, nil
}
