package records

import "context"

// FilterView reads whole records by a condition.
type FilterView interface {
	// EachWellWhere streams whole records, in the order of their keys, whose
	// features in the collection of wells are such that the condition is true,
	// those in the box if one is given, with memory that does not grow but for
	// their keys. Errors are those of EachFeature.
	EachWellWhere(ctx context.Context, in *Bounds, where Condition, fn func(*Well) error) error
}
