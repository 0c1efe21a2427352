package records

import (
	"context"
	"time"
)

// What can be decided of a plate.
const (
	PlateOpen     = "open"      // nothing: it waits at the desk
	PlateLinked   = "linked"    // it belongs to a well
	PlateLater    = "later"     // set aside until something new is known
	PlateNoRecord = "no_record" // its well has no record
)

// PlateDecision is what was decided of a plate, the whole state from then on.
// It is kept apart from what was seen of the plate.
type PlateDecision struct {
	PlateID  int64
	Revision int64 // from 1; at 0 nobody had decided
	At       time.Time
	By       string
	Why      string
	// Act names the decisions that were made as one, and are undone as one.
	Act string
	// Commit is the number of the write, and PlateRevision the plate's after it.
	Commit        int64
	PlateRevision int64

	State    string // one of the words above
	WellUID  string // the well, of PlateLinked alone
	Evidence string // what the link stands on
	// Refused are the public names of wells of which somebody said that the
	// plate is not theirs: they are not proposed again.
	Refused []string
	// Candidates are the public names of the wells that were looked at.
	Candidates []string
	// Reasons is why they were proposed, as it stood then: JSON, "" for none.
	Reasons string
}

// PlateState is where a plate stands.
type PlateState struct {
	ID       int64
	UID      string
	Revision int64
	Number   string
	WellID   int64 // 0: linked to none
	// Decision is the latest, without its Reasons.
	Decision PlateDecision
	// Renewed says that the plate, or a record that was looked at, was written
	// since the latest decision.
	Renewed bool
}

// State is what holds of the plate now. What was put off is open again once
// there is something new; a link whose well was taken out no longer holds.
func (p PlateState) State() string {
	switch {
	case p.WellID != 0:
		return PlateLinked
	case p.Decision.State == PlateNoRecord:
		return PlateNoRecord
	case p.Decision.State == PlateLater && !p.Renewed:
		return PlateLater
	}
	return PlateOpen
}

// PlateDeskView reads what is decided of plates.
type PlateDeskView interface {
	PlateIDByUID(ctx context.Context, uid string) (int64, error)
	// PlateRevisions gives the earlier states of a plate, the latest first.
	PlateRevisions(ctx context.Context, id int64) ([]Earlier[Plate], error)
	PlateState(ctx context.Context, id int64) (PlateState, error)
	// EachPlateState gives the state of every plate in the order of their keys.
	// fn must not use the view.
	EachPlateState(ctx context.Context, fn func(*PlateState) error) error
	// PlateDecisions gives what was decided of a plate, the latest first, down
	// to the one at 0 that says how it stood before.
	PlateDecisions(ctx context.Context, id int64) ([]PlateDecision, error)
	// PlateAct gives the decisions that were made as one, in the order of the
	// plates' public names; none where there is no such act.
	PlateAct(ctx context.Context, act string) ([]PlateDecision, error)
	// NumbersLike finds the plates and the wells whose number may be this one.
	// '?' stands for one digit that could not be read, in what is sought and in
	// what is on record. Spaces, hyphens, stops and the case of letters do not
	// matter. Those that are the number to the digit come first.
	NumbersLike(ctx context.Context, number string, limit int) ([]Match, error)
	// PlatesWritten gives the keys of the plates that were last written in a
	// commit, in order.
	PlatesWritten(ctx context.Context, commit int64) ([]int64, error)
	// PlateNews counts the wells and plates that were written after a commit by
	// anything but decisions about plates.
	PlateNews(ctx context.Context, commit int64) (wells, plates int64, err error)
}

// PlateDeskTx reads and writes what is decided of plates.
type PlateDeskTx interface {
	PlateDeskView
	// DecidePlate adds a decision about d.PlateID, and links and unlinks the
	// plate as it says. d.Revision must be that of the latest one, else an Error
	// with code Conflict; it is set to the new one, and At, By, Commit and
	// PlateRevision with it.
	DecidePlate(ctx context.Context, d *PlateDecision) error
	// RemovePlate takes a plate out, keeping its last image.
	RemovePlate(ctx context.Context, id, revision int64, why string) error
}
