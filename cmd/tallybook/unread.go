package main

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tallybook/records/importer"
)

// unread counts, over an import, the properties and columns that the model has
// no place for: a misspelt column would else be missed by nobody.
type unread struct {
	rows map[string]int64
	more bool
}

// mostUnread is how many names are counted, and mostNamed how many are told.
const (
	mostUnread = 1000
	mostNamed  = 12
)

func (u *unread) look(r *importer.Row) {
	for _, m := range r.Well.Extra {
		if m.Name == importer.FeatureMember || m.Name == importer.LogProperty || m.Name == importer.LegalProperty {
			continue
		}
		if _, ok := u.rows[m.Name]; !ok && len(u.rows) == mostUnread {
			u.more = true
			continue
		}
		if u.rows == nil {
			u.rows = map[string]int64{}
		}
		u.rows[m.Name]++
	}
}

// words names them, the most frequent first.
func (u *unread) words() string {
	names := slices.SortedFunc(maps.Keys(u.rows), func(a, b string) int {
		return cmp.Or(cmp.Compare(u.rows[b], u.rows[a]), strings.Compare(a, b))
	})
	var parts []string
	for _, name := range names[:min(len(names), mostNamed)] {
		shown := []rune(name)
		parts = append(parts, fmt.Sprintf("%q (%s)", string(shown[:min(len(shown), 40)]), counted(u.rows[name], "row")))
	}
	if len(names) > mostNamed || u.more {
		parts = append(parts, "and more")
	}
	return strings.Join(parts, ", ")
}
