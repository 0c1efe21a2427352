package exchange

import (
	"math"
	"strconv"

	"tallybook/records"
)

// appendDerived writes what is derived from the record and its place, apart from
// what somebody observed.
func appendDerived(dst []byte, w *records.Well, o Options) []byte {
	ground := derivedGround(w, o)
	if o.Derived == nil && ground == nil {
		return dst
	}
	dst = append(appendName(dst, derivedProperty), '{')
	if o.Derived != nil {
		dst = appendPicks(dst, w, o.Derived)
	}
	if ground != nil {
		if o.Derived != nil {
			dst = append(dst, ',')
		}
		dst = append(dst, ground[1:len(ground)-1]...)
	}
	return append(dst, '}')
}

// The columns of a derived elevation, in a flat table; in a feature they stand in
// the property "derived".
const (
	derivedGroundM     = "ground_elevation_m"
	derivedGroundFrom  = "ground_elevation_from"
	derivedGroundDatum = "ground_elevation_datum"
)

func derivedColumns() []string {
	return []string{derivedProperty + "." + derivedGroundM, derivedProperty + "." + derivedGroundFrom, derivedProperty + "." + derivedGroundDatum}
}

// derivedGround is the derived elevation as a JSON object; nil where there is
// none. It is written to a hundredth of a metre: no grid knows more.
func derivedGround(w *records.Well, o Options) []byte {
	if o.Ground == nil {
		return nil
	}
	g, ok := o.Ground(w)
	if !ok || !finite(g.ElevationM) {
		return nil
	}
	dst := appendMetres(appendName([]byte{'{'}, derivedGroundM), math.Round(g.ElevationM*100)/100)
	dst = appendText(appendName(dst, derivedGroundFrom), g.From)
	if g.Datum != "" {
		dst = appendText(appendName(dst, derivedGroundDatum), g.Datum)
	}
	return append(dst, '}')
}

func appendPicks(dst []byte, w *records.Well, read records.Reader) []byte {
	picks := records.DerivePicks(w, read)
	dst = appendPick(dst, "first_rock", picks.FirstRock)
	dst = appendPick(dst, "sound_bedrock", picks.Bedrock)
	if picks.Disagree {
		dst = append(appendName(dst, "sources_disagree"), "true"...)
	}
	return appendText(appendName(dst, "vocabulary"), read.Version())
}

func appendPick(dst []byte, name string, p records.Pick) []byte {
	d := p.Depth
	if !d.Known() || !finite(float64(d.Value)) {
		return dst
	}
	dst = appendMetres(appendName(dst, name+"_m"), float64(d.Value))
	if d.Qualifier == records.Between && finite(float64(d.High)) {
		dst = appendMetres(appendName(dst, name+"_high_m"), float64(d.High))
	}
	if d.Qualifier != records.Exact {
		dst = appendText(appendName(dst, name+"_qualifier"), d.Qualifier.String())
	}
	if p.Why != "" {
		dst = appendText(appendName(dst, name+"_why"), p.Why)
	}
	return dst
}

func appendMetres(dst []byte, v float64) []byte { return strconv.AppendFloat(dst, v, 'f', -1, 64) }
