package surface

// path is a chain of vertices; a closed one does not repeat its first vertex.
type path struct {
	keys   []vertexKey
	closed bool
}

// stitch joins segments end to start into the longest paths. No two segments
// may start at one vertex, nor end at one. Open paths come first, each kind in
// the order of its first segment.
func stitch(segments []segment) []path {
	from := make(map[vertexKey]int32, len(segments))
	for i, s := range segments {
		from[s.from] = int32(i)
	}
	const none = -1
	next := make([]int32, len(segments))
	begins := make([]bool, len(segments))
	for i := range begins {
		begins[i] = true
	}
	for i, s := range segments {
		next[i] = none
		if n, ok := from[s.to]; ok {
			next[i] = n
			begins[n] = false
		}
	}
	var paths []path
	done := make([]bool, len(segments))
	follow := func(i int32, closed bool) {
		p := path{closed: closed}
		for ; i != none && !done[i]; i = next[i] {
			done[i] = true
			p.keys = append(p.keys, segments[i].from)
			if next[i] == none {
				p.keys = append(p.keys, segments[i].to)
			}
		}
		paths = append(paths, p)
	}
	for i, first := range begins {
		if first {
			follow(int32(i), false)
		}
	}
	for i := range segments {
		if !done[i] {
			follow(int32(i), true)
		}
	}
	return paths
}
