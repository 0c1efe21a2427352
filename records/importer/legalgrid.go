package importer

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tallybook/geo/position"
	"tallybook/records"
)

// LegalGrid finds the parts of a land survey that the office has brought in as
// layers: areas whose properties name them. It locates a legal description at
// the middle of the smallest part that the layers have of it, and never where
// they have none.
type LegalGrid struct {
	parts map[string][]legalPart // by section, township and range, or by lot and concession
}

// legalPart is one area of a grid.
type legalPart struct {
	quarters []string // as in Legal
	place    string
	lon, lat float64
	accuracy float64 // half the diagonal of its box, in metres
}

// gridNames are the names of properties that name a part. Common practice, no
// source.
var gridNames = map[string]string{
	"township": "township", "twp": "township", "town": "township", "tnshp": "township",
	"range": "range", "rng": "range", "rge": "range",
	"section": "section", "sec": "section", "sect": "section", "section_no": "section",
	"quarter": "quarter", "quarters": "quarter", "qtr": "quarter", "qsec": "quarter", "aliquot": "quarter",
	"lot": "lot", "lot_no": "lot", "concession": "concession", "con": "concession", "conc": "concession",
	"township_name": "place", "twp_name": "place", "municipality": "place",
}

// NewLegalGrid reads the grids among the office's layers: those of kind parcel
// or other whose areas name the parts of a survey (township, range, section,
// quarter; lot, concession, township_name). nil where there is none.
func NewLegalGrid(layers []records.Layer) *LegalGrid {
	g := &LegalGrid{parts: make(map[string][]legalPart)}
	for i := range layers {
		l := &layers[i]
		if l.Kind != "parcel" && l.Kind != "other" {
			continue
		}
		var fc struct{ Features []gridArea }
		if json.Unmarshal(l.GeoJSON, &fc) != nil {
			continue // the layer says so where it is brought in
		}
		for i := range fc.Features {
			g.add(&fc.Features[i])
		}
	}
	if len(g.parts) == 0 {
		return nil
	}
	return g
}

// gridArea is a feature of a layer.
type gridArea struct {
	Properties map[string]any
	Geometry   struct {
		Type        string
		Coordinates json.RawMessage
	}
}

// shape is the area of the feature, nil where it is no area.
func (f *gridArea) shape() orb.Geometry {
	switch f.Geometry.Type {
	case "Polygon":
		var p orb.Polygon
		if json.Unmarshal(f.Geometry.Coordinates, &p) == nil && len(p) > 0 {
			return p
		}
	case "MultiPolygon":
		var m orb.MultiPolygon
		if json.Unmarshal(f.Geometry.Coordinates, &m) == nil && len(m) > 0 {
			return m
		}
	}
	return nil
}

// add takes in one area of a layer.
func (g *LegalGrid) add(f *gridArea) {
	shape := f.shape()
	if shape == nil {
		return
	}
	var l Legal
	var quarters string
	for name, value := range f.Properties {
		text := strings.TrimSpace(strings.ToLower(fmt.Sprint(value)))
		if v, ok := value.(float64); ok {
			text = shortDegrees(v)
		}
		if value == nil || text == "" {
			continue
		}
		switch gridNames[plainName(name)] {
		case "township":
			l.Township = gridPart(text, "t", "ns")
		case "range":
			l.Range = gridPart(text, "r", "ew")
		case "section":
			l.Section = strings.TrimLeft(text, "0 ")
		case "quarter":
			quarters = text
		case "lot":
			l.Lot = strings.TrimLeft(text, "0 ")
		case "concession":
			l.Concession = arabic(strings.TrimLeft(text, "0 "))
		case "place":
			l.Place = text
		}
	}
	part := legalPart{place: l.Place}
	if quarters != "" {
		var unclear bool
		if part.quarters, unclear = readQuarters(quarters); unclear || len(part.quarters) == 0 {
			return
		}
	}
	key, ok := l.key()
	if !ok {
		return
	}
	middle, area := planar.CentroidArea(shape)
	box := shape.Bound()
	if !(area > 0) || math.Abs(middle[0]) > 180 || math.Abs(middle[1]) > 90 {
		return
	}
	diagonal, _ := position.Distance(position.LonLat{Lon: box.Min[0], Lat: box.Min[1]}, position.LonLat{Lon: box.Max[0], Lat: box.Max[1]})
	part.lon, part.lat, part.accuracy = middle[0], middle[1], diagonal/2
	g.parts[key] = append(g.parts[key], part)
}

// gridPart makes T12N, 12 N and 012N one.
func gridPart(text, head, directions string) string {
	text = strings.TrimLeft(strings.TrimPrefix(text, head), ".0 ")
	n := len(text) - len(strings.TrimLeft(text, "0123456789"))
	rest := strings.TrimSpace(text[n:])
	if n == 0 || rest == "" || !strings.Contains(directions, rest[:1]) {
		return ""
	}
	return text[:n] + strings.ToUpper(rest[:1])
}

// key is that of the section or lot that a description names.
func (l *Legal) key() (string, bool) {
	switch {
	case l.sections():
		return "s " + l.Section + " " + l.Township + " " + l.Range, true
	case l.lots():
		return "l " + l.Lot + " " + l.Concession, true
	}
	return "", false
}

// find gives the smallest part of the grid that holds what is described. why
// says what keeps it from being found.
func (g *LegalGrid) find(l *Legal) (part legalPart, why string) {
	key, _ := l.key()
	var best []legalPart
	for _, p := range g.parts[key] {
		if p.place != "" && l.Place != "" && p.place != l.Place {
			continue
		}
		n := len(l.Quarters) - len(p.quarters)
		if n < 0 || !slices.Equal(l.Quarters[n:], p.quarters) {
			continue
		}
		if len(best) > 0 && len(p.quarters) < len(best[0].quarters) {
			continue
		}
		if len(best) > 0 && len(p.quarters) > len(best[0].quarters) {
			best = best[:0]
		}
		best = append(best, p)
	}
	switch {
	case len(best) == 0:
		return part, "the office's layers have no part of that name"
	case len(best) > 1:
		return part, "the office's layers have more than one part of that name"
	}
	return best[0], ""
}

// LegalProperty is the name under which a legal land description is kept with
// its record, in Well.Extra.
const LegalProperty = "legal_description"

// readLegal keeps a row's legal land description, verbatim.
func (p *plan) readLegal(row *Row, cells []string) {
	if p.legalColumn < 0 || strings.TrimSpace(cells[p.legalColumn]) == "" {
		return
	}
	row.Well.Extra = append(row.Well.Extra, records.Member{Name: LegalProperty, JSON: quote(cells[p.legalColumn])})
}

// NeedsLegal says whether a row has no coordinates and a legal land
// description by which it might be located.
func NeedsLegal(row *Row) bool { return legalText(row) != "" }

// legalText is the land description of a row that has no coordinates and was
// not looked for yet.
func legalText(row *Row) string {
	if row.Well == nil || row.Well.Place.Located || slices.ContainsFunc(row.Faults, func(f records.Fault) bool { return f.Field == legalWarning }) {
		return ""
	}
	return keptText(row.Well, LegalProperty)
}

// legalWarning is the field of what is told of a land description.
const legalWarning = "legal"

// Locate gives a row without coordinates the place that its legal description
// names in the grid: the middle of the smallest part, with half its diagonal
// as accuracy. Where the grid has no such part, or there is no grid (g may be
// nil), the row stays as it is and is told so.
func (g *LegalGrid) Locate(row *Row) {
	text := legalText(row)
	if text == "" {
		return
	}
	l, why := ReadLegal(text)
	var part legalPart
	switch {
	case why != "":
		why = fmt.Sprintf("the land description %q %s", clip(text), why)
	case g == nil:
		why = fmt.Sprintf("the land description is kept and was not located (%s): no layer of the office names the parts of a survey", l.words())
	default:
		if part, why = g.find(&l); why != "" {
			why = fmt.Sprintf("the land description is kept and was not located (%s): %s", l.words(), why)
		}
	}
	if why != "" {
		row.warn(legalWarning, why, "bring in a layer of kind parcel whose areas name township, range, section and quarter, or lot and concession; or give coordinates")
		return
	}
	place := &row.Well.Place
	place.Located, place.Lon, place.Lat = true, part.lon, part.lat
	place.Given, place.Method = text, "grid"
	place.Accuracy = records.Roughly(records.Length(part.accuracy))
	row.Faults = slices.DeleteFunc(row.Faults, func(f records.Fault) bool {
		return f.Severity == records.Warning && strings.HasPrefix(f.Field, "coordinates_given") && strings.Contains(f.Message, "no position")
	})
	row.warn(legalWarning, fmt.Sprintf("was located at the middle of %s, good to about %.0f m", describe(&l, &part), part.accuracy), "good enough for that; give coordinates where they are known")
}

// describe names the part at which a description was located.
func describe(l *Legal, p *legalPart) string {
	shown := *l
	shown.Quarters = p.quarters
	return shown.words()
}
