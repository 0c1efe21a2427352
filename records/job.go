package records

import (
	"math"
	"slices"
)

// Job is one piece of work from the call to the filed record.
type Job struct {
	ID       int64  // key inside this database; 0 before the first write
	Revision int64  // counts this job's writes, from 1
	UID      string // the public name (a UUID)

	Stage string // the one that was reached last, see JobStages
	Label string // what the office calls it

	// The site.
	Located     bool    // whether Lon and Lat hold a position
	Lon, Lat    float64 // degrees, WGS 84
	Given       string  // the coordinates as given, in any form
	Datum       string  // the datum they were given in
	Method      string  // how located, see LocatedWords
	Accuracy    Amount[Length]
	Parcel      string
	AccessNotes string

	Customer Person // private

	ForecastUID string // the forecast that the quote stands on
	Quote       Quote
	Steps       []JobStep // due and done, at most one a stage
	WellUID     string    // the record of what was drilled
	ActualCents int       // what it came to, in the quote's currency; 0: not known
	Filing      Filing
	Notes       string

	Extra []Member // properties that the model has no place for
}

func (j *Job) kept() *[]Member { return &j.Extra }

// Quote is what a customer was told it would cost, in hundredths of a
// currency; 0 where an amount was not given.
type Quote struct {
	LowCents, MidCents, HighCents int
	Currency                      string // ISO 4217: USD
	ValidUntil                    Date

	Kept
}

// RoughCents rounds an estimated sum, in cents and finite, to no more digits
// than an estimate has: three, and never less than whole units.
func RoughCents(cents float64) int64 {
	units := math.Abs(cents) / 100
	step := 1.0
	if units >= 1000 {
		step = math.Pow(10, math.Floor(math.Log10(units))-2)
	}
	return int64(math.Copysign(math.Round(units/step)*step*100, cents))
}

// JobStep is when a stage was to be reached, and when it was.
type JobStep struct {
	Stage     string
	Due, Done Date
	Note      string

	Kept
}

// Filing is the record on its way to the authority.
type Filing struct {
	Authority           string
	Reference           string // the authority's own number
	Due, Sent, Accepted Date

	Kept
}

// The stages of a job, in their order.
const (
	JobCalled    = "called"
	JobScouted   = "scouted"
	JobQuoted    = "quoted"
	JobScheduled = "scheduled"
	JobDrilling  = "drilling"
	JobFinished  = "finished"
	JobFiled     = "filed"
)

var jobStages = words{JobCalled, JobScouted, JobQuoted, JobScheduled, JobDrilling, JobFinished, JobFiled}

// JobStages lists the stages in their order.
func JobStages() []string { return append([]string(nil), jobStages...) }

// StageNumber is a stage's place in JobStages, from 0; -1 for another word.
func StageNumber(stage string) int { return slices.Index(jobStages, stage) }

// Step finds what is noted of a stage; nil where nothing is.
func (j *Job) Step(stage string) *JobStep {
	for i := range j.Steps {
		if j.Steps[i].Stage == stage {
			return &j.Steps[i]
		}
	}
	return nil
}

// MoveTo brings the job to a stage that was reached on a day (the zero Date:
// not noted). Where it goes back, what came later is no longer done.
func (j *Job) MoveTo(stage string, on Date) {
	j.Stage = stage
	j.Steps = slices.Clone(j.Steps)
	for i := range j.Steps {
		if StageNumber(j.Steps[i].Stage) > StageNumber(stage) {
			j.Steps[i].Done = Date{}
		}
	}
	switch s := j.Step(stage); {
	case s != nil && (s.Done.IsZero() || !on.IsZero()):
		s.Done = on
	case s == nil && !on.IsZero():
		j.Steps = append(j.Steps, JobStep{Stage: stage, Done: on})
	}
}

// NextDue is the earliest date by which something is still to be done, and
// what; the zero Date where nothing has a date. "filing" is the record that is
// to be sent to the authority.
func (j *Job) NextDue() (due Date, what string) {
	earlier := func(d Date, of string) {
		if !d.IsZero() && (due.IsZero() || d.Compare(due) < 0) {
			due, what = d, of
		}
	}
	for _, s := range j.Steps {
		if s.Done.IsZero() && StageNumber(s.Stage) > StageNumber(j.Stage) {
			earlier(s.Due, s.Stage)
		}
	}
	if j.Filing.Sent.IsZero() && j.Stage != JobFiled {
		earlier(j.Filing.Due, "filing")
	}
	return due, what
}

// visit names the job's properties.
func (j *Job) visit(f fields) {
	f.text("uid", &j.UID)
	f.text("stage", &j.Stage) // judged by job: the list is closed
	f.text("label", &j.Label)
	f.position(&j.Located, &j.Lon, &j.Lat)
	f.text("coordinates_given", &j.Given)
	f.text("datum", &j.Datum)
	f.word("located_by", &j.Method, locatedWords)
	f.amount(fAccuracy, &j.Accuracy)
	f.text("parcel", &j.Parcel)
	f.text("access_notes", &j.AccessNotes)
	f.private("customer", &j.Customer)
	f.text("forecast_uid", &j.ForecastUID)
	f.group("quote", &j.Quote)
	f.rows("steps", rowsOf(&j.Steps))
	f.text("well_uid", &j.WellUID)
	f.whole("actual_cents", &j.ActualCents)
	f.group("filing", &j.Filing)
	f.text("notes", &j.Notes)
}

func (q *Quote) visit(f fields) {
	f.whole("low_cents", &q.LowCents)
	f.whole("mid_cents", &q.MidCents)
	f.whole("high_cents", &q.HighCents)
	f.text("currency", &q.Currency)
	f.date("valid_until", &q.ValidUntil)
}

func (s *JobStep) visit(f fields) {
	f.text("stage", &s.Stage)
	f.date("due", &s.Due)
	f.date("done", &s.Done)
	f.text("note", &s.Note)
}

func (x *Filing) visit(f fields) {
	f.text("authority", &x.Authority)
	f.text("reference", &x.Reference)
	f.date("due", &x.Due)
	f.date("sent", &x.Sent)
	f.date("accepted", &x.Accepted)
}

// AppendJob appends a job's properties to dst as one JSON object.
func (j *Job) AppendJob(dst []byte, o WriteOptions) []byte {
	e := encoder{b: append(dst, '{'), withPrivate: o.Private}
	e.part(j)
	return append(e.b, '}')
}

// ParseJob reads a job's properties from a JSON object, as ParseProperties
// does a well's.
func (j *Job) ParseJob(raw []byte) []Fault {
	return parseObject(string(raw), j, &j.Extra, "job")
}

// DiffJobs tells what changed between two states of a job.
func DiffJobs(a, b *Job) []Change { return diffParts(a, b) }
