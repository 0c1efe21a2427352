package importer

import (
	"errors"
	"io"
	"strconv"
	"strings"
)

// mergedTo is a merge over several rows that begins in a cell: its last row.
type mergedTo int64

// carried is the text of an open merge, and its last row.
type carried struct {
	text string
	last int64
}

// merges finds the cells that are merged over several rows: they stand behind
// the rows in a sheet, so its text is passed over once, unread.
func (b *workbook) merges(s bookSheet) (map[string]mergedTo, error) {
	r, err := b.openPart(s.part, maxBookBytes)
	if err != nil {
		if errors.Is(err, errPartMissing) {
			return nil, b.broken(s.part, err)
		}
		return nil, err
	}
	defer r.Close()
	out := make(map[string]mergedTo)
	var tail []byte
	piece := make([]byte, 256<<10)
	for {
		n, err := r.Read(piece)
		tail = append(tail, piece[:n]...)
		tail = takeMerges(tail, out)
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, b.broken(s.part, err)
		}
	}
}

// maxMerges bounds how many merges are kept.
const maxMerges = 100000

// takeMerges reads the merges that are whole in text and gives what is left.
func takeMerges(text []byte, out map[string]mergedTo) []byte {
	const sign = "mergeCell "
	s := string(text)
	for {
		k := strings.Index(s, sign)
		if k < 0 {
			return []byte(s[max(0, len(s)-len(sign)):])
		}
		end := strings.IndexByte(s[k:], '>')
		if end < 0 {
			if len(s)-k > 1000 {
				return nil
			}
			return []byte(s[k:])
		}
		element := s[k : k+end]
		s = s[k+end:]
		_, ref, _ := strings.Cut(element, "ref=")
		ref = strings.TrimLeft(ref, `"' `)
		if q := strings.IndexAny(ref, `"'/ `); q >= 0 {
			ref = ref[:q]
		}
		from, to, ok := strings.Cut(ref, ":")
		a, okA := rowOf(from)
		z, okZ := rowOf(to)
		if ok && okA && okZ && z > a && len(out) < maxMerges {
			out[from] = mergedTo(z)
		}
	}
}

// rowOf reads the row number of a cell's name.
func rowOf(ref string) (int64, bool) {
	n, err := strconv.ParseInt(strings.TrimLeft(ref, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"), 10, 64)
	return n, err == nil && n > 0
}

// fillMerged writes what a cell merged over several rows says into each of
// them.
func (b *bookRows) fillMerged() {
	if len(b.merged) == 0 {
		return
	}
	for column, c := range b.carried {
		if b.line > c.last {
			delete(b.carried, column)
		} else if column >= len(b.cells) || b.cells[column] == "" {
			b.put(column, c.text)
		}
	}
	for column, text := range b.cells {
		if last, ok := b.merged[columnName(column)+strconv.FormatInt(b.line, 10)]; ok && text != "" {
			b.carried[column] = carried{text, int64(last)}
		}
	}
}
