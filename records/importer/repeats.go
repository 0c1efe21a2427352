package importer

import (
	"fmt"
	"strings"
)

// repeats resolves marks of repetition, which say what the row above says.
type repeats struct{ above []string }

// resolve writes out the dittos of a row.
func (r *repeats) resolve(p *plan, s *sheetRow, delimiter byte) {
	if !p.ditto {
		return
	}
	if s.cells == nil || blank(s.cells) {
		r.above = nil
		return
	}
	changed := false
	for i := range s.cells {
		c := &p.columns[i]
		if c.rule == nil || !c.rule.Ditto || !isDitto(s.cells[i]) {
			continue
		}
		if r.above == nil {
			s.fault, s.mend = fmt.Sprintf("column %q repeats the row above (%s), and there is none that can be read", c.name, clip(s.cells[i])), "write out what it stands for"
			s.cells, s.loose = nil, s.cells
			return
		}
		s.cells[i], changed = r.above[i], true
	}
	if changed {
		s.again = appendCSV(nil, s.cells, delimiter)
	}
	r.above = append([]string(nil), s.cells...)
}

// isDitto says whether a text is a mark of repetition. Common practice, no
// source.
func isDitto(text string) bool {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case `"`, `''`, `""`, `" "`, `' '`, `,,`, "”", "〃", "״", "″", `-"-`, `--"--`, "do", "do.", "ditto", "dto", "dto.", "same", "same as above", "as above":
		return true
	}
	return false
}
