package records

import (
	"context"
	"time"
)

// Draft is a form of a record that somebody is still filling in: what was
// typed, and the state of the record that it was made from.
type Draft struct {
	ID           int64
	Revision     int64 // counts its writes, from 1
	PersonID     int64 // whose it is: nobody else sees it
	Person       string
	WellID       int64 // 0: of a record that is not there yet
	WellRevision int64
	Title        string // what a list calls it
	StartedAt    time.Time
	KeptAt       time.Time
	Ended        string // see below; "" while it is open
	Typed        Typed
}

// How a draft ends.
const (
	DraftSaved     = "saved"     // a record was saved from it
	DraftDiscarded = "discarded" // can be taken back until it is swept
)

// DraftsKeptFor is how long ended drafts stay before they are swept; ours, no
// source.
const DraftsKeptFor = 30 * 24 * time.Hour

// DraftView reads drafts.
type DraftView interface {
	// Draft reads a draft, open or ended; an Error with code NotFound where
	// there is none.
	Draft(ctx context.Context, id int64) (*Draft, error)
	// Drafts lists a person's open drafts, those kept last first, without what
	// was typed.
	Drafts(ctx context.Context, personID int64) ([]*Draft, error)
}

// DraftTx writes drafts. They are no records: their writes make no commit of
// their own, keep no earlier images, and move nothing that is drawn.
type DraftTx interface {
	DraftView
	// PutDraft writes a draft of the person who writes: ID 0 makes a new one,
	// else Revision must be the one that is stored and the draft open, or it
	// is an Error with code Conflict. It sets ID, Revision, StartedAt, KeptAt
	// and the person, and sweeps what ended long ago.
	PutDraft(ctx context.Context, d *Draft) error
	// EndDraft ends a draft, or opens it again (how: ""). Revision must be the
	// one that is stored.
	EndDraft(ctx context.Context, id, revision int64, how string) error
}
