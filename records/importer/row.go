package importer

import (
	"bytes"

	"tallybook/records"
)

// Row is one feature or one line of a table, as it stood in the source and as
// it was understood. Rows of one source share buffers: whoever keeps Raw for
// long should keep a copy.
type Row struct {
	Number int64  // from 1, in the order of the source
	Line   int64  // the line it begins on, from 1
	Offset int64  // the byte it begins at, from 0
	Size   int64  // its length in bytes; more than len(Raw) where it was cut
	Raw    []byte // the row exactly as it was, without the separator after it

	// Well is what was read, nil where nothing could be. A refused row may
	// have one too: what could be read of it.
	Well   *records.Well
	Plates []*records.Plate // plates that the row names as this well's
	Faults []records.Fault

	// Sheet is the sheet or file that the row stands in, where a source has
	// several; Line is its line there.
	Sheet string
	// Beside are the rows of other sheets that went into the well, and rows
	// of its own sheet after the first.
	Beside []PartRow

	// Ready is what a store made of Well, for whoever takes the rows in; nil
	// until then.
	Ready records.ReadyWell

	depth     int    // how deep its brackets nest, 0 until counted
	given     bool   // the source itself gave the well's uid
	scanFault string // why the row cannot be read at all, found while cutting
	scanMend  string

	cells []string // of a table whose rows are cut in order
	again []byte   // what is written where the row is to be sent again, nil: Raw
	parts *wellParts
}

// PartRow is a row that says something of a well that stands in another row.
type PartRow struct {
	Sheet string
	Line  int64
	Raw   []byte // as it stood, with its dittos written out
}

// Refused says whether the row is kept out.
func (r *Row) Refused() bool { return r.Well == nil || records.Refuses(r.Faults) }

// Warned says whether the row is taken in with something to look at.
func (r *Row) Warned() bool { return len(r.Faults) > 0 && !r.Refused() }

// Cut says whether the row was too long to be held, so that Raw is only its
// beginning.
func (r *Row) Cut() bool { return r.Size > int64(len(r.Raw)) }

func (r *Row) refuse(field, message, mend string) {
	r.Faults = append(r.Faults, records.Fault{Severity: records.Refusal, Field: field, Message: message, Mend: mend})
}

func (r *Row) warn(field, message, mend string) {
	r.Faults = append(r.Faults, records.Fault{Severity: records.Warning, Field: field, Message: message, Mend: mend})
}

// arena hands out memory for rows in large pieces, so that a row costs no
// allocation of its own.
type arena struct{ free []byte }

const arenaPiece = 256 << 10

// keep copies b to memory that stays.
func (a *arena) keep(b []byte) []byte {
	if len(b) > arenaPiece/4 {
		return bytes.Clone(b)
	}
	if len(b) > len(a.free) {
		a.free = make([]byte, arenaPiece)
	}
	out := a.free[:len(b):len(b)]
	a.free = a.free[len(b):]
	copy(out, b)
	return out
}
