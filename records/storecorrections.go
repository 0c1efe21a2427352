package records

import "context"

// CorrectionView reads the corrections that were applied.
type CorrectionView interface {
	// Corrections lists them, the latest first.
	Corrections(ctx context.Context) ([]CorrectionDone, error)
	// CorrectedRecords lists what one changed, in the order of keys.
	CorrectedRecords(ctx context.Context, id int64) ([]CorrectedRecord, error)
}

// CorrectionTx writes them.
type CorrectionTx interface {
	// PutCorrection writes a new one (ID 0) with the records that it changed,
	// and sets ID, At and By; or that one was undone.
	PutCorrection(ctx context.Context, c *CorrectionDone, changed []CorrectedRecord) error
}
