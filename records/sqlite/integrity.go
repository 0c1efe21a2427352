package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"strings"

	"tallybook/records"
)

// CheckIntegrity looks whether the file is whole and everything in it that
// follows from the records is in step with them: the spatial index, the
// columns of the layer, the rows of strata, and what maps read. It changes
// nothing; an error says only that it could not look.
func (s *Store) CheckIntegrity(ctx context.Context) ([]records.Fault, error) {
	var faults []records.Fault
	err := s.View(ctx, func(sv records.StoreView) error {
		c := &integrity{view: sv.(*view)}
		defer func() { faults = c.faults }()
		for _, step := range []func(context.Context) error{
			c.file, c.references, c.index, c.layer, c.strata, c.pictures, c.drafts, c.scouting,
			c.plates,
			c.contents,
			c.intakes,
			c.history,
			c.corrections,
			c.outside,
			c.reviews,
			c.ground,
		} {
			if err := step(ctx); err != nil {
				return err
			}
		}
		return nil
	})
	return faults, err
}

// integrity gathers what is out of step.
type integrity struct {
	*view
	faults []records.Fault
}

// mostFaults is how many of one kind are listed.
const mostFaults = 50

// The mends.
const (
	mendFile  = "keep the file as it is, and go back to the latest sound copy"
	mendLayer = "write the record again (change anything in it and save), or export all and take it in to a new database"
	mendIndex = "export all and take it in to a new database, or remake the spatial index with a GIS program"
	mendCache = "delete the rows of the table picture, which is only a cache: it is made again at the next start"
)

// list notes the faults that a query finds, one a row, as text.
func (c *integrity) list(ctx context.Context, field, mend, query string, args ...any) error {
	return each(ctx, c.view, query, args, func(rows *sql.Rows) error {
		var message string
		err := rows.Scan(&message)
		c.add(field, message, mend)
		return err
	})
}

func (c *integrity) add(field, message, mend string) {
	c.faults = append(c.faults, records.Fault{Severity: records.Refusal, Field: field, Message: message, Mend: mend})
}

// file asks SQLite whether its pages are sound.
func (c *integrity) file(ctx context.Context) error {
	return each(ctx, c.view, fmt.Sprintf("PRAGMA integrity_check(%d)", mostFaults), nil, func(rows *sql.Rows) error {
		var said string
		err := rows.Scan(&said)
		if err == nil && said != "ok" {
			c.add("file", said, mendFile)
		}
		return err
	})
}

// references looks whether what refers to a record finds it.
func (c *integrity) references(ctx context.Context) error {
	for _, q := range []string{
		"SELECT 'plate ' || p.id || ' is linked to record ' || p.well_id || ', which is not there' FROM plates p WHERE p.well_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM wells w WHERE w.id = p.well_id) LIMIT ?",
		"SELECT 'record ' || w.id || ' came in with intake ' || w.batch_id || ', which is not there' FROM wells w WHERE w.batch_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM batches b WHERE b.id = w.batch_id) LIMIT ?",
		"SELECT 'there is a text of record ' || r.well_id || ', which is not in the layer' FROM well_records r WHERE NOT EXISTS (SELECT 1 FROM wells w WHERE w.id = r.well_id) LIMIT ?",
		"SELECT 'record ' || w.id || ' is in the layer without a text' FROM wells w WHERE NOT EXISTS (SELECT 1 FROM well_records r WHERE r.well_id = w.id) AND NOT EXISTS (SELECT 1 FROM outside o WHERE o.well_id = w.id) LIMIT ?",
	} {
		if err := c.list(ctx, "references", mendFile, q, mostFaults); err != nil {
			return err
		}
	}
	return nil
}

// index holds the spatial index against the positions. The wells of an intake
// that is staged need not be in it yet: see PlaceBatch.
func (c *integrity) index(ctx context.Context) error {
	for _, q := range []string{
		"SELECT 'record ' || w.id || ' has a position and is not in the spatial index' FROM wells w WHERE w.geom IS NOT NULL AND NOT EXISTS (SELECT 1 FROM idx_wells_geom_rowid i WHERE i.rowid = w.id) AND NOT EXISTS (SELECT 1 FROM batches b WHERE b.id = w.batch_id AND b.state = 'staged') LIMIT ?",
		"SELECT 'the spatial index holds record ' || i.rowid || ', which is not there or has no position' FROM idx_wells_geom_rowid i WHERE NOT EXISTS (SELECT 1 FROM wells w WHERE w.id = i.rowid AND w.geom IS NOT NULL) LIMIT ?",
	} {
		if err := c.list(ctx, "spatial index", mendIndex, q, mostFaults); err != nil {
			return err
		}
	}
	found := 0
	return each(ctx, c.view, "SELECT w.id, w.geom, i.xmin, i.xmax, i.ymin, i.ymax FROM idx_wells_geom i JOIN wells w ON w.id = i.pkid WHERE w.geom IS NOT NULL", nil, func(rows *sql.Rows) error {
		var id int64
		var geom sql.RawBytes
		var west, east, south, north float64
		if err := rows.Scan(&id, &geom, &west, &east, &south, &north); err != nil {
			return err
		}
		lon, lat, err := parsePoint(geom)
		// The index's 32-bit numbers are rounded outwards, by less than this.
		const rounding = 1e-4
		inside := lon >= west && lon <= east && lat >= south && lat <= north && east-west < rounding && north-south < rounding
		if err == nil && inside || found == mostFaults {
			return nil
		}
		found++
		if err != nil {
			c.add("layer", fmt.Sprintf("record %d: %v", id, err), mendLayer)
			return nil
		}
		c.add("spatial index", fmt.Sprintf("record %d lies at %.6f, %.6f and the spatial index has it within %.6f to %.6f, %.6f to %.6f", id, lon, lat, west, east, south, north), mendIndex)
		return nil
	})
}

// layer holds the columns of the layer against the records. Where another
// program has changed a column and the record has not caught up, the column
// counts.
func (c *integrity) layer(ctx context.Context) error {
	var names []string
	for _, g := range c.store.groups {
		names = append(names, g.names...)
	}
	query := "SELECT w.id, w.revision, w.uid, r.revision, r.doc, w." + strings.Join(names, ", w.") +
		" FROM wells w JOIN well_records r ON r.well_id = w.id WHERE NOT EXISTS (SELECT 1 FROM outside o WHERE o.well_id = w.id)"
	found := 0
	return each(ctx, c.view, query, nil, func(rows *sql.Rows) error {
		values, err := scanValues(rows, len(names)+5)
		if err != nil || found >= mostFaults {
			return err
		}
		for _, message := range c.differences(values) {
			found++
			c.add("layer", message, mendLayer)
		}
		return ctx.Err()
	})
}

// differences says how a row of the layer differs from its record. values are
// those of the query in layer.
func (c *integrity) differences(values []driver.Value) []string {
	id := values[0]
	var doc []byte
	switch text := values[4].(type) {
	case string:
		doc = []byte(text)
	case []byte:
		doc = text
	}
	w := &records.Well{}
	if _, err := parseFeature(doc, w); err != nil {
		return []string{fmt.Sprintf("record %v cannot be read in full: %v", id, err)}
	}
	var out []string
	if values[1] != values[3] {
		out = append(out, fmt.Sprintf("record %v is at revision %v in the layer and at %v in its text", id, values[1], values[3]))
	}
	if values[2] != w.UID {
		out = append(out, fmt.Sprintf("record %v is called %v in the layer and %s in its text", id, values[2], w.UID))
	}
	values = values[5:]
	for _, g := range c.store.groups {
		n := len(g.names)
		if want := g.put(w, make([]driver.Value, 0, n)); !sameValues(want, values[:n]) {
			out = append(out, fmt.Sprintf("record %v: the layer's %s is %s, and the record says %s", id, strings.Join(g.names, ", "), shown(values[:n]), shown(want)))
		}
		values = values[n:]
	}
	return out
}

// shown writes values for a person.
func shown(values []driver.Value) string {
	parts := make([]string, len(values))
	for i, v := range values {
		parts[i] = beginning(fmt.Sprint(v), 200)
		if b, ok := v.([]byte); ok {
			if lon, lat, err := parsePoint(b); err == nil {
				parts[i] = fmt.Sprintf("%.7f %.7f", lon, lat)
			}
		}
		if v == nil {
			parts[i] = "nothing"
		}
	}
	return strings.Join(parts, ", ")
}

// strata holds the rows of strata against the records. Material and class are
// as they were read when the record was written, by the vocabulary of then.
func (c *integrity) strata(ctx context.Context) error {
	found := 0
	return c.EachWell(ctx, nil, func(w *records.Well) error {
		if found >= mostFaults {
			return nil
		}
		want := appendStrata(nil, w, c.store.o.Reader)
		const columns, compared = 7, 5
		next := 0
		same := true
		err := each(ctx, c.view, "SELECT well_id, position, top_m, bottom_m, description FROM strata WHERE well_id = ? ORDER BY position", []any{w.ID}, func(rows *sql.Rows) error {
			have, err := scanValues(rows, compared)
			if err != nil {
				return err
			}
			if next >= len(want) {
				same = false
				return nil
			}
			row := make([]driver.Value, compared)
			for i := range row {
				row[i] = want[next+i].Value
			}
			same = same && sameValues(row, have)
			next += columns
			return nil
		})
		if err != nil {
			return err
		}
		if !same || next < len(want) {
			found++
			c.add("strata", fmt.Sprintf("record %d: the rows of strata are not those of the record", w.ID), mendLayer)
		}
		return nil
	})
}

// pictures holds the kept pictures against pictures made afresh.
func (c *integrity) pictures(ctx context.Context) error {
	kept, err := c.keptChunks(ctx)
	if err != nil {
		return err
	}
	rocks, err := c.rockCodes(ctx)
	if err != nil {
		return err
	}
	for chunk := range kept {
		var have []byte
		if _, err := c.one(ctx, "SELECT data FROM picture WHERE chunk = ?", []any{chunk}, &have); err != nil {
			return err
		}
		ds, err := c.deriveChunk(ctx, chunk, rocks)
		if err != nil {
			return err
		}
		if !bytes.Equal(packChunk(ds), have) {
			c.add("picture", fmt.Sprintf("what maps read of the records %d to %d is not what the records say", chunk<<chunkBits, (chunk+1)<<chunkBits-1), mendCache)
		}
	}
	return nil
}
