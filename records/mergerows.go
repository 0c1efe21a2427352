package records

import "strconv"

// mostRowsCompared is the largest product of two lists' lengths that is
// compared row by row: 2,000 rows each. Longer ones that differ all over are
// one change.
const mostRowsCompared = 4e6

// rows merges a list that both sides changed.
func (m *merger) rows(path string, b, o, t, d *slot) {
	merged, clashes, ok := m.alongside(path, b.rows, o.rows, t.rows, d.hidden)
	if ok {
		d.rows.assign(merged)
		m.clashes = append(m.clashes, clashes...)
		return
	}
	side := m.clash(Clash{Field: path, Base: rowsWords(b.rows), Ours: rowsWords(o.rows), Theirs: rowsWords(t.rows), Private: d.hidden, Both: o.rows.len() > 0 && t.rows.len() > 0})
	switch side {
	case Ours:
		d.rows.assign(everyRow(o.rows))
	case Both: // theirs, and behind them those of ours that are not among them
		all, have := everyRow(t.rows), map[string]bool{}
		for _, k := range rowKeys(t.rows) {
			have[k] = true
		}
		for i, k := range rowKeys(o.rows) {
			if !have[k] {
				all = append(all, o.rows.at(i))
			}
		}
		d.rows.assign(all)
	}
}

// hunk is a run of rows of the base that one side replaced by others.
type hunk struct{ from, to, otherFrom, otherTo int }

func (h hunk) growth() int { return (h.otherTo - h.otherFrom) - (h.to - h.from) }

// alongside puts the changes of both sides into one list; ok is false where
// they cannot be told apart.
func (m *merger) alongside(path string, b, o, t rowsRef, hidden bool) (out []visitable, clashes []Clash, ok bool) {
	bk, ok1, tk := rowKeys(b), rowKeys(o), rowKeys(t)
	ours, theirs := hunksOf(bk, ok1), hunksOf(bk, tk)
	inner := merger{choose: m.choose}
	at, i, k := 0, 0, 0 // where in the base, and which hunks come next
	var oShift, tShift int
	for i < len(ours) || k < len(theirs) {
		from, to, ni, nk, sound := nextRegion(ours[i:], theirs[k:])
		if !sound {
			return nil, nil, false
		}
		for ; at < from; at++ {
			out = append(out, b.at(at))
		}
		oRows := regionOf(o, ours[i:i+ni], from, to, &oShift)
		tRows := regionOf(t, theirs[k:k+nk], from, to, &tShift)
		i, k, at = i+ni, k+nk, to
		switch {
		case nk == 0:
			out = append(out, oRows...)
		case ni == 0 || sameRows(oRows, tRows):
			out = append(out, tRows...)
		case len(oRows) == to-from && len(tRows) == to-from && steady(ours[i-ni:i]) && steady(theirs[k-nk:k]):
			for x := range oRows {
				row := b.blank()
				inner.cells(path+"["+strconv.Itoa(len(out))+"].", b.at(from+x), oRows[x], tRows[x], row, hidden)
				out = append(out, row)
			}
		default:
			return nil, nil, false
		}
	}
	for ; at < b.len(); at++ {
		out = append(out, b.at(at))
	}
	return out, inner.clashes, true
}

// cells merges one row that both changed into an empty one.
func (m *merger) cells(path string, b, o, t, d visitable, hidden bool) {
	bs, os, ts, ds := slotsOf(b, hidden), slotsOf(o, hidden), slotsOf(t, hidden), slotsOf(d, hidden)
	for i := range ds {
		ds[i].copy(&ts[i])
	}
	m.slots(path, bs, os, ts, ds)
	if k, ok := d.(keeper); ok {
		*k.kept() = m.members(path, *b.(keeper).kept(), *o.(keeper).kept(), *t.(keeper).kept(), hidden)
	}
}

func slotsOf(v visitable, hidden bool) []slot {
	s := slotter{hidden: hidden}
	v.visit(&s)
	return s.out
}

// nextRegion is the next run of the base that either side changed, with how
// many hunks of each lie in it. Where both put rows in at one place, or one
// did where the other's run ends, their order cannot be told: it is not sound.
func nextRegion(ours, theirs []hunk) (from, to, ni, nk int, sound bool) {
	before := func(a, b hunk) bool { // or put in just before what b changes
		return a.from < b.from || a.from == b.from && a.to == a.from && b.to > b.from
	}
	switch {
	case len(theirs) == 0 || len(ours) > 0 && before(ours[0], theirs[0]):
		from, to, ni = ours[0].from, ours[0].to, 1
	case len(ours) == 0 || before(theirs[0], ours[0]):
		from, to, nk = theirs[0].from, theirs[0].to, 1
	default:
		from, to, ni, nk = ours[0].from, max(ours[0].to, theirs[0].to), 1, 1
	}
	grow := func(list []hunk, n *int) bool {
		if *n < len(list) && list[*n].from < to {
			to = max(to, list[*n].to)
			*n++
			return true
		}
		return false
	}
	for grow(ours, &ni) || grow(theirs, &nk) {
	}
	// A hunk of the other side that begins where this region ends.
	touches := func(done []hunk, next []hunk) bool {
		return len(done) > 0 && len(next) > 0 && next[0].from == to && done[len(done)-1].to == to && done[len(done)-1].growth() != 0 && next[0].growth() != 0
	}
	sound = !touches(ours[:ni], theirs[nk:]) && !touches(theirs[:nk], ours[ni:])
	return from, to, ni, nk, sound
}

// regionOf gives a side's rows for a run of the base; shift is by how much its
// rows stand behind those of the base so far.
func regionOf(r rowsRef, inside []hunk, from, to int, shift *int) []visitable {
	start := from + *shift
	for _, h := range inside {
		*shift += h.growth()
	}
	end := to + *shift
	out := make([]visitable, 0, end-start)
	for i := start; i < end; i++ {
		out = append(out, r.at(i))
	}
	return out
}

func steady(list []hunk) bool {
	for _, h := range list {
		if h.growth() != 0 {
			return false
		}
	}
	return true
}

func rowKeys(r rowsRef) []string {
	out := make([]string, r.len())
	for i := range out {
		out[i] = rowKey(r.at(i))
	}
	return out
}

func rowKey(v visitable) string { return written(func(e *encoder) { e.part(v) }) }

func sameRows(a, b []visitable) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if rowKey(a[i]) != rowKey(b[i]) {
			return false
		}
	}
	return true
}

// hunksOf tells where a list differs from its base, by a longest common
// subsequence of what lies between their common ends.
func hunksOf(base, other []string) []hunk {
	head := 0
	for head < len(base) && head < len(other) && base[head] == other[head] {
		head++
	}
	tail := 0
	for tail < len(base)-head && tail < len(other)-head && base[len(base)-1-tail] == other[len(other)-1-tail] {
		tail++
	}
	b, o := base[head:len(base)-tail], other[head:len(other)-tail]
	if len(b) == 0 && len(o) == 0 {
		return nil
	}
	if float64(len(b))*float64(len(o)) > mostRowsCompared {
		return []hunk{{head, len(base) - tail, head, len(other) - tail}}
	}
	// length[i][k]: of the longest common subsequence of b[i:] and o[k:].
	width := len(o) + 1
	length := make([]int32, (len(b)+1)*width)
	for i := len(b) - 1; i >= 0; i-- {
		for k := len(o) - 1; k >= 0; k-- {
			if b[i] == o[k] {
				length[i*width+k] = length[(i+1)*width+k+1] + 1
			} else {
				length[i*width+k] = max(length[(i+1)*width+k], length[i*width+k+1])
			}
		}
	}
	var out []hunk
	i, k := 0, 0
	for i < len(b) || k < len(o) {
		if i < len(b) && k < len(o) && b[i] == o[k] {
			i, k = i+1, k+1
			continue
		}
		h := hunk{head + i, 0, head + k, 0}
		for (i < len(b) || k < len(o)) && !(i < len(b) && k < len(o) && b[i] == o[k]) {
			if k >= len(o) || i < len(b) && length[(i+1)*width+k] >= length[i*width+k+1] {
				i++
			} else {
				k++
			}
		}
		h.to, h.otherTo = head+i, head+k
		out = append(out, h)
	}
	return out
}
