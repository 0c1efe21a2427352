package sqlite

import (
	"context"
	"database/sql"
	"math"

	"tallybook/records"
)

var sightingKind = keptKind{word: "sighting", table: "sightings", docs: "sighting_docs", revisions: "sighting_revisions"}

const sightingSelect = "SELECT s.id, s.revision, d.doc FROM sightings s JOIN sighting_docs d ON d.id = s.id "

// eachSighting reads the sightings that a condition on s picks.
func (v *view) eachSighting(ctx context.Context, where string, args []any, fn func(*records.Sighting)) error {
	return each(ctx, v, sightingSelect+where, args, func(rows *sql.Rows) error {
		s := &records.Sighting{}
		var id, revision int64
		var doc []byte
		if err := rows.Scan(&id, &revision, &doc); err != nil {
			return err
		}
		v.tellUnread(sightingKind, id, s.ParseSighting(doc))
		s.ID, s.Revision = id, revision
		fn(s)
		return nil
	})
}

// Sighting implements records.ScoutingView.
func (v *view) Sighting(ctx context.Context, id int64) (*records.Sighting, error) {
	var found *records.Sighting
	err := v.eachSighting(ctx, "WHERE s.id = ?", []any{id}, func(s *records.Sighting) { found = s })
	if err == nil && found == nil {
		err = records.Errorf(records.NotFound, "there is no sighting %d", id)
	}
	return found, err
}

// Sightings implements records.ScoutingView.
func (v *view) Sightings(ctx context.Context, in *records.Bounds) ([]*records.Sighting, error) {
	var out []*records.Sighting
	err := v.eachSighting(ctx, "ORDER BY s.id", nil, func(s *records.Sighting) {
		if in == nil || in.Has(s.Lon, s.Lat) {
			out = append(out, s)
		}
	})
	return out, err
}

// SightingRevisions implements records.ScoutingView.
func (v *view) SightingRevisions(ctx context.Context, id int64) ([]records.Earlier[records.Sighting], error) {
	return earlier(ctx, v, sightingKind, id, func(s *records.Sighting, doc []byte, revision int64) []records.Fault {
		faults := s.ParseSighting(doc)
		s.ID, s.Revision = id, revision
		return faults
	})
}

// SightingDigests implements records.ScoutingView.
func (v *view) SightingDigests(ctx context.Context, commit int64) (changed []records.Digest, gone []int64, err error) {
	err = v.eachSighting(ctx, "WHERE s.changed_commit > ? ORDER BY s.id", []any{commit}, func(s *records.Sighting) {
		changed = append(changed, s.Digest())
	})
	if err != nil || commit == 0 {
		return changed, nil, err
	}
	err = each(ctx, v, "SELECT id FROM sightings_removed WHERE removed_commit > ? ORDER BY id", []any{commit}, func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		gone = append(gone, -id)
		return err
	})
	return changed, gone, err
}

// PutSighting implements records.ScoutingTx.
func (t *tx) PutSighting(ctx context.Context, s *records.Sighting, why string) error {
	if !s.Located || !onEarth(s.Lon, s.Lat) {
		return &records.Error{Code: records.Invalid, Field: "lon", Message: "a sighting needs a longitude and latitude on the earth"}
	}
	uid, revision, err := t.admit(ctx, sightingKind, s.ID, s.Revision, s.UID)
	if err != nil {
		return err
	}
	next := *s
	next.UID, next.Revision = uid, revision
	doc := next.AppendSighting(nil, records.WriteOptions{Private: true})
	if err := readable(doc, func(doc []byte) error {
		var back records.Sighting
		return records.FaultError(back.ParseSighting(doc))
	}); err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.openLayer(ctx, "sightings"); err != nil {
		return err
	}
	t.spot("sightings", s.Lon, s.Lat)
	values := append([]any{uid, revision, t.commit}, sightingValues(&next)...)
	if next.ID, err = t.putRow(ctx, sightingKind, next.ID, "uid, revision, changed_commit, "+sightingColumns, values, why); err != nil {
		return err
	}
	if _, err := t.write(ctx, "INSERT INTO sighting_docs(id, doc) VALUES (?, ?) ON CONFLICT(id) DO UPDATE SET doc = excluded.doc", next.ID, string(doc)); err != nil {
		return err
	}
	s.ID, s.UID, s.Revision = next.ID, next.UID, next.Revision
	return nil
}

// sightingColumns are those of the layer that follow from a sighting, and
// sightingValues what they hold.
const sightingColumns = "kind, seen_on, depth_m, depth_to_bedrock_m, depth_to_bedrock_qualifier, yield_lps, yield_qualifier, accuracy_m, note, geom"

func sightingValues(s *records.Sighting) []any {
	d := s.Digest()
	return []any{s.Kind, textOrNull(s.Date.String()), numberOrNull(s.Depth),
		valueOrNull(d.Bedrock), qualifierOrNull(d.Bedrock), valueOrNull(d.Yield), qualifierOrNull(d.Yield),
		numberOrNull(s.Accuracy), textOrNull(s.Note), appendPoint(nil, s.Lon, s.Lat)}
}

// RemoveSighting implements records.ScoutingTx.
func (t *tx) RemoveSighting(ctx context.Context, id, revision int64, why string) error {
	uid, err := t.current(ctx, sightingKind, id, revision)
	if err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.openLayer(ctx, "sightings"); err != nil {
		return err
	}
	if err := t.keepImage(ctx, sightingKind, id, why); err != nil {
		return err
	}
	if _, err := t.write(ctx, "DELETE FROM sighting_docs WHERE id = ?", id); err != nil {
		return err
	}
	if _, err := t.write(ctx, "DELETE FROM sightings WHERE id = ?", id); err != nil {
		return err
	}
	_, err = t.write(ctx, "INSERT INTO sightings_removed(id, uid, removed_commit) VALUES (?, ?, ?)", id, uid, t.commit)
	return err
}

// numberOrNull is the number of an amount, NULL for a bound and where there is
// none.
func numberOrNull[T ~float64](a records.Amount[T]) any {
	if v, ok := a.Number(); ok && !math.IsNaN(float64(v)) {
		return float64(v)
	}
	return nil
}

func valueOrNull(v records.DigestValue) any {
	if v.Qualifier == records.Missing {
		return nil
	}
	return v.Value
}

func qualifierOrNull(v records.DigestValue) any {
	if v.Qualifier == records.Missing {
		return nil
	}
	return v.Qualifier.String()
}
