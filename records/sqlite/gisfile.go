package sqlite

import (
	"database/sql"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"tallybook/migrations"
	"tallybook/records"
)

// GISFile writes a file of layers in SpatiaLite's form, in plain SQL: spatial
// metadata, statistics, and spatial indexes that stay right whatever program
// writes to it later. It is a file of its own and no database of this program.
//
// Beside the layers stand the tables layer_titles and field_titles, which say
// in words what each holds, and layer_styles, from which QGIS takes the titles
// as the names of its columns.
type GISFile struct {
	db     *sql.DB
	tx     *sql.Tx
	layers map[string]*gisLayer
	order  []string
}

type gisLayer struct {
	records.LayerForm
	kind       shapeKind
	row, index *sql.Stmt
	values     []any
	next       int64
	around     box
	placed     int64
	views      []string
}

var _ records.LayerSink = (*GISFile)(nil)

// titleSchema says what the layers hold. The table of styles is as QGIS makes
// it (seen in a file to which QGIS 3.22 had saved a style).
const titleSchema = `
CREATE TABLE layer_titles(layer TEXT NOT NULL PRIMARY KEY, title TEXT NOT NULL, about TEXT);
CREATE TABLE field_titles(layer TEXT NOT NULL, field TEXT NOT NULL, title TEXT NOT NULL, unit TEXT, about TEXT, PRIMARY KEY(layer, field));
CREATE TABLE layer_styles(id INTEGER PRIMARY KEY AUTOINCREMENT, f_table_catalog varchar(256), f_table_schema varchar(256), f_table_name varchar(256),
  f_geometry_column varchar(256), styleName text, styleQML text, styleSLD text, useAsDefault boolean, description text, owner varchar(30), ui text,
  update_time timestamp DEFAULT CURRENT_TIMESTAMP);
`

// NewGISFile begins a file of layers in a file that is new or empty.
func NewGISFile(path string) (*GISFile, error) {
	meta, err := migrations.FS.ReadFile("0001_spatial_metadata.sql")
	if err != nil {
		return nil, fmt.Errorf("sqlite: spatial metadata: %w", err)
	}
	u := url.URL{Path: path}
	db, err := sql.Open("sqlite3", "file:"+u.EscapedPath()+"?_journal_mode=OFF&_locking_mode=EXCLUSIVE&_synchronous=OFF&_cache_size=-65536")
	if err != nil {
		return nil, translate(err, path)
	}
	db.SetMaxOpenConns(1)
	if _, err = db.Exec(string(meta) + titleSchema); err == nil {
		var tx *sql.Tx
		if tx, err = db.Begin(); err == nil {
			return &GISFile{db: db, tx: tx, layers: map[string]*gisLayer{}}, nil
		}
	}
	_ = db.Close() // the first error is the one that counts
	return nil, translate(err, path)
}

// Layer implements records.LayerSink.
func (g *GISFile) Layer(f records.LayerForm) error {
	l := &gisLayer{LayerForm: f, kind: shapeKinds[f.Shape], next: 1}
	create := "CREATE TABLE " + quoteName(f.Name) + "(id INTEGER PRIMARY KEY AUTOINCREMENT"
	names, marks := []string{"id"}, []string{"?"}
	for _, c := range f.Columns {
		create += ", " + quoteName(c.Name) + " " + columnType(c.Type)
		names, marks = append(names, quoteName(c.Name)), append(marks, "?")
	}
	if f.Shape != records.ShapeNone {
		create += ", geom " + l.kind.word + ", CONSTRAINT " + f.Name + "_geom_blob CHECK (" + shapeCheck(l.kind) + ")"
		names, marks = append(names, "geom"), append(marks, "?")
	}
	queries := []string{create + ")"}
	if f.Shape != records.ShapeNone {
		queries = append(queries,
			"CREATE VIRTUAL TABLE idx_"+f.Name+"_geom USING rtree(pkid, xmin, xmax, ymin, ymax)",
			fmt.Sprintf("INSERT INTO geometry_columns VALUES(%s, 'geom', %d, %d, 4326, 1)", quoteText(f.Name), l.kind.class, l.kind.dimensions),
			"INSERT INTO geometry_columns_auth VALUES("+quoteText(f.Name)+", 'geom', 0, 0)",
			"INSERT INTO geometry_columns_time(f_table_name, f_geometry_column) VALUES("+quoteText(f.Name)+", 'geom')")
	}
	if err := g.run(f.Name, queries...); err != nil {
		return err
	}
	if err := g.titles(&f); err != nil {
		return err
	}
	var err error
	if l.row, err = g.tx.Prepare("INSERT INTO " + quoteName(f.Name) + "(" + strings.Join(names, ", ") + ") VALUES (" + strings.Join(marks, ", ") + ")"); err != nil {
		return translate(err, f.Name)
	}
	if f.Shape != records.ShapeNone {
		if l.index, err = g.tx.Prepare("INSERT INTO idx_" + f.Name + "_geom(pkid, xmin, xmax, ymin, ymax) VALUES (?, ?, ?, ?, ?)"); err != nil {
			return translate(err, f.Name)
		}
	}
	g.layers[f.Name] = l
	g.order = append(g.order, f.Name)
	return nil
}

// columnType is the declared type of a column.
func columnType(kind string) string {
	switch kind {
	case "number":
		return "DOUBLE"
	case "whole":
		return "INTEGER"
	case "flag":
		return "BOOLEAN"
	}
	return "TEXT"
}

func (g *GISFile) run(what string, queries ...string) error {
	for _, q := range queries {
		if _, err := g.tx.Exec(q); err != nil {
			return translate(err, what)
		}
	}
	return nil
}

// Row implements records.LayerSink.
func (g *GISFile) Row(layer string, shape []records.Vertex, values []any) error {
	l := g.layers[layer]
	if l == nil || len(values) != len(l.Columns) {
		return records.Errorf(records.Internal, "a row of %d values does not fit the layer %s", len(values), layer)
	}
	id := l.next
	l.next++
	l.values = append(append(l.values[:0], id), values...)
	if l.Shape != records.ShapeNone {
		var geom any
		if len(shape) > 0 {
			blob, err := appendShape(nil, l.kind, shape)
			if err != nil {
				return records.WrapError(records.Internal, err, "row %d of the layer %s", id, layer)
			}
			geom = blob
			b := boxAround(shape)
			if _, err := l.index.Exec(id, b.west, b.east, b.south, b.north); err != nil {
				return translate(err, layer)
			}
			l.widen(b)
		}
		l.values = append(l.values, geom)
	}
	if _, err := l.row.Exec(l.values...); err != nil {
		return translate(err, layer)
	}
	return nil
}

func (l *gisLayer) widen(b box) {
	if l.placed++; l.placed == 1 {
		l.around = b
	}
	l.around.west, l.around.east = min(l.around.west, b.west), max(l.around.east, b.east)
	l.around.south, l.around.north = min(l.around.south, b.south), max(l.around.north, b.north)
}

// View implements records.LayerSink.
func (g *GISFile) View(v records.LayerView) error {
	of := g.layers[v.Of]
	if of == nil || len(v.Terms) != len(v.Columns) {
		return records.Errorf(records.Internal, "the view %s does not fit the layer %s", v.Name, v.Of)
	}
	query := "CREATE VIEW " + quoteName(v.Name) + " AS SELECT id AS id"
	for i, c := range v.Columns {
		query += ", " + v.Terms[i] + " AS " + quoteName(c.Name)
	}
	if v.Shape != records.ShapeNone {
		query += ", geom AS geom"
	}
	if err := g.run(v.Name, query+" FROM "+quoteName(v.Of)); err != nil {
		return err
	}
	if v.Shape != records.ShapeNone {
		name := quoteText(v.Name)
		if err := g.run(v.Name,
			"INSERT INTO views_geometry_columns VALUES("+name+", 'geom', 'id', "+quoteText(v.Of)+", 'geom', 1)",
			"INSERT INTO views_geometry_columns_auth VALUES("+name+", 'geom', 0)"); err != nil {
			return err
		}
	}
	if err := g.titles(&v.LayerForm); err != nil {
		return err
	}
	if v.Shape != records.ShapeNone {
		of.views = append(of.views, v.Name)
	}
	return nil
}

// Close makes the triggers, writes the statistics and ends the file.
func (g *GISFile) Close() error {
	err := g.finish()
	if err == nil {
		if err = translate(g.tx.Commit(), "the file of layers"); err == nil {
			_, err = g.db.Exec("ANALYZE; PRAGMA locking_mode = NORMAL; PRAGMA journal_mode = DELETE")
			err = translate(err, "the file of layers")
		}
	}
	if e := g.Drop(); err == nil {
		err = e
	}
	return err
}

func (g *GISFile) finish() error {
	for _, name := range g.order {
		l := g.layers[name]
		if l.Shape == records.ShapeNone {
			continue
		}
		if err := g.run(name, indexTriggers(name, l.views, "")...); err != nil {
			return err
		}
	}
	for _, name := range g.order {
		if l := g.layers[name]; l.Shape != records.ShapeNone {
			if err := g.statistics(l); err != nil {
				return err
			}
		}
	}
	return nil
}

// statistics says how many rows a layer has and where they lie, and the same of
// its views.
func (g *GISFile) statistics(l *gisLayer) error {
	extent := []any{nil, nil, nil, nil}
	if l.placed > 0 {
		extent = []any{l.around.west, l.around.south, l.around.east, l.around.north}
	}
	const values = "(last_verified, row_count, extent_min_x, extent_min_y, extent_max_x, extent_max_y, %s) VALUES (strftime('%%Y-%%m-%%dT%%H:%%M:%%fZ', 'now'), %d, ?, ?, ?, ?, 'geom', ?)"
	for i, name := range append([]string{l.Name}, l.views...) {
		table, columns := "geometry_columns_statistics", "f_geometry_column, f_table_name"
		if i > 0 {
			table, columns = "views_geometry_columns_statistics", "view_geometry, view_name"
		}
		if _, err := g.tx.Exec("INSERT OR REPLACE INTO "+table+fmt.Sprintf(values, columns, l.next-1), append(slices.Clone(extent), name)...); err != nil {
			return translate(err, name)
		}
	}
	return nil
}

// Drop implements records.LayerSink; after Close it does nothing.
func (g *GISFile) Drop() error {
	if g.db == nil {
		return nil
	}
	_ = g.tx.Rollback() // ended already where all went well
	err := g.db.Close()
	g.db = nil
	return translate(err, "the file of layers")
}
