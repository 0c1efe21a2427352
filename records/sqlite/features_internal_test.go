package sqlite

import (
	"strings"
	"testing"

	"tallybook/records"
)

// Every field of every collection is read from the file, but for what a
// forecast expected, which stands in its document; nothing is read that is no
// field.
func TestFeatureFieldsAreRead(t *testing.T) {
	for _, c := range records.FeatureCollections() {
		src := featureSources[c.Name]
		if src == nil {
			t.Errorf("the file knows nothing of %s", c.Name)
			continue
		}
		for _, f := range c.Fields {
			fromDocument := src.doc != "" && (strings.Contains(f.Name, "_p10_") || strings.Contains(f.Name, "_p50_") || strings.Contains(f.Name, "_p90_"))
			if (src.read[f.Name] == "") != fromDocument {
				t.Errorf("%s.%s: read as %q", c.Name, f.Name, src.read[f.Name])
			}
			if f.Queryable && fromDocument {
				t.Errorf("%s.%s stands in a document and cannot be asked for", c.Name, f.Name)
			}
		}
		for name := range src.read {
			if _, ok := c.Field(name); !ok {
				t.Errorf("%s: %s is read and is no field", c.Name, name)
			}
		}
		if i, ok := c.Field(c.When); !ok || c.Fields[i].Type != records.FieldDate && c.Fields[i].Type != records.FieldTime {
			t.Errorf("%s: %q is no date", c.Name, c.When)
		}
	}
	if len(featureSources) != len(records.FeatureCollections()) {
		t.Errorf("%d sources for %d collections", len(featureSources), len(records.FeatureCollections()))
	}
}

func TestLike(t *testing.T) {
	for _, c := range []struct {
		text, pattern string
		want          bool
	}{ // worked by hand
		{"", "", true}, {"", "%", true}, {"", "_", false}, {"abc", "abc", true}, {"abc", "ABC", false}, {"abc", "a%", true}, {"abc", "%c", true},
		{"abc", "%b%", true}, {"abc", "a_c", true}, {"abc", "a_", false}, {"aab", "%ab", true}, {"a%b", `a\%b`, true}, {"axb", `a\%b`, false},
		{`a\b`, `a\\b`, true}, {"äö", "__", true}, {"mississippi", "%iss%pi", true}, {"mississippi", "%iss%px", false}, {"a", `a\`, false}, {`a\`, `a\`, true},
	} {
		if got := matchLike([]rune(c.text), []rune(c.pattern)); got != c.want {
			t.Errorf("%q like %q: %v", c.text, c.pattern, got)
		}
	}
}
