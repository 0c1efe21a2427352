package scout

// GainsOf puts the water of a neighbour down its hole, as Replay does.
func GainsOf(n *Neighbour) []Gain {
	bottom, _ := n.Bottom()
	gains, _ := gainsFor(n.Strikes, n.Yield, n.openTop(), bottom)
	return gains
}
