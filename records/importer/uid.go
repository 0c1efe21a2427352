package importer

import (
	"crypto/sha1"
	"encoding/binary"
	"fmt"
	"math"

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

// names remembers which public names a source has used, the one thing here
// that grows with the source: about thirty bytes a row, sixty where the source
// gives the names itself. Derived names are known by half their bits, which
// differ among a million rows but for a chance of one in nine million, and then
// a row is only warned of that need not be.
type names struct {
	derived map[uint64]seenName
	given   map[uuid.UUID]seenName
}

type seenName struct{ row, times uint32 }

func newNames() names {
	return names{derived: make(map[uint64]seenName), given: make(map[uuid.UUID]seenName)}
}

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
	if row.given {
		if before, seen := remember(n.given, id, row.Number); seen {
			row.refuse("uid", fmt.Sprintf("%s was the public name of row %d already", id, before.row), "two wells cannot share one: leave it out of the one that is new")
		}
	} else if before, seen := remember(n.derived, binary.BigEndian.Uint64(id[8:]), row.Number); seen {
		row.warn("", fmt.Sprintf("is the same to the byte as row %d", before.row), "taken in as a well of its own; remove it if it was written twice")
		row.Well.UID = uuid.NewSHA1(Namespace, fmt.Appendf(nil, "%s again %d", id, before.times)).String()
	}
	for i, p := range row.Plates {
		if p.UID == "" {
			p.UID = uuid.NewSHA1(Namespace, fmt.Appendf(nil, "%s plate %d", row.Well.UID, i)).String()
		}
	}
}

// remember counts a key and gives what was known of it before.
func remember[K comparable](m map[K]seenName, key K, row int64) (before seenName, seen bool) {
	before, seen = m[key]
	now := before
	if !seen {
		now.row = uint32(min(row, math.MaxUint32))
	}
	now.times++
	m[key] = now
	return before, seen
}
