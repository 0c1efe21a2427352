package ogc

import (
	"math"
	"net/url"
	"sort"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
)

// How many features a page holds: where nobody says, at most, and on a page
// for people.
const (
	usualItems  = 100
	mostItems   = 10_000
	peopleItems = 25
)

// ask is what is asked of a collection.
type ask struct {
	where     []records.Condition
	limit     int // 0: nobody says
	after     records.FeatureKey
	backwards bool // the page ahead of after
	paged     bool // after was given

	crs       refSystem  // of the answer
	box       [4]float64 // the lower ends of the axes, then the upper
	boxSaid   string     // as it was given; "": not
	boxCRS    refSystem
	filter    string
	filterCRS refSystem
}

// keyPattern is what keyText writes, for the OpenAPI document.
const keyPattern = `^[0-9]{1,18}(\.[0-9]{1,18})?$`

func keyText(k records.FeatureKey) string {
	s := strconv.FormatInt(k.Record, 10)
	if k.Part != 0 {
		s += "." + strconv.FormatInt(k.Part, 10)
	}
	return s
}

func parseKey(s string) (k records.FeatureKey, ok bool) {
	record, part, parted := strings.Cut(s, ".")
	number := func(s string) (int64, bool) {
		n, err := strconv.ParseInt(s, 10, 64)
		return n, err == nil && n >= 0 && len(s) <= 18 && s[0] != '+'
	}
	if k.Record, ok = number(record); ok && parted {
		k.Part, ok = number(part)
	}
	return k, ok
}

// readAsk reads the query string of a request whose parameters are known.
func (c *call) readAsk() (*ask, error) {
	a := &ask{}
	q := c.r.URL.Query()
	for _, p := range c.parameters() {
		values, given := q[p.name]
		if !given || p.read == nil {
			continue
		}
		if values[0] == "" && p.name != "datetime" {
			return nil, records.Errorf(records.Invalid, "the parameter %s is empty; give a value or leave it out", p.name)
		}
		if err := p.read(a, values[0]); err != nil {
			return nil, err
		}
	}
	a.where = withField(a.where, c.collection.When)
	if err := a.settle(c.collection); err != nil {
		return nil, err
	}
	if q.Has("after") && q.Has("before") {
		return nil, records.Errorf(records.Invalid, "after and before cannot both be given")
	}
	switch {
	case a.limit == 0 && c.html:
		a.limit = peopleItems
	case a.limit == 0:
		a.limit = usualItems
	}
	return a, nil
}

func (a *ask) condition() records.Condition { return records.And(a.where...) }

func (a *ask) readLimit(value string) error {
	n, err := strconv.ParseInt(value, 10, 64)
	if err != nil || n < 1 {
		return records.Errorf(records.Invalid, "limit=%s is no number of features; give a whole number from 1", clip(value))
	}
	a.limit = int(min(n, mostItems))
	return nil
}

func (a *ask) readAfter(value string) error { return a.readKey("after", value) }

func (a *ask) readBefore(value string) error {
	a.backwards = true
	return a.readKey("before", value)
}

func (a *ask) readKey(name, value string) (err error) {
	k, ok := parseKey(value)
	if !ok {
		return records.Errorf(records.Invalid, "%s=%s is no key of a feature; take the link to the next or previous page as it was sent", name, clip(value))
	}
	a.after, a.paged = k, true
	return nil
}

// readBox reads four or six numbers.
func (a *ask) readBox(value string) error {
	parts := strings.Split(value, ",")
	if len(parts) != 4 && len(parts) != 6 {
		return records.Errorf(records.Invalid, "bbox=%s has %d numbers; give four (west,south,east,north) or six", clip(value), len(parts))
	}
	v := make([]float64, len(parts))
	for i, p := range parts {
		n, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || math.IsInf(n, 0) || math.IsNaN(n) {
			return records.Errorf(records.Invalid, "bbox=%s: %q is no number", clip(value), clip(p))
		}
		v[i] = n
	}
	if len(v) == 6 {
		if v[2] > v[5] {
			return records.Errorf(records.Invalid, "bbox=%s: its lowest height is above its highest", clip(value))
		}
		v = []float64{v[0], v[1], v[3], v[4]}
	}
	a.box, a.boxSaid = [4]float64(v), value
	return nil
}

// readTime reads a date, a time, or two with a slash between, of which one may
// be .. or nothing.
func (a *ask) readTime(value string) error {
	from, to, interval := strings.Cut(value, "/")
	if !interval {
		to = from
	}
	var ends [2]string
	for i, end := range []string{from, to} {
		if interval && (end == "" || end == "..") {
			continue
		}
		t, ok := readMoment(end)
		if !ok {
			return records.Errorf(records.Invalid, "datetime=%s: %q is no date or time; give 2004-06-15, 2004-06-15T10:00:00Z, or two of them with a slash between, of which one may be ..", clip(value), clip(end))
		}
		ends[i] = t
	}
	if ends[0] != "" && ends[1] != "" && startOf(ends[0]).After(startOf(ends[1])) {
		return records.Errorf(records.Invalid, "datetime=%s ends before it begins", clip(value))
	}
	a.where = append(a.where, records.CondTime{From: ends[0], To: ends[1]}) // its field is the collection's
	return nil
}

// readMoment reads a date or a time as records.CondTime takes it. Some
// clients write a date with the T of a time behind it and no time: it is taken
// for the date. A year or a month alone is taken too.
func readMoment(s string) (string, bool) {
	day := strings.TrimSuffix(s, "T")
	for _, form := range []string{time.DateOnly, "2006-01", "2006"} {
		if _, err := time.Parse(form, day); err == nil {
			return day, true
		}
	}
	s = strings.ReplaceAll(strings.ToUpper(s), " ", "+") // a plus that was not escaped
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return "", false
	}
	return t.UTC().Format(time.RFC3339Nano), true
}

func startOf(s string) time.Time {
	for _, form := range []string{time.RFC3339Nano, time.DateOnly, "2006-01", "2006"} {
		if t, err := time.Parse(form, s); err == nil {
			return t
		}
	}
	return time.Time{}
}

// readProperty reads what a property is to be.
func (a *ask) readProperty(f *records.FeatureField, value string) error {
	var v any = value
	bad := func(what string) error {
		return records.Errorf(records.Invalid, "%s=%s is %s", f.Name, clip(value), what)
	}
	switch f.Type {
	case records.FieldNumber:
		n, err := strconv.ParseFloat(value, 64)
		if err != nil || math.IsInf(n, 0) || math.IsNaN(n) {
			return bad("no number")
		}
		v = n
	case records.FieldWhole:
		n, err := strconv.ParseInt(value, 10, 64)
		if err != nil {
			return bad("no whole number")
		}
		v = n
	case records.FieldFlag:
		b, err := strconv.ParseBool(value)
		if err != nil {
			return bad("neither true nor false")
		}
		v = b
	}
	a.where = append(a.where, records.CondCompare{Op: "=", Left: records.ExprField(f.Name), Right: records.ExprValue{Value: v}})
	return nil
}

// withField names the field of conditions on time.
func withField(where []records.Condition, field string) []records.Condition {
	for i, c := range where {
		if t, ok := c.(records.CondTime); ok && t.Field == "" {
			t.Field = field
			where[i] = t
		}
	}
	return where
}

// canonical is a query string that is the same for requests that ask the same:
// sorted, without the format.
func canonical(q url.Values, without ...string) string {
	var names []string
	for name := range q {
		skip := false
		for _, w := range without {
			skip = skip || w == name
		}
		if !skip {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	var b strings.Builder
	for _, name := range names {
		if b.Len() > 0 {
			b.WriteByte('&')
		}
		b.WriteString(url.QueryEscape(name) + "=" + url.QueryEscape(q.Get(name)))
	}
	return b.String()
}
