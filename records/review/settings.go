package review

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/cql2"
	"tallybook/records/lithology"
	"tallybook/records/snapshot"
)

// Settings are all that a review is asked with. The same settings on the same
// data give the same numbers. Amounts are in base units, and nil where nothing
// was said.
type Settings struct {
	Quantity string `json:"quantity"` // depth_to_bedrock, yield, total_depth
	// Units are us or si: in which unit columns and distances are round. Numbers
	// are in base units all the same.
	Units string `json:"units"`

	Where *Where `json:"where,omitempty"` // nil: everywhere

	DrilledFrom  *float64 `json:"drilled_from,omitempty"` // years, the last one included
	DrilledTo    *float64 `json:"drilled_to,omitempty"`
	Use          string   `json:"use,omitempty"`
	Met          string   `json:"met,omitempty"`   // code of a material
	Plate        string   `json:"plate,omitempty"` // yes, no
	DepthFromM   *float64 `json:"depth_from_m,omitempty"`
	DepthToM     *float64 `json:"depth_to_m,omitempty"`
	YieldFromLps *float64 `json:"yield_from_lps,omitempty"`
	YieldToLps   *float64 `json:"yield_to_lps,omitempty"`

	// MarkedToo takes in what is marked unreliable; Picks goes by the own picks of
	// bedrock of that set, where it has one.
	MarkedToo bool   `json:"unreliable_taken_in,omitempty"`
	Picks     string `json:"picks,omitempty"`

	// Only is a filter in CQL2 text (package cql2) over the fields of the
	// collection of wells; "": all. Whoever has the records looks which it chooses.
	Only string `json:"only,omitempty"`

	Scale string `json:"scale,omitempty"` // linear, log; "": chosen by the data
	// PairsWithinM is how far apart wells may stand to count as neighbours.
	PairsWithinM float64 `json:"pairs_within_m"`

	// Parts are settings of single parts, each under "part.setting".
	Parts map[string]string `json:"parts,omitempty"`
}

// Where is a part of the earth: one of a box, a circle and an outline.
type Where struct {
	Box     *[4]float64     `json:"box,omitempty"`    // west, south, east, north, degrees
	Centre  *[2]float64     `json:"centre,omitempty"` // longitude, latitude
	RadiusM float64         `json:"radius_m,omitempty"`
	Outline json.RawMessage `json:"outline,omitempty"` // GeoJSON Polygon or MultiPolygon
	Name    string          `json:"name,omitempty"`    // what the outline is called
}

// Limits and defaults.
const (
	DefaultPairsM = 30.48 // 100 ft
	mostPairsM    = 5000.0
	mostRadiusM   = 500_000.0
	mostText      = 200
)

// Defaults fills in what was not said.
func (s *Settings) Defaults() {
	if s.Quantity == "" {
		s.Quantity = snapshot.Bedrock.String()
	}
	if s.Units == "" {
		s.Units = "us"
	}
	if s.PairsWithinM == 0 {
		s.PairsWithinM = DefaultPairsM
	}
}

// ParseSettings reads the settings that a file holds.
func ParseSettings(text []byte) (*Settings, error) {
	s := &Settings{}
	if err := json.Unmarshal(text, s); err != nil {
		return nil, records.WrapError(records.Invalid, err, "the settings of the review cannot be read")
	}
	s.Defaults()
	return s, s.Check(nil)
}

// Check tells the first fault. A nil vocabulary leaves the material unlooked at.
func (s *Settings) Check(v *lithology.Vocabulary) error {
	if _, err := snapshot.ParseField(s.Quantity); err != nil {
		return err
	}
	if s.Units != "us" && s.Units != "si" {
		return records.Errorf(records.Invalid, "units %q are neither us nor si", clip(s.Units, 40))
	}
	switch s.Scale {
	case "", "linear", "log":
	default:
		return records.Errorf(records.Invalid, "the scale %q is neither linear nor log", clip(s.Scale, 40))
	}
	if !(s.PairsWithinM > 0) || s.PairsWithinM > mostPairsM {
		return records.Errorf(records.Invalid, "neighbours are wells within %g m of each other: give a distance above zero, at most %g m", s.PairsWithinM, mostPairsM)
	}
	if len(s.Picks) > mostText {
		return records.Errorf(records.Invalid, "%q is no name of a set of picks", clip(s.Picks, 40))
	}
	for name, value := range s.Parts {
		if len(name) > mostText || len(value) > mostText || !strings.Contains(name, ".") {
			return records.Errorf(records.Invalid, "%q is no setting of a part: write part.setting", clip(name, 40))
		}
	}
	if _, err := s.OnlyCondition(); err != nil {
		return err
	}
	_, err := s.Filter(v)
	return err
}

// OnlyCondition is what Only asks, in either system of units; nil where it asks
// nothing.
func (s *Settings) OnlyCondition() (records.Condition, error) {
	if s.Only == "" {
		return nil, nil
	}
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		return nil, err
	}
	return cql2.AskOf(s.Only, cql2.WithUS(cql2.FieldsOf(c)), cql2.CRS{})
}

// Field is the quantity.
func (s *Settings) Field() snapshot.Field {
	f, err := snapshot.ParseField(s.Quantity)
	if err != nil {
		return snapshot.Bedrock
	}
	return f
}

// Unit is the unit in which amounts of the quantity are round.
func (s *Settings) Unit() records.Unit { return s.UnitOf(s.Field()) }

// UnitOf is the unit in which amounts of a field are round.
func (s *Settings) UnitOf(f snapshot.Field) records.Unit {
	switch {
	case f == snapshot.Yield && s.Units == "si":
		return records.LitrePerMinute
	case f == snapshot.Yield:
		return records.GallonPerMinute
	case s.Units == "si":
		return records.Metre
	}
	return records.Foot
}

// Part reads a setting of one part.
func (s *Settings) Part(part, setting, otherwise string) string {
	if v, ok := s.Parts[part+"."+setting]; ok {
		return v
	}
	return otherwise
}

// Filter says which wells are taken, but for Only. A nil vocabulary takes any material.
func (s *Settings) Filter(v *lithology.Vocabulary) (*snapshot.Filter, error) {
	f := &snapshot.Filter{
		Depth: snapshot.Range{Min: s.DepthFromM, Max: s.DepthToM}, Yield: snapshot.Range{Min: s.YieldFromLps, Max: s.YieldToLps},
		Years: snapshot.Range{Min: s.DrilledFrom},
		Trust: records.Trust{Marked: s.MarkedToo, Picks: s.Picks},
	}
	if s.DrilledTo != nil {
		end := math.Floor(*s.DrilledTo) + 0.99999
		f.Years.Max = &end
	}
	if s.Use != "" {
		if f.Purpose = records.WordIndex(records.PurposeWords(), s.Use); f.Purpose == 0 {
			return nil, records.Errorf(records.Invalid, "%q is none of the uses of a well", clip(s.Use, 40))
		}
	}
	if s.Met != "" && v != nil {
		i, ok := v.Index(s.Met)
		if !ok {
			return nil, records.Errorf(records.Invalid, "%q is no material of the vocabulary", clip(s.Met, 40))
		}
		f.Materials = 1 << uint(i)
	}
	switch s.Plate {
	case "":
	case "yes":
		f.Plate = snapshot.Yes
	case "no":
		f.Plate = snapshot.No
	default:
		return nil, records.Errorf(records.Invalid, "plate %q is neither yes nor no", clip(s.Plate, 40))
	}
	var err error
	f.Area, err = s.Where.area()
	return f, err
}

func (w *Where) area() (snapshot.Area, error) {
	switch {
	case w == nil:
		return nil, nil
	case w.Box != nil:
		b := records.Bounds{West: w.Box[0], South: w.Box[1], East: w.Box[2], North: w.Box[3]}
		for _, p := range []position.LonLat{{Lon: b.West, Lat: b.South}, {Lon: b.East, Lat: b.North}} {
			if err := p.Valid(); err != nil {
				return nil, records.Errorf(records.Invalid, "the box reaches off the earth: %v", err)
			}
		}
		if b.South > b.North {
			return nil, records.Errorf(records.Invalid, "the box has its south above its north: give west, south, east, north")
		}
		return snapshot.BoxArea(b), nil
	case w.Centre != nil:
		at := position.LonLat{Lon: w.Centre[0], Lat: w.Centre[1]}
		if err := at.Valid(); err != nil {
			return nil, records.Errorf(records.Invalid, "the middle of the circle is off the earth: %v", err)
		}
		if !(w.RadiusM > 0) || w.RadiusM > mostRadiusM {
			return nil, records.Errorf(records.Invalid, "a radius of %g m is not above zero and at most %g km", w.RadiusM, mostRadiusM/1000)
		}
		return snapshot.CircleArea(at, w.RadiusM), nil
	case len(w.Outline) > 0:
		shape, err := ParseOutline(w.Outline)
		if err != nil {
			return nil, err
		}
		return snapshot.OutlineArea(shape)
	}
	return nil, nil
}

// Key is a text that two settings share exactly when a part answers both alike.
func (s *Settings) Key(part string) string {
	c := *s
	c.Parts = nil
	for name, v := range s.Parts {
		if p, _, _ := strings.Cut(name, "."); p == part {
			if c.Parts == nil {
				c.Parts = map[string]string{}
			}
			c.Parts[name] = v
		}
	}
	b, err := json.Marshal(&c)
	if err != nil { // an outline that is no JSON was refused before
		return fmt.Sprintf("%+v", c)
	}
	return part + " " + string(b)
}
