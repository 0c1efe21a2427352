package sqlite

import (
	"context"
	"database/sql"

	"tallybook/records"
)

// plateColumns are those that scanPlate reads, of plates p. What is stamped
// and was seen is in doc; the decision stands in columns.
const plateColumns = "p.id, p.revision, p.doc, ifnull(p.well_id, 0), ifnull(p.linked_by, ''), ifnull(p.linked_at, '')"

// scanPlate reads a plate and, into more, the columns behind it.
func (v *view) scanPlate(rows *sql.Rows, more ...any) (*records.Plate, error) {
	p := &records.Plate{}
	var doc []byte
	var linkedAt string
	var well int64
	var by string
	id, revision := int64(0), int64(0)
	if err := rows.Scan(append([]any{&id, &revision, &doc, &well, &by, &linkedAt}, more...)...); err != nil {
		return nil, err
	}
	if faults := p.ParsePlate(doc); records.Refuses(faults) {
		v.store.o.Log.Warn("a plate cannot be read in full", "plate", id, "error", records.FaultError(faults))
	}
	p.ID, p.Revision, p.WellID, p.LinkedBy = id, revision, well, by
	var err error
	p.LinkedAt, err = parseTime(linkedAt)
	return p, err
}

// Plate implements records.StoreView.
func (v *view) Plate(ctx context.Context, id int64) (*records.Plate, error) {
	var p *records.Plate
	err := each(ctx, v, "SELECT "+plateColumns+" FROM plates p WHERE p.id = ?", []any{id}, func(rows *sql.Rows) (err error) {
		p, err = v.scanPlate(rows)
		return err
	})
	if err == nil && p == nil {
		err = records.Errorf(records.NotFound, "there is no plate %d", id)
	}
	return p, err
}

// EachPlate implements records.StoreView, in the order of the keys.
func (v *view) EachPlate(ctx context.Context, fn func(*records.Plate) error) error {
	for last := int64(0); ; {
		var page []*records.Plate
		err := each(ctx, v, "SELECT "+plateColumns+" FROM plates p WHERE p.id > ? ORDER BY p.id LIMIT ?", []any{last, pageSize}, func(rows *sql.Rows) error {
			p, err := v.scanPlate(rows)
			page = append(page, p)
			return err
		})
		if err != nil {
			return err
		}
		for _, p := range page {
			if err := fn(p); err != nil {
				return err
			}
			last = p.ID
		}
		if len(page) < pageSize {
			return nil
		}
	}
}

// platesOf gives the plates linked to the wells from one key to another.
func (v *view) platesOf(ctx context.Context, first, last int64) (map[int64][]records.Plate, error) {
	var out map[int64][]records.Plate
	err := each(ctx, v, "SELECT "+plateColumns+" FROM plates p WHERE p.well_id BETWEEN ? AND ? ORDER BY p.id", []any{first, last}, func(rows *sql.Rows) error {
		p, err := v.scanPlate(rows)
		if err != nil {
			return err
		}
		if out == nil {
			out = map[int64][]records.Plate{}
		}
		out[p.WellID] = append(out[p.WellID], *p)
		return nil
	})
	return out, err
}

// PutPlate implements records.StoreTx.
func (t *tx) PutPlate(ctx context.Context, p *records.Plate, why string) error {
	for _, s := range p.Seen {
		if s.Located && !onEarth(s.Lon, s.Lat) {
			return &records.Error{Code: records.Invalid, Field: "seen", Message: "a sighting's longitude and latitude are no position on the earth"}
		}
	}
	uid, err := t.plateUID(ctx, p)
	if err != nil {
		return err
	}
	written := *p
	written.UID = uid
	doc := written.AppendPlate(nil)
	if err := readable(doc, func(doc []byte) error {
		var back records.Plate
		return records.FaultError(back.ParsePlate(doc))
	}); err != nil {
		return err
	}
	if p.WellID != 0 {
		var one int
		found, err := t.one(ctx, "SELECT 1 FROM wells WHERE id = ?", []any{p.WellID}, &one)
		if err != nil {
			return err
		}
		if !found {
			return &records.Error{Code: records.NotFound, Field: "well", Message: "the well that the plate is to be linked to is not there"}
		}
	}
	var oldWell, revision int64
	if p.ID != 0 {
		found, err := t.one(ctx, "SELECT revision, ifnull(well_id, 0) FROM plates WHERE id = ?", []any{p.ID}, &revision, &oldWell)
		switch {
		case err != nil:
			return err
		case !found:
			return records.Errorf(records.NotFound, "there is no plate %d", p.ID)
		case revision != p.Revision:
			return records.Errorf(records.Conflict, "the plate was changed by somebody else meanwhile: look at it again before writing")
		}
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.openLayer(ctx, "plates"); err != nil {
		return err
	}
	if seen := p.LastSeen(); seen != nil {
		t.spot("plates", seen.Lon, seen.Lat)
	}
	values := []any{uid, revision + 1, textOrNull(p.Number), string(doc), idOrNull(p.WellID), textOrNull(p.LinkedBy), textOrNull(formatTime(p.LinkedAt)), t.commit, blobOrNull(plateSpot(p))}
	if p.ID == 0 {
		result, err := t.write(ctx, "INSERT INTO plates(uid, revision, number, doc, well_id, linked_by, linked_at, changed_commit, geom, placed) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, 1)", values...)
		if err != nil {
			return err
		}
		if p.ID, err = result.LastInsertId(); err != nil {
			return t.fail(translate(err, "new plate"))
		}
	} else {
		if err := t.keepPlates(ctx, "id = ?", p.ID, why); err != nil {
			return err
		}
		_, err := t.write(ctx, "UPDATE plates SET uid = ?, revision = ?, number = ?, doc = ?, well_id = ?, linked_by = ?, linked_at = ?, changed_commit = ?, geom = ?, placed = 1 WHERE id = ?",
			append(values, p.ID)...)
		if err != nil {
			return err
		}
	}
	p.Revision, p.UID = revision+1, uid
	return t.touchWells(ctx, oldWell, p.WellID)
}

// touchWells has maps show anew the wells whose plates changed: a plate is part
// of what they show.
func (t *tx) touchWells(ctx context.Context, ids ...int64) error {
	for _, well := range ids {
		if well == 0 {
			continue
		}
		if _, err := t.write(ctx, "UPDATE wells SET changed_commit = ? WHERE id = ?", t.commit, well); err != nil {
			return err
		}
		t.forgetPicture(well)
	}
	return nil
}

// plateUID gives the public name that a plate is to have: the one that it has
// had, the one given, or a new one.
func (t *tx) plateUID(ctx context.Context, p *records.Plate) (string, error) {
	if p.ID != 0 && p.UID == "" {
		var uid string
		_, err := t.one(ctx, "SELECT uid FROM plates WHERE id = ?", []any{p.ID}, &uid)
		if err != nil || uid != "" {
			return uid, err
		}
	}
	uid, err := newUID(p.UID)
	if err != nil {
		return "", err
	}
	if taken, err := t.uidTaken(ctx, "plates", uid, p.ID); err != nil || taken {
		if err == nil {
			err = &records.Error{Code: records.Conflict, Field: "uid", Message: "there is a plate with this uid already"}
		}
		return "", err
	}
	return uid, nil
}

// RemovePlate implements records.PlateDeskTx.
func (t *tx) RemovePlate(ctx context.Context, id, revision int64, why string) error {
	p, err := t.Plate(ctx, id)
	switch {
	case records.CodeOf(err) == records.NotFound && err != nil:
		return records.Errorf(records.NotFound, "the plate is no longer there: somebody took it out meanwhile")
	case err != nil:
		return err
	case p.Revision != revision:
		return records.Errorf(records.Conflict, "the plate was changed by somebody else meanwhile: look at it again before writing")
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.keepPlates(ctx, "id = ?", id, why); err != nil {
		return err
	}
	if err := t.openLayer(ctx, "plates"); err != nil {
		return err
	}
	if _, err := t.write(ctx, "DELETE FROM plates WHERE id = ?", id); err != nil {
		return err
	}
	return t.touchWells(ctx, p.WellID)
}

// PlateIDByUID implements records.PlateDeskView.
func (v *view) PlateIDByUID(ctx context.Context, uid string) (id int64, err error) {
	found, err := v.one(ctx, "SELECT id FROM plates WHERE uid = ?", []any{uid}, &id)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no plate %q", uid)
	}
	return id, err
}

// PlateRevisions implements records.PlateDeskView.
func (v *view) PlateRevisions(ctx context.Context, id int64) ([]records.Earlier[records.Plate], error) {
	var out []records.Earlier[records.Plate]
	const query = "SELECT revision, until, by, ifnull(why, ''), image, ifnull(well_id, 0), ifnull(linked_by, ''), ifnull(linked_at, '') FROM plate_revisions WHERE plate_id = ? ORDER BY revision DESC"
	err := each(ctx, v, query, []any{id}, func(rows *sql.Rows) error {
		e := records.Earlier[records.Plate]{Image: &records.Plate{}}
		var until, by, at string
		var image []byte
		var well int64
		if err := rows.Scan(&e.Revision, &until, &e.By, &e.Why, &image, &well, &by, &at); err != nil {
			return err
		}
		var err error
		if e.Until, err = parseTime(until); err != nil {
			return err
		}
		if faults := e.Image.ParsePlate(image); records.Refuses(faults) {
			v.store.o.Log.Warn("an earlier state of a plate cannot be read in full", "plate", id, "error", records.FaultError(faults))
		}
		p := e.Image
		p.ID, p.Revision, p.WellID, p.LinkedBy = id, e.Revision, well, by
		p.LinkedAt, err = parseTime(at)
		out = append(out, e)
		return err
	})
	return out, err
}

// keepPlates keeps the images of the plates that fulfil a condition on id.
func (t *tx) keepPlates(ctx context.Context, condition string, id int64, why string) error {
	_, err := t.write(ctx, `INSERT INTO plate_revisions(plate_id, revision, until, by, why, image, well_id, linked_by, linked_at)
		SELECT id, revision, ?, ?, ?, doc, well_id, linked_by, linked_at FROM plates WHERE `+condition,
		formatTime(t.now), t.actor.Name, textOrNull(why), id)
	return err
}

// unlinkPlates undoes the links of plates to wells that go out. What was
// stamped and seen stays.
func (t *tx) unlinkPlates(ctx context.Context, condition string, id int64, why string) error {
	if err := t.keepPlates(ctx, condition, id, why); err != nil {
		return err
	}
	_, err := t.write(ctx, "UPDATE plates SET well_id = NULL, linked_by = NULL, linked_at = NULL, revision = revision + 1 WHERE "+condition, id)
	return err
}
