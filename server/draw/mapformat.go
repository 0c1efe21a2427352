package draw

import "strconv"

// trim writes a number with as few digits as it needs, two decimals at most.
func trim(v float64) string {
	b, _ := appendNumber(nil, v)
	return string(b)
}

// degrees writes a number for scripts and addresses: seven decimals place a
// position to a centimetre.
func degrees(v float64) string { return strconv.FormatFloat(v, 'f', 7, 64) }
