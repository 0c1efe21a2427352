package ogc

import (
	"html/template"
	"net/url"
	"strconv"
	"strings"
)

// Page is a page for people: what it says, in parts that the house shows in its
// own way.
type Page struct {
	Title, Lead  string
	Up           []PageLink // to what it is a part of, the whole first
	Say, Address string     // a sentence, and the address that it tells
	Facts        []PageCell // with their labels
	Links        []PageLink
	Drawing      template.HTML
	DrawingSaid  string
	Tables       []PageTable
	Turn         []PageLink // to the pages ahead and behind
	Program      string     // the address that a program reads the same from
	Ask          *PageAsk
	Status       int // 0: 200
}

// PageAsk is a form that asks for features by a filter.
type PageAsk struct {
	Action  string
	Keep    []PageCell // what else was asked, by its parameter
	Filter  string
	Problem string // what is wrong with the filter
	Such    PageLink
	Help    PageLink
}

// PageLink leads somewhere.
type PageLink struct{ Label, Href, Say string }

// PageCell is a value, with its label where it is no cell of a table.
type PageCell struct{ Label, Text, Href string }

// PageTable is a table; heads that begin with '#' are of figures.
type PageTable struct {
	Caption string
	Fold    string // folded away behind these words; "": it stands open
	Heads   []string
	Rows    [][]PageCell
}

// here is an address on this server, for a person's links.
func here(path string) string { return Root + path }

var upHome = PageLink{Label: "For GIS", Href: Root}

func (c *call) landingPage() *Page {
	p := &Page{Title: "For GIS", Lead: c.about()}
	p.Say, p.Address = "To connect, give your GIS this address as that of an OGC API - Features service:", c.href("")
	p.Links = []PageLink{
		{"Collections", here("/collections?f=html"), "What there is, each with its properties; look through it, or take all of it as one file."},
		{"Description", here("/api?f=html"), "What can be asked for, and how."},
		{"Requirements kept", here("/conformance?f=html"), "The parts of the standard that this service keeps."},
	}
	return p
}

func (c *call) conformancePage() *Page {
	p := &Page{Title: "Requirements kept", Lead: "The classes of requirements of OGC API - Features that this service keeps whole.", Up: []PageLink{upHome}, Program: c.href("/conformance")}
	t := PageTable{Heads: []string{"class"}}
	for _, class := range conformanceClasses {
		t.Rows = append(t.Rows, []PageCell{{Text: class}})
	}
	p.Tables = []PageTable{t}
	return p
}

func (c *call) collectionsPage() *Page {
	p := &Page{Title: "Collections", Lead: "Each is a layer in a GIS.", Up: []PageLink{upHome}, Program: c.href("/collections")}
	for _, one := range c.collections() {
		p.Links = append(p.Links, PageLink{one.Title, here(collectionPath(one) + "?f=html"), one.About})
	}
	return p
}

func (c *call) upCollections() []PageLink {
	return []PageLink{upHome, {Label: "Collections", Href: here("/collections?f=html")}}
}

func (c *call) collectionPage(doc collectionDoc) (*Page, error) {
	path := collectionPath(c.collection)
	p := &Page{Title: doc.Title, Lead: doc.Description, Up: c.upCollections(), Program: c.href(path),
		Links: []PageLink{
			{"Look through them", here(path + "/items?f=html"), "A page at a time, with a drawing of where they lie."},
			{"All in one file", here(path + "/download"), "GeoJSON."},
			{"All, a feature a line", here(path + "/download?f=ndjson"), "Newline-delimited GeoJSON, for large sets."},
		}}
	if e := doc.Extent; e != nil && e.Spatial != nil {
		b := e.Spatial.BBox[0]
		p.Facts = append(p.Facts, PageCell{Label: "Between longitudes", Text: degrees(b[0]) + " and " + degrees(b[2])}, PageCell{Label: "Between latitudes", Text: degrees(b[1]) + " and " + degrees(b[3])})
	}
	if e := doc.Extent; e != nil && e.Temporal != nil {
		i := e.Temporal.Interval[0]
		p.Facts = append(p.Facts, PageCell{Label: "From", Text: day(i[0])}, PageCell{Label: "To", Text: day(i[1])})
	}
	p.Links = append(p.Links, PageLink{"What can be asked for", here(path + "/queryables?f=html"), "The properties that a filter may name, and how."})
	p.Tables = []PageTable{c.fieldsTable()}
	return p, nil
}

// fieldsTable are the properties of a collection.
func (c *call) fieldsTable() PageTable {
	t := PageTable{Caption: "Properties", Heads: []string{"name", "what it is", "unit", "can be asked for"}}
	for i := range c.collection.Fields {
		f := &c.collection.Fields[i]
		can := ""
		if f.Queryable {
			can = "yes"
		}
		t.Rows = append(t.Rows, []PageCell{{Text: f.Name}, {Text: f.Title}, {Text: f.Unit}, {Text: can}})
	}
	return t
}

func degrees(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) + "°" }

func day(s *string) string {
	if s == nil {
		return "not known"
	}
	d, _, _ := strings.Cut(*s, "T")
	return d
}

func (c *call) apiPage() *Page {
	p := &Page{Title: "Description", Lead: "What can be asked for: each address, and the parameters that it takes. Programs read the same as an OpenAPI document.", Up: []PageLink{upHome}, Program: c.href("/api")}
	for i := range operations {
		op := &operations[i]
		if strings.Contains(op.path, "{collectionId}") {
			continue
		}
		p.Links = append(p.Links, PageLink{Root + op.path, here(op.path + "?f=html"), op.summary + "."})
	}
	for _, of := range c.collections() {
		for i := range operations {
			op := &operations[i]
			if op.id != "get" {
				continue
			}
			path := strings.ReplaceAll(op.path, "{collectionId}", url.PathEscape(of.Name))
			t := PageTable{Fold: Root + path, Heads: []string{"parameter", "what it does", "such as"}}
			for _, x := range op.parameters(of) {
				t.Rows = append(t.Rows, []PageCell{{Text: x.name}, {Text: x.about}, {Text: x.example}})
			}
			p.Tables = append(p.Tables, t)
		}
	}
	return p
}
