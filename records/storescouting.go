package records

import (
	"context"
	"time"
)

// Earlier is an earlier state of a record that is kept as a whole: the image
// before the write that replaced it, or took it out.
type Earlier[T any] struct {
	Revision int64     // of the image
	Until    time.Time // when it was replaced
	By       string    // who replaced it
	Why      string
	Image    *T
}

// Has says whether a position, degrees, lies in the box, its border included.
func (b Bounds) Has(lon, lat float64) bool {
	if !(lat >= b.South && lat <= b.North) {
		return false
	}
	if b.West > b.East {
		return lon >= b.West || lon <= b.East
	}
	return lon >= b.West && lon <= b.East
}

// JobFilter says which jobs are listed; the zero JobFilter lists all.
type JobFilter struct {
	Stages      []string // those alone; none: any
	ForecastUID string   // those whose quote stands on a forecast
}

// SettingValue is a setting of the whole office as it stands: a rate table, the
// local rules, the words of a quote. Revision 0: it is not set.
type SettingValue struct {
	Name     string
	Value    string // "" where it is not set
	Revision int64
	At       time.Time // when it was set; zero where nobody kept count then
	By       string
}

// EarlierSetting is a value that was replaced, or unset.
type EarlierSetting struct {
	SettingValue
	Until   time.Time
	UntilBy string
	Why     string
}

// ScoutingView reads what is kept for scouting. What is asked for by its key
// and is not there is an Error with code NotFound. Earlier states come the
// latest first.
type ScoutingView interface {
	Sighting(ctx context.Context, id int64) (*Sighting, error)
	// Sightings gives them in the order of their keys, those in the box if
	// one is given.
	Sightings(ctx context.Context, in *Bounds) ([]*Sighting, error)
	SightingRevisions(ctx context.Context, id int64) ([]Earlier[Sighting], error)
	// SightingDigests gives what the snapshot needs of the sightings written
	// after a commit, in any order, and the keys of those that are gone, below
	// zero like the digests' own; after commit 0 it gives all that are there.
	SightingDigests(ctx context.Context, commit int64) (changed []Digest, gone []int64, err error)

	// Forecast reads a whole forecast with its latest decision.
	Forecast(ctx context.Context, id int64) (*Forecast, error)
	ForecastIDByUID(ctx context.Context, uid string) (int64, error)
	// Forecasts lists them, the latest kept first, without what was asked and
	// answered.
	Forecasts(ctx context.Context) ([]*Forecast, error)
	// ForecastDecisions gives what was decided of a forecast, the latest first.
	ForecastDecisions(ctx context.Context, id int64) ([]ForecastDecision, error)

	Job(ctx context.Context, id int64) (*Job, error)
	JobIDByUID(ctx context.Context, uid string) (int64, error)
	// Jobs lists them by stage, within a stage by what is due next, those
	// without a date last.
	Jobs(ctx context.Context, f JobFilter) ([]*Job, error)
	JobRevisions(ctx context.Context, id int64) ([]Earlier[Job], error)

	SettingValue(ctx context.Context, name string) (SettingValue, error)
	SettingRevisions(ctx context.Context, name string) ([]EarlierSetting, error)
}

// ScoutingTx reads and writes what is kept for scouting.
type ScoutingTx interface {
	ScoutingView
	// PutSighting writes a sighting as PutWell does a well: ID 0 makes a new
	// one, else Revision must be the one that is stored.
	PutSighting(ctx context.Context, s *Sighting, why string) error
	// RemoveSighting takes a sighting out, keeping its last image.
	RemoveSighting(ctx context.Context, id, revision int64, why string) error

	// KeepForecast keeps a new forecast and sets its ID, KeptAt and KeptBy and,
	// when empty, its UID. Its Decision is not read.
	KeepForecast(ctx context.Context, f *Forecast) error
	// DecideForecast adds a decision. d.Revision must be that of the latest
	// one, else an Error with code Conflict; it is set to the new one, and At
	// and By with it. The well that it names must be there.
	DecideForecast(ctx context.Context, id int64, d *ForecastDecision) error

	// PutJob writes a job as PutWell does a well: ID 0 makes a new one, else
	// Revision must be the one that is stored.
	PutJob(ctx context.Context, j *Job, why string) error
	// RemoveJob takes a job out, keeping its last image.
	RemoveJob(ctx context.Context, id, revision int64, why string) error

	// PutSettingValue sets a setting, or unsets it where Value is empty.
	// Revision must be the one that is stored (0: none), else an Error with
	// code Conflict; it is set to the new one. Each earlier value is kept.
	PutSettingValue(ctx context.Context, s *SettingValue, why string) error
}
