package plates

import (
	"slices"
	"strings"
	"unicode"
)

// Levels of names.
const (
	nameEqual = iota
	nameNear
	nameDiffers
)

// names holds each name once, by a number from 1; 0 is none.
type names struct {
	ids   map[string]int32
	text  []string // as first written
	parts [][]string
	count []int32 // how many records bear it
}

func newNames() *names {
	return &names{ids: map[string]int32{}, text: []string{""}, parts: [][]string{nil}, count: []int32{0}}
}

// id gives a name its number. Names that differ only in case, marks and words
// that every firm bears have the same.
func (n *names) id(name string) int32 {
	if name == "" {
		return 0
	}
	if id, ok := n.ids[name]; ok {
		return id
	}
	parts := nameParts(name)
	if len(parts) == 0 {
		n.ids[strings.Clone(name)] = 0
		return 0
	}
	key := "\x00" + strings.Join(parts, " ")
	id, ok := n.ids[key]
	if !ok {
		id = int32(len(n.text))
		n.text = append(n.text, strings.Clone(name))
		n.parts = append(n.parts, parts)
		n.count = append(n.count, 0)
		n.ids[key] = id
	}
	n.ids[strings.Clone(name)] = id
	return id
}

// everyFirm are words that tell no firm from another.
var everyFirm = map[string]bool{
	"ltd": true, "limited": true, "inc": true, "llc": true, "co": true, "corp": true, "company": true,
	"and": true, "the": true, "sons": true, "son": true, "bros": true, "brothers": true,
	"drilling": true, "drillers": true, "driller": true, "well": true, "wells": true, "water": true, "pump": true, "pumps": true,
	"mr": true, "mrs": true, "ms": true, "dr": true, "invented": true,
}

// nameParts are the words of a name, folded and in order; at most eight.
func nameParts(name string) []string {
	var parts []string
	all := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	for _, p := range all {
		if !everyFirm[p] {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		parts = all // 'The Well Company' is a name too
	}
	parts = parts[:min(len(parts), 8)]
	out := make([]string, len(parts))
	for i, p := range parts {
		out[i] = strings.Clone(p)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// compareNames tells how two names' parts agree.
func compareNames(a, b []string) int {
	if len(a) == 0 || len(b) == 0 {
		return missing
	}
	if slices.Equal(a, b) {
		return nameEqual
	}
	shared, initials := 0, 0
	for _, p := range a {
		if slices.Contains(b, p) {
			shared++
			continue
		}
		if slices.ContainsFunc(b, func(q string) bool {
			return len(p) == 1 && strings.HasPrefix(q, p) || len(q) == 1 && strings.HasPrefix(p, q) || misspelt(p, q)
		}) {
			initials++
		}
	}
	switch least := min(len(a), len(b)); {
	case shared == least && longest(a, b) >= 3:
		return nameNear // a part of the name was left out
	case shared+initials >= least && shared+initials > 0 && longest(a, b) >= 3:
		return nameNear
	}
	return nameDiffers
}

// longest is the length of the longest word that both have, or of the longest
// that is misspelt.
func longest(a, b []string) int {
	n := 0
	for _, p := range a {
		for _, q := range b {
			if p == q || misspelt(p, q) {
				n = max(n, len(p))
			}
		}
	}
	return n
}

// misspelt says whether two words of five letters or more differ by one letter
// another, one left out, or two neighbours exchanged.
func misspelt(p, q string) bool {
	if min(len(p), len(q)) < 5 {
		return false
	}
	if len(p) > len(q) {
		p, q = q, p
	}
	i := 0
	for i < len(p) && p[i] == q[i] {
		i++
	}
	switch len(q) - len(p) {
	case 0:
		if i == len(p) {
			return true
		}
		return p[i+1:] == q[i+1:] || i+1 < len(p) && p[i] == q[i+1] && p[i+1] == q[i] && p[i+2:] == q[i+2:]
	case 1:
		return p[i:] == q[i+1:]
	}
	return false
}

// nameJudge remembers how pairs of names agree: there are few drillers and
// many wells.
type nameJudge struct {
	n    *names
	seen map[uint64]uint8
}

func newNameJudge(n *names) *nameJudge { return &nameJudge{n, map[uint64]uint8{}} }

func (j *nameJudge) compare(a, b int32) int {
	if a == 0 || b == 0 {
		return missing
	}
	if a == b {
		return nameEqual
	}
	if a > b {
		a, b = b, a
	}
	key := uint64(uint32(a))<<32 | uint64(uint32(b))
	if l, ok := j.seen[key]; ok {
		return int(l)
	}
	l := compareNames(j.n.parts[a], j.n.parts[b])
	if len(j.seen) < 1<<20 {
		j.seen[key] = uint8(l)
	}
	return l
}
