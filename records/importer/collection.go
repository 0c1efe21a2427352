package importer

import (
	"errors"
	"fmt"
	"io"

	"github.com/go-json-experiment/json/jsontext"
)

// collection cuts a FeatureCollection into its features, whatever the order of
// its members. Members that RFC 7946 does not know are passed over, as its
// section 6.1 allows.
type collection struct {
	features
	inside       bool // within the list of features
	opened       bool
	haveFeatures bool
	first        bool // no feature has been seen in the list yet
	member       int  // members seen so far
	kind         string
}

func (c *collection) split(row *Row) error {
	for {
		var err error
		if c.inside {
			var found bool
			if found, err = c.feature(row); found {
				return nil
			}
		} else {
			err = c.nextMember()
		}
		if err != nil {
			return err
		}
	}
}

// feature takes the next feature of the list, or its closing bracket.
func (c *collection) feature(row *Row) (found bool, err error) {
	w := c.w
	next, ok := w.space()
	if ok && next == ']' {
		w.take(1)
		c.inside = false
		return false, nil
	}
	if !c.first {
		if !ok {
			return false, c.ended("inside the list of features")
		}
		if next != ',' {
			return false, w.syntaxError(fmt.Sprintf("%q stands where a comma between two features belongs", next),
				"write a comma between features and ] after the last")
		}
		w.take(1)
		next, ok = w.space()
	}
	if !ok {
		return false, c.ended("inside the list of features")
	}
	if next == ',' || next == ']' || next == '}' || next == ':' {
		return false, w.syntaxError(fmt.Sprintf("%q stands where a feature belongs", next), "take out the comma or put a feature there")
	}
	c.first = false
	c.number++
	row.Number, row.Line, row.Offset = c.number, w.line, w.offset()
	raw, size, err := w.value(&c.scan, c.limits.hold())
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return false, c.ended(fmt.Sprintf("inside feature %d, which begins on line %d, byte %d", row.Number, row.Line, row.Offset))
	}
	if err != nil {
		return false, c.sourceError(err)
	}
	c.fill(row, raw, size)
	return true, nil
}

// nextMember takes one member of the collection itself.
func (c *collection) nextMember() error {
	w := c.w
	next, ok := w.space()
	if !c.opened {
		c.opened = true
		w.take(1) // the brace that the format was told by
		next, ok = w.space()
	} else if ok && next == ',' && c.member > 0 {
		w.take(1)
		if next, ok = w.space(); ok && next == '}' {
			return w.syntaxError("a comma stands before the closing brace", "take out the comma")
		}
	} else if ok && next != '}' && c.member > 0 {
		return w.syntaxError(fmt.Sprintf("%q stands where a comma or } belongs", next), "mend the file there")
	}
	switch {
	case !ok:
		return c.ended("before the collection is closed")
	case next == '}':
		w.take(1)
		return c.close()
	case next != '"':
		return w.syntaxError(fmt.Sprintf("%q stands where the name of a member belongs", next), "write names between double quotes")
	}
	c.member++
	raw, _, err := w.value(&c.scan, c.limits.hold())
	if err != nil {
		return c.memberError(err)
	}
	unquoted, err := jsontext.AppendUnquote(nil, raw)
	if err != nil {
		return w.syntaxError("the name of a member is not a JSON text", "mend it")
	}
	name := string(unquoted)
	if next, ok = w.space(); !ok || next != ':' {
		return w.syntaxError(fmt.Sprintf("no colon follows the name %q", clip(name)), "write a colon between name and value")
	}
	w.take(1)
	if next, ok = w.space(); !ok {
		return c.ended(fmt.Sprintf("after the name %q", clip(name)))
	}
	if name == "features" {
		return c.openFeatures(next)
	}
	return c.foreign(name, next)
}

func (c *collection) openFeatures(next byte) error {
	if c.haveFeatures {
		return c.w.syntaxError(`a second "features" member`, "join the two lists into one")
	}
	if next != '[' {
		return c.w.syntaxError(`"features" is not a list`, "write the features between [ and ]")
	}
	c.w.take(1)
	c.haveFeatures, c.inside, c.first = true, true, true
	return nil
}

// foreign takes the value of any other member.
func (c *collection) foreign(name string, next byte) error {
	switch next {
	case ',', ':', ']', '}':
		return c.w.syntaxError(fmt.Sprintf("no value follows the name %q", clip(name)), "give it one, or take it out")
	}
	raw, size, err := c.w.value(&c.scan, c.limits.hold())
	if err != nil {
		return c.memberError(err)
	}
	if size > int64(len(raw)) {
		if name == "type" || name == "crs" {
			return c.w.syntaxError(fmt.Sprintf("the member %q is %d bytes long", name, size), "mend it")
		}
		return nil
	}
	if !jsontext.Value(raw).IsValid() {
		return c.w.syntaxError(fmt.Sprintf("the value of %q is not JSON", clip(name)), "mend it or take it out")
	}
	switch name {
	case "type":
		c.kind = string(raw)
		if c.kind != `"FeatureCollection"` {
			return c.w.syntaxError(fmt.Sprintf("the type of the whole is %s, with a list of features", clip(c.kind)), `write "type": "FeatureCollection"`)
		}
	case "crs":
		if message, mend := judgeCRS(raw); message != "" {
			return c.w.syntaxError(message, mend)
		}
	}
	return nil
}

// close checks the collection as a whole, and that nothing follows it.
func (c *collection) close() error {
	switch {
	case !c.haveFeatures:
		return c.w.syntaxError(`the collection has no "features"`, "give it a list of features, which may be empty")
	case c.kind == "":
		return c.w.syntaxError("the collection does not say its type", `write "type": "FeatureCollection" in it`)
	}
	if next, ok := c.w.space(); ok {
		return c.w.syntaxError(fmt.Sprintf("%q follows after the end of the collection", next), "keep one collection a file, or one feature a line")
	}
	return c.atEnd()
}

func (c *collection) memberError(err error) error {
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return c.ended("inside a member of the collection")
	}
	return c.sourceError(err)
}
