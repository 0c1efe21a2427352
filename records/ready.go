package records

import "context"

// ReadyWell is a new record that a store has made ready to be written, which
// takes longer than writing it does and needs no transaction. It is good for
// the store that made it.
type ReadyWell interface {
	// UID is the record's public name.
	UID() string
}

// BulkStore is a store that takes new records in by the thousand.
type BulkStore interface {
	// Ready makes a new record ready to be written. w.ID and w.Revision must
	// be 0; w.Plates is ignored; w is not kept. It may be called from several
	// goroutines at once, in a transaction or outside.
	Ready(w *Well) (ReadyWell, error)
	// PlaceBatch enters the wells of a batch that is staged into the spatial
	// index. It takes several transactions, all of them short.
	PlaceBatch(ctx context.Context, actor Actor, batch int64) error
}

// BulkTx is a transaction of a BulkStore.
type BulkTx interface {
	// AddWells writes new records of a batch that is staged, in the order
	// given, as PutWell would one by one, but for the spatial index:
	// PlaceBatch has to follow before the batch is published. Where a record
	// of the name is there already, also one that is not seen yet, nothing is
	// written; ids tells the keys of the new records and there those of the
	// ones that were, 0 in the other.
	AddWells(ctx context.Context, ready []ReadyWell) (ids, there []int64, err error)
}
