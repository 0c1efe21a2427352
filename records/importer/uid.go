package importer

import (
	"crypto/sha1"
	"encoding/binary"
	"fmt"

	"github.com/google/uuid"

	"tallybook/records"
)

// Namespace is the name space (RFC 9562, section 5.5) of the public names of
// records that came from elsewhere without one.
var Namespace = uuid.MustParse("6f1c2f0a-53a7-5d2e-9b7e-0c4b7a1de582")

// nameRow settles the well's public name: the one that the source gives where
// it is a UUID, else one derived from the source's name and the row's
// identifier and bytes, so that the same file gives the same names. Rows that
// are the same to the byte are told apart by names.settle.
func nameRow(row *Row, source string) {
	w := row.Well
	if w.UID != "" {
		if id, err := uuid.Parse(w.UID); err == nil && len(w.UID) == len(id.String()) {
			row.given = true
			w.UID = id.String()
			return
		}
		row.warn("uid", fmt.Sprintf("%q is not a UUID: the well gets another public name", clip(w.UID)), "kept as uid_given")
		keepGivenUID(w)
	}
	h := sha1.New() //nolint:gosec // RFC 9562 names SHA-1 for version 5
	var length [8]byte
	h.Write(Namespace[:])
	for _, part := range []string{source, w.Provenance.SourceID} {
		binary.BigEndian.PutUint64(length[:], uint64(len(part)))
		h.Write(length[:])
		h.Write([]byte(part))
	}
	h.Write(row.Raw)
	var sum [sha1.Size]byte
	w.UID = version5(h.Sum(sum[:0])).String()
}

func version5(sum []byte) uuid.UUID {
	var id uuid.UUID
	copy(id[:], sum)
	id[6] = id[6]&0x0f | 0x50
	id[8] = id[8]&0x3f | 0x80
	return id
}

func keepGivenUID(w *records.Well) {
	const name = "uid_given"
	for _, m := range w.Extra {
		if m.Name == name {
			return
		}
	}
	w.Extra = append(w.Extra, records.Member{Name: name, JSON: quote(w.UID)})
}

// names remembers which public names a source has used: about forty bytes a
// row, the one thing here that grows with the source.
type names struct{ first map[uuid.UUID]seenName }

type seenName struct{ row, times int64 }

// settle makes the row's public name its own within the source. It must be
// called for every row, in order.
func (n *names) settle(row *Row) {
	if row.Well == nil {
		return
	}
	id, err := uuid.Parse(row.Well.UID)
	if err != nil {
		return
	}
	before, seen := n.first[id]
	if !seen {
		before.row = row.Number
	}
	before.times++
	n.first[id] = before
	switch {
	case seen && row.given:
		row.refuse("uid", fmt.Sprintf("%s was the public name of row %d already", row.Well.UID, before.row), "two wells cannot share one: leave it out of the one that is new")
	case seen:
		row.warn("", fmt.Sprintf("is the same to the byte as row %d", before.row), "taken in as a well of its own; remove it if it was written twice")
		row.Well.UID = uuid.NewSHA1(Namespace, fmt.Appendf(nil, "%s again %d", id, before.times)).String()
	}
	for i, p := range row.Plates {
		if p.UID == "" {
			p.UID = uuid.NewSHA1(Namespace, fmt.Appendf(nil, "%s plate %d", row.Well.UID, i)).String()
		}
	}
}
