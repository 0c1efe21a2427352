package ogc

import (
	"net/url"
	"slices"
	"strings"

	"tallybook/records"
)

// operation is something that can be asked for: what the handlers do and what
// the OpenAPI document says of it are both made from it.
type operation struct {
	path    string // below Root, with {collectionId} and {featureId}
	id      string
	summary string
	kind    string // the media type for programs
	schema  string // of what is sent, by its name in the OpenAPI document
	// parameters of the query string, for one collection where the path names
	// one.
	parameters func(c *records.FeatureCollection) []parameter
	handle     func(c *call) error
}

// parameter is one of a query string.
type parameter struct {
	name    string
	about   string
	schema  schema
	form    bool   // a list with commas, that is not to be exploded
	example string // a value that can be given
	// read takes a value into what is asked; nil where it is looked at elsewhere.
	read func(a *ask, value string) error
}

// operations is filled by init, since the documents that the handlers make
// list the operations.
var operations []operation

func init() {
	operations = []operation{
		{"", "getLandingPage", "What is here", typeJSON, "landingPage", onlyF, (*call).landing},
		{"/api", "getApi", "This description of the service", typeOpenAPI, "", onlyF, (*call).api},
		{"/conformance", "getConformance", "The requirements that are kept", typeJSON, "confClasses", onlyF, (*call).conformance},
		{"/collections", "getCollections", "The collections of features", typeJSON, "collections", onlyF, (*call).collectionsList},
		{"/collections/{collectionId}", "describe", "What a collection is", typeJSON, "collection", onlyF, (*call).collectionOne},
		{"/collections/{collectionId}/queryables", "getQueryables", "What can be asked for of a collection's features", typeSchema, "", onlyF, (*call).queryables},
		{"/collections/{collectionId}/schema", "getSchema", "The properties of a collection's features", typeSchema, "", onlyF, (*call).schemaOf},
		{"/collections/{collectionId}/items", "get", "Features of a collection, a page at a time", typeGeoJSON, "featureCollection", itemsParameters, (*call).items},
		{"/collections/{collectionId}/items/{featureId}", "getOne", "One feature", typeGeoJSON, "feature", itemParameters, (*call).item},
		{"/collections/{collectionId}/download", "download", "All features of a collection in one answer", typeGeoJSON, "featureCollection", downloadParameters, (*call).download},
	}
}

// match says whether an address is the operation's, and what stands in the
// places of its names.
func (o *operation) match(parts []string) (names map[string]string, ok bool) {
	want := strings.Split(strings.TrimPrefix(o.path, "/"), "/")
	if o.path == "" {
		want = nil
	}
	if len(want) != len(parts) {
		return nil, false
	}
	for i, w := range want {
		if name, is := strings.CutPrefix(w, "{"); is && parts[i] != "" {
			if names == nil {
				names = map[string]string{}
			}
			names[strings.TrimSuffix(name, "}")] = parts[i]
		} else if w != parts[i] {
			return nil, false
		}
	}
	return names, true
}

// pageChoices are parameters that every page of the house takes. They choose
// how a page looks and are none of the service's.
var pageChoices = []string{"units", "theme"}

// checkParameters refuses what is not documented, and what is given twice.
func (c *call) checkParameters() error {
	q, err := url.ParseQuery(c.r.URL.RawQuery)
	if err != nil {
		return records.Errorf(records.Invalid, "the part of the address behind the question mark cannot be read")
	}
	known := c.parameters()
	names := make([]string, len(known))
	for i := range known {
		names[i] = known[i].name
	}
	for name, values := range q {
		switch {
		case slices.Contains(names, name):
		case c.html && slices.Contains(pageChoices, name):
		default:
			return records.Errorf(records.Invalid, "there is no parameter %q here; there are: %s", clip(name), strings.Join(names, ", "))
		}
		if len(values) > 1 {
			return records.Errorf(records.Invalid, "the parameter %s stands there %d times; give it once", name, len(values))
		}
	}
	if f, ok := q["f"]; ok {
		for i := range known {
			if known[i].name == "f" && !slices.Contains(known[i].schema.Enum, any(f[0])) {
				return records.Errorf(records.Invalid, "f=%s is no format here; there are: %s", clip(f[0]), strings.Trim(strings.Join(texts(known[i].schema.Enum), ", "), ", "))
			}
		}
	}
	return nil
}

// parameters are those of the operation for the collection.
func (c *call) parameters() []parameter {
	key := c.op.id
	if c.collection != nil {
		key += "/" + c.collection.Name
	}
	if known, ok := c.s.parameters.Load(key); ok {
		return known.([]parameter)
	}
	known := c.op.parameters(c.collection)
	c.s.parameters.Store(key, known)
	return known
}

func texts(list []any) (out []string) {
	for _, v := range list {
		if s, ok := v.(string); ok {
			out = append(out, s)
		}
	}
	return out
}

// clip shortens what somebody sent before it is said again.
func clip(s string) string {
	const most = 60
	runes := []rune(s)
	if len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}

func formats(names ...string) parameter {
	list := make([]any, len(names))
	for i, n := range names {
		list[i] = n
	}
	return parameter{name: "f", about: "The format of the answer; without it the Accept header says.", schema: schema{Type: "string", Enum: list}, example: names[0]}
}

func onlyF(*records.FeatureCollection) []parameter { return []parameter{formats("json", "html")} }

func itemParameters(*records.FeatureCollection) []parameter { return append(onlyF(nil), answerCRS()) }

// itemsParameters are those of a page of features: which, how many, from where
// on.
func itemsParameters(c *records.FeatureCollection) []parameter {
	return append([]parameter{
		formats("json", "html"),
		{name: "limit", about: "At most so many features; more than the most there may be are that many.", example: "10",
			schema: schema{Type: "integer", Minimum: number(1), Maximum: number(mostItems), Default: usualItems}, read: (*ask).readLimit},
		{name: "after", about: "The page behind the feature with this key: it stands in the next link of a page.", example: "1",
			schema: schema{Type: "string", Pattern: keyPattern}, read: (*ask).readAfter},
		{name: "before", about: "The page ahead of the feature with this key: it stands in the prev link of a page.", example: "5",
			schema: schema{Type: "string", Pattern: keyPattern}, read: (*ask).readBefore},
	}, whichParameters(c)...)
}

func downloadParameters(c *records.FeatureCollection) []parameter {
	return append([]parameter{formats("json", "ndjson")}, whichParameters(c)...)
}

// whichParameters say which features are wanted: a place, a time, and each
// property that can be asked for.
func whichParameters(c *records.FeatureCollection) []parameter {
	out := []parameter{
		{name: "bbox", about: "Features in this box alone: west, south, east, north in degrees on WGS 84 (or west, south, lowest, east, north, highest; heights are not looked at). Where west is greater than east the box crosses the antimeridian.",
			schema: schema{Type: "array", Items: &schema{Type: "number"}, MinItems: 4, MaxItems: 6}, form: true, example: "-180,-90,180,90", read: (*ask).readBox},
		crsParameter("bbox-crs", "The coordinate reference system of the box.", func(a *ask, s refSystem) { a.boxCRS = s }),
		answerCRS(),
		{name: "datetime", about: "Features whose " + c.When + " meets this date or time, or lies between two: 2004-06-15, 2004-01-01/2004-12-31, 2004-01-01/.. and the like.",
			schema: schema{Type: "string"}, example: "1900-01-01/..", read: (*ask).readTime},
	}
	out = append(out, filterParameters(c)...)
	for i := range c.Fields {
		if f := &c.Fields[i]; f.Queryable {
			out = append(out, parameter{name: f.Name, about: titled(f) + ": those alone that are just this.", schema: fieldSchema(f).alone(), example: exampleOf(f),
				read: func(a *ask, value string) error { return a.readProperty(f, value) }})
		}
	}
	return out
}

func titled(f *records.FeatureField) string {
	if f.Unit == "" {
		return f.Title
	}
	return f.Title + " (" + f.Unit + ")"
}

func exampleOf(f *records.FeatureField) string {
	switch f.Type {
	case records.FieldNumber:
		return "12.5"
	case records.FieldWhole:
		return "1"
	case records.FieldFlag:
		return "false"
	case records.FieldDate:
		return "2004-06-15"
	case records.FieldTime:
		return "2004-06-15T10:00:00Z"
	}
	if len(f.Words) > 0 {
		return f.Words[0]
	}
	return "A-1"
}
