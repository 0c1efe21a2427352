package scout

// GainsOf puts the water of a neighbour down its hole, as Replay does.
func GainsOf(n *Neighbour) []Gain {
	bottom, _ := n.Bottom()
	gains, _ := gainsFor(n.Strikes, n.Yield, n.openTop(), bottom)
	return gains
}

// Watched is a spell, for tests.
type Watched struct {
	Enter, Leave, Weight float64
	Event                bool
}

// SpellsOf are the spells that GoOn goes by where every strike has its depth.
func SpellsOf(neighbours []Neighbour, bit Bit) []Watched {
	var w watch
	for i := range neighbours {
		n := &neighbours[i]
		end, _ := n.Bottom()
		gains, _ := gainsFor(n.Strikes, n.Yield, min(n.openTop(), end), end)
		enter := max(bit.Depth, n.Seat.Value)
		w.hole(i, n.Weight, enter, end, bit, 0, placed(gains, func(g *Gain) struck { return struck{g.From, g.Low} }))
	}
	var out []Watched
	for _, s := range w.spells {
		out = append(out, Watched{float64(s.enter), float64(s.leave), s.weight, s.event})
	}
	return out
}
