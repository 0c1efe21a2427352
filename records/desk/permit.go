package desk

import "tallybook/records"

// Action is something a person may or may not do.
type Action uint8

// The actions that are asked about.
const (
	Look       Action = iota + 1 // see records, maps and estimates
	SeePrivate                   // see people's names, addresses and telephone numbers
	Edit                         // change records
	TakeInFile                   // take in files
	GiveOut                      // write files of records
	Administer                   // change what holds for the whole office
)

var actionWords = [...]string{Look: "look at records", SeePrivate: "see private things", Edit: "change records",
	TakeInFile: "take in files", GiveOut: "give out records", Administer: "change the office's settings"}

// String says the action in words.
func (a Action) String() string {
	if int(a) < len(actionWords) {
		return actionWords[a]
	}
	return "do this"
}

// LocalPerson is the one who sits at this machine: today's only actor.
func LocalPerson() records.Actor { return records.Actor{ID: 1, Name: "local"} }

// Permit says whether an actor may do something; nil means yes. Every use
// case asks it, and every route and export goes through a use case. There are
// no accounts yet: the one local person may do everything, anybody else
// nothing.
func (d *Desk) Permit(actor records.Actor, a Action) error {
	if actor == LocalPerson() {
		return nil
	}
	return records.Errorf(records.Forbidden, "%q may not %s", actor.Name, a)
}
