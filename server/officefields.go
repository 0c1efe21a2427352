package server

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// officeKind says how a property of the office's documents is shown and
// typed.
type officeKind uint8

const (
	asWords officeKind = iota + 1
	asLongWords
	asChoice
	asCoined // a word of a list, or one of the office's own
	asDate
	asMoney         // whole cents in the file, 12.50 on the page
	asMoneyByLength // by the foot or the metre, as the table's units say
	asQuantity
	asNumber
	asPercent // a share in the file
	asFlag
	asLines // several words of a list
)

// officeChoice is a word of a list and what it is called on the page.
type officeChoice struct{ Word, Label string }

// officeField is one property of a document.
type officeField struct {
	path    string // within its row or document, without the unit that its name bears
	label   string
	does    string // one line that says what it does
	caution string // beside a figure that can hurt
	kind    officeKind
	dim     records.Dimension
	unit    string // said after the figure where kind and dim do not tell
	choices []officeChoice
	short   bool // words that never fill a line
}

// property is the name in the file, which bears the units of the table.
func (f *officeField) property(u scout.Units) string {
	switch f.kind {
	case asMoneyByLength:
		prefix := ""
		if f.path != "by_length" {
			prefix = strings.TrimSuffix(f.path, "by_length")
		}
		return prefix + "cents_per_" + u.Of(records.DimLength).Suffix()
	case asQuantity:
		return f.path + "_" + u.Of(f.dim).Suffix()
	}
	return f.path
}

// raw turns what was typed into a value of the file; fault says what is wrong
// with it and how to mend it.
func (f *officeField) raw(typed string, u scout.Units, currency string) (value json.RawMessage, fault *records.Fault) {
	wrong := func(message, mend string) (json.RawMessage, *records.Fault) {
		return nil, &records.Fault{Severity: records.Refusal, Field: f.path, Message: message, Mend: mend}
	}
	switch f.kind {
	case asMoney, asMoneyByLength:
		n, ok := plainNumber(strings.TrimPrefix(strings.TrimPrefix(typed, currency), say.Sign(currency)))
		if !ok {
			return wrong("“"+clipText(typed, 40)+"” is no price", "write it like 12.50")
		}
		cents := shiftPoint(n, 2)
		if whole, rest, _ := strings.Cut(cents, "."); strings.Trim(rest, "0") != "" {
			return wrong(clipText(typed, 40)+" has a part of a cent", "write it like 12.50")
		} else if len(whole) > 15 {
			return wrong(clipText(typed, 40)+" is more than any job costs", "check the digits")
		} else {
			return json.RawMessage(whole), nil
		}
	case asQuantity, asNumber, asPercent:
		symbol := f.symbol(u)
		n, ok := plainNumber(strings.TrimSuffix(typed, symbol))
		if !ok {
			mend := "write digits, such as 12.5"
			if symbol != "" {
				mend += ", in " + symbol
			}
			return wrong("“"+clipText(typed, 40)+"” is no number", mend)
		}
		if f.kind == asPercent {
			n = shiftPoint(n, -2)
		}
		return json.RawMessage(n), nil
	case asFlag:
		return json.RawMessage("true"), nil
	case asCoined:
		typed = strings.ReplaceAll(strings.ToLower(strings.Join(strings.Fields(typed), " ")), " ", "_")
	}
	b, err := json.Marshal(strings.ReplaceAll(typed, "\r\n", "\n"))
	if err != nil {
		return wrong("is no text", "write it again")
	}
	return b, nil
}

// shown turns a value of the file into what stands in the control. A value of
// the wrong kind is shown as it stands, so that it can be mended.
func (f *officeField) shown(raw json.RawMessage) string {
	t := strings.TrimSpace(string(raw))
	var words string
	switch {
	case t == "" || t == "null":
		return ""
	case t[0] == '"' && json.Unmarshal(raw, &words) == nil:
		if f.kind == asCoined {
			words = plainWord(words)
		}
		return words
	case !records.IsJSONNumber(t):
		if f.kind == asFlag && t == "false" {
			return ""
		}
		return t
	}
	switch f.kind {
	case asMoney, asMoneyByLength:
		t = shiftPoint(t, -2)
		whole, rest, _ := strings.Cut(t, ".")
		return whole + "." + (rest + "00")[:max(2, len(rest))]
	case asPercent:
		return shiftPoint(t, 2)
	}
	return t
}

// isFigure says whether a number is typed.
func (f *officeField) isFigure() bool {
	switch f.kind {
	case asMoney, asMoneyByLength, asQuantity, asNumber, asPercent:
		return true
	}
	return false
}

// symbol is the unit that a figure is in, as typed after it.
func (f *officeField) symbol(u scout.Units) string {
	switch f.kind {
	case asQuantity:
		return u.Of(f.dim).Symbol()
	case asPercent:
		return "%"
	}
	return ""
}

// said is the unit as the page says it beside the control.
func (f *officeField) said(u scout.Units, currency string) string {
	switch f.kind {
	case asMoney:
		return joinSpace(currency, f.unit)
	case asMoneyByLength:
		return joinSpace(currency, "per "+u.Of(records.DimLength).Symbol())
	case asQuantity:
		return joinSpace(u.Of(f.dim).Symbol(), f.unit)
	case asPercent:
		return joinSpace("%", f.unit)
	}
	return f.unit
}

func joinSpace(a, b string) string { return strings.TrimSpace(a + " " + b) }

// plainNumber turns what a person types for a number into one of JSON, and
// keeps its digits: '1,200', '.5', '6 5/8'. A comma that does not part
// thousands is refused, since it reads in two ways.
func plainNumber(typed string) (string, bool) {
	t := strings.TrimSpace(typed)
	t = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "−", "-").Replace(t)
	minus := ""
	if rest, ok := strings.CutPrefix(t, "-"); ok {
		minus, t = "-", rest
	}
	t = strings.TrimPrefix(t, "+")
	if whole, part, ok := cutFraction(t); ok {
		return minus + strconv.FormatFloat(whole+part, 'f', -1, 64), true
	}
	t, ok := joinThousands(t)
	if !ok {
		return "", false
	}
	if strings.HasPrefix(t, ".") {
		t = "0" + t
	}
	t = strings.TrimSuffix(t, ".")
	for len(t) > 1 && t[0] == '0' && t[1] >= '0' && t[1] <= '9' {
		t = t[1:]
	}
	if len(t) > 40 || !records.IsJSONNumber(minus+t) || strings.ContainsAny(t, "eE") {
		return "", false
	}
	return minus + t, true
}

// joinThousands takes out the commas or blanks that part thousands.
func joinThousands(t string) (string, bool) {
	for _, sep := range []string{",", " "} {
		parts := strings.Split(t, sep)
		if len(parts) == 1 {
			continue
		}
		for i, p := range parts {
			whole := p
			if i == len(parts)-1 {
				whole, _, _ = strings.Cut(p, ".")
			}
			if i > 0 && len(whole) != 3 || i == 0 && (p == "" || len(p) > 3) {
				return "", false
			}
		}
		t = strings.Join(parts, "")
	}
	return t, true
}

// cutFraction reads '5/8' and '6 5/8', as pipe is named.
func cutFraction(t string) (whole, part float64, ok bool) {
	top, bottom, ok := strings.Cut(t, "/")
	if !ok {
		return 0, 0, false
	}
	if w, rest, has := strings.Cut(strings.TrimSpace(strings.ReplaceAll(top, "-", " ")), " "); has {
		n, err := strconv.ParseUint(w, 10, 32)
		if err != nil {
			return 0, 0, false
		}
		whole, top = float64(n), rest
	}
	a, errA := strconv.ParseUint(strings.TrimSpace(top), 10, 16)
	b, errB := strconv.ParseUint(strings.TrimSpace(bottom), 10, 16)
	if errA != nil || errB != nil || b == 0 || b > 64 || a >= b {
		return 0, 0, false
	}
	return whole, float64(a) / float64(b), true
}

// shiftPoint moves the decimal point of a number by places, to the right where
// they are positive, and touches no digit.
func shiftPoint(number string, places int) string {
	if strings.ContainsAny(number, "eE") {
		v, err := strconv.ParseFloat(number, 64)
		if err != nil || math.Abs(v) > 1e18 {
			return number
		}
		number = strconv.FormatFloat(v, 'f', -1, 64)
	}
	minus := ""
	if rest, ok := strings.CutPrefix(number, "-"); ok {
		minus, number = "-", rest
	}
	whole, rest, _ := strings.Cut(number, ".")
	for ; places > 0; places-- {
		next := "0"
		if rest != "" {
			next, rest = rest[:1], rest[1:]
		}
		whole += next
	}
	for ; places < 0; places++ {
		last := "0"
		if whole != "" {
			last, whole = whole[len(whole)-1:], whole[:len(whole)-1]
		}
		rest = last + rest
	}
	if whole = strings.TrimLeft(whole, "0"); whole == "" {
		whole = "0"
	}
	if rest == "" {
		return minus + whole
	}
	return minus + whole + "." + rest
}
