package importer

import (
	"encoding/xml"
	"errors"
	"io"
	"path"
	"strconv"
	"strings"

	"tallybook/records"
)

// eachElement reads the XML of a part as a stream and calls start for each
// beginning of an element; text is called with what stands in elements, and
// end where one ends. Each may be nil. Names are without their prefix.
func (b *workbook) eachElement(part string, most int64, start func(xml.StartElement) error, text func([]byte), end func(string) error) error {
	r, err := b.openPart(part, most)
	if err != nil {
		return err
	}
	defer r.Close()
	d := xml.NewDecoder(r)
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return b.broken(part, err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			if start != nil {
				err = start(t)
			}
		case xml.EndElement:
			if end != nil {
				err = end(t.Name.Local)
			}
		case xml.CharData:
			if text != nil {
				text(t)
			}
		}
		if err != nil {
			return err
		}
	}
}

// attribute is the value of an attribute by its name without a prefix.
func attribute(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// bookPart finds the workbook's own part by the archive's relationships.
func (b *workbook) bookPart() string {
	found := "xl/workbook.xml"
	err := b.eachElement("_rels/.rels", maxPartBytes, func(t xml.StartElement) error {
		if t.Name.Local == "Relationship" && strings.HasSuffix(attribute(t, "Type"), "/officeDocument") {
			found = strings.TrimPrefix(attribute(t, "Target"), "/")
		}
		return nil
	}, nil, nil)
	if err != nil {
		return "xl/workbook.xml"
	}
	return found
}

// readBook reads the list of sheets and the epoch of the dates.
func (b *workbook) readBook() error {
	part := b.bookPart()
	targets := make(map[string]string)
	rels := path.Join(path.Dir(part), "_rels", path.Base(part)+".rels")
	err := b.eachElement(rels, maxPartBytes, func(t xml.StartElement) error {
		if t.Name.Local == "Relationship" && strings.HasSuffix(attribute(t, "Type"), "/worksheet") {
			target := attribute(t, "Target")
			if !strings.HasPrefix(target, "/") {
				target = path.Join(path.Dir(part), target)
			}
			targets[attribute(t, "Id")] = strings.TrimPrefix(target, "/")
		}
		return nil
	}, nil, nil)
	if err != nil {
		return b.broken(rels, err)
	}
	err = b.eachElement(part, maxPartBytes, func(t xml.StartElement) error {
		switch t.Name.Local {
		case "workbookPr":
			if v := attribute(t, "date1904"); v == "1" || v == "true" {
				b.from = since1904
			}
		case "sheet":
			id := ""
			for _, a := range t.Attr {
				if a.Name.Local == "id" && a.Name.Space != "" { // r:id, not sheetId
					id = a.Value
				}
			}
			if target, ok := targets[id]; ok && len(b.sheets) < maxSheets {
				b.sheets = append(b.sheets, bookSheet{name: attribute(t, "name"), part: target, hidden: attribute(t, "state") != "" && attribute(t, "state") != "visible"})
			}
		}
		return nil
	}, nil, nil)
	if err != nil {
		return b.broken(part, err)
	}
	if len(b.sheets) == 0 {
		return records.Errorf(records.Invalid, "%s holds no sheet of cells", b.name)
	}
	return nil
}

// sharedStrings are the texts that cells refer to by number, one behind the
// other.
type sharedStrings struct {
	text []byte
	ends []int
}

func (s *sharedStrings) at(i int) (string, bool) {
	if i < 0 || i >= len(s.ends) {
		return "", false
	}
	from := 0
	if i > 0 {
		from = s.ends[i-1]
	}
	return string(s.text[from:s.ends[i]]), true
}

// readStrings reads the shared strings (ECMA-376 part 1, section 18.4), of
// which rich text counts and how it is to be pronounced does not.
func (b *workbook) readStrings() error {
	part, phonetic, inText := "xl/sharedStrings.xml", 0, false
	s := &b.strings
	err := b.eachElement(part, maxStringBytes*2, func(t xml.StartElement) error {
		switch t.Name.Local {
		case "rPh":
			phonetic++
		case "t":
			inText = phonetic == 0
		}
		return nil
	}, func(text []byte) {
		if inText {
			s.text = append(s.text, text...)
		}
	}, func(name string) error {
		switch name {
		case "rPh":
			phonetic--
		case "t":
			inText = false
		case "si":
			s.ends = append(s.ends, len(s.text))
			if len(s.text) > maxStringBytes {
				return records.Errorf(records.TooLarge, "%s holds more than %d bytes of text; save the sheet as CSV", b.name, maxStringBytes)
			}
		}
		return nil
	})
	if errors.Is(err, errPartMissing) {
		return nil // a workbook of numbers, or with its texts in the cells
	}
	return err
}

// readStyles reads which styles show a number as a date (section 18.8).
func (b *workbook) readStyles() error {
	codes := make(map[int]string)
	inCells := false
	err := b.eachElement("xl/styles.xml", maxPartBytes, func(t xml.StartElement) error {
		switch t.Name.Local {
		case "numFmt":
			if id, err := strconv.Atoi(attribute(t, "numFmtId")); err == nil {
				codes[id] = attribute(t, "formatCode")
			}
		case "cellXfs":
			inCells = true
		case "xf":
			if inCells {
				id, err := strconv.Atoi(attribute(t, "numFmtId"))
				if err != nil {
					id = 0
				}
				b.styles = append(b.styles, styleOf(id, codes[id]))
			}
		}
		return nil
	}, nil, func(name string) error {
		if name == "cellXfs" {
			inCells = false
		}
		return nil
	})
	if errors.Is(err, errPartMissing) {
		return nil
	}
	return err
}
