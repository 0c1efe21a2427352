package records

import "context"

// Feature is one thing of a FeatureCollection, flat: what a GIS shows as a row.
// It is only lent: its Values are used again for the next one.
type Feature struct {
	Key FeatureKey
	ID  string // its public name, the same in every copy of the records

	Located  bool    // whether Lon and Lat hold a position
	Lon, Lat float64 // degrees, WGS 84

	// Values are those of the collection's fields, in their order: nil where
	// there is none, else a string, float64, int64 or bool.
	Values []any
	// Doc is the document behind a forecast, from which its figures are read.
	Doc []byte
}

// FeatureKey is the place of a feature in its collection's order: the key of a
// record, and the part of it. The zero key comes before every feature.
type FeatureKey struct{ Record, Part int64 }

// FeatureQuery asks for the features of a collection.
type FeatureQuery struct {
	Collection string // a name of FeatureCollections
	Where      Condition
	After      FeatureKey // those behind it alone; zero: from the beginning
	Limit      int        // at most so many; 0: all
	// Backwards gives them the other way round: those ahead of After alone, the
	// nearest first; from the end where After is zero.
	Backwards bool
}

// FeatureExtent is where and when the features of a collection lie.
type FeatureExtent struct {
	Located  bool
	Box      Bounds
	From, To string // the earliest and latest date or time; "" where there is none
}

// FeatureView reads records as flat features.
type FeatureView interface {
	// EachFeature streams features in the order of their keys, with memory that
	// does not grow. An Error with code NotFound where there is no such
	// collection, Invalid where the condition names no field of it.
	EachFeature(ctx context.Context, q FeatureQuery, fn func(*Feature) error) error
	// Feature finds one by its public name; what it gives is the caller's own.
	Feature(ctx context.Context, collection, id string) (*Feature, error)
	// CountFeatures counts those of which a condition is true. counted is false
	// where that would take looking at very many: the count is then not known.
	CountFeatures(ctx context.Context, collection string, where Condition) (n int64, counted bool, err error)
	// FeatureExtent may be a little wider than the features.
	FeatureExtent(ctx context.Context, collection string) (FeatureExtent, error)
}
