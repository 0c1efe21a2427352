package server

import (
	"fmt"
	"math"

	"tallybook/records/desk"
)

// levelKey says in the map's key how the elevation of bedrock comes about.
func levelKey(u units, l *desk.BedrockLevel) string {
	t := &l.Trial
	switch {
	case l.NoGrid:
		return "made as elevation: no grid is in use to take a depth off"
	case t.Tested == 0:
		return "made as depth off the ground: too few wells to try more"
	case l.ByLevel:
		return fmt.Sprintf("made as elevation: off by %s, as depth by %s", u.Metres(t.Level.CRPS), u.Metres(t.Depth.CRPS))
	}
	return fmt.Sprintf("made as depth off the ground: off by %s, as elevation by %s", u.Metres(t.Depth.CRPS), u.Metres(t.Level.CRPS))
}

// levelSentence says the same in full.
func levelSentence(u units, l *desk.BedrockLevel) string {
	t := &l.Trial
	if l.NoGrid || t.Tested == 0 {
		return " " + capital(levelKey(u, l)) + "."
	}
	way, other := "as depth and taken off the ground", "as elevation"
	if l.ByLevel {
		way, other = other, way
	}
	d := t.Difference
	low, high := math.Abs(d.Low), math.Abs(d.High)
	sure := fmt.Sprintf("%s to %s in nine of ten draws", u.Metres(min(low, high)), u.Metres(max(low, high)))
	if !d.Tells() {
		sure = "no more than luck"
	}
	return fmt.Sprintf(" It is made %s: on %s, hidden from it, that came %s nearer than made %s (CRPS %s and %s; %s).",
		way, count(t.Tested, "well", "wells"), u.Metres(math.Abs(d.Mean)), other, u.Metres(min(t.Level.CRPS, t.Depth.CRPS)), u.Metres(max(t.Level.CRPS, t.Depth.CRPS)), sure)
}
