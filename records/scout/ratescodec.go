package scout

import "tallybook/records"

// ParseRates reads a table from a JSON object and reports every fault: what
// cannot be read, what makes no sense, and what is missing. Unknown
// properties are refused by name. What can be read is read even so, so that a
// page can show the table beside its faults; see records.Refuses.
func ParseRates(text []byte) (Rates, []records.Fault) {
	var r Rates
	faults := readForm(text, r.visit)
	return r, append(faults, r.Validate()...)
}

// AppendJSON appends the table as one JSON object, as ParseRates reads it.
// Quantities come back as they were given.
func (r Rates) AppendJSON(dst []byte) []byte { return appendObject(dst, 0, r.visit) }
