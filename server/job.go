package server

import (
	"html/template"
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// jobPage is one job, whole.
type jobPage struct {
	Base
	Name, Place string
	Path        string
	Revision    int64
	Gone        bool // it was taken out
	Stages      []jobStage
	Due         jobDue
	Next        *jobMoveForm
	Other       *jobMoveForm // to any other stage
	Cares       []string     // what is doubtful of it
	Customer    jobCustomer
	Site        facts
	Acts        jobActs
	Quote       jobQuote
	Forecast    *jobForecast
	End         jobEnd
	Filing      facts
	Notes       string
	Earlier     []jobEarlier
}

// jobCustomer is whose job it is; private.
type jobCustomer struct {
	Name, Telephone, Address string
	Call                     template.URL // what a telephone calls; "" for what is no number
}

// Known says whether anything is known of the customer.
func (c jobCustomer) Known() bool { return c.Name+c.Telephone+c.Address != "" }

type jobActs struct{ Edit, Remove, Map, Scout, Rig string }

// jobStage is one of the seven.
type jobStage struct {
	Word           string
	Done, Due      string
	Note           string
	Now, Gone, Out bool // where it is; behind it; its day has passed
}

// jobMoveForm brings a job to a stage: what was typed, and what is wrong with
// it.
type jobMoveForm struct {
	Stage, Label      string
	Choices           []choice // where several stages are offered
	On, OnType        string
	Due, DueType      string
	DueLabel          string // "": nothing comes after it
	OnFault, DueFault string
}

// jobQuote is what was quoted and what it came to.
type jobQuote struct {
	Middle, Between, Until string
	Expired                bool
	Came, CameMore         string
	CameOut                bool
}

// jobForecast is the forecast that a job stands on.
type jobForecast struct {
	Name, Href, Kept string
	Lost             bool
	Table            listing
	Hold             *proposalView // the job's well, offered as what came
}

// jobEnd is the well that was drilled.
type jobEnd struct {
	Open            bool // it is time to name it
	Well, Href      string
	Where           string
	Lost            bool
	Actual          string
	Currency        string
	Number          string
	Fault, SumFault string
	Several         []jobWell // wells that bear the number given, or that may be it
	Maybe           bool      // they were found near the forecast
}

// jobWell is a well that may be the one of the job.
type jobWell struct{ UID, Label, Href, Said string }

// jobEarlier is an earlier state of a job.
type jobEarlier struct {
	Revision         int64
	What, Until, Why string
	Changed          []string // what the write after it changed
	Restore          string   // address that a form is sent to
}

// jobHome answers /job/{id}. One that was taken out is shown with its earlier
// states, so that it can be restored.
func (s *Server) jobHome(w http.ResponseWriter, r *http.Request) error {
	p, err := s.jobPageOf(r)
	if err != nil {
		return err
	}
	return s.show(w, "job", p)
}

// jobByUID answers /job/{uid}: a job by its public name.
func (s *Server) jobByUID(w http.ResponseWriter, r *http.Request) error {
	id, err := s.desk.JobIDByUID(r.Context(), s.actor(r), mux.Vars(r)["uid"])
	if err != nil {
		return err
	}
	http.Redirect(w, r, jobPath(id), http.StatusSeeOther)
	return nil
}

func (s *Server) jobPageOf(r *http.Request) (*jobPage, error) {
	id, err := jobID(r)
	if err != nil {
		return nil, err
	}
	ctx, actor, u := r.Context(), s.actor(r), unitsOf(r)
	revs, err := s.desk.JobRevisions(ctx, actor, id)
	if err != nil {
		return nil, err
	}
	p := &jobPage{Base: s.base(r, "Job"), Path: jobPath(id)}
	j, err := s.desk.Job(ctx, actor, id)
	switch {
	case records.CodeOf(err) == records.NotFound && len(revs) > 0:
		p.Gone, j = true, revs[0].Image
	case err != nil:
		return nil, err
	}
	behind, err := s.desk.JobOutcomes(ctx, actor, []*records.Job{j})
	if err != nil {
		return nil, err
	}
	o, today := &behind[0], s.desk.Validation().Today
	p.Name, p.Place, p.Revision, p.Notes = jobName(j), jobPlace(j), j.Revision, j.Notes
	p.Title = p.Name
	p.Stages, p.Due = jobStagesOf(j, today), jobDueOf(j, today)
	p.Next, p.Other = jobMovesOf(j, today)
	if !p.Gone {
		for _, x := range j.Validate(s.desk.Validation()) {
			if x.Field != "well_uid" { // the end of the page asks for it
				p.Cares = append(p.Cares, jobFaultWords(x)+".")
			}
		}
	}
	p.Acts = jobActsOf(j, o, u)
	p.fill(j)
	p.Quote = jobQuoteOf(j, today)
	if err := s.jobForecastOf(r, p, j, o); err != nil {
		return nil, err
	}
	p.End = jobEndOf(j, o)
	if err := s.jobWellsOffered(r, p, o); err != nil {
		return nil, err
	}
	p.Earlier = earlierJobs(revs, j, p.Gone, id)
	return p, nil
}

// jobStagesOf are the seven stages with their days.
func jobStagesOf(j *records.Job, today records.Date) []jobStage {
	var out []jobStage
	now := records.StageNumber(j.Stage)
	for i, word := range records.JobStages() {
		x := jobStage{Word: word, Now: i == now, Gone: i < now}
		if step := j.Step(word); step != nil {
			x.Done, x.Note = soonDate(step.Done, today), step.Note
			if i > now && step.Done.IsZero() {
				x.Due, x.Out = soonDate(step.Due, today), step.Due.Before(today)
			}
		}
		if due := j.Filing.Due; word == records.JobFiled && x.Due == "" && x.Done == "" && j.Filing.Sent.IsZero() {
			x.Due, x.Out = soonDate(due, today), due.Before(today)
		}
		out = append(out, x)
	}
	return out
}

// jobMovesOf are the forms that bring a job to its next stage, and to another.
func jobMovesOf(j *records.Job, today records.Date) (next, other *jobMoveForm) {
	if stage := nextStage(j.Stage); stage != "" {
		next = &jobMoveForm{Stage: stage, Label: stageSaid[stage].reached, On: today.String(), OnType: "date", DueType: "date"}
		if after := nextStage(stage); after != "" {
			next.DueLabel = "then, by when: " + stageSaid[after].todo
		}
	}
	other = &jobMoveForm{On: today.String(), OnType: "date", Label: "Move it there"}
	for _, word := range records.JobStages() {
		if word != j.Stage && (next == nil || word != next.Stage) {
			other.Choices = append(other.Choices, choice{word, word, false})
		}
	}
	return next, other
}

// read reads what was typed.
func (f *jobMoveForm) read() desk.JobMove {
	m := desk.JobMove{Stage: f.Stage}
	for _, d := range []struct {
		typed string
		into  *records.Date
		fault *string
	}{{f.On, &m.On, &f.OnFault}, {f.Due, &m.NextDue, &f.DueFault}} {
		if d.typed == "" {
			continue
		}
		var err error
		if *d.into, err = records.ParseDate(d.typed); err != nil {
			*d.fault = capital(err.Error()) + "."
		}
	}
	return m
}

// refuseMove puts what was typed, and its faults, back into the form that it
// came from.
func (p *jobPage) refuseMove(f jobMoveForm) {
	into := p.Other
	if p.Next != nil && p.Next.Stage == f.Stage {
		into = p.Next
	}
	into.On, into.Due, into.OnFault, into.DueFault = f.On, f.Due, f.OnFault, f.DueFault
	into.OnType, into.DueType = dateType(f.On), dateType(f.Due)
	for i := range into.Choices {
		into.Choices[i].On = into.Choices[i].Value == f.Stage
	}
}

// dateType is the type of the control that can show what was typed for a day.
func dateType(t string) string {
	if d, err := records.ParseDate(t); t == "" || err == nil && d.Day > 0 && d.String() == t {
		return "date"
	}
	return "text"
}

func jobActsOf(j *records.Job, o *desk.JobOutcome, u say.System) jobActs {
	a := jobActs{Edit: jobPath(j.ID) + "/edit", Remove: jobRemoveHref(j)}
	if !j.Located {
		return a
	}
	at := position.LonLat{Lon: j.Lon, Lat: j.Lat}
	ask := startingAsk(at)
	if o.Forecast != nil {
		if kept, known := keptAsk(o.Forecast.Forecast); known {
			ask = kept
			ask.at = at
		}
	}
	a.Map, a.Scout, a.Rig = "/?at="+queryEscape(latLon(at)), ask.href("/scout", u, nil), rigHref(ask, u)
	return a
}

// fill sets what is known of customer, site and record.
func (p *jobPage) fill(j *records.Job) {
	p.Customer = jobCustomer{j.Customer.Name, j.Customer.Telephone, j.Customer.Address, telHref(j.Customer.Telephone)}
	if j.Located {
		p.Site.add("where", cell{Text: placeWords(j.Lon, j.Lat), Given: asWritten(records.Given{Text: j.Given})})
	}
	p.Site.text("parcel", j.Parcel)
	p.Site.text("the way in", j.AccessNotes)
	p.Filing.text("authority", j.Filing.Authority)
	p.Filing.text("its number for it", j.Filing.Reference)
	p.Filing.text("due there", say.Date(j.Filing.Due))
	p.Filing.text("sent", say.Date(j.Filing.Sent))
	p.Filing.text("accepted", say.Date(j.Filing.Accepted))
}

// telHref is the address that a telephone calls, "" for what is no number.
func telHref(t string) template.URL {
	number := ""
	for _, r := range t {
		switch {
		case r >= '0' && r <= '9', r == '+' && number == "":
			number += string(r)
		case r == ' ' || r == '-' || r == '(' || r == ')' || r == '.' || r == '/':
		default:
			return ""
		}
	}
	if number == "" {
		return ""
	}
	return template.URL("tel:" + number) //nolint:gosec // digits alone
}

func jobQuoteOf(j *records.Job, today records.Date) jobQuote {
	q := jobQuote{Until: say.Date(j.Quote.ValidUntil)}
	q.Expired = j.Quote.ValidUntil.Before(today) && !j.Quote.ValidUntil.IsZero() && records.StageNumber(j.Stage) <= records.StageNumber(records.JobQuoted)
	q.Middle, q.Between = quoteWords(&j.Quote)
	q.Came, q.CameMore, q.CameOut = jobReckoned(j)
	return q
}

// earlierJobs lists the states before this one, the latest first, each with
// what the write after it changed.
func earlierJobs(revs []records.Earlier[records.Job], now *records.Job, gone bool, id int64) []jobEarlier {
	var out []jobEarlier
	next := now
	for i, rev := range revs {
		middle, between := quoteWords(&rev.Image.Quote)
		e := jobEarlier{
			Revision: rev.Revision, Until: officeTime(rev.Until) + byWhom(rev.By), Why: rev.Why,
			What: joinWords(rev.Image.Stage, orElse(middle, between)), Restore: jobRestoreHref(id, rev.Revision, now.Revision),
		}
		if gone && i == 0 {
			e.Changed = []string{"it was taken out"}
		} else {
			said := map[string]bool{}
			for _, ch := range records.DiffJobs(rev.Image, next) {
				if t := jobFieldWords(ch.Field); !said[t] {
					said[t] = true
					e.Changed = append(e.Changed, t)
				}
			}
		}
		out = append(out, e)
		next = rev.Image
	}
	return out
}

// jobForecastOf tells what was forecast, and what came of it.
func (s *Server) jobForecastOf(r *http.Request, p *jobPage, j *records.Job, o *desk.JobOutcome) error {
	if o.ForecastLost {
		p.Forecast = &jobForecast{Lost: true}
		return nil
	}
	if o.Forecast == nil {
		return nil
	}
	k := o.Forecast
	f := &jobForecast{Name: forecastName(k.Forecast), Href: forecastPath(k.ID), Kept: dayOf(k.KeptAt) + byWhom(k.KeptBy)}
	p.Forecast = f
	f.Table = cameOf(k, p.Units).Table
	if len(f.Table.Heads) > 0 {
		f.Table.Heads[0] = head{Text: "of"} // a column without a name is left off paper
	}
	if k.Score == nil {
		f.Table = listing{Heads: heads("of", "said", "8 in 10 between")}
		for i := range k.Expected {
			said, err := saidOfQuantity(&k.Expected[i], nil, p.Units)
			if err != nil {
				return err
			}
			f.Table.add("", cell{Text: said.Title}, cell{Text: said.Middle}, cell{Text: said.Range})
		}
		if o.Well != nil && !k.Lost && j.WellUID != "" {
			f.Hold = &proposalView{
				Path: f.Href, Back: p.Path, Revision: k.Decision.Revision, UID: o.Well.UID, Label: wellLabel(o.Well), Href: wellPath(o.Well.ID), Said: placeGiven(o.Well),
			}
		}
	}
	return nil
}

func jobEndOf(j *records.Job, o *desk.JobOutcome) jobEnd {
	e := jobEnd{Open: records.StageNumber(j.Stage) >= records.StageNumber(records.JobDrilling), Lost: o.WellLost, Currency: j.Quote.Currency}
	if j.ActualCents > 0 {
		e.Actual = (&officeField{kind: asMoney}).shown([]byte(strconv.Itoa(j.ActualCents)))
	}
	if o.Well != nil {
		e.Well, e.Href, e.Where = wellLabel(o.Well), wellPath(o.Well.ID), placeGiven(o.Well)
	}
	return e
}

// jobWellsOffered offers the wells that were found to be the forecast's
// outcome, or may be it, where the job names none.
func (s *Server) jobWellsOffered(r *http.Request, p *jobPage, o *desk.JobOutcome) error {
	if o.Well != nil || o.Forecast == nil || !p.End.Open || p.Gone {
		return nil
	}
	if sc := o.Forecast.Score; sc != nil {
		p.End.Maybe, p.End.Several = true, []jobWell{{sc.Well.UID, wellLabel(sc.Well), wellPath(sc.Well.ID), wellWhere(sc, p.Units)}}
		return nil
	}
	k, _, err := s.desk.KeptForecast(r.Context(), s.actor(r), o.Forecast.ID)
	if err != nil {
		return err
	}
	for i := range k.Proposals {
		v := proposalOf(&k.Proposals[i], p.Units, p.Path)
		p.End.Maybe = true
		p.End.Several = append(p.End.Several, jobWell{v.UID, v.Label, v.Href, v.Said})
	}
	return nil
}
