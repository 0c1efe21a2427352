package ogc

import (
	"slices"

	"tallybook/records"
)

// schema is as much of a JSON Schema, and of OpenAPI's, as is needed here.
type schema struct {
	Ref         string           `json:"$ref,omitempty"`
	Type        string           `json:"type,omitempty"`
	Format      string           `json:"format,omitempty"`
	Title       string           `json:"title,omitempty"`
	Description string           `json:"description,omitempty"`
	Nullable    bool             `json:"nullable,omitempty"`
	Enum        []any            `json:"enum,omitempty"`
	Default     any              `json:"default,omitempty"`
	Minimum     *float64         `json:"minimum,omitempty"`
	Maximum     *float64         `json:"maximum,omitempty"`
	Pattern     string           `json:"pattern,omitempty"`
	MinItems    int              `json:"minItems,omitempty"`
	MaxItems    int              `json:"maxItems,omitempty"`
	Items       *schema          `json:"items,omitempty"`
	Required    []string         `json:"required,omitempty"`
	Properties  *members[schema] `json:"properties,omitempty"`
	OneOf       []schema         `json:"oneOf,omitempty"`
	Additional  *bool            `json:"additionalProperties,omitempty"`
}

func number(v float64) *float64 { return &v }

// datePattern is a date as far as it is known.
const datePattern = `^\d{4}(-\d{2}(-\d{2})?)?$`

// jsonKind is what the values of a field are in JSON Schema's words. A date may
// be known by its year or month alone, so that it has a pattern and no format.
func jsonKind(t records.FieldType) (kind, format, pattern string) {
	switch t {
	case records.FieldNumber:
		return "number", "", ""
	case records.FieldWhole:
		return "integer", "", ""
	case records.FieldFlag:
		return "boolean", "", ""
	case records.FieldDate:
		return "string", "", datePattern
	case records.FieldTime:
		return "string", "date-time", ""
	}
	return "string", "", ""
}

// fieldSchema is what the values of a field are, in OpenAPI's words: a value
// that is missing is null.
func fieldSchema(f *records.FeatureField) schema {
	s := schema{Title: titled(f), Nullable: true}
	s.Type, s.Format, s.Pattern = jsonKind(f.Type)
	return s
}

// alone is the schema of a value that is given: it is not missing.
func (s schema) alone() schema {
	s.Nullable = false
	s.Pattern = "" // whoever asks for the year alone may
	return s
}

// propertiesSchema are the properties of a collection's features.
func propertiesSchema(c *records.FeatureCollection) schema {
	out := schema{Type: "object", Properties: &members[schema]{}}
	for i := range c.Fields {
		f := &c.Fields[i]
		s := fieldSchema(f)
		if len(f.Words) > 0 {
			s.Description = "usually one of: " + joined(f.Words)
		}
		out.Properties.add(f.Name, s)
		out.Required = append(out.Required, f.Name)
	}
	return out
}

func joined(words []string) string {
	out := ""
	for i, w := range slices.Clone(words) {
		if i > 0 {
			out += ", "
		}
		out += w
	}
	return out
}
