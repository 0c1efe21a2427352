package importer

import (
	"slices"
	"strings"
)

// TableHead is the header of one table of a source, as it stood.
type TableHead struct {
	Sheet     string `json:"sheet,omitempty"` // "" for the only table
	Header    string `json:"header"`
	Delimiter string `json:"delimiter"` // that parts the cells of its rows
}

// Heads are the headers of the source's tables, that of the wells first; none
// where it holds features.
func (s *Source) Heads() []TableHead {
	if s.header == nil {
		return nil
	}
	if len(s.headers) == 0 {
		h := TableHead{Header: string(s.header), Delimiter: ","}
		if t, ok := s.rows.(*table); ok {
			h.Delimiter = string(rune(t.delimiter))
		}
		return []TableHead{h}
	}
	main := s.firstSheet()
	var out []TableHead
	for sheet, header := range s.headers {
		h := TableHead{Sheet: sheet, Header: string(header), Delimiter: ","}
		if s.format == CSV {
			h.Delimiter = string(rune(tellDelimiter(header)))
		}
		out = append(out, h)
	}
	slices.SortFunc(out, func(a, b TableHead) int {
		switch {
		case a.Sheet == main:
			return -1
		case b.Sheet == main:
			return 1
		}
		return strings.Compare(a.Sheet, b.Sheet)
	})
	return out
}

// Cells cuts a row of the table, as it stood, into the texts of its cells, and
// names the columns. ok is false where it cannot be cut.
func (h *TableHead) Cells(raw string) (names, cells []string, ok bool) {
	delimiter := byte(',')
	if h.Delimiter != "" {
		delimiter = h.Delimiter[0]
	}
	header := h.Header[strings.LastIndexByte(strings.TrimRight(h.Header, "\r\n"), '\n')+1:]
	if strings.Count(h.Header, `"`)%2 == 0 && strings.Contains(h.Header, "\n") && strings.Count(header, `"`)%2 != 0 {
		header = h.Header // a name with a line break in it
	}
	names, problem := splitCells([]byte(strings.TrimRight(header, "\r\n")), delimiter)
	if problem != "" {
		return nil, nil, false
	}
	cells, problem = splitCells([]byte(raw), delimiter)
	return names, cells, problem == ""
}
