package records

// judgement judges own picks and marks: a pick that says too little is kept and
// warned about, since a file may bring one from elsewhere.
func (v *validator) judgement(w *Well) {
	total, known := w.TotalDepth.Number()
	for i := range w.OwnPicks {
		p := &w.OwnPicks[i]
		v.row("own_picks", i)
		switch {
		case !p.Depth.Known():
			v.warn("depth_m", "has no depth", "a pick without a depth counts for nothing")
		case p.Depth.Value < 0:
			v.refuse("depth_m", metres(p.Depth.Value)+" is above ground", "give the depth down from ground")
		}
		if p.Depth.Qualifier != GreaterThan {
			v.within("depth_m", &p.Depth, total, known)
		}
		if p.Set == "" {
			v.warn("set", "has no name", "a pick in a set without a name counts for nothing")
		}
		if p.Of == PickBedrock && p.Set != "" && w.OwnBedrock(p.Set) != nil && w.OwnBedrock(p.Set) != p && p.Depth.Known() {
			v.warn("of", "there is a later pick of bedrock in the set '"+clip(p.Set, 40)+"'", "the later one counts; take one out")
		}
	}
	for i := range w.Unreliable {
		v.row("unreliable", i)
		if w.Unreliable[i].Reason == "" {
			v.warn("reason", "says no reason", "a mark without a reason convinces nobody")
		}
	}
	v.top()
}
