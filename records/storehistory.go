package records

import (
	"context"
	"time"
)

// TakenOut is a record that is no longer there: its last image is among the
// revisions of its key.
type TakenOut struct {
	WellID   int64
	UID      string
	Revision int64 // the last one
	At       time.Time
	By       string
	Why      string
	Image    *Well
	MergedTo string // the public name of the record that it was merged into; "" where it was not
}

// Merge is what became of two records of one well: one was kept, the other
// taken out, and its names lead to the one that was kept.
type Merge struct {
	ID int64

	UID      string // the record that was taken out
	WellID   int64  // the key it had
	Revision int64  // its last revision: the image that comes back

	IntoUID    string // the record that was kept
	IntoWellID int64  // the key it had
	Before     int64  // its revision ahead of the merge
	After      int64  // and behind it

	How    string  // one of MergeWays
	Plates []int64 // keys of the plates that moved along
	At     time.Time
	By     string
	Why    string

	// Split again: the record that was taken out came back.
	SplitAt  time.Time // zero: not split
	SplitBy  string
	SplitWhy string
}

// How two records became one.
const (
	MergedFields = "fields" // field by field
	MergedWorks  = "works"  // the later report as works of the earlier hole
	MergedTwin   = "twin"   // one was a copy by mistake, of which nothing is taken
)

// MergeWays lists them.
func MergeWays() []string { return []string{MergedFields, MergedWorks, MergedTwin} }

// Verdicts on two records that may be of one well.
const (
	PairMerged    = "merged"    // the same hole: merged, see Merge
	PairWorks     = "works"     // the same hole, later works
	PairTwin      = "twin"      // one was a copy by mistake
	PairDifferent = "different" // two wells: not asked again until one of them changes
	PairUnsure    = "unsure"    // set aside
	PairOpen      = "open"      // an earlier decision was taken back
)

// PairVerdicts lists them.
func PairVerdicts() []string {
	return []string{PairMerged, PairWorks, PairTwin, PairDifferent, PairUnsure, PairOpen}
}

// PairDecision is what somebody decided of two records, by their public names;
// the smaller one first.
type PairDecision struct {
	A, B        string
	Revision    int64 // counts the decisions on this pair, from 1; 0: none
	Verdict     string
	Probability float64  // as it stood when it was decided
	Reasons     []string // likewise, in words
	MarkA       string   // what was compared of each record then, see PairMark
	MarkB       string
	At          time.Time
	By          string
	Why         string
}

// PairOf puts two public names in the order in which pairs are kept.
func PairOf(a, b string) (string, string) {
	if b < a {
		return b, a
	}
	return a, b
}

// FoundPair is two records that are likely of one well.
type FoundPair struct {
	A, B        string // public names, in the order of PairOf
	IDA, IDB    int64  // keys of the records as they stand
	Probability float64
	Reasons     []PairReason
}

// PairReason is how two records agree in one field.
type PairReason struct {
	Name      string  `json:"name"`
	A         string  `json:"a,omitempty"` // as the first says it, in words
	B         string  `json:"b,omitempty"`
	Agreement string  `json:"agreement"`       // agrees, near, differs, missing
	Level     string  `json:"level,omitempty"` // how far, more exactly
	Weight    float64 `json:"weight"`          // how much it speaks for one well: above zero for, below against
	Words     string  `json:"words"`
	Private   bool    `json:"private,omitempty"`
}

// PairRun is the search that found the pairs.
type PairRun struct {
	At      time.Time
	By      string
	Commit  int64 // the state of the data that was searched
	Records int64 // how many records were compared
	Pairs   int64
	Note    string // what is to be known of the result, in words
}

// HistoryView reads what became of records. What is asked for by its key and
// is not there is an Error with code NotFound.
type HistoryView interface {
	// UIDOf gives the public name of the record that has a key, or had it
	// before it was taken out.
	UIDOf(ctx context.Context, id int64) (string, error)
	// FormerKeys are the keys under which a record stood before it was taken
	// out, the latest first: its revisions of that time are kept under them.
	FormerKeys(ctx context.Context, uid string) ([]int64, error)
	// PlatesOnce are the plates that lost their link when the record with this
	// key was taken out, and that nobody touched since: as they are, but with
	// who had linked them, and when.
	PlatesOnce(ctx context.Context, wellID int64) ([]*Plate, error)
	// TakenOut lists records that were taken out one by one and have not come
	// back, the latest first, and tells how many there are in all. Those that
	// went out with their intake are not listed.
	TakenOut(ctx context.Context, skip, limit int) (out []TakenOut, all int64, err error)

	Merge(ctx context.Context, id int64) (*Merge, error)
	// MergeOf is the merge by which a record was taken out, unless it was
	// split again.
	MergeOf(ctx context.Context, uid string) (*Merge, error)
	// MergesInto are the merges into a record, split ones too, the latest
	// first.
	MergesInto(ctx context.Context, uid string) ([]Merge, error)
	// MergedNames are the public names that lead to another record, with that
	// record's.
	MergedNames(ctx context.Context) (map[string]string, error)

	// PairDecision is the latest decision on two records; Revision 0 where
	// there is none.
	PairDecision(ctx context.Context, a, b string) (PairDecision, error)
	// PairDecisions are the latest decisions on all pairs, the latest first.
	PairDecisions(ctx context.Context) ([]PairDecision, error)
	// PairHistory are all decisions on a pair, the latest first.
	PairHistory(ctx context.Context, a, b string) ([]PairDecision, error)
	// FoundPairs are the pairs of the latest search of which both records are
	// there, the likeliest first, without their reasons; a zero run where
	// there was none.
	FoundPairs(ctx context.Context) (PairRun, []FoundPair, error)
	// FoundPair is one of them with its reasons.
	FoundPair(ctx context.Context, a, b string) (FoundPair, error)
	// ChangedSince counts the records that were written or taken out after a
	// commit.
	ChangedSince(ctx context.Context, commit int64) (int64, error)
}

// HistoryTx writes what became of records.
type HistoryTx interface {
	HistoryView
	// PutMerge keeps a merge and sets its ID, At and By. The record that it
	// takes out must be out, and the one it is merged into must be there.
	PutMerge(ctx context.Context, m *Merge) error
	// SplitMerge ends a merge: the public name no longer leads to the other
	// record. A merge that is split already is an Error with code Conflict.
	SplitMerge(ctx context.Context, id int64, why string) error
	// DecidePair adds a decision. d.Revision must be that of the latest one,
	// else an Error with code Conflict; it is set to the new one, and At and
	// By with it.
	DecidePair(ctx context.Context, d *PairDecision) error
	// KeepPairs keeps the result of a search in place of the one before, and
	// sets At and By of the run.
	KeepPairs(ctx context.Context, run *PairRun, pairs []FoundPair) error
}
