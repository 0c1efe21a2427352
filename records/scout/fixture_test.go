package scout_test

import (
	"math"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/scout"
)

const ft = 0.3048

const gpm = 3.785411784 / 60

// feet is a depth in metres.
func feet(v float64) records.Depth { return records.Depth(records.Foot.ToBase(v)) }

// gallons is a flow in L/s.
func gallons(perMinute float64) records.Flow { return records.Flow(perMinute * gpm) }

// hole is a neighbour with bedrock, depth and strikes of depth and gain.
func hole(id int64, bedrockFt, depthFt float64, strikes ...[2]float64) scout.Neighbour {
	n := scout.Neighbour{
		WellID: id, Key: uint64(id), Vote: scout.Vote{Weight: 1},
		Bedrock: records.Of(feet(bedrockFt)), Depth: records.Of(feet(depthFt)),
		Seat: records.Of(feet(bedrockFt + 10)), Overrun: math.NaN(),
	}
	sum := 0.0
	for _, s := range strikes {
		n.Strikes = append(n.Strikes, scout.Strike{From: feet(s[0]), To: feet(s[0]), Flow: records.Of(gallons(s[1]))})
		sum += s[1]
	}
	n.Yield = records.Of(gallons(sum))
	return n
}

// plan is a household's: 3 gal/min, at most 600 ft, the usual six-inch hole.
func plan() scout.Plan {
	return scout.Plan{
		Need: gallons(3), MaxDepth: feet(600), CallDepth: feet(400),
		Socket: 10 * ft, MinCasing: 20 * ft, StickUp: 2 * ft,
		CasedBore: 9 * 25.4, CasingOD: 6.625 * 25.4, CasingSize: 6 * 25.4, CasingKind: "steel", OpenBore: 6 * 25.4,
		Shoe: true, GroutExtra: 0.25,
	}
}

func wellOf(change func(*records.Well)) scout.Neighbour {
	w := recordstest.Plain()
	change(w)
	picks := records.DerivePicks(w, recordstest.ByClass{})
	return scout.NewNeighbour(w, picks, recordstest.ByClass{}, scout.Vote{Weight: 1})
}
