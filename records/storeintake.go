package records

import "context"

// IntakeReport is what is kept of an intake beside its counts. Rows is
// compressed (RFC 1952), Refused an archive (ZIP); there are people's names in
// both.
type IntakeReport struct {
	Batch   int64
	About   []byte // JSON: what the file was, and its faults by cause
	Rows    []byte // each row with something to tell, as JSON a line
	Refused []byte // the rows that were kept out, as they stood, a file for each table
}

// The kinds of a CopyChange.
const (
	CopyDiffers = "differs" // the copy says something else than the copy before
	CopyGone    = "gone"    // the copy has the record no longer
)

// CopyChange is what a later copy of a source says of a record that is there.
type CopyChange struct {
	Batch   int64
	WellID  int64
	Row     int64 // in the copy; 0 where the record is gone from it
	What    string
	Image   *Well  // the record as the copy has it; nil where it is gone
	Wrote   int64  // the revision of the record that came of it; 0: none
	Clashes []byte // JSON, "[]" for none: where the copy and the office differ
}

// SourceImage is a record of a source, as the source last told of it.
type SourceImage struct {
	WellID int64
	Image  *Well
	Out    bool // the office has taken the record out
}

// IntakeView reads what is kept of intakes.
type IntakeView interface {
	// IntakeReport is an Error with code NotFound where none was kept.
	IntakeReport(ctx context.Context, batch int64) (*IntakeReport, error)
	// IntakeStanding counts the records that came in with an intake and are
	// there, and those of them that were written since or had another merged
	// into them.
	IntakeStanding(ctx context.Context, batch int64) (there, written int64, err error)
	// SourceImages streams the records that came in with any of the intakes,
	// as the latest published copy of their source has them: those that are
	// there in the order of their keys, then those that the office has taken
	// out.
	SourceImages(ctx context.Context, batches []int64, fn func(*SourceImage) error) error
	// SourceImage is the same of one record that is there; where before is not
	// 0, as it was told before that intake.
	SourceImage(ctx context.Context, wellID, before int64) (*Well, error)
	// CopyChanges gives what a copy says of records, in the order of their
	// keys, those alone whose keys are above after, at most limit.
	CopyChanges(ctx context.Context, batch, after int64, limit int) ([]CopyChange, error)
	// CopiesOf gives what published later copies say of one record, the latest
	// first, without images.
	CopiesOf(ctx context.Context, wellID int64) ([]CopyChange, error)
	// SettingsNamed lists the settings whose names begin so, by name.
	SettingsNamed(ctx context.Context, prefix string) ([]SettingValue, error)
}

// IntakeTx writes what is kept of intakes.
type IntakeTx interface {
	IntakeView
	PutIntakeReport(ctx context.Context, r *IntakeReport) error
	PutCopyChange(ctx context.Context, c *CopyChange) error
}
