package ogc

import (
	"context"
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

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
