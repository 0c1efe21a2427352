package server

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/say"
)

// jobsPage is all jobs, a line each, in the order in which they are due.
type jobsPage struct {
	Base
	Lead          string
	Late          string // how many are late; "" for none
	Stages        []jobsAt
	Rows          []jobRow
	None          string // why there is no row
	Empty         bool   // there is no job at all
	Newer, Older  string
	New, AsOf     string
	Open          string // the filter, for the list on paper
	PrivateUnseen bool   // customers are not shown to this reader
}

// jobsAt is a word of the filter.
type jobsAt struct {
	Label, Href string
	Count       string
	On          bool
}

// jobRow is a job in a line.
type jobRow struct {
	Name, Href      string
	Customer, Place string
	Stage, Next     string
	Due             jobDue
	Said            []jobSaid // what was forecast, and what came
	Quote, Between  string
	Came, CameMore  string
	CameOut         bool // outside the quote
	Move            *jobStep
}

// jobSaid is one forecast quantity in a few words.
type jobSaid struct {
	Label, Said, Came string
	Out               bool
}

// jobStep is the button that brings a job to its next stage today.
type jobStep struct {
	Path, Stage, Label, Back, Date string
	Revision                       int64
}

// jobsOnPage is how many jobs are listed at once.
const jobsOnPage = 40

// What the filter may say beside a stage.
const (
	jobsOpen = "open"
	jobsAll  = "all"
)

// jobsHome answers /jobs.
func (s *Server) jobsHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	stage := orElse(q.Get("stage"), jobsOpen)
	if stage != jobsOpen && stage != jobsAll && records.StageNumber(stage) < 0 {
		return records.Errorf(records.Invalid, "stage=%s is no stage of a job; choose one of %v, open and all", clipText(stage, 30), records.JobStages())
	}
	from := 0
	if t := q.Get("from"); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil || n < 0 {
			return records.Errorf(records.Invalid, "from=%s is no number of jobs to leave out", clipText(t, 30))
		}
		from = n
	}
	jobs, err := s.desk.Jobs(r.Context(), s.actor(r), records.JobFilter{})
	if err != nil {
		return err
	}
	today := s.desk.Validation().Today
	p := jobsPage{Base: s.base(r, "Jobs"), Empty: len(jobs) == 0, New: "/job/new", AsOf: say.Date(today), PrivateUnseen: s.desk.Permit(s.actor(r), desk.SeePrivate) != nil}
	p.Open = stage
	p.countStages(jobs, stage, today)
	var shown []*records.Job
	for _, j := range jobs {
		if stage == jobsAll || j.Stage == stage || stage == jobsOpen && j.Stage != records.JobFiled {
			shown = append(shown, j)
		}
	}
	slices.SortStableFunc(shown, byDue)
	if len(shown) == 0 && len(jobs) > 0 {
		p.None = "No job is " + stage + " now."
	}
	from = min(from, len(shown))
	page := func(from int) string {
		q := url.Values{"stage": {stage}}
		if from > 0 {
			q.Set("from", strconv.Itoa(from))
		}
		return "/jobs?" + q.Encode()
	}
	if from > 0 {
		p.Newer = page(max(0, from-jobsOnPage))
	}
	if from+jobsOnPage < len(shown) {
		p.Older = page(from + jobsOnPage)
	}
	shown = shown[from:min(from+jobsOnPage, len(shown))]
	behind, err := s.desk.JobOutcomes(r.Context(), s.actor(r), shown)
	if err != nil {
		return err
	}
	for i, j := range shown {
		row, err := jobRowOf(j, &behind[i], today, p.Units, p.Here)
		if err != nil {
			return err
		}
		p.Rows = append(p.Rows, row)
	}
	return s.show(w, "jobs", p)
}

// countStages fills in the filter and says how many jobs are under way and
// late.
func (p *jobsPage) countStages(jobs []*records.Job, now string, today records.Date) {
	at, late := map[string]int{}, 0
	for _, j := range jobs {
		at[j.Stage]++
		if due, _ := j.NextDue(); due.Before(today) && !due.IsZero() {
			late++
		}
	}
	open := len(jobs) - at[records.JobFiled]
	add := func(word string, n int) {
		p.Stages = append(p.Stages, jobsAt{Label: word, Href: "/jobs?stage=" + word, Count: grouped(n), On: word == now})
	}
	add(jobsOpen, open)
	for _, stage := range records.JobStages() {
		add(stage, at[stage])
	}
	add(jobsAll, len(jobs))
	p.Lead = count(open, "job", "jobs") + " under way"
	if late > 0 {
		p.Late = grouped(late) + " late"
	}
}

// byDue orders jobs by what is due next, those without a day after them, and
// those that are filed last, the latest first.
func byDue(a, b *records.Job) int {
	filed := func(j *records.Job) int {
		if j.Stage == records.JobFiled {
			return 1
		}
		return 0
	}
	if c := cmp.Compare(filed(a), filed(b)); c != 0 {
		return c
	}
	if filed(a) == 1 {
		return cmp.Or(b.Filing.Sent.Compare(a.Filing.Sent), cmp.Compare(b.ID, a.ID))
	}
	dueA, _ := a.NextDue()
	dueB, _ := b.NextDue()
	switch {
	case dueA.IsZero() != dueB.IsZero():
		if dueA.IsZero() {
			return 1
		}
		return -1
	case dueA.Compare(dueB) != 0:
		return dueA.Compare(dueB)
	}
	return cmp.Or(cmp.Compare(records.StageNumber(b.Stage), records.StageNumber(a.Stage)), cmp.Compare(a.ID, b.ID))
}

func jobRowOf(j *records.Job, o *desk.JobOutcome, today records.Date, u say.System, here string) (jobRow, error) {
	row := jobRow{Name: jobName(j), Href: jobPath(j.ID), Customer: j.Customer.Name, Place: jobPlace(j), Stage: j.Stage, Due: jobDueOf(j, today)}
	if next := nextStage(j.Stage); next != "" {
		row.Next = stageSaid[next].todo
		row.Move = &jobStep{Path: jobPath(j.ID) + "/move", Stage: next, Label: stageSaid[next].reached, Back: here, Date: today.String(), Revision: j.Revision}
		if row.Due.What == row.Next {
			row.Due.What = ""
		}
	}
	row.Quote, row.Between = quoteWords(&j.Quote)
	row.Came, row.CameMore, row.CameOut = jobReckoned(j)
	var err error
	row.Said, err = jobSaidOf(o, u)
	return row, err
}

// jobReckoned says what a job came to against what was quoted.
func jobReckoned(j *records.Job) (came, more string, out bool) {
	if j.ActualCents == 0 {
		return "", "", false
	}
	came = say.Money(int64(j.ActualCents), j.Quote.Currency)
	k, ok := desk.ReckonJob(j)
	if !ok {
		return came, "nothing was quoted", false
	}
	q := &j.Quote
	if single := (q.LowCents == 0 || q.LowCents == q.MidCents) && (q.HighCents == 0 || q.HighCents == q.MidCents); single {
		switch {
		case k.OverMidCents > 0:
			return came, say.Money(int64(k.OverMidCents), k.Currency) + " over the quote", true
		case k.OverMidCents < 0:
			return came, say.Money(int64(-k.OverMidCents), k.Currency) + " under the quote", false
		}
		return came, "as quoted", false
	}
	more = "within the quote"
	if !k.Within {
		more, out = "outside the quote", true
	}
	switch {
	case k.OverMidCents > 0:
		more += ", " + say.Money(int64(k.OverMidCents), k.Currency) + " over its middle"
	case k.OverMidCents < 0:
		more += ", " + say.Money(int64(-k.OverMidCents), k.Currency) + " under its middle"
	}
	return came, more, out
}

// jobSaidOf says the depth and the yield that were forecast, and what came.
func jobSaidOf(o *desk.JobOutcome, u say.System) ([]jobSaid, error) {
	if o.Forecast == nil {
		return nil, nil
	}
	var out []jobSaid
	for _, f := range [...]struct {
		field snapshot.Field
		label string
	}{{snapshot.TotalDepth, "depth"}, {snapshot.Yield, "yield"}} {
		q, ok := o.Forecast.Quantity(f.field.String())
		if !ok {
			continue
		}
		said, err := saidOfQuantity(q, scoreOf(o.Forecast.Score, q.Name), u)
		if err != nil {
			return nil, err
		}
		one := jobSaid{Label: f.label, Said: said.Range, Out: said.Out}
		if said.Came != "" {
			one.Came = "came " + said.Came
			if said.Out {
				one.Came += ", outside"
			}
		}
		out = append(out, one)
	}
	return out, nil
}
