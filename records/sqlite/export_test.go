package sqlite

import (
	"context"
	"database/sql"
)

// KeyOf is the expression that is searched by.
func KeyOf(column string) string { return keyOf(column) }

// Writer gives tests the writer's connection pool.
func (s *Store) Writer() *sql.DB { return s.writer }

// SpatialTriggers are the triggers as the program makes them.
func SpatialTriggers() []string { return spatialTriggers() }

// DropPictures empties the cache of digests.
func (s *Store) DropPictures(ctx context.Context) error {
	_, err := s.writer.ExecContext(ctx, "DELETE FROM picture")
	return err
}
