package snapshot

import (
	"maps"
	"slices"

	"tallybook/records"
)

// doubtAbout is the mark that speaks against each field; a position that is
// marked speaks against all of them.
func doubtAbout(f Field) records.DigestFlags {
	switch f {
	case Bedrock:
		return records.StrataUnreliable | records.PositionUnreliable
	case Yield:
		return records.YieldUnreliable | records.PositionUnreliable
	}
	return records.PositionUnreliable
}

// Unreliable tells what of the well's log is marked unreliable.
func (r Row) Unreliable() records.DigestFlags { return r.c.flags[r.i] & records.AnyUnreliable }

// OwnBedrock is the pick of bedrock of a set; Missing where it has none.
func (r Row) OwnBedrock(set string) records.DigestValue {
	if r.c.flags[r.i]&records.HasOwnBedrock != 0 && set != "" {
		for _, p := range r.c.own[r.i] {
			if p.Set == set {
				return p.Depth
			}
		}
	}
	return records.DigestValue{}
}

// Value is what a well says of a field as far as the filter trusts it: Missing
// where that is marked unreliable, and bedrock as picked in the filter's set. A
// pick counts although the driller's strata are marked. A nil Filter is the
// zero one. All that maps, scores or estimates a field asks this and not
// Row.Value.
func (f *Filter) Value(r Row, field Field) records.DigestValue {
	flags := r.c.flags[r.i]
	const some = records.AnyUnreliable | records.HasOwnBedrock
	if flags&some == 0 {
		return r.Value(field)
	}
	doubt := flags & doubtAbout(field)
	if f != nil {
		if f.Marked {
			doubt = 0
		}
		if own := r.OwnBedrock(f.Picks); field == Bedrock && own.Qualifier != records.Missing && doubt&records.PositionUnreliable == 0 {
			return own
		}
	}
	if doubt != 0 {
		return records.DigestValue{}
	}
	return r.Value(field)
}

// Digest is all that the picture knows of a well, as far as the filter trusts
// it: see Value. Strikes, first rock and materials go with the strata.
func (f *Filter) Digest(r Row) records.Digest {
	d := r.Digest()
	if d.Flags&(records.AnyUnreliable|records.HasOwnBedrock) == 0 {
		return d
	}
	d.Bedrock, d.Yield, d.TotalDepth = f.Value(r, Bedrock), f.Value(r, Yield), f.Value(r, TotalDepth)
	if d.Flags&records.StrataUnreliable != 0 && (f == nil || !f.Marked) {
		d.FirstRockM, d.Materials = records.NaN32(), 0
	}
	return d
}

// leavesOut says whether a well would say something of a field and may not,
// since it is marked unreliable.
func (f *Filter) leavesOut(r Row, field Field) bool {
	return r.Unreliable() != 0 && f.Value(r, field).Qualifier == records.Missing && r.Value(field).Qualifier != records.Missing
}

// LeftOut counts the located wells that pass a filter and say something of any
// of some fields, but are left out of it since they are marked unreliable. It
// costs nothing where no well is marked.
func (p *Picture) LeftOut(f *Filter, fields ...Field) int {
	n := 0
	p.EachMarked(func(r Row) bool {
		if _, _, located := r.Position(); !located || !f.Takes(r) {
			return true
		}
		for _, field := range fields {
			if field == BedrockElevation { // goes with the depth
				field = Bedrock
			}
			if f.leavesOut(r, field) {
				n++
				break
			}
		}
		return true
	})
	return n
}

// Placed says whether a well passes a filter that its position may be gone by:
// one that is marked unreliable stands at no known distance from anything.
func (f *Filter) Placed(r Row) bool {
	return f.Takes(r) && (f != nil && f.Marked || r.Unreliable()&records.PositionUnreliable == 0)
}

// Marked counts the wells of which something is marked unreliable.
func (p *Picture) Marked() int {
	n := 0
	p.EachMarked(func(Row) bool { n++; return true })
	return n
}

// EachMarked shows every well of which something is marked unreliable, until fn
// returns false. It looks at no other well.
func (p *Picture) EachMarked(fn func(Row) bool) {
	for _, i := range p.base.marked {
		if !p.hidden.has(i) && !fn(Row{p.base.columns, i}) {
			return
		}
	}
	for _, i := range p.changed.marked {
		if !fn(Row{p.changed, i}) {
			return
		}
	}
}

// PickSets counts the wells that have a pick of bedrock in each set.
func (p *Picture) PickSets() map[string]int {
	sets := map[string]int{}
	for i, own := range p.base.own {
		if !p.hidden.has(i) {
			countSets(sets, own)
		}
	}
	for _, own := range p.changed.own {
		countSets(sets, own)
	}
	return sets
}

func countSets(sets map[string]int, own []records.DigestPick) {
	for _, p := range own {
		sets[p.Set]++
	}
}

// PickSetNames are the names of the sets of own picks, in order of the
// alphabet.
func (p *Picture) PickSetNames() []string { return slices.Sorted(maps.Keys(p.PickSets())) }
