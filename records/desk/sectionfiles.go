package desk

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"

	"tallybook/records"
)

// sourceWords are the sources of an elevation as files name them.
var groundWords = [...]string{GroundUnknown: "", GroundOfRecord: "record", GroundOfGrid: "grid", GroundBetween: "between_wells"}

// String names the source as files do.
func (g GroundSource) String() string {
	if int(g) < len(groundWords) {
		return groundWords[g]
	}
	return ""
}

var outWords = [...]string{OutByFilter: "filter", OutByReader: "left_out", OutTooMany: "too_many", OutOfReach: "outside"}

// String names the reason as files do.
func (o OutReason) String() string {
	if int(o) < len(outWords) {
		return outWords[o]
	}
	return ""
}

// BedrockElevation is the elevation of a depth under a well's ground: a depth
// 'deeper than' gives an elevation 'lower than'. Missing where either is not
// known; about where the ground's elevation is not the record's own.
func (w *SectionWell) BedrockElevation() records.Amount[records.Height] {
	d := w.Picks.Bedrock.Depth
	if w.GroundIs == GroundUnknown || !d.Known() {
		return records.Amount[records.Height]{}
	}
	at := func(m records.Depth) records.Height { return records.Height(w.GroundM - float64(m)) }
	switch d.Qualifier {
	case records.GreaterThan:
		return records.Under(at(d.Value))
	case records.LessThan:
		return records.MoreThan(at(d.Value))
	case records.Between:
		return records.Within(at(d.High), at(d.Value))
	}
	if d.Qualifier == records.About || w.GroundIs != GroundOfRecord {
		return records.Roughly(at(d.Value))
	}
	return records.Of(at(d.Value))
}

// Ground is the elevation of the ground at a well: about where it is not the
// record's own, missing where it cannot be told.
func (w *SectionWell) Ground() records.Amount[records.Height] {
	switch w.GroundIs {
	case GroundUnknown:
		return records.Amount[records.Height]{}
	case GroundOfRecord:
		return w.Well.Place.Elevation
	}
	return records.Roughly(records.Height(w.GroundM))
}

// WriteWellsCSV writes the wells of a section, in SI units, one a row along
// the line. off_line_m is positive to the right of the line as it runs from
// its first place.
func (s *Section) WriteWellsCSV(w io.Writer) error {
	rows := [][]string{{"well_uid", "well_number", "along_m", "off_line_m", "off_line_azimuth_deg", "beyond_end_m", "longitude", "latitude",
		"ground_elevation_m", "ground_elevation_from", "vertical_datum", "depth_to_bedrock_m", "depth_to_bedrock_high_m", "depth_to_bedrock_is", "bedrock_elevation_m", "bedrock_elevation_high_m", "bedrock_elevation_is",
		"total_depth_m", "total_depth_high_m", "total_depth_is", "yield_lps", "yield_high_lps", "yield_is"}}
	for i := range s.Wells {
		x := &s.Wells[i]
		datum := ""
		if x.GroundIs == GroundOfRecord {
			datum = x.Well.Place.VertDatum
		}
		row := []string{x.Well.UID, safeText(x.Well.Number), decimals(x.AlongM, 2), decimals(x.OffM, 2), decimals(x.OffDeg, 1), decimals(x.BeyondM, 2),
			decimals(x.Well.Place.Lon, 7), decimals(x.Well.Place.Lat, 7), decimals(x.GroundM, 2), x.GroundIs.String(), safeText(datum)}
		row = append(row, amountCells(x.Picks.Bedrock.Depth)...)
		row = append(row, amountCells(x.BedrockElevation())...)
		row = append(row, amountCells(x.Well.TotalDepth)...)
		rows = append(rows, append(row, amountCells(x.Well.Yield)...))
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// WriteLineCSV writes what is told of the ground along the line, in SI units,
// one place a row; what is not told is empty.
func (s *Section) WriteLineCSV(w io.Writer) error {
	rows := [][]string{{"along_m", "longitude", "latitude", "ground_elevation_m", "ground_elevation_from", "depth_to_bedrock_low_m", "depth_to_bedrock_middle_m", "depth_to_bedrock_high_m",
		"bedrock_elevation_middle_m", "no_more_than_area"}}
	for i := range s.Stations {
		t := &s.Stations[i]
		flat := ""
		if t.Told() {
			flat = strconv.FormatBool(t.Flat)
		}
		rows = append(rows, []string{decimals(t.AlongM, 2), decimals(t.At.Lon, 7), decimals(t.At.Lat, 7), decimals(t.GroundM, 2), t.GroundIs.String(),
			decimals(t.LowM, 2), decimals(t.MiddleM, 2), decimals(t.HighM, 2), decimals(t.GroundM-t.MiddleM, 2), flat})
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// lineFeature is the line as GeoJSON (RFC 7946).
type lineFeature struct {
	Type       string         `json:"type"`
	Geometry   lineGeometry   `json:"geometry"`
	Properties map[string]any `json:"properties"`
}

type lineGeometry struct {
	Type        string       `json:"type"`
	Coordinates [][2]float64 `json:"coordinates"`
}

func (s *Section) feature() lineFeature {
	f := lineFeature{Type: "Feature", Geometry: lineGeometry{Type: "LineString"}, Properties: map[string]any{
		"length_m": round(s.Line.LengthM(), 2), "corridor_width_m": round(s.WidthM, 3), "wells_in_corridor": s.Standing, "wells_drawn": len(s.Wells),
	}}
	for _, at := range s.places {
		f.Geometry.Coordinates = append(f.Geometry.Coordinates, [2]float64{at.Lon, at.Lat})
	}
	return f
}

// WriteLine writes the line as a GeoJSON feature.
func (s *Section) WriteLine(w io.Writer) error { return json.NewEncoder(w).Encode(s.feature()) }

type sectionWellJSON struct {
	UID        string   `json:"uid"`
	Number     string   `json:"number"`
	AlongM     float64  `json:"along_m"`
	OffM       float64  `json:"off_line_m"`
	GroundM    *float64 `json:"ground_elevation_m"`
	GroundFrom string   `json:"ground_elevation_from,omitempty"`
	BedrockM   *float64 `json:"depth_to_bedrock_m"`
	BedrockIs  string   `json:"depth_to_bedrock_is"`
	DepthM     *float64 `json:"total_depth_m"`
	DepthIs    string   `json:"total_depth_is"`
	YieldLps   *float64 `json:"yield_lps"`
	YieldIs    string   `json:"yield_is"`
}

type stationJSON struct {
	AlongM  float64  `json:"along_m"`
	Lon     float64  `json:"lon"`
	Lat     float64  `json:"lat"`
	GroundM *float64 `json:"ground_elevation_m"`
	LowM    *float64 `json:"depth_to_bedrock_low_m"`
	MiddleM *float64 `json:"depth_to_bedrock_middle_m"`
	HighM   *float64 `json:"depth_to_bedrock_high_m"`
	Flat    bool     `json:"no_more_than_area"`
}

// WriteJSON writes the whole section, in SI units: the line as a feature, the
// wells along it, and what is told of the ground at each station. What is not
// told is null.
func (s *Section) WriteJSON(w io.Writer) error {
	out := struct {
		Line     lineFeature       `json:"line"`
		Wells    []sectionWellJSON `json:"wells"`
		LeftOut  []map[string]any  `json:"left_out"`
		Stations []stationJSON     `json:"stations"`
	}{Line: s.feature(), Wells: []sectionWellJSON{}, LeftOut: []map[string]any{}}
	for i := range s.Wells {
		x := &s.Wells[i]
		j := sectionWellJSON{UID: x.Well.UID, Number: x.Well.Number, AlongM: round(x.AlongM, 2), OffM: round(x.OffM, 2), GroundM: orNull(x.GroundM), GroundFrom: x.GroundIs.String(),
			BedrockIs: x.Picks.Bedrock.Depth.Qualifier.String(), DepthIs: x.Well.TotalDepth.Qualifier.String(), YieldIs: x.Well.Yield.Qualifier.String()}
		j.BedrockM, j.DepthM, j.YieldLps = amountOrNull(x.Picks.Bedrock.Depth), amountOrNull(x.Well.TotalDepth), amountOrNull(x.Well.Yield)
		out.Wells = append(out.Wells, j)
	}
	for _, o := range s.Out {
		out.LeftOut = append(out.LeftOut, map[string]any{"id": o.ID, "along_m": round(o.AlongM, 2), "off_line_m": round(o.OffM, 2), "because": o.Why.String()})
	}
	for i := range s.Stations {
		t := &s.Stations[i]
		out.Stations = append(out.Stations, stationJSON{round(t.AlongM, 2), round(t.At.Lon, 7), round(t.At.Lat, 7), orNull(t.GroundM), orNull(t.LowM), orNull(t.MiddleM), orNull(t.HighM), t.Flat})
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(out)
}

// round takes a number to so many decimals.
func round(v float64, n int) float64 {
	p := math.Pow(10, float64(n))
	return math.Round(v*p) / p
}

func decimals(v float64, n int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(round(v, n)+0, 'f', -1, 64)
}

func orNull(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = round(v, 3)
	return &v
}

func amountOrNull[T ~float64](a records.Amount[T]) *float64 {
	if !a.Known() {
		return nil
	}
	return orNull(float64(a.Value))
}

// amountCells are a value, the upper end where it lies between two, and how it
// is to be read.
func amountCells[T ~float64](a records.Amount[T]) []string {
	if !a.Known() {
		return []string{"", "", a.Qualifier.String()}
	}
	high := ""
	if a.Qualifier == records.Between {
		high = decimals(float64(a.High), 4)
	}
	return []string{decimals(float64(a.Value), 4), high, a.Qualifier.String()}
}

// safeText keeps a spreadsheet from taking what a record says for a formula.
func safeText(t string) string {
	if t != "" && strings.ContainsRune("=+-@\t\r", rune(t[0])) {
		return "'" + t
	}
	return t
}
