package ogc

import (
	"maps"
	"net/http"
	"slices"
	"strings"

	"tallybook/records"
	"tallybook/records/cql2"
)

// The relations of the links to what describes a collection's properties (OGC
// 19-079r2 and 23-058r1, from memory).
const (
	relQueryables = "http://www.opengis.net/def/rel/ogc/1.0/queryables"
	relSchema     = "http://www.opengis.net/def/rel/ogc/1.0/schema"
)

// propertiesDoc is a JSON Schema of properties, draft 2020-12.
type propertiesDoc struct {
	Schema      string                 `json:"$schema"`
	ID          string                 `json:"$id"`
	Type        string                 `json:"type"`
	Title       string                 `json:"title"`
	Description string                 `json:"description"`
	Properties  *members[*propertyDoc] `json:"properties"`
	Additional  bool                   `json:"additionalProperties"`
}

// propertyDoc is one property. Unit is a symbol of UCUM.
type propertyDoc struct {
	Title       string `json:"title"`
	Description string `json:"description,omitempty"`
	Type        string `json:"type,omitempty"`
	Format      string `json:"format,omitempty"`
	Pattern     string `json:"pattern,omitempty"`
	Unit        string `json:"x-ogc-unit,omitempty"`
	Role        string `json:"x-ogc-role,omitempty"`
}

func propertyOf(c *records.FeatureCollection, f *records.FeatureField) *propertyDoc {
	p := &propertyDoc{Title: titled(f), Unit: f.Unit}
	p.Type, p.Format, p.Pattern = jsonKind(f.Type)
	if f.Type == records.FieldDate {
		p.Description = "A day, or a month or a year where no more is known."
	}
	if len(f.Words) > 0 {
		p.Description = "Usually one of: " + joined(f.Words) + "."
	}
	switch f.Name {
	case "uid":
		p.Role = "id"
	case c.When:
		p.Role = "primary-instant"
	}
	return p
}

func (c *call) propertiesDoc(path, title, about string) propertiesDoc {
	return propertiesDoc{Schema: "https://json-schema.org/draft/2020-12/schema", ID: c.href(collectionPath(c.collection) + path), Type: "object",
		Title: c.collection.Title + ": " + title, Description: about, Properties: &members[*propertyDoc]{}}
}

func pointProperty() *propertyDoc {
	return &propertyDoc{Title: "Where it lies", Format: "geometry-point", Role: "primary-geometry"}
}

const queryablesAbout = "Each as a parameter of its own, or all together in a filter. A value that is missing is neither equal to another nor less nor greater."

// queryables answers what a filter may name.
func (c *call) queryables() error {
	if c.html {
		return c.s.o.Show(c.w, c.r, c.queryablesPage())
	}
	doc := c.propertiesDoc("/queryables", "what can be asked for", queryablesAbout)
	doc.Properties.add(cql2.GeometryField, pointProperty())
	for i := range c.collection.Fields {
		f := &c.collection.Fields[i]
		if !f.Queryable {
			continue
		}
		p := propertyOf(c.collection, f)
		if f.Type == records.FieldDate { // what a filter compares it with is a whole date
			p.Format, p.Pattern = "date", ""
			p.Description = "A date that knows only its month or year is before or after another where each of its days is; the predicates of time take it for the whole month or year."
		}
		doc.Properties.add(f.Name, p)
	}
	return c.sendJSON(typeSchema, doc)
}

// schemaOf answers what the features of a collection have.
func (c *call) schemaOf() error {
	if c.html {
		return c.s.o.Show(c.w, c.r, c.schemaPage())
	}
	doc := c.propertiesDoc("/schema", "properties", c.collection.About+" A property of which nothing is known is null.")
	doc.Properties.add(cql2.GeometryField, pointProperty())
	for i := range c.collection.Fields {
		f := &c.collection.Fields[i]
		doc.Properties.add(f.Name, propertyOf(c.collection, f))
	}
	return c.sendJSON(typeSchema, doc)
}

func (c *call) queryablesPage() *Page {
	path := collectionPath(c.collection)
	p := &Page{Title: c.collection.Title + ": what can be asked for", Lead: queryablesAbout, Up: c.upOwn(), Program: c.href(path + "/queryables")}
	p.Links = []PageLink{{"Such as", here(withQuery(path+"/items?f=html", "filter", filterExample(c.collection))), filterExample(c.collection)}}
	t := PageTable{Caption: "What a filter may name", Heads: []string{"name", "what it is", "unit", "compared with"}}
	t.Rows = append(t.Rows, []PageCell{{Text: cql2.GeometryField}, {Text: "Where it lies"}, {}, {Text: "S_INTERSECTS(geometry, BBOX(-38.8, 44.2, -38.7, 44.3)), POINT, POLYGON and the like"}})
	for i := range c.collection.Fields {
		f := &c.collection.Fields[i]
		if f.Queryable {
			t.Rows = append(t.Rows, []PageCell{{Text: f.Name}, {Text: f.Title}, {Text: f.Unit}, {Text: comparedWith(f)}})
		}
	}
	p.Tables = []PageTable{t}
	return p
}

func comparedWith(f *records.FeatureField) string {
	switch f.Type {
	case records.FieldNumber, records.FieldWhole:
		return "a number: " + f.Name + " >= " + exampleOf(f)
	case records.FieldFlag:
		return f.Name + " = TRUE"
	case records.FieldDate:
		return "a date: " + f.Name + " >= DATE('2004-06-15')"
	case records.FieldTime:
		return "a time: " + f.Name + " >= TIMESTAMP('2004-06-15T10:00:00Z')"
	}
	if len(f.Words) > 0 {
		return "a text: " + f.Name + " IN ('" + strings.Join(f.Words[:min(2, len(f.Words))], "', '") + "')"
	}
	return "a text: " + f.Name + " = '" + exampleOf(f) + "', or LIKE 'A%'"
}

func (c *call) schemaPage() *Page {
	p := &Page{Title: c.collection.Title + ": properties", Lead: c.collection.About, Up: c.upOwn(), Program: c.href(collectionPath(c.collection) + "/schema")}
	p.Tables = []PageTable{c.fieldsTable()}
	return p
}

// askForm is the form of a page of features, with what is asked now.
func (c *call) askForm(problem string) *PageAsk {
	path := collectionPath(c.collection)
	q := c.r.URL.Query()
	such := filterExample(c.collection)
	ask := &PageAsk{Action: here(path + "/items"), Filter: q.Get("filter"), Problem: problem,
		Such: PageLink{Label: such, Href: here(withQuery(path+"/items?f=html", "filter", such))},
		Help: PageLink{Label: "What can be asked for", Href: here(path + "/queryables?f=html")}}
	q.Set("f", "html")
	for _, name := range slices.Sorted(maps.Keys(q)) {
		if name != "filter" && name != "after" && name != "before" { // the page begins anew
			ask.Keep = append(ask.Keep, PageCell{Label: name, Text: q.Get(name)})
		}
	}
	return ask
}

// refusedPage gives the form back with what is wrong.
func (c *call) refusedPage(err error) error {
	return c.s.o.Show(c.w, c.r, &Page{Title: c.collection.Title, Lead: "Nothing was asked: the filter, or what goes with it, cannot be read.", Up: c.upOwn(),
		Ask: c.askForm(records.MessageOf(err)), Status: http.StatusBadRequest})
}

// upOwn leads to the collection and what it is a part of.
func (c *call) upOwn() []PageLink {
	return append(c.upCollections(), PageLink{Label: c.collection.Title, Href: here(collectionPath(c.collection) + "?f=html")})
}
