package records

import "strings"

// Severity says whether a fault keeps a record out.
type Severity uint8

// A Warning is kept with the record and shown; an Error refuses it.
const (
	Warning Severity = iota + 1
	Refusal
)

// String gives the word for reports.
func (s Severity) String() string {
	if s == Refusal {
		return "refused"
	}
	return "warning"
}

// Fault is one thing wrong with a record: where, what, and how to mend it.
type Fault struct {
	Severity Severity
	Field    string // path of the property: strata[2].bottom_m
	Message  string // what is wrong, with the value found
	Mend     string // what to do about it
}

// String writes the fault on one line.
func (f Fault) String() string {
	var b strings.Builder
	if f.Field != "" {
		b.WriteString(f.Field)
		b.WriteString(": ")
	}
	b.WriteString(f.Message)
	if f.Mend != "" {
		b.WriteString(" (")
		b.WriteString(f.Mend)
		b.WriteString(")")
	}
	return b.String()
}

// Refuses says whether any of the faults keeps the record out.
func Refuses(faults []Fault) bool {
	for _, f := range faults {
		if f.Severity == Refusal {
			return true
		}
	}
	return false
}

// FaultError turns faults into an error with code Invalid, or nil when none
// of them refuses.
func FaultError(faults []Fault) error {
	var lines []string
	for _, f := range faults {
		if f.Severity == Refusal {
			lines = append(lines, f.String())
		}
	}
	if len(lines) == 0 {
		return nil
	}
	return &Error{Code: Invalid, Message: strings.Join(lines, "; ")}
}
