package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"

	"tallybook/records"
)

// wellRow is a record made ready to be written.
type wellRow struct {
	doc     []byte
	columns []driver.Value // of the layer, in the order of layerGroups
}

// rowOf makes a record ready; w must have its ID, UID and Revision.
func (t *tx) rowOf(ctx context.Context, w *records.Well) (wellRow, error) {
	doc, err := appendFeature(t.scratch[:0], w)
	t.scratch = doc[:0]
	if err != nil {
		return wellRow{}, err
	}
	if err := t.checkBatch(ctx, w.Provenance.Batch); err != nil {
		return wellRow{}, err
	}
	if err := t.nameRock(ctx, w.Rock); err != nil {
		return wellRow{}, err
	}
	row := wellRow{doc: doc, columns: make([]driver.Value, 0, t.store.columnCount)}
	for _, g := range t.store.groups {
		row.columns = g.put(w, row.columns)
	}
	return row, nil
}

// WellIDByUID implements records.StoreView without writing what is held back:
// an intake asks it for each of its rows, and rows written one by one would
// take ten times as long. A writer also finds what is staged out of sight,
// since no other record can have that name.
func (t *tx) WellIDByUID(ctx context.Context, uid string) (int64, error) {
	if id := t.new.uids[uid]; id != 0 {
		return id, nil
	}
	var id int64
	found, err := t.oneRaw(ctx, "SELECT id FROM wells WHERE uid = ?", uid, &id)
	if err == nil && !found {
		some, err := t.anyMerged(ctx)
		if err != nil {
			return 0, err
		}
		if some {
			found, err = t.oneRaw(ctx, leadsTo+" ORDER BY s.n LIMIT 1", uid, &id)
			if err != nil || found {
				return id, err
			}
		}
	}
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no well %q", uid)
	}
	return id, err
}

// PutWell implements records.StoreTx.
func (t *tx) PutWell(ctx context.Context, w *records.Well, why string) error {
	if w.ID == 0 {
		return t.addWell(ctx, w)
	}
	var revision int64
	var uid sql.NullString
	found, err := t.one(ctx, "SELECT revision, uid FROM wells WHERE id = ?", []any{w.ID}, &revision, &uid)
	switch {
	case err != nil:
		return err
	case !found:
		return records.Errorf(records.NotFound, "the well is no longer there: somebody took it out meanwhile")
	case revision != w.Revision:
		return staleWell(w.Revision, revision)
	case w.UID != "" && w.UID != uid.String:
		return &records.Error{Code: records.Conflict, Field: "uid", Message: "the uid of a record never changes"}
	}
	next := *w
	next.UID, next.Revision = uid.String, revision+1
	if err := t.touch(ctx); err != nil {
		return err
	}
	row, err := t.rowOf(ctx, &next)
	if err != nil {
		return err
	}
	if err := t.keepWell(ctx, w.ID, why); err != nil {
		return err
	}
	if err := t.rewrite(ctx, &next, row, true); err != nil {
		return err
	}
	w.UID, w.Revision = next.UID, next.Revision
	return nil
}

func staleWell(have, stored int64) error {
	return records.Errorf(records.Conflict, "the record was changed by somebody else meanwhile (you have revision %d, it is now at %d): look at it again before writing", have, stored)
}

// addWell holds a new record back, to be written with others.
func (t *tx) addWell(ctx context.Context, w *records.Well) error {
	if w.Revision != 0 {
		return records.Errorf(records.Conflict, "a new record has no revision")
	}
	if w.UID != "" {
		_, err := t.WellIDByUID(ctx, w.UID)
		if err == nil {
			return &records.Error{Code: records.Conflict, Field: "uid", Message: "there is a well with this uid already"}
		}
		if records.CodeOf(err) != records.NotFound {
			return err
		}
	}
	r, err := t.store.ready(w)
	if err != nil {
		return err
	}
	id, err := t.add(ctx, r, false)
	if err != nil {
		return err
	}
	w.ID, w.UID, w.Revision = id, r.uid, 1
	return nil
}

// keepWell keeps the image of a record that is about to be replaced.
func (t *tx) keepWell(ctx context.Context, id int64, why string) error {
	_, err := t.write(ctx, `INSERT INTO revisions(well_id, revision, until, by, why, image)
		SELECT well_id, revision, ?, ?, ?, doc FROM well_records WHERE well_id = ?`,
		formatTime(t.now), t.actor.Name, textOrNull(why), id)
	return err
}

// rewrite replaces what is stored of w. own says that it is a change of this
// transaction, with its commit; otherwise the row has its commit already.
func (t *tx) rewrite(ctx context.Context, w *records.Well, row wellRow, own bool) error {
	if err := t.moveIndex(ctx, w.ID, &w.Place); err != nil { // before the row: it looks where the well was
		return err
	}
	set := "revision = ?2, changed_commit = iif(?3, ?4, changed_commit)"
	args := []any{w.ID, w.Revision, own, t.commit}
	for _, g := range t.store.groups {
		for _, name := range g.names {
			set += fmt.Sprintf(", %s = ?%d", name, len(args)+1)
			args = append(args, row.columns[len(args)-4])
		}
	}
	if _, err := t.write(ctx, "UPDATE wells SET "+set+" WHERE id = ?1", args...); err != nil {
		return err
	}
	if _, err := t.write(ctx, `INSERT INTO well_records(well_id, revision, doc) VALUES (?, ?, ?)
		ON CONFLICT(well_id) DO UPDATE SET revision = excluded.revision, doc = excluded.doc`, w.ID, w.Revision, string(row.doc)); err != nil {
		return err
	}
	if _, err := t.write(ctx, "DELETE FROM strata WHERE well_id = ?", w.ID); err != nil {
		return err
	}
	strata := appendStrata(nil, w, t.store.o.Reader)
	if err := t.raw(func(dc any) error { return t.store.inserters.strata.insert(dc, strata) }); err != nil {
		return t.fail(translate(err, "write strata"))
	}
	t.forgetPicture(w.ID)
	return nil
}

// moveIndex brings the spatial index in step with one well that is about to
// be written, or taken out where p is nil.
func (t *tx) moveIndex(ctx context.Context, id int64, p *records.Place) error {
	var old []byte
	if _, err := t.one(ctx, "SELECT geom FROM wells WHERE id = ?", []any{id}, &old); err != nil {
		return err
	}
	if old == nil && (p == nil || !p.Located) {
		return nil
	}
	if old != nil {
		if p != nil && p.Located && bytes.Equal(old, appendPoint(nil, p.Lon, p.Lat)) {
			return nil
		}
		if _, err := t.write(ctx, "DELETE FROM idx_wells_geom WHERE pkid = ?", id); err != nil {
			return err
		}
		t.extent.remove(old)
	}
	if p == nil || !p.Located {
		return nil
	}
	t.extent.add(p.Located, p.Lon, p.Lat)
	_, err := t.write(ctx, "INSERT INTO idx_wells_geom(pkid, xmin, xmax, ymin, ymax) VALUES (?1, ?2, ?2, ?3, ?3)", id, p.Lon, p.Lat)
	return err
}

// RemoveWell implements records.StoreTx. Plates linked to the well stay, with
// no link.
func (t *tx) RemoveWell(ctx context.Context, id, revision int64, why string) error {
	var stored int64
	found, err := t.one(ctx, "SELECT revision FROM wells WHERE id = ?", []any{id}, &stored)
	switch {
	case err != nil:
		return err
	case !found:
		return records.Errorf(records.NotFound, "there is no well %d", id)
	case stored != revision:
		return staleWell(revision, stored)
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.keepWell(ctx, id, why); err != nil {
		return err
	}
	if err := t.unlinkPlates(ctx, "well_id = ?", id, why); err != nil {
		return err
	}
	if err := t.moveIndex(ctx, id, nil); err != nil {
		return err
	}
	t.extent.count--
	if _, err := t.write(ctx, "INSERT INTO removed(well_id, uid, removed_commit) SELECT id, uid, ? FROM wells WHERE id = ?", t.commit, id); err != nil {
		return err
	}
	for _, query := range []string{
		"DELETE FROM strata WHERE well_id = ?",
		"DELETE FROM well_records WHERE well_id = ?",
		"DELETE FROM wells WHERE id = ?",
	} {
		if _, err := t.write(ctx, query, id); err != nil {
			return err
		}
	}
	t.forgetPicture(id)
	return nil
}

// checkBatch refuses a batch that is not there. (A foreign key would do the
// same at the price that the type inserter tells of.)
func (t *tx) checkBatch(ctx context.Context, id int64) error {
	if id == 0 || t.batch == id {
		return nil
	}
	var one int
	found, err := t.one(ctx, "SELECT 1 FROM batches WHERE id = ?", []any{id}, &one)
	if err == nil && !found {
		err = &records.Error{Code: records.Invalid, Field: "batch", Message: fmt.Sprintf("there is no batch %d", id)}
	}
	if err == nil {
		t.batch = id
	}
	return err
}

// nameRock gives a rock unit its code when it has none.
func (t *tx) nameRock(ctx context.Context, name string) error {
	if name == "" {
		return nil
	}
	if t.rocks == nil {
		t.rocks = map[string]int64{}
		known, err := t.RockUnits(ctx)
		if err != nil {
			return err
		}
		for code, name := range known {
			t.rocks[name] = int64(code)
		}
	}
	if _, ok := t.rocks[name]; ok {
		return nil
	}
	code := int64(len(t.rocks) + 1)
	if code > 65535 {
		return &records.Error{Code: records.TooLarge, Field: "rock_unit", Message: "there are more than 65535 rock units; is another text in this property?"}
	}
	if _, err := t.write(ctx, "INSERT INTO rock_units(code, name) VALUES (?, ?)", code, name); err != nil {
		return err
	}
	t.rocks[name] = code
	return nil
}
