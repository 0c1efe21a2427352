package records

import (
	"fmt"
	"strconv"
)

// Validate tells every fault of the job, as Well.Validate does. What is due
// may lie ahead; what is done may not.
func (j *Job) Validate(o ValidateOptions) []Fault {
	v := validator{today: o.Today, limits: DefaultLimits(), planned: true}
	if o.Limits != nil {
		v.limits = *o.Limits
	}
	j.visit(&v)
	v.job(j)
	return v.faults
}

// job judges what the values of a job say of one another.
func (v *validator) job(j *Job) {
	if StageNumber(j.Stage) < 0 {
		v.refuse("stage", "is "+strconv.Quote(clip(j.Stage, 40))+", which is no stage of a job", fmt.Sprintf("choose one of %v", []string(jobStages)))
	}
	v.quote(j)
	v.steps(j)
	v.filing(j)
	reached := StageNumber(j.Stage)
	if reached >= StageNumber(JobFinished) && j.WellUID == "" {
		v.warn("well_uid", "the job is "+j.Stage+" and no well is named", "name the record of what was drilled, so that quote and forecast can be held against it")
	}
	if reached >= StageNumber(JobQuoted) && j.Quote.MidCents == 0 && j.Quote.HighCents == 0 {
		v.warn("quote", "the job is "+j.Stage+" and no quote is kept", "write down what the customer was told")
	}
}

func (v *validator) quote(j *Job) {
	q := &j.Quote
	v.path = append(v.path[:0], step{"quote", -1})
	given := q.LowCents != 0 || q.MidCents != 0 || q.HighCents != 0 || j.ActualCents != 0
	switch {
	case given && !isCurrency(q.Currency):
		v.refuse("currency", "is "+strconv.Quote(clip(q.Currency, 10))+", which is no currency", "write its three letters, as in USD")
	case !given && q.Currency != "" && !isCurrency(q.Currency):
		v.warn("currency", "is "+strconv.Quote(clip(q.Currency, 10))+", which is no currency", "write its three letters, as in USD")
	}
	v.ascending("low_cents", q.LowCents, "mid_cents", q.MidCents)
	v.ascending("mid_cents", q.MidCents, "high_cents", q.HighCents)
	v.ascending("low_cents", q.LowCents, "high_cents", q.HighCents)
	v.top()
}

// ascending refuses amounts that run backwards; 0 is not given.
func (v *validator) ascending(lowName string, low int, highName string, high int) {
	if low > 0 && high > 0 && high < low {
		v.refuse(highName, fmt.Sprintf("%d is less than %s, %d", high, lowName, low), "give the lowest amount first")
	}
}

// isCurrency says whether a text has the form of an ISO 4217 code.
func isCurrency(s string) bool {
	for i := range len(s) {
		if s[i] < 'A' || s[i] > 'Z' {
			return false
		}
	}
	return len(s) == 3
}

func (v *validator) steps(j *Job) {
	if len(j.Steps) > v.limits.Rows {
		return
	}
	seen := map[string]bool{}
	for i := range j.Steps {
		s := &j.Steps[i]
		v.row("steps", i)
		switch {
		case StageNumber(s.Stage) < 0:
			v.refuse("stage", "is "+strconv.Quote(clip(s.Stage, 40))+", which is no stage of a job", fmt.Sprintf("choose one of %v", []string(jobStages)))
		case seen[s.Stage]:
			v.refuse("stage", s.Stage+" stands there twice", "keep one line a stage")
		case !s.Done.IsZero() && StageNumber(s.Stage) > StageNumber(j.Stage):
			v.warn("done", s.Stage+" is done, but the job is only "+j.Stage, "move the job on, or take the date out")
		}
		seen[s.Stage] = true
		v.done("done", s.Done)
	}
	v.top()
}

// done refuses a day in the future for what is said to have happened.
func (v *validator) done(name string, d Date) {
	if !v.today.IsZero() && v.today.next().Before(d) {
		v.refuse(name, d.String()+" is after today, "+v.today.String(), "correct the date; what is still to come has a due date")
	}
}

func (v *validator) filing(j *Job) {
	x := &j.Filing
	v.path = append(v.path[:0], step{"filing", -1})
	v.done("sent", x.Sent)
	v.done("accepted", x.Accepted)
	if x.Accepted.Before(x.Sent) {
		v.refuse("accepted", x.Accepted.String()+" is before it was sent, "+x.Sent.String(), "correct the one that is wrong")
	}
	if !x.Accepted.IsZero() && x.Sent.IsZero() {
		v.warn("sent", "the record was accepted and no date says when it was sent", "give the date")
	}
	if j.Stage == JobFiled && x.Sent.IsZero() {
		v.warn("sent", "the job is filed and no date says when", "give the date on which the record was sent")
	}
	v.top()
}
