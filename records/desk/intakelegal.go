package desk

import (
	"context"
	"fmt"
	"sync"

	"tallybook/records"
	"tallybook/records/importer"
)

// legalFinder locates rows by their legal land descriptions, in the layers
// that the office has brought in. They are read when the first row needs them,
// and once. Several goroutines may use it at once.
type legalFinder struct {
	store records.Store
	once  sync.Once
	grid  *importer.LegalGrid
	err   error
}

func (f *legalFinder) locate(ctx context.Context, r *importer.Row) error {
	if !importer.NeedsLegal(r) {
		return nil
	}
	f.once.Do(func() {
		f.err = f.store.View(ctx, func(v records.StoreView) error {
			layers, err := v.Layers(ctx)
			if err != nil {
				return fmt.Errorf("reading the layers that land descriptions are located by: %w", err)
			}
			f.grid = importer.NewLegalGrid(layers)
			return nil
		})
	})
	if f.err != nil {
		return f.err
	}
	f.grid.Locate(r)
	return nil
}
