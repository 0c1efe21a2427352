package exchange

import (
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

const (
	platesProperty  = "plates"
	derivedProperty = "derived"
	// featureMember is the extra property in which the importer keeps what a
	// feature carried outside its properties.
	featureMember = "@feature"
)

// besideProperties is what a feature carried outside its properties, as the
// importer kept it.
type besideProperties struct {
	members  []records.Member
	geometry []records.Member
	beyond   string // the coordinates after the second, each after a comma
}

// sortExtra parts the extra properties into what belongs beside the properties
// and what belongs among them.
func sortExtra(extra []records.Member, o Options) (b besideProperties, kept []records.Member, leftOut int) {
	if !needsSorting(extra, o) {
		return b, extra, 0
	}
	for _, m := range extra {
		switch {
		case m.Name == featureMember:
			b = readBeside(m.JSON)
			if !o.Private {
				b.members, leftOut = withoutPeople(b.members, leftOut)
			}
		case m.Name == platesProperty, (o.Derived != nil || o.Ground != nil) && m.Name == derivedProperty:
			// Written afresh.
		case !o.Private && aboutPeople(m.Name):
			leftOut++
		default:
			kept = append(kept, m)
		}
	}
	return b, kept, leftOut
}

func needsSorting(extra []records.Member, o Options) bool {
	for _, m := range extra {
		if m.Name == featureMember || m.Name == platesProperty || m.Name == derivedProperty || !o.Private && aboutPeople(m.Name) {
			return true
		}
	}
	return false
}

func withoutPeople(members []records.Member, leftOut int) ([]records.Member, int) {
	var kept []records.Member
	for _, m := range members {
		if aboutPeople(m.Name) {
			leftOut++
			continue
		}
		kept = append(kept, m)
	}
	return kept, leftOut
}

// extraOfCrew leaves out what a file said of the crew beyond their names and
// licence.
func extraOfCrew(w *records.Well, o Options) (kept []records.Member, leftOut int) {
	if o.Private {
		return w.Crew.Extra, 0
	}
	return withoutPeople(w.Crew.Extra, 0)
}

// peopleWords are words in the names of properties that are about people.
var peopleWords = map[string]bool{
	"owner": true, "owners": true, "landowner": true, "landlord": true, "tenant": true, "occupant": true, "resident": true,
	"customer": true, "client": true, "applicant": true, "contact": true, "surname": true, "firstname": true, "lastname": true,
	"phone": true, "telephone": true, "tel": true, "mobile": true, "fax": true, "email": true, "mail": true,
	"address": true, "addr": true, "street": true,
}

// aboutPeople says whether a property that the model does not know looks, by
// its name, as if it told of people. Leaving out one too many costs less than
// giving somebody's telephone number away.
func aboutPeople(name string) bool {
	start := 0
	word := func(end int) bool { return end > start && peopleWords[strings.ToLower(name[start:end])] }
	for i := 0; i < len(name); i++ {
		c := name[i]
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		hump := c >= 'A' && c <= 'Z' && i > 0 && name[i-1] >= 'a' && name[i-1] <= 'z'
		if !letter || hump {
			if word(i) {
				return true
			}
			start = i
			if !letter {
				start = i + 1
			}
		}
	}
	return word(len(name))
}

// readBeside reads what the importer wrote; what is anything else says
// nothing.
func readBeside(text string) besideProperties {
	var b besideProperties
	for _, m := range readMembers([]byte(text)) {
		switch m.Name {
		case "members":
			b.members = readMembers([]byte(m.JSON))
		case "geometry":
			b.geometry = readMembers([]byte(m.JSON))
		case "beyond":
			inner := strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(m.JSON, "["), "]"))
			if inner != "" && m.JSON[0] == '[' {
				b.beyond = "," + inner
			}
		}
	}
	return b
}

// readMembers cuts a JSON object into its members; nil where it is none.
func readMembers(raw []byte) []records.Member {
	d := jsontext.NewDecoder(bytes.NewBuffer(raw))
	if d.PeekKind() != '{' {
		return nil
	}
	if _, err := d.ReadToken(); err != nil {
		return nil
	}
	var out []records.Member
	for d.PeekKind() == '"' {
		name, err := d.ReadToken()
		if err != nil {
			return nil
		}
		key := name.String()
		value, err := d.ReadValue()
		if err != nil {
			return nil
		}
		out = append(out, records.Member{Name: key, JSON: string(value)})
	}
	if _, err := d.ReadToken(); err != nil {
		return nil
	}
	if _, err := d.ReadToken(); !errors.Is(err, io.EOF) {
		return nil
	}
	return out
}

// unquote decodes a JSON text.
func unquote(value string) string {
	out, err := jsontext.AppendUnquote(nil, value)
	if err != nil {
		return value
	}
	return string(out)
}
