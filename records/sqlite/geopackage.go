package sqlite

import (
	"database/sql"
	"encoding/binary"
	"math"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
)

// GeoPackage writes a file of tables by OGC 12-128r18 (GeoPackage 1.3.1):
// points in longitude and latitude on WGS 84 as feature tables, all others as
// attribute tables, each with the key "fid". It is a file of its own and has
// nothing to do with a store. The rows go into one transaction that Close
// ends, with no journal: what is not closed well is no GeoPackage.
type GeoPackage struct {
	db     *sql.DB
	tx     *sql.Tx
	tables map[string]*packageTable
}

type packageTable struct {
	types  []string
	points bool
	insert *sql.Stmt
	values []any
	// The extent of the points, and whether there is one.
	west, south, east, north float64
	any                      bool
}

// packageSchema are the tables that every GeoPackage has (12-128r18, clauses
// 1.1.2, 1.1.3 and 2.1.5; worked from the columns that its tables 2, 3 and 5
// ask for).
const packageSchema = `
PRAGMA application_id = 0x47504B47;
PRAGMA user_version = 10301;
CREATE TABLE gpkg_spatial_ref_sys(srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents(table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE,
  srs_id INTEGER, CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns(table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL, CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinates'),
  ('Undefined geographic', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinates'),
  ('WGS 84', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]', 'longitude and latitude in degrees on WGS 84');
`

// NewGeoPackage begins a GeoPackage in a file that is new or empty.
func NewGeoPackage(path string) (*GeoPackage, error) {
	u := url.URL{Path: path}
	db, err := sql.Open("sqlite3", "file:"+u.EscapedPath()+"?_journal_mode=OFF&_locking_mode=EXCLUSIVE")
	if err != nil {
		return nil, translate(err, path)
	}
	db.SetMaxOpenConns(1)
	if _, err = db.Exec(packageSchema); err == nil {
		var tx *sql.Tx
		if tx, err = db.Begin(); err == nil {
			return &GeoPackage{db: db, tx: tx, tables: map[string]*packageTable{}}, nil
		}
	}
	_ = db.Close() // the first error is the one that counts
	return nil, translate(err, path)
}

// Table makes a table. The types of its columns are those of the profile.
func (g *GeoPackage) Table(name, about string, columns []records.Property, points bool) error {
	t := &packageTable{points: points}
	names, marks := []string{}, []string{}
	create := "CREATE TABLE " + quoteName(name) + "(fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL"
	kind, srs := "attributes", any(nil)
	if points {
		kind, srs = "features", 4326
		create += ", geom POINT"
		names, marks = append(names, "geom"), append(marks, "?")
	}
	for _, c := range columns {
		column := quoteName(strings.ReplaceAll(c.Name, ".", "_"))
		create += ", " + column + " " + packageType(c.Type)
		names, marks = append(names, column), append(marks, "?")
		t.types = append(t.types, c.Type)
	}
	if _, err := g.tx.Exec(create + ")"); err != nil {
		return translate(err, name)
	}
	if _, err := g.tx.Exec("INSERT INTO gpkg_contents(table_name, data_type, identifier, description, srs_id) VALUES (?, ?, ?, ?, ?)", name, kind, name, about, srs); err != nil {
		return translate(err, name)
	}
	if points {
		if _, err := g.tx.Exec("INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', 'POINT', 4326, 0, 0)", name); err != nil {
			return translate(err, name)
		}
	}
	var err error
	t.insert, err = g.tx.Prepare("INSERT INTO " + quoteName(name) + "(" + strings.Join(names, ", ") + ") VALUES (" + strings.Join(marks, ", ") + ")")
	if err != nil {
		return translate(err, name)
	}
	g.tables[name] = t
	return nil
}

func quoteName(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }

// packageType is the type of a column (12-128r18, table 1). Dates are texts:
// the year alone is a date of a record and none of a GeoPackage.
func packageType(kind string) string {
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

// Row adds a row to a table; a cell without a text is NULL. at is the place,
// longitude first, in degrees, and nil where there is none.
func (g *GeoPackage) Row(name string, at *[2]float64, cells []string) error {
	t := g.tables[name]
	if t == nil || len(cells) != len(t.types) {
		return records.Errorf(records.Internal, "a row of %d cells does not fit the table %s", len(cells), name)
	}
	t.values = t.values[:0]
	if t.points {
		t.values = append(t.values, t.point(at))
	}
	for i, cell := range cells {
		v, err := packageValue(t.types[i], cell)
		if err != nil {
			return records.WrapError(records.Internal, err, "%s: %q is not of the type %s", name, cell, t.types[i])
		}
		t.values = append(t.values, v)
	}
	if _, err := t.insert.Exec(t.values...); err != nil {
		return translate(err, name)
	}
	return nil
}

// point is a place as GeoPackage keeps it (12-128r18, clause 2.1.3): a header
// without an envelope, then well-known binary, both little-endian.
func (t *packageTable) point(at *[2]float64) any {
	if at == nil {
		return nil
	}
	lon, lat := at[0], at[1]
	if !t.any {
		t.any, t.west, t.east, t.south, t.north = true, lon, lon, lat, lat
	}
	t.west, t.east = min(t.west, lon), max(t.east, lon)
	t.south, t.north = min(t.south, lat), max(t.north, lat)
	le := binary.LittleEndian
	b := le.AppendUint32([]byte{'G', 'P', 0, 1}, 4326)
	b = le.AppendUint32(append(b, 1), 1)
	b = le.AppendUint64(b, math.Float64bits(lon))
	return le.AppendUint64(b, math.Float64bits(lat))
}

func packageValue(kind, cell string) (any, error) {
	if cell == "" {
		return nil, nil
	}
	switch kind {
	case "number":
		return strconv.ParseFloat(cell, 64)
	case "whole":
		return strconv.ParseInt(cell, 10, 64)
	case "flag":
		return strconv.ParseBool(cell)
	}
	return cell, nil
}

// Close writes the extents, ends the transaction and closes the file.
func (g *GeoPackage) Close() error {
	var err error
	for name, t := range g.tables {
		if t.any && err == nil {
			_, err = g.tx.Exec("UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ? WHERE table_name = ?", t.west, t.south, t.east, t.north, name)
		}
	}
	if err == nil {
		err = g.tx.Commit()
	}
	if e := g.Drop(); err == nil {
		err = e
	}
	if err != nil {
		return translate(err, "the GeoPackage")
	}
	return nil
}

// Drop lets go of the file as it stands; after Close it does nothing.
func (g *GeoPackage) Drop() error {
	if g.db == nil {
		return nil
	}
	_ = g.tx.Rollback() // ended already where all went well
	err := g.db.Close()
	g.db = nil
	return err
}
