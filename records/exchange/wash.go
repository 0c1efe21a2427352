package exchange

import (
	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// Wash takes out of a record what only some may see, as the writers do where
// it is not asked for: owner, addresses, attached scans, and what a file told
// beyond the model under a name that is about people. It tells how many such
// properties it took out.
func Wash(w *records.Well) (leftOut int) {
	w.Owner, w.Place.Address, w.Attachments = records.Person{}, "", nil
	w.Crew.Extra, leftOut = withoutPeople(w.Crew.Extra, 0)
	var kept []records.Member
	for _, m := range w.Extra {
		switch {
		case m.Name == featureMember:
			var out int
			m.JSON, out = washBeside(m.JSON)
			leftOut += out
		case aboutPeople(m.Name):
			leftOut++
			continue
		}
		kept = append(kept, m)
	}
	w.Extra = kept
	return leftOut
}

// washBeside takes people out of what a feature carried outside of its
// properties, as the importer kept it.
func washBeside(text string) (washed string, leftOut int) {
	out := []byte{'{'}
	for _, m := range readMembers([]byte(text)) {
		if m.Name == "members" {
			var kept []records.Member
			kept, leftOut = withoutPeople(readMembers([]byte(m.JSON)), 0)
			inner := []byte{'{'}
			for _, k := range kept {
				inner = appendMember(inner, k)
			}
			m.JSON = string(append(inner, '}'))
		}
		out = appendMember(out, m)
	}
	out = append(out, '}')
	if !jsontext.Value(out).IsValid() {
		return "{}", leftOut
	}
	return string(out), leftOut
}
