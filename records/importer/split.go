package importer

import (
	"regexp"
	"strings"

	"tallybook/records"
)

// maxPieces bounds how many columns one is cut into.
const maxPieces = 100

// compile checks a split and gives its pattern, nil where it has none.
func (s *ColumnSplit) compile() (*regexp.Regexp, error) {
	switch {
	case s.Column == "":
		return nil, records.Errorf(records.Invalid, "a split does not say which column it cuts")
	case len(s.Into) == 0 || len(s.Into) > maxPieces:
		return nil, records.Errorf(records.Invalid, `the split of column %q makes %d columns; name at least one and at most %d in "into"`, s.Column, len(s.Into), maxPieces)
	case (s.By == "") == (s.Pattern == ""):
		return nil, records.Errorf(records.Invalid, `the split of column %q needs either "by" (what parts the pieces) or "pattern"`, s.Column)
	case s.Pattern == "":
		return nil, nil
	}
	re, err := regexp.Compile(s.Pattern)
	if err != nil {
		return nil, records.WrapError(records.Invalid, err, "the pattern for column %q cannot be read: %v", s.Column, err)
	}
	if re.NumSubexp() != len(s.Into) {
		return nil, records.Errorf(records.Invalid, `the pattern for column %q has %s, and "into" names %s; make them as many`, s.Column, count(re.NumSubexp(), "group"), count(len(s.Into), "column"))
	}
	return re, nil
}

// cutPieces cuts one cell. ok is false where the text does not fit the
// pattern; an empty text gives empty pieces.
func cutPieces(text, by string, pattern *regexp.Regexp, n int) (pieces []string, ok bool) {
	pieces = make([]string, n)
	text = strings.TrimSpace(text)
	if text == "" {
		return pieces, true
	}
	if pattern != nil {
		found := pattern.FindStringSubmatch(text)
		if found == nil {
			return pieces, false
		}
		copy(pieces, found[1:])
		return pieces, true
	}
	for i, p := range strings.SplitN(text, by, n) {
		pieces[i] = strings.TrimSpace(p)
	}
	return pieces, true
}
