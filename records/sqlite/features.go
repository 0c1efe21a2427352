package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"tallybook/records"
)

// A collection of flat features as the file has it. wells w, where it is among
// the tables, is there for the place and the time.
type featureSource struct {
	from string            // the tables
	id   string            // the feature's public name
	byID string            // the condition that finds it by ?1
	key  [2]string         // FeatureKey; the second "" where there are no parts
	geom string            // a point BLOB, or NULL
	well string            // the column that idx_wells_geom knows; "": not indexed
	read map[string]string // by field
	doc  string            // Feature.Doc
}

const (
	// knownWell are a well's own columns and, for what only its doc holds, the
	// doc. Where another program changed the columns since the doc was written,
	// what the doc says of how a value was given no longer holds.
	knownWell = "wells w LEFT JOIN well_records r ON r.well_id = w.id LEFT JOIN outside o ON o.well_id = w.id"
	strikesOf = "wells w CROSS JOIN well_records r ON r.well_id = w.id CROSS JOIN json_each(r.doc, '$.properties.strikes') j"
	strataOf  = "strata s CROSS JOIN wells w ON w.id = s.well_id LEFT JOIN well_records r ON r.well_id = w.id"
	platesOf  = "plates p LEFT JOIN wells w ON w.id = p.well_id"
	forecasts = "forecasts f LEFT JOIN forecast_links l ON l.forecast_id = f.id AND l.revision = (SELECT max(revision) FROM forecast_links WHERE forecast_id = f.id)"
)

var featureSources = map[string]*featureSource{
	records.FeaturesWells: {
		from: knownWell, id: "ifnull(w.uid, w.id)", byID: "w.uid = ?1", key: [2]string{"w.id"}, geom: "w.geom", well: "w.id",
		read: wellFields(),
	},
	records.FeaturesStrata: {
		from: strataOf, id: "ifnull(w.uid, w.id) || '.' || (s.position + 1)", byID: "w.uid = ?1 AND s.position = ?2 - 1",
		key: [2]string{"s.well_id", "s.position"}, geom: "w.geom", well: "s.well_id",
		read: partFields(map[string]string{
			"position": "s.position + 1", "top_m": "s.top_m", "bottom_m": "s.bottom_m",
			"top_qualifier":      ofStratum("top_qualifier", "s.top_m"),
			"bottom_qualifier":   ofStratum("bottom_qualifier", "s.bottom_m"),
			"top_elevation_m":    "w.ground_elevation_m - s.top_m",
			"bottom_elevation_m": "w.ground_elevation_m - s.bottom_m",
			"description":        "s.description", "material": "s.material", "class": "s.class",
			"marked_unreliable": doubted,
		}),
	},
	records.FeaturesStrikes: {
		from: strikesOf, id: "ifnull(w.uid, w.id) || '.' || (j.key + 1)", byID: "w.uid = ?1 AND j.key = ?2 - 1",
		key: [2]string{"w.id", "j.key"}, geom: "w.geom", well: "w.id",
		read: strikeFields(),
	},
	records.FeaturesPlates: {
		from: platesOf, id: "p.uid", byID: "p.uid = ?1", key: [2]string{"p.id"}, geom: "ifnull(w.geom, seen_point(p.doc))",
		read: plateFields(),
	},
	records.FeaturesForecasts: {
		from: forecasts, id: "f.uid", byID: "f.uid = ?1", key: [2]string{"f.id"}, geom: "made_point(f.lon, f.lat)", doc: "f.doc",
		read: map[string]string{"uid": "f.uid", "kept_at": "f.kept_at", "data_commit": "f.data_commit", "well_uid": "nullif(l.well_uid, '')", "withdrawn": "ifnull(l.withdrawn, 0)"},
	},
}

// ofDoc reads a property of a record's doc.
func ofDoc(name string) string { return "json_extract(r.doc, '$.properties." + name + "')" }

// doubted tells what of a log is marked unreliable. Most logs have no marks:
// those are not taken apart for it.
const doubted = "iif(json_type(r.doc, '$.properties.unreliable') IS NULL, NULL, marked_things(json_extract(r.doc, '$.properties.unreliable')))"

// ofLatestPick reads a property of the own pick of bedrock that was added last:
// that of the greatest key, which is the row that SQLite takes plain columns
// from beside max().
func ofLatestPick(name string) string {
	return "iif(json_type(r.doc, '$.properties.own_picks') IS NULL, NULL, (SELECT p.x FROM (SELECT json_extract(value, '$." + name + "') AS x, max(key) FROM json_each(r.doc, '$.properties.own_picks') " +
		"WHERE json_extract(value, '$.of') = 'bedrock' AND json_extract(value, '$.depth_m') IS NOT NULL) p))"
}

func unlessOutside(expression string) string {
	return "iif(o.well_id IS NULL, " + expression + ", NULL)"
}

// asWritten is what was given, with its unit behind it where the text holds no
// letters or marks of its own; where no unit stands beside it, it is the base
// unit.
func asWritten(given, unit, base string) string {
	return "iif(" + given + " GLOB '*[a-zA-Z\"'']*', " + given + ", " + given + " || ' ' || ifnull(" + unit + ", '" + base + "'))"
}

func wellFields() map[string]string {
	read := map[string]string{"located_by": ofDoc("located_by"), "marked_unreliable": doubted, "own_picks": "ifnull(json_array_length(r.doc, '$.properties.own_picks'), 0)", "own_bedrock_set": ofLatestPick("set")}
	read["own_bedrock_m"], read["own_bedrock_high_m"] = ofLatestPick("depth_m"), ofLatestPick("depth_high_m")
	read["own_bedrock_qualifier"] = "iif(" + ofLatestPick("depth_m") + " IS NULL, NULL, ifnull(" + ofLatestPick("depth_qualifier") + ", 'exact'))"
	read["own_bedrock_as_written"] = asWritten(ofLatestPick("depth_given"), ofLatestPick("depth_given_unit"), "m")
	for _, name := range []string{"uid", "number", "permit_number", "status", "purpose", "setting", "rock_unit", "parcel", "completed",
		"casing_depth_m", "ground_elevation_m", "accuracy_m"} {
		read[name] = "w." + name
	}
	for base, unit := range map[string][2]string{"total_depth": {"m", "m"}, "depth_to_bedrock": {"m", "m"}, "yield": {"lps", "L/s"}, "static_level": {"m", "m"}} {
		read[base+"_"+unit[0]] = "w." + base + "_" + unit[0]
		read[base+"_qualifier"] = "w." + base + "_qualifier"
		high := base + "_high_" + unit[0]
		read[high] = unlessOutside(ofDoc(high))
		read[base+"_as_written"] = unlessOutside(asWritten(ofDoc(base+"_given"), ofDoc(base+"_given_unit"), unit[1]))
	}
	return read
}

// partFields are the fields of a part of a log, with those of its well.
func partFields(read map[string]string) map[string]string {
	read["well_uid"], read["well_number"], read["completed"] = "w.uid", "w.number", "w.completed"
	return read
}

// ofStratum is a property of the stratum in the doc, beside a column of it: a
// number without a qualifier is exact.
func ofStratum(name, beside string) string {
	return "iif(" + beside + " IS NULL, NULL, ifnull(json_extract(r.doc, '$.properties.strata[' || s.position || ']." + name + "'), 'exact'))"
}

func strikeFields() map[string]string {
	of := func(name string) string { return "json_extract(j.value, '$." + name + "')" }
	read := partFields(map[string]string{"position": "j.key + 1", "flow_is": ofDoc("strikes_as"), "note": of("note"), "marked_unreliable": doubted})
	for base, unit := range map[string][2]string{"depth": {"m", "m"}, "flow": {"lps", "L/s"}} {
		name := base + "_" + unit[0]
		read[name] = of(name)
		read[base+"_qualifier"] = "iif(" + of(name) + " IS NULL, NULL, ifnull(" + of(base+"_qualifier") + ", 'exact'))"
		read[base+"_high_"+unit[0]] = of(base + "_high_" + unit[0])
		read[base+"_as_written"] = asWritten(of(base+"_given"), of(base+"_given_unit"), unit[1])
	}
	return read
}

func plateFields() map[string]string {
	of := func(name string) string { return "json_extract(p.doc, '$." + name + "')" }
	read := map[string]string{"uid": "p.uid", "number": "p.number", "well_uid": "w.uid", "well_number": "w.number",
		"linked_at": "iif(w.id IS NULL, NULL, nullif(p.linked_at, ''))", "stamped_date": of("stamped.date")}
	for _, name := range []string{"authority", "series", "since", "until"} {
		read[name] = of(name)
	}
	for base, suffix := range map[string]string{"total_depth": "m", "casing_depth": "m", "yield": "lps", "static_level": "m"} {
		value := of("stamped." + base + "_" + suffix)
		read["stamped_"+base+"_"+suffix] = value
		read["stamped_"+base+"_qualifier"] = "iif(" + value + " IS NULL, NULL, ifnull(" + of("stamped."+base+"_qualifier") + ", 'exact'))"
	}
	return read
}

// featureSelect is a collection's query up to its conditions.
func (v *view) featureSelect(c *records.FeatureCollection, src *featureSource) string {
	var b strings.Builder
	part := src.key[1]
	if part == "" {
		part = "0"
	}
	doc := src.doc
	if doc == "" {
		doc = "NULL"
	}
	fmt.Fprintf(&b, "SELECT %s, %s, %s, %s, %s", src.key[0], part, src.id, src.geom, doc)
	for i := range c.Fields {
		expression := src.read[c.Fields[i].Name]
		if expression == "" {
			expression = "NULL" // read from the document by who asks
		}
		b.WriteString(", " + expression)
	}
	b.WriteString(" FROM " + src.from + v.stagedIn(src) + " WHERE ")
	return b.String()
}

// stagedIn hides the wells of what is not published yet from plates, which are
// there all the same.
func (v *view) stagedIn(src *featureSource) string {
	if src.from == platesOf {
		return v.staged
	}
	return ""
}

// always is what holds of every feature of a collection.
func (v *view) always(src *featureSource) string {
	if src.from == platesOf || src.from == forecasts {
		return "1"
	}
	return "1" + v.staged
}

// EachFeature implements records.FeatureView. fn must not use the view.
func (v *view) EachFeature(ctx context.Context, q records.FeatureQuery, fn func(*records.Feature) error) error {
	query, args, release, err := v.featureQuery(ctx, q)
	if err != nil {
		return err
	}
	defer release()
	c, err := records.FeatureCollectionNamed(q.Collection)
	if err != nil {
		return err
	}
	return v.eachFeature(ctx, c, query, args, fn)
}

// featureQuery makes SQL of a query; release is called when it has been
// answered.
func (v *view) featureQuery(ctx context.Context, q records.FeatureQuery) (query string, args []any, release func(), err error) {
	c, err := records.FeatureCollectionNamed(q.Collection)
	if err != nil {
		return "", nil, nil, err
	}
	src := featureSources[c.Name]
	cond, err := v.compile(ctx, c, src, q.Where)
	if err != nil {
		return "", nil, nil, err
	}
	where := v.always(src) + cond.sql
	args = cond.args
	behind, order, turned := ">", src.key[0], ""
	if q.Backwards {
		behind, turned = "<", " DESC"
	}
	order += turned
	if src.key[1] != "" {
		order += ", " + src.key[1] + turned
	}
	if q.After != (records.FeatureKey{}) {
		if src.key[1] == "" {
			where += " AND " + src.key[0] + " " + behind + " ?"
			args = append(args, q.After.Record)
		} else {
			where += fmt.Sprintf(" AND %[1]s %[3]s= ? AND (%[1]s %[3]s ? OR %[2]s %[3]s ?)", src.key[0], src.key[1], behind)
			args = append(args, q.After.Record, q.After.Record, q.After.Part)
		}
	}
	query = v.featureSelect(c, src) + where + " ORDER BY " + order
	if q.Limit > 0 {
		query += " LIMIT ?"
		args = append(args, q.Limit)
	}
	return query, args, cond.release, nil
}

func (v *view) eachFeature(ctx context.Context, c *records.FeatureCollection, query string, args []any, fn func(*records.Feature) error) error {
	f := &records.Feature{Values: make([]any, len(c.Fields))}
	var geom sql.RawBytes
	var doc sql.RawBytes
	dest := []any{&f.Key.Record, &f.Key.Part, &f.ID, &geom, &doc}
	for i := range f.Values {
		dest = append(dest, &f.Values[i])
	}
	return each(ctx, v, query, args, func(rows *sql.Rows) error {
		if err := rows.Scan(dest...); err != nil {
			return err
		}
		f.Located = false
		if geom != nil {
			lon, lat, err := parsePoint(geom)
			f.Located, f.Lon, f.Lat = err == nil, lon, lat // what another program put there may lie nowhere
		}
		f.Doc = doc
		for i := range f.Values {
			f.Values[i] = ofType(f.Values[i], c.Fields[i].Type)
		}
		return fn(f)
	})
}

// ofType is a value as its field says it is. Another program may have put text
// where a number belongs: it is not there then, as it is in the record.
func ofType(v any, t records.FieldType) any {
	switch v := v.(type) {
	case nil:
		return nil
	case string:
		if t == records.FieldText || t == records.FieldDate || t == records.FieldTime {
			if v == "" {
				return nil
			}
			return v
		}
	case int64:
		switch t {
		case records.FieldWhole:
			return v
		case records.FieldNumber:
			return float64(v)
		case records.FieldFlag:
			return v != 0
		case records.FieldText:
			return fmt.Sprint(v)
		}
	case float64:
		switch t {
		case records.FieldNumber:
			return v
		case records.FieldText:
			return fmt.Sprint(v)
		}
	case bool:
		if t == records.FieldFlag {
			return v
		}
	}
	return nil
}
