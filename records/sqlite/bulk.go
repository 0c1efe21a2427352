package sqlite

import (
	"context"
	"database/sql/driver"
	"io"
	"strings"

	"github.com/mattn/go-sqlite3"

	"tallybook/records"
)

// rowsAtOnce is how many rows one INSERT writes where there are so many.
const rowsAtOnce = 32

// inserter writes rows of one table, many in a statement.
//
// OR ROLLBACK gives up the whole transaction when a row is refused, which it
// has to be anyway. Without it SQLite would keep a copy of each page that a
// statement touches, so as to undo the statement alone. (In small files that
// made no difference that could be measured.)
type inserter struct {
	many, single string
	width        int
}

func newInserter(table string, columns ...string) inserter {
	marks := "(" + strings.Repeat(",?", len(columns))[1:] + ")"
	head := "INSERT OR ROLLBACK INTO " + table + "(" + strings.Join(columns, ", ") + ") VALUES "
	return inserter{
		many:   head + strings.Repeat(","+marks, rowsAtOnce)[1:],
		single: head + marks,
		width:  len(columns),
	}
}

// insert writes the rows whose values stand one behind the other in args.
func (in *inserter) insert(dc any, args []driver.NamedValue) error {
	for len(args) > 0 {
		query, n := in.single, in.width
		if in.many != "" && len(args) >= n*rowsAtOnce {
			query, n = in.many, n*rowsAtOnce
		}
		for i := range n {
			args[i].Ordinal = i + 1
		}
		if err := exec(dc, query, args[:n]); err != nil {
			return err
		}
		args = args[n:]
	}
	return nil
}

// inserters are the statements that write a record's rows.
type inserters struct{ wells, docs, strata, index inserter }

func newInserters(groups []group) inserters {
	columns := []string{"id", "uid", "revision", "changed_commit"}
	for _, g := range groups {
		columns = append(columns, g.names...)
	}
	// For a virtual table OR ROLLBACK does not help: one row a statement does.
	index := newInserter("idx_wells_geom", "pkid", "xmin", "xmax", "ymin", "ymax")
	index.many, index.single = "", strings.Replace(index.single, "OR ROLLBACK", "OR REPLACE", 1)
	return inserters{
		wells:  newInserter("wells", columns...),
		docs:   newInserter("well_records", "well_id", "revision", "doc"),
		strata: newInserter("strata", "well_id", "position", "top_m", "bottom_m", "description", "material", "class"),
		index:  index,
	}
}

// newWells holds new records back until there are enough of them for
// statements of many rows.
type newWells struct {
	count                      int
	wells, docs, strata, index []driver.NamedValue
	uids                       map[string]int64
}

// heldBack is how many new records are held back at most.
const heldBack = 4 * rowsAtOnce

func (n *newWells) full() bool { return n.count >= heldBack }

// add takes a record with its key and commit; the layer has so many columns.
// placeLater leaves it out of the spatial index.
func (n *newWells) add(id int64, r *readyWell, commit int64, columns int, placeLater bool) {
	if n.uids == nil {
		n.uids = make(map[string]int64, heldBack)
	}
	n.count++
	n.uids[r.uid] = id
	rest := r.packed
	n.wells = appendArgs(n.wells, id, r.uid, int64(1), commit)
	n.wells, rest = unpackValues(n.wells, rest, columns)
	n.docs = appendArgs(n.docs, id, int64(1))
	n.docs, rest = unpackValues(n.docs, rest, 1)
	for i := range r.strata {
		n.strata = appendArgs(n.strata, id, int64(i))
		n.strata, rest = unpackValues(n.strata, rest, 5)
	}
	if r.located && !placeLater {
		n.index = appendArgs(n.index, id, r.lon, r.lon, r.lat, r.lat)
	}
}

func appendArgs(dst []driver.NamedValue, values ...driver.Value) []driver.NamedValue {
	for _, v := range values {
		dst = append(dst, driver.NamedValue{Value: v})
	}
	return dst
}

// appendStrata appends the rows of strata of a record.
func appendStrata(dst []driver.NamedValue, w *records.Well, r records.Reader) []driver.NamedValue {
	for i := range w.Strata {
		s := &w.Strata[i]
		ground := r.Ground(s)
		dst = appendArgs(dst, w.ID, int64(i), depthOf(s.Top), depthOf(s.Bottom),
			nullText(s.Description), nullText(ground.Material), ground.Class.String())
	}
	return dst
}

func depthOf(a records.Amount[records.Depth]) driver.Value {
	if !a.Known() {
		return nil
	}
	return float64(a.Value)
}

// flush writes what is held back. Strata go last, in the order of their keys,
// as everything does: appending to a table is the fastest way to fill it.
func (t *tx) flush(ctx context.Context) error {
	n := &t.new
	if t.failed != nil {
		return t.failed
	}
	if n.count == 0 {
		return nil
	}
	err := t.raw(func(dc any) error {
		in := &t.store.inserters
		for _, step := range []struct {
			in   *inserter
			args []driver.NamedValue
		}{{&in.wells, n.wells}, {&in.docs, n.docs}, {&in.index, n.index}, {&in.strata, n.strata}} {
			if err := step.in.insert(dc, step.args); err != nil {
				return err
			}
		}
		return nil
	})
	n.count = 0
	n.wells, n.docs, n.strata, n.index = n.wells[:0], n.docs[:0], n.strata[:0], n.index[:0]
	clear(n.uids)
	if err != nil {
		return t.fail(translate(err, "write new wells"))
	}
	return ctx.Err()
}

// raw hands the driver's own connection to fn.
func (t *tx) raw(fn func(dc any) error) error { return t.conn.Raw(fn) }

// oneRaw looks one number up without writing what is held back, and with
// little ado: it runs for each record of a long file.
func (t *tx) oneRaw(ctx context.Context, query, arg string, dest *int64) (found bool, err error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	err = t.raw(func(dc any) error {
		rows, err := dc.(*sqlite3.SQLiteConn).QueryContext(context.Background(), query, []driver.NamedValue{{Ordinal: 1, Value: arg}})
		if err != nil {
			return err
		}
		var row [1]driver.Value
		err = rows.Next(row[:])
		if err == nil {
			*dest, found = row[0].(int64)
		} else if err == io.EOF {
			err = nil
		}
		if cerr := rows.Close(); err == nil {
			err = cerr
		}
		return err
	})
	return found, translate(err, query)
}
