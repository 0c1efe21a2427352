package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"testing"

	"tallybook/records"
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

// Pictured is a digest with its batch, as packed.
type Pictured = pictured

// NewPictured makes one.
func NewPictured(d records.Digest, batch int64) Pictured { return pictured{d, batch} }

// PackChunk packs digests.
func PackChunk(ds []Pictured) []byte { return packChunk(ds) }

// UnpackChunk unpacks them.
func UnpackChunk(chunk int64, b []byte) ([]Pictured, error) { return unpackChunk(chunk, b, nil) }

// PointLiteral is a point as a BLOB literal of SQL.
func PointLiteral(lon, lat float64) string { return fmt.Sprintf("x'%X'", appendPoint(nil, lon, lat)) }

// SQLPosition is the subquery that decodes a point.
func SQLPosition(blob string) string { return sqlPosition(blob) }

// Readers gives tests the readers' connection pool.
func (s *Store) Readers() *sql.DB { return s.readers }

// Path is the file's.
func (s *Store) Path() string { return s.path }

// PlaceBatchAround is PlaceBatch with something that happens after it has
// looked and before it writes.
func (s *Store) PlaceBatchAround(ctx context.Context, batch int64, between func()) error {
	return s.placeBatch(ctx, records.Actor{Name: "A. Writer"}, batch, between)
}

// ShapeLiteral is the BLOB literal of a shape of a layer.
func ShapeLiteral(shape records.LayerShape, vertices ...records.Vertex) string {
	b, err := appendShape(nil, shapeKinds[shape], vertices)
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf("x'%X'", b)
}

// FeaturePlan is how SQLite goes about a query for features.
func (s *Store) FeaturePlan(t testing.TB, q records.FeatureQuery) string {
	t.Helper()
	var plan strings.Builder
	err := s.View(t.Context(), func(sv records.StoreView) error {
		v := sv.(*view)
		query, args, release, err := v.featureQuery(t.Context(), q)
		if err != nil {
			return err
		}
		defer release()
		return each(t.Context(), v, "EXPLAIN QUERY PLAN "+query, args, func(rows *sql.Rows) error {
			var id, parent, unused int
			var detail string
			err := rows.Scan(&id, &parent, &unused, &detail)
			plan.WriteString(detail + "\n")
			return err
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	return plan.String()
}
