package scout

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// Limits on what is read, so that a wrong file is refused and not swallowed.
const (
	maxTableBytes = 1 << 20
	maxRows       = 500
	maxWords      = 20_000 // bytes of one text
	maxFaults     = 100
)

// form is one JSON object that is either read into the fields it is shown or
// written from them.
type form struct {
	path  string
	in    Units // what the names bear
	read  map[string]jsontext.Value
	write *[]byte
	sheet *sheet
}

// sheet is what the objects of one text share.
type sheet struct {
	faults []records.Fault
}

func (s *sheet) fault(severity records.Severity, field, message, mend string) {
	if len(s.faults) < maxFaults {
		s.faults = append(s.faults, records.Fault{Severity: severity, Field: field, Message: message, Mend: mend})
	}
}

func (f *form) fault(name, message, mend string) {
	f.sheet.fault(records.Refusal, f.at(name), message, mend)
}

func (f *form) at(name string) string {
	if f.path == "" {
		return name
	}
	return f.path + "." + name
}

// readForm reads text as one object whose members visit names; any other
// member is a fault.
func readForm(text []byte, visit func(*form)) []records.Fault {
	s := &sheet{}
	if len(text) > maxTableBytes {
		s.fault(records.Refusal, "", fmt.Sprintf("the text holds %d bytes, more than %d", len(text), maxTableBytes), "give one table")
		return s.faults
	}
	v := jsontext.Value(text)
	if !v.IsValid() {
		s.fault(records.Refusal, "", "the text is no JSON object, or names a property twice", "give one JSON object between { and }")
		return s.faults
	}
	s.object("", v, 0, visit)
	return s.faults
}

// object reads one object and reports what nobody asked for.
func (s *sheet) object(path string, v jsontext.Value, in Units, visit func(*form)) {
	if v.Kind() != '{' {
		s.fault(records.Refusal, path, "is "+kindOf(v)+" where an object belongs", "write it between { and }")
		return
	}
	f := &form{path: path, in: in, sheet: s, read: map[string]jsontext.Value{}}
	parts := elements(v)
	names := make([]string, 0, len(parts)/2)
	for i := 0; i+1 < len(parts); i += 2 {
		name, err := jsontext.AppendUnquote(nil, parts[i])
		if err != nil {
			s.fault(records.Refusal, path, "has a name that is no text", "write names between quotes")
			return
		}
		f.read[string(name)] = parts[i+1]
		names = append(names, string(name))
	}
	visit(f)
	for _, name := range names {
		if _, left := f.read[name]; left {
			f.fault(name, "is no property of this table", f.meant(name))
		}
	}
}

// elements gives the values of a list, or the names and values of an object in
// turn. v is valid JSON: it was checked as a whole.
func elements(v jsontext.Value) []jsontext.Value {
	d := jsontext.NewDecoder(bytes.NewReader(v))
	if _, err := d.ReadToken(); err != nil {
		return nil
	}
	var out []jsontext.Value
	for {
		if k := d.PeekKind(); k == ']' || k == '}' {
			return out
		}
		e, err := d.ReadValue()
		if err != nil {
			return out
		}
		out = append(out, e.Clone())
	}
}

// meant says what an unknown property was probably to be.
func (f *form) meant(name string) string {
	if f.in == 0 {
		return `take it out, or correct its name; names of lengths bear the units, which "units" must state first ("us" or "si")`
	}
	for _, suffix := range []string{"_ft", "_m", "_in", "_mm", "_gal", "_l", "_gpm", "_lps"} {
		if strings.HasSuffix(name, suffix) {
			return "take it out, or correct its name; this table is in " + f.in.String() + " units, and names bear them"
		}
	}
	return "take it out, or correct its name"
}

func kindOf(v jsontext.Value) string {
	switch v.Kind() {
	case '{':
		return "an object"
	case '[':
		return "a list"
	case '"':
		return "a text"
	case '0':
		return "the number " + clip(string(v))
	case 'n':
		return "null"
	}
	return clip(string(v))
}

func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// take gives a member of the object being read, and marks it as asked for.
// null is as good as absent.
func (f *form) take(name string) (jsontext.Value, bool) {
	v, ok := f.read[name]
	delete(f.read, name)
	return v, ok && v.Kind() != 'n'
}

// put writes a member.
func (f *form) put(name string, value []byte) {
	if n := len(*f.write); (*f.write)[n-1] != '{' {
		*f.write = append(*f.write, ',')
	}
	*f.write = append(appendQuoted(*f.write, name), ':')
	*f.write = append(*f.write, value...)
}

func appendQuoted(dst []byte, s string) []byte {
	out, err := jsontext.AppendQuote(dst, strings.ToValidUTF8(s, "\uFFFD"))
	if err != nil {
		return append(dst, '"', '"') // cannot be: the text is valid UTF-8
	}
	return out
}

func (f *form) text(name string, p *string) {
	if f.write != nil {
		if *p != "" {
			f.put(name, appendQuoted(nil, *p))
		}
		return
	}
	v, ok := f.take(name)
	if !ok {
		return
	}
	if v.Kind() != '"' {
		f.fault(name, "is "+kindOf(v)+" where a text belongs", "write it between quotes")
		return
	}
	b, err := jsontext.AppendUnquote(nil, v)
	if err != nil || len(b) > maxWords {
		f.fault(name, fmt.Sprintf("is no text of at most %d bytes", maxWords), "shorten it")
		return
	}
	*p = string(b)
}

// digits gives the number that a member holds as it stands in the text.
func (f *form) digits(name string) (text string, value float64, ok bool) {
	v, ok := f.take(name)
	if !ok {
		return "", 0, false
	}
	if v.Kind() != '0' {
		f.fault(name, "is "+kindOf(v)+" where a number belongs", "write digits without quotes")
		return "", 0, false
	}
	value, err := strconv.ParseFloat(string(v), 64)
	if err != nil || !finite(value) {
		f.fault(name, clip(string(v))+" is beyond what can be computed with", "check the digits")
		return "", 0, false
	}
	return string(v), value, true
}

func appendNumber(dst []byte, v float64) []byte { return strconv.AppendFloat(dst, v, 'f', -1, 64) }

func (f *form) number(name string, p *float64) {
	if f.write != nil {
		if *p != 0 {
			f.put(name, appendNumber(nil, *p))
		}
		return
	}
	if _, v, ok := f.digits(name); ok {
		*p = v
	}
}
