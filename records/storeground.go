package records

import "context"

// GroundView reads the grids of ground elevations.
type GroundView interface {
	// GroundGrids gives them in the order of their keys, those that are being
	// loaded or were taken out as well.
	GroundGrids(ctx context.Context) ([]*GroundGrid, error)
	// GroundGrid is one of them; an Error with code NotFound where there is none.
	GroundGrid(ctx context.Context, id int64) (*GroundGrid, error)
	// GroundRevisions are the earlier states of a grid, the latest first.
	GroundRevisions(ctx context.Context, id int64) ([]Earlier[GroundGrid], error)
	// GroundTile gives the packed heights of a tile; nil for one that has none.
	GroundTile(ctx context.Context, grid int64, row, col int) ([]byte, error)
}

// GroundTx writes them.
type GroundTx interface {
	GroundView
	// PutGroundGrid writes a grid as PutWell does a well: ID 0 makes a new one,
	// else Revision must be the one that is stored.
	PutGroundGrid(ctx context.Context, g *GroundGrid, why string) error
	// AddGroundTiles adds tiles to a grid that is being loaded.
	AddGroundTiles(ctx context.Context, grid int64, tiles []GroundTile) error
	// DropGroundTiles deletes up to most tiles of a grid that is not in use, for
	// good, and tells how many are left.
	DropGroundTiles(ctx context.Context, grid int64, most int) (left int64, err error)
	// DropGroundGrid takes the entry of a grid out that has no tiles and is not
	// in use, keeping its last image.
	DropGroundGrid(ctx context.Context, id, revision int64, why string) error
}
