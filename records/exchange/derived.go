package exchange

import (
	"strconv"

	"tallybook/records"
)

// appendDerived writes what is derived from the record, apart from what
// somebody observed.
func appendDerived(dst []byte, w *records.Well, read records.Reader) []byte {
	picks := records.DerivePicks(w, read)
	dst = append(appendName(dst, derivedProperty), '{')
	dst = appendPick(dst, "first_rock", picks.FirstRock)
	dst = appendPick(dst, "sound_bedrock", picks.Bedrock)
	if picks.Disagree {
		dst = append(appendName(dst, "sources_disagree"), "true"...)
	}
	dst = appendText(appendName(dst, "vocabulary"), read.Version())
	return append(dst, '}')
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
