package records

import (
	"context"
	"time"
)

// Store keeps records. It is small, so that a store on a shared server can
// stand beside the embedded one. View sees one consistent state and never
// waits for a writer; Update is the one writer, all or nothing, with one
// timestamp for everything written in it.
type Store interface {
	View(ctx context.Context, fn func(StoreView) error) error
	Update(ctx context.Context, actor Actor, fn func(StoreTx) error) error
	// Changes tells the number of the latest commit by anybody, this process
	// or another.
	Changes(ctx context.Context) (int64, error)
	Close() error
}

// Actor is who does something; every write names one.
type Actor struct {
	ID   int64
	Name string
}

// Bounds is a box in degrees, WGS 84. West > East crosses the antimeridian.
type Bounds struct{ West, South, East, North float64 }

// Match is one answer to a search.
type Match struct {
	Kind   string // well_number, permit_number, plate, parcel, uid, place_name
	Text   string // what matched, as recorded
	WellID int64  // 0 where the match is no well (a plate not linked, a place)
	// PlateID is the plate that matched, 0 where none did.
	PlateID int64
	Lon     float64
	Lat     float64
	Known   bool // whether Lon and Lat hold a position
	Note    string
}

// Revision is an earlier state of a record: the image before the write that
// replaced it.
type Revision struct {
	WellID   int64
	Revision int64     // of the image
	Until    time.Time // when it was replaced
	By       string    // who replaced it
	Why      string
	Image    *Well
}

// Batch is one file taken in.
type Batch struct {
	ID        int64
	UID       string
	Source    string // the file's name
	SHA256    string
	StartedAt time.Time
	By        string
	State     string // staged, published, withdrawn
	Read      int64
	Accepted  int64
	Warned    int64
	Refused   int64

	// CopyOf is the intake of which this one is a later copy, 0 for none. Of
	// the rows accepted then, Changed changed a record and Same said nothing
	// new of one; the others are new. Clashes are the records of which the copy
	// and the office say different things, Gone those that the copy has no
	// longer.
	CopyOf  int64
	Changed int64
	Same    int64
	Clashes int64
	Gone    int64
}

// Layer is a set of reference lines, areas or named places of the office's
// own: roads, streams, boundaries.
type Layer struct {
	ID      int64
	Name    string
	Kind    string // road, stream, boundary, parcel, place, other
	GeoJSON []byte // a FeatureCollection
}

// StoreView reads one consistent state.
type StoreView interface {
	ScoutingView
	WordsView
	CorrectionView
	DraftView
	AttachmentView
	PlateDeskView
	IntakeView
	HistoryView
	ComparedView
	// What other programs wrote.
	OutsideView
	ReviewView
	FeatureView
	FilterView
	GroundView
	// Well reads a whole record; an Error with code NotFound where there is
	// none.
	Well(ctx context.Context, id int64) (*Well, error)
	// WellIDByUID finds a record by its public name; that of a record that was
	// merged into another leads to that one.
	WellIDByUID(ctx context.Context, uid string) (int64, error)
	// EachWell streams whole records in the order of their keys, those in
	// the box if one is given, with memory that does not grow.
	EachWell(ctx context.Context, in *Bounds, fn func(*Well) error) error
	CountWells(ctx context.Context) (int64, error)
	// Find searches well numbers, permit numbers, plates, parcels and uids:
	// exact matches first, then those that begin with text.
	Find(ctx context.Context, text string, limit int) ([]Match, error)
	Revisions(ctx context.Context, wellID int64) ([]Revision, error)

	Plate(ctx context.Context, id int64) (*Plate, error)
	EachPlate(ctx context.Context, fn func(*Plate) error) error

	Batches(ctx context.Context) ([]Batch, error)
	Layers(ctx context.Context) ([]Layer, error)

	// Digests streams what the snapshot needs of every well, in the order of
	// their keys; DigestsSince only of those written after a commit, with the
	// keys of those that are gone.
	Digests(ctx context.Context, fn func([]Digest) error) error
	DigestsSince(ctx context.Context, commit int64) (changed []Digest, gone []int64, err error)
	// RockUnits are the names behind Digest.Rock, by code.
	RockUnits(ctx context.Context) (map[uint16]string, error)
	// Commit is the number of the state that this view sees.
	Commit() int64
	// Setting reads an office-wide setting; "" when not set.
	Setting(ctx context.Context, name string) (string, error)
}

// StoreTx reads and writes. Each write keeps the earlier image as a revision
// and keeps the spatial index in step, in the same transaction.
type StoreTx interface {
	StoreView
	ScoutingTx
	WordsTx
	CorrectionTx
	DraftTx
	AttachmentTx
	PlateDeskTx
	IntakeTx
	HistoryTx
	OutsideTx
	ReviewTx
	GroundTx
	// Now is the one timestamp of this transaction.
	Now() time.Time
	// PutWell writes a record. w.ID 0 makes a new one; otherwise w.Revision
	// must be the one that is stored, else an Error with code Conflict. It
	// sets w.ID, w.Revision and, when empty, w.UID. why is kept with the
	// earlier image. w.Plates is ignored.
	PutWell(ctx context.Context, w *Well, why string) error
	// RemoveWell takes a record out, keeping its last image.
	RemoveWell(ctx context.Context, id, revision int64, why string) error
	PutPlate(ctx context.Context, p *Plate, why string) error
	PutBatch(ctx context.Context, b *Batch) error
	// RemoveBatch takes out every well that came in with the batch and was
	// neither edited nor had another merged into it since, and tells how many
	// it took out and how many it left.
	RemoveBatch(ctx context.Context, id int64, why string) (removed, kept int64, err error)
	PutLayer(ctx context.Context, l *Layer) error
	// PutSetting sets a setting whatever it was; its earlier value is kept.
	// An empty value unsets it.
	PutSetting(ctx context.Context, name, value string) error
}
