package records

import (
	"context"
	"encoding/json"
	"time"

	"github.com/go-json-experiment/json/jsontext"
)

// Review is a study of how the ground varies, kept with what was asked, of
// which records, and every number that came of it, so that another can repeat
// it. Nothing of it ever changes; whether it is withdrawn stands beside it.
type Review struct {
	ID  int64
	UID string // the public name (a UUID)

	Title  string
	Author string // who answers for it, as typed
	Note   string

	// DataCommit is the state of the records that it was made from, Digest their
	// fingerprint, Wells how many were chosen.
	DataCommit int64
	Digest     string
	Wells      int64
	// Document is the whole of it: settings, data, answers. JSON.
	Document json.RawMessage

	KeptAt time.Time // set when it is kept
	KeptBy string

	// State is the latest; its zero value is the review as kept.
	State ReviewState
}

// ReviewState is what somebody decided of a kept review: the whole state from
// then on.
type ReviewState struct {
	Revision  int64 // from 1; 0: nothing was decided
	At        time.Time
	By        string
	Why       string
	Withdrawn bool
}

// mostReview is the longest document that is kept, bytes.
const mostReview = 16 << 20

// Validate tells every fault of a review that is to be kept.
func (r *Review) Validate() []Fault {
	v := validator{limits: DefaultLimits()}
	if r.Title == "" {
		v.refuse("title", "is missing", "say what the review is of")
	}
	v.text("title", &r.Title)
	v.text("author", &r.Author)
	v.text("note", &r.Note)
	switch {
	case len(r.Document) == 0 || !jsontext.Value(r.Document).IsValid():
		v.refuse("document", "is not JSON", "keep the review as it was written down")
	case len(r.Document) > mostReview:
		v.refuse("document", "is longer than 16 MB", "review fewer parts, or wells within an outline of fewer positions")
	}
	if r.Wells < 0 {
		v.refuse("wells", "is below none", "say how many wells were chosen")
	}
	return v.faults
}

// ReviewView reads kept reviews. What is asked for by its key and is not there
// is an Error with code NotFound.
type ReviewView interface {
	// Review reads a whole review with its latest state.
	Review(ctx context.Context, id int64) (*Review, error)
	ReviewIDByUID(ctx context.Context, uid string) (int64, error)
	// Reviews lists them, the latest kept first, without their documents.
	Reviews(ctx context.Context) ([]*Review, error)
	// ReviewStates gives what was decided of a review, the latest first.
	ReviewStates(ctx context.Context, id int64) ([]ReviewState, error)
}

// ReviewTx keeps reviews.
type ReviewTx interface {
	ReviewView
	// KeepReview keeps a new review and sets its ID, KeptAt and KeptBy and, when
	// empty, its UID. Its State is not read.
	KeepReview(ctx context.Context, r *Review) error
	// DecideReview adds a state. s.Revision must be that of the latest one, else an
	// Error with code Conflict; it is set to the new one, and At and By with it.
	DecideReview(ctx context.Context, id int64, s *ReviewState) error
}
