package ogc

import (
	"context"
	"fmt"
	"html/template"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
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

// A table shows so many texts and so many figures beside the name; the
// feature's own page shows all.
const (
	shownTexts   = 4
	shownFigures = 3
)

func (c *call) itemsPage(a *ask) error {
	var rows []records.Feature
	var got found
	var count matched
	err := c.features(c.collection, func(_ context.Context, f *desk.Features) (err error) {
		got, err = c.readPage(f, a, func(x *records.Feature) error {
			one := *x
			one.Values = append([]any(nil), x.Values...)
			rows = append(rows, one)
			return nil
		})
		if err == nil {
			count, err = c.count(f, a.condition())
		}
		return err
	})
	if err != nil {
		return err
	}
	if a.backwards {
		for i, j := 0, len(rows)-1; i < j; i, j = i+1, j-1 {
			rows[i], rows[j] = rows[j], rows[i]
		}
	}
	path := collectionPath(c.collection)
	p := &Page{Title: c.collection.Title, Lead: leadOf(len(rows), count), Up: append(c.upCollections(), PageLink{Label: c.collection.Title, Href: here(path + "?f=html")}),
		Program: c.turned(path+"/items", "", "")}
	p.Program = withoutQuery(p.Program, "f")
	p.Ask = c.askForm("")
	p.Drawing, p.DrawingSaid = drawPoints(rows, c.collection, c.s.o.Theme(c.r), c.s.o.Units(c.r))
	p.Tables = []PageTable{c.featuresTable(rows)}
	for _, l := range c.turnLinks(got) {
		u, err := url.Parse(withQuery(l.Href, "f", "html"))
		if err != nil {
			return err
		}
		p.Turn = append(p.Turn, PageLink{Label: l.Title, Href: u.RequestURI()})
	}
	return c.s.o.Show(c.w, c.r, p)
}

func withoutQuery(href, name string) string {
	u, err := url.Parse(href)
	if err != nil {
		return href
	}
	q := u.Query()
	q.Del(name)
	u.RawQuery = q.Encode()
	return u.String()
}

func leadOf(n int, m matched) string {
	switch {
	case n == 0 && m.counted && m.n == 0:
		return "Nothing fits what is asked."
	case n == 0:
		return "There is nothing on this page."
	case m.counted && int64(n) == m.n:
		return fmt.Sprintf("All that there are: %d.", n)
	case m.counted:
		return fmt.Sprintf("%d of %d.", n, m.n)
	}
	return fmt.Sprintf("%d on this page. How many there are in all is not counted: that would take going through very many.", n)
}

func (c *call) featuresTable(rows []records.Feature) PageTable {
	var shown []int
	heads := []string{"feature"}
	texts, figures := shownTexts, shownFigures
	for i := range c.collection.Fields {
		f := &c.collection.Fields[i]
		if !f.Queryable || f.Name == "uid" || f.Name == "well_uid" || strings.HasSuffix(f.Name, "_qualifier") {
			continue
		}
		left, head := &texts, f.Name
		if f.Type == records.FieldNumber {
			left, head = &figures, "#"+f.Name
		}
		some := false
		for r := range rows {
			some = some || rows[r].Values[i] != nil
		}
		if *left > 0 && some {
			*left--
			shown, heads = append(shown, i), append(heads, head)
		}
	}
	t := PageTable{Heads: heads}
	for r := range rows {
		x := &rows[r]
		cells := []PageCell{{Text: shortID(x.ID), Href: here(c.itemPath(x.ID) + "?f=html")}}
		for _, i := range shown {
			cells = append(cells, PageCell{Text: c.qualified(x, i)})
		}
		t.Rows = append(t.Rows, cells)
	}
	return t
}

// qualified is a value as it is to be read: a bound is not shown as if it were
// a number, nor what is about so much as if it were measured.
func (c *call) qualified(x *records.Feature, i int) string {
	text := textOf(x.Values[i], true)
	name := c.collection.Fields[i].Name
	cut := strings.LastIndexByte(name, '_')
	if text == "" || cut < 0 {
		return text
	}
	at, ok := c.collection.Field(name[:cut] + "_qualifier")
	if !ok {
		return text
	}
	switch x.Values[at] {
	case records.About.String():
		return "~" + text
	case records.LessThan.String():
		return "<" + text
	case records.GreaterThan.String():
		return ">" + text
	case records.Between.String():
		if high, ok := c.collection.Field(name[:cut] + "_high" + name[cut:]); ok && x.Values[high] != nil {
			return text + "–" + textOf(x.Values[high], true)
		}
		return "from " + text
	}
	return text
}

// shortID is the end of a public name: enough to tell the rows of a page apart.
func shortID(id string) string {
	const most = 13
	if len(id) > most {
		return "…" + id[len(id)-most:]
	}
	return id
}

// textOf is a value in words; in a table to three decimals.
func textOf(v any, table bool) string {
	switch v := v.(type) {
	case nil:
		return ""
	case float64:
		if table {
			return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	}
	return fmt.Sprint(v)
}

func (c *call) itemPage() error {
	var x *records.Feature
	err := c.features(c.collection, func(ctx context.Context, f *desk.Features) (err error) {
		x, err = f.One(ctx, c.collection.Name, c.id)
		return err
	})
	if err != nil {
		return err
	}
	path := collectionPath(c.collection)
	p := &Page{Title: c.nameOf(x), Lead: c.collection.About, Program: c.href(c.itemPath(x.ID)),
		Up: append(c.upCollections(), PageLink{Label: c.collection.Title, Href: here(path + "?f=html")})}
	if x.Located {
		p.Facts = append(p.Facts, PageCell{Label: "Longitude", Text: strconv.FormatFloat(x.Lon, 'f', -1, 64) + "°"}, PageCell{Label: "Latitude", Text: strconv.FormatFloat(x.Lat, 'f', -1, 64) + "°"})
	}
	p.Links = c.recordLinks(x)
	t := PageTable{Caption: "Properties", Heads: []string{"name", "what it is", "value", "unit"}}
	for i := range c.collection.Fields {
		f := &c.collection.Fields[i]
		value := textOf(x.Values[i], false)
		if value == "" {
			value = "–"
		}
		t.Rows = append(t.Rows, []PageCell{{Text: f.Name}, {Text: f.Title}, {Text: value}, {Text: f.Unit}})
	}
	p.Tables = []PageTable{t}
	return c.s.o.Show(c.w, c.r, p)
}

// nameOf is what a feature is called on its page.
func (c *call) nameOf(x *records.Feature) string {
	for _, name := range []string{"number", "well_number"} {
		if i, ok := c.collection.Field(name); ok && x.Values[i] != nil {
			return c.collection.Title + ": " + textOf(x.Values[i], false)
		}
	}
	return c.collection.Title + ": " + shortID(x.ID)
}

// recordLinks lead from a feature to the record that it is of.
func (c *call) recordLinks(x *records.Feature) (out []PageLink) {
	text := func(name string) string {
		i, ok := c.collection.Field(name)
		if !ok {
			return ""
		}
		s, _ := x.Values[i].(string)
		return s
	}
	switch {
	case c.collection.Name == records.FeaturesWells && text("uid") != "":
		out = append(out, PageLink{"The record", "/well/" + url.PathEscape(text("uid")), "The whole record of this well."})
	case c.collection.Name == records.FeaturesForecasts:
		out = append(out, PageLink{"The forecast", "/forecast/" + url.PathEscape(text("uid")), "What was asked and answered."})
	}
	if uid := text("well_uid"); uid != "" {
		out = append(out, PageLink{"The well", "/well/" + url.PathEscape(uid), "The whole record of the well."})
	}
	return out
}
