package records

import (
	"context"
	"time"
)

// OutsideRefusal is what another program wrote into a column of the layer of
// wells and could not be used: the record has kept what it had.
type OutsideRefusal struct {
	ID       int64
	WellID   int64
	Revision int64 // the state that it was written into
	At       time.Time
	Field    string // the column
	Written  string // as text; a geometry as its bytes in hexadecimal digits
	Why      string
	// SettledAt is when somebody put it aside, zero while it is open.
	SettledAt time.Time
	SettledBy string
}

// OutsideView reads what other programs wrote in vain.
type OutsideView interface {
	// OutsideRefusals lists those of a record, or of all where wellID is 0, that
	// are open, and those put aside where settled is set, the latest first.
	OutsideRefusals(ctx context.Context, wellID int64, settled bool) ([]OutsideRefusal, error)
}

// OutsideTx puts aside what other programs wrote in vain.
type OutsideTx interface {
	OutsideView
	// SettleOutside puts one aside, or opens it again. An Error with code
	// NotFound where there is none.
	SettleOutside(ctx context.Context, id int64, settled bool) error
}

// OutsideStore is a store that other programs may write to.
type OutsideStore interface {
	// TakeInOutside makes records and revisions of what other programs have
	// written, edit by edit, and tells of how many records.
	TakeInOutside(ctx context.Context) (int, error)
}
