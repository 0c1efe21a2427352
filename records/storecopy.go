package records

import "context"

// CopyOptions say what a copy of a store holds.
type CopyOptions struct {
	// Wash takes what is private out of a record, in place. nil makes a whole
	// copy: everything as it is, scans, earlier states, drafts and all. With it
	// the copy is built afresh from the records, so that nothing else can be in
	// it: see CopyStore.
	Wash func(*Well)
	// Progress is told how much is done; nil where nobody asks.
	Progress func(done, total int64)
}

// Copied says what a copy holds.
type Copied struct {
	Wells, Plates, Sightings, Layers int64
	Scans                            int64 // contents that are attached, wherever they lie
	ScansBytes                       int64
}

// CopyStore is a store that can be copied while it is in use.
type CopyStore interface {
	// CopyTo writes a consistent, compact copy into a file that is new or empty:
	// one state of the store, whatever is written meanwhile. Contents that lie
	// beside the store's file are copied beside the copy's.
	//
	// A washed copy holds the records, plates with their links, sightings
	// without who told of them, reference layers, and the counts of the intakes
	// that the records came in with. Records keep their keys and public names
	// and begin at revision 1.
	CopyTo(ctx context.Context, path string, o CopyOptions) (Copied, error)
	// OpenCopy opens what CopyTo wrote.
	OpenCopy(ctx context.Context, path string) (Store, error)
	// NewLayers begins a file of layers for a GIS, in a file that is new or
	// empty; it has nothing to do with what the store holds.
	NewLayers(path string) (LayerSink, error)
}
