package server

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
	"tallybook/server/say"
)

// jobStageWords is how a stage is spoken of.
type jobStageWords struct {
	todo    string // what is to be done to reach it
	reached string // what was done once it is
	due     string // what has a day by which it is due
}

// stageSaid are the words of each stage, in their order.
var stageSaid = map[string]jobStageWords{
	records.JobCalled:    {"take the call", "Called", "the call"},
	records.JobScouted:   {"scout the spot", "Scouted", "scouting"},
	records.JobQuoted:    {"give the quote", "Quote given", "the quote"},
	records.JobScheduled: {"set the day", "Day is set", "setting the day"},
	records.JobDrilling:  {"begin to drill", "Drilling began", "drilling"},
	records.JobFinished:  {"finish the hole", "Hole finished", "the finished hole"},
	records.JobFiled:     {"send the record", "Record sent", "the record"},
	jobFiling:            {"send the record", "Record sent", "the record"},
}

// jobFiling is what records.Job.NextDue calls the record that is to be sent.
const jobFiling = "filing"

// nextStage is the stage after one, "" after the last.
func nextStage(stage string) string {
	stages := records.JobStages()
	n := records.StageNumber(stage) + 1
	if n <= 0 || n >= len(stages) {
		return ""
	}
	return stages[n]
}

func jobPath(id int64) string { return "/job/" + strconv.FormatInt(id, 10) }

// jobName is what a job is called: as the office says, else its place.
func jobName(j *records.Job) string {
	switch {
	case j.Label != "":
		return j.Label
	case j.Located:
		return placeWords(j.Lon, j.Lat)
	case j.Parcel != "":
		return "Parcel " + j.Parcel
	}
	return fmt.Sprintf("Job %d", j.ID)
}

// jobPlace is where a job is, beside its name.
func jobPlace(j *records.Job) string {
	parcel, place := "", ""
	if j.Parcel != "" {
		parcel = "parcel " + j.Parcel
	}
	if j.Located && j.Label != "" {
		place = placeWords(j.Lon, j.Lat)
	}
	return joinWords(place, parcel)
}

// dueWords says how far off a day is: 'in 3 days', '5 days late'; "" where the
// day is not wholly known.
func dueWords(due, today records.Date) string {
	if due.Day == 0 || today.Day == 0 {
		if due.Before(today) {
			return "late"
		}
		return ""
	}
	switch days := daysBetween(today, due); {
	case days == 0:
		return "today"
	case days == 1:
		return "tomorrow"
	case days > 0:
		return "in " + count(days, "day", "days")
	default:
		return count(-days, "day", "days") + " late"
	}
}

// daysBetween counts the days from one whole date to another.
func daysBetween(from, to records.Date) int {
	at := func(d records.Date) time.Time {
		return time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC)
	}
	return int(at(to).Sub(at(from)).Hours() / 24)
}

// jobDue is the next thing that is due of a job.
type jobDue struct {
	What string // 'to begin to drill'; "" where nothing has a day
	Date string
	More string // how far off
	Late bool
}

func jobDueOf(j *records.Job, today records.Date) jobDue {
	due, what := j.NextDue()
	if due.IsZero() {
		return jobDue{}
	}
	return jobDue{What: stageSaid[what].todo, Date: soonDate(due, today), More: dueWords(due, today), Late: due.Before(today)}
}

// soonDate writes a day without its year where it is this one.
func soonDate(d, today records.Date) string {
	t := say.Date(d)
	if d.Day > 0 && d.Year == today.Year {
		t = strings.TrimSuffix(t, fmt.Sprintf(" %d", d.Year))
	}
	return t
}

// quoteWords says a quote: its middle, and what it lies between. A single
// amount is the middle.
func quoteWords(q *records.Quote) (middle, between string) {
	sum := func(cents int) string { return say.Money(int64(cents), q.Currency) }
	switch {
	case q.MidCents > 0:
		middle = sum(q.MidCents)
	case q.LowCents > 0 && q.HighCents == 0:
		return "from " + sum(q.LowCents), ""
	case q.HighCents > 0 && q.LowCents == 0:
		return "up to " + sum(q.HighCents), ""
	}
	switch {
	case q.LowCents > 0 && q.HighCents > 0:
		between = sum(q.LowCents) + " to " + sum(q.HighCents)
	case q.LowCents > 0:
		between = "from " + sum(q.LowCents)
	case q.HighCents > 0:
		between = "up to " + sum(q.HighCents)
	}
	if middle == "" {
		return between, ""
	}
	return middle, between
}

// jobFieldWords is what a property of a job is called on its page.
func jobFieldWords(path string) string {
	if stage, ok := strings.CutPrefix(path, "steps"); ok {
		if strings.HasSuffix(stage, ".note") {
			return "notes of the stages"
		}
		return "dates"
	}
	if w, ok := jobFieldSaid[path]; ok {
		return w
	}
	for _, part := range []string{"quote", "filing", "customer"} {
		if strings.HasPrefix(path, part) {
			return part
		}
	}
	return plainWord(path)
}

var jobFieldSaid = map[string]string{
	"lon": "place", "lat": "place", "coordinates_given": "place", "datum": "place", "located_by": "place", "accuracy_m": "place",
	"label": "name", "forecast_uid": "forecast", "well_uid": "well", "actual_cents": "what it came to", "access_notes": "way in",
	"quote.currency": "currency", "quote.valid_until": "how long the quote holds", "quote.low_cents": "lowest sum", "quote.mid_cents": "middle sum", "quote.high_cents": "highest sum",
	"filing.sent": "when the record was sent", "filing.accepted": "when the record was accepted", "filing.due": "when the record is due",
}

// jobFaultWords says a fault as a sentence that stands by itself.
func jobFaultWords(f records.Fault) string {
	t := f.Message
	if strings.HasPrefix(t, "is ") || strings.HasPrefix(t, "holds ") {
		t = jobFieldWords(f.Field) + " " + t
	}
	if f.Mend != "" {
		t += ": " + f.Mend
	}
	return capital(t)
}
