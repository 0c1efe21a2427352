package sqlite

import (
	"encoding/xml"
	"strings"

	"tallybook/records"
)

// titles writes what a layer and its columns are called.
func (g *GISFile) titles(f *records.LayerForm) error {
	if _, err := g.tx.Exec("INSERT INTO layer_titles VALUES (?, ?, ?)", f.Name, f.Title, textOrNull(f.About)); err != nil {
		return translate(err, f.Name)
	}
	for _, c := range f.Columns {
		if _, err := g.tx.Exec("INSERT INTO field_titles VALUES (?, ?, ?, ?, ?)", f.Name, c.Name, c.Title, textOrNull(c.Unit), textOrNull(c.About)); err != nil {
			return translate(err, f.Name)
		}
	}
	if f.Shape == records.ShapeNone {
		return nil
	}
	style, err := aliasStyle(f.Columns)
	if err != nil {
		return records.WrapError(records.Internal, err, "the titles of the layer %s", f.Name)
	}
	_, err = g.tx.Exec(`INSERT INTO layer_styles(f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, owner)
		VALUES ('', NULL, ?, 'geom', 'titles', ?, '', 1, ?, NULL)`, f.Name, style, f.Title)
	return translate(err, f.Name)
}

// aliasStyle is a style of QGIS that says how columns are called and nothing
// else, so that the layer is drawn as the reader likes.
func aliasStyle(columns []records.LayerColumn) (string, error) {
	type alias struct {
		Index int    `xml:"index,attr"`
		Field string `xml:"field,attr"`
		Name  string `xml:"name,attr"`
	}
	type style struct {
		XMLName    xml.Name `xml:"qgis"`
		Version    string   `xml:"version,attr"`
		Categories string   `xml:"styleCategories,attr"`
		Aliases    []alias  `xml:"aliases>alias"`
	}
	s := style{Version: "3.22", Categories: "Fields"}
	for i, c := range columns {
		name := c.Title
		if c.Unit != "" {
			name += ", " + c.Unit
		}
		s.Aliases = append(s.Aliases, alias{Index: i + 1, Field: c.Name, Name: name})
	}
	var b strings.Builder
	b.WriteString("<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n")
	if err := xml.NewEncoder(&b).Encode(s); err != nil {
		return "", err
	}
	return b.String(), nil
}
