package sqlite

import (
	"bytes"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"math"
	"unicode/utf8"

	"tallybook/records"
)

// A group of columns of the layer holds one thing of a record: one column, or
// a quantity and its qualifier. put appends what the columns hold for w; set
// takes over what another program wrote there, and is nil where the columns
// follow from something else.
type group struct {
	names []string
	put   func(w *records.Well, dst []driver.Value) []driver.Value
	set   func(w *records.Well, values []driver.Value) error
}

// layerGroups lists the columns that follow a record, in the order in which
// they are written.
func layerGroups() []group {
	return []group{
		textGroup("number", func(w *records.Well) *string { return &w.Number }),
		textGroup("permit_number", func(w *records.Well) *string { return &w.PermitNumber }),
		textGroup("status", func(w *records.Well) *string { return &w.Status }),
		textGroup("purpose", func(w *records.Well) *string { return &w.Purpose }),
		textGroup("setting", func(w *records.Well) *string { return &w.Setting }),
		textGroup("rock_unit", func(w *records.Well) *string { return &w.Rock }),
		textGroup("parcel", func(w *records.Well) *string { return &w.Place.Parcel }),
		{[]string{"completed"},
			func(w *records.Well, dst []driver.Value) []driver.Value {
				return append(dst, nullText(w.Completed.String()))
			},
			func(w *records.Well, v []driver.Value) error {
				text, err := textOf(v[0])
				if err != nil {
					return err
				}
				if text == "" {
					w.Completed = records.Date{}
					return nil
				}
				d, err := records.ParseDate(text)
				if err == nil {
					w.Completed = d
				}
				return err
			}},
		qualifiedGroup("total_depth", "m", func(w *records.Well) *records.Amount[records.Depth] { return &w.TotalDepth }),
		qualifiedGroup("depth_to_bedrock", "m", func(w *records.Well) *records.Amount[records.Depth] { return &w.Bedrock }),
		qualifiedGroup("yield", "lps", func(w *records.Well) *records.Amount[records.Flow] { return &w.Yield }),
		qualifiedGroup("static_level", "m", func(w *records.Well) *records.Amount[records.Depth] { return &w.StaticLevel }),
		{[]string{"casing_depth_m"},
			func(w *records.Well, dst []driver.Value) []driver.Value {
				if seat, ok := w.CasingSeat(); ok {
					return append(dst, float64(seat))
				}
				return append(dst, nil)
			}, nil},
		plainGroup("ground_elevation_m", func(w *records.Well) *records.Amount[records.Height] { return &w.Place.Elevation }),
		plainGroup("accuracy_m", func(w *records.Well) *records.Amount[records.Length] { return &w.Place.Accuracy }),
		{[]string{"batch_id", "batch_row"},
			func(w *records.Well, dst []driver.Value) []driver.Value {
				return append(dst, nullID(w.Provenance.Batch), nullID(w.Provenance.Row))
			}, nil},
		{[]string{"geom"},
			func(w *records.Well, dst []driver.Value) []driver.Value {
				if !w.Place.Located {
					return append(dst, nil)
				}
				return append(dst, appendPoint(make([]byte, 0, pointSize), w.Place.Lon, w.Place.Lat))
			},
			func(w *records.Well, v []driver.Value) error {
				if v[0] == nil {
					w.Place.Located, w.Place.Lon, w.Place.Lat, w.Place.LonText, w.Place.LatText = false, 0, 0, "", ""
					return nil
				}
				b, ok := v[0].([]byte)
				if !ok {
					return fmt.Errorf("the geometry is not a BLOB")
				}
				lon, lat, err := parsePoint(b)
				if err == nil {
					w.Place.Located, w.Place.Lon, w.Place.Lat, w.Place.LonText, w.Place.LatText = true, lon, lat, "", ""
				}
				return err
			}},
	}
}

func textGroup(name string, field func(*records.Well) *string) group {
	return group{[]string{name},
		func(w *records.Well, dst []driver.Value) []driver.Value { return append(dst, nullText(*field(w))) },
		func(w *records.Well, v []driver.Value) error {
			text, err := textOf(v[0])
			if err == nil {
				*field(w) = text
			}
			return err
		}}
}

// qualifiedGroup is a quantity with its qualifier. A number without one is
// exact.
func qualifiedGroup[T ~float64](base, unit string, field func(*records.Well) *records.Amount[T]) group {
	return group{[]string{base + "_" + unit, base + "_qualifier"},
		func(w *records.Well, dst []driver.Value) []driver.Value {
			a := field(w)
			if !a.Known() {
				return append(dst, nil, nil)
			}
			return append(dst, float64(a.Value), a.Qualifier.String())
		},
		func(w *records.Well, v []driver.Value) error {
			n, known, err := numberOf(v[0])
			if err != nil {
				return err
			}
			word, err := textOf(v[1])
			if err != nil {
				return err
			}
			if !known {
				*field(w) = records.Amount[T]{}
				return nil
			}
			q := records.Exact
			if word != "" {
				var ok bool
				if q, ok = records.ParseQualifier(word); !ok || q == records.Missing {
					return fmt.Errorf("%q is not a qualifier: exact, about, less_than, greater_than or between", word)
				}
			}
			high := field(w).High
			if q != records.Between {
				high = 0
			} else if float64(high) < n {
				return fmt.Errorf("between %g and %g is upside down: the upper end is edited in the program", n, float64(high))
			}
			*field(w) = records.Amount[T]{Qualifier: q, Value: T(n), High: high}
			return nil
		}}
}

// plainGroup is a quantity whose qualifier has no column.
func plainGroup[T ~float64](name string, field func(*records.Well) *records.Amount[T]) group {
	return group{[]string{name},
		func(w *records.Well, dst []driver.Value) []driver.Value {
			if a := field(w); a.Known() {
				return append(dst, float64(a.Value))
			}
			return append(dst, nil)
		},
		func(w *records.Well, v []driver.Value) error {
			n, known, err := numberOf(v[0])
			switch {
			case err != nil:
				return err
			case !known:
				*field(w) = records.Amount[T]{}
			default:
				*field(w) = records.Of(T(n))
			}
			return nil
		}}
}

func nullText(s string) driver.Value {
	if s == "" {
		return nil
	}
	return s
}

func nullID(id int64) driver.Value {
	if id == 0 {
		return nil
	}
	return id
}

func textOf(v driver.Value) (string, error) {
	switch t := v.(type) {
	case nil:
		return "", nil
	case string:
		if !utf8.ValidString(t) {
			return "", fmt.Errorf("is not text in UTF-8")
		}
		if len(t) > records.LongestText {
			return "", fmt.Errorf("holds %d bytes, more than %d; its beginning is kept here", len(t), records.LongestText)
		}
		return t, nil
	case int64, float64:
		return fmt.Sprint(t), nil
	}
	return "", fmt.Errorf("is not text")
}

func numberOf(v driver.Value) (n float64, known bool, err error) {
	switch t := v.(type) {
	case nil:
		return 0, false, nil
	case int64:
		return float64(t), true, nil
	case float64:
		if !math.IsInf(t, 0) && !math.IsNaN(t) {
			return t, true, nil
		}
	}
	return 0, false, fmt.Errorf("%v is not a number", v)
}

// sameValues says whether columns hold the same.
func sameValues(a, b []driver.Value) bool {
	for i := range a {
		x, isBlob := a[i].([]byte)
		y, isBlobToo := b[i].([]byte)
		if isBlob != isBlobToo || (isBlob && !bytes.Equal(x, y)) || (!isBlob && a[i] != b[i]) {
			return false
		}
	}
	return true
}

// scanValues reads a row of any columns.
func scanValues(rows *sql.Rows, n int) ([]driver.Value, error) {
	read := make([]any, n)
	dest := make([]any, n)
	for i := range dest {
		dest[i] = &read[i]
	}
	if err := rows.Scan(dest...); err != nil {
		return nil, err
	}
	values := make([]driver.Value, n)
	for i, v := range read {
		values[i] = v
	}
	return values, nil
}
