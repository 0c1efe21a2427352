package server

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// jobFormPage is the form in which a job is opened or changed.
type jobFormPage struct {
	Base
	Heading, Lead string
	Action, Back  string
	Changing      bool
	Revision      int64
	Refused       string
	Warnings      []string
	Parts         []jobPart
	Later         []jobPart // what may wait while a job is opened
	Steps         []jobStepForm
	Why           jobField
	QuoteFrom     string // where the sums come from
	QuoteCare     []string
	Rates         string // where prices are entered, where there is none
	LaterOpen     bool   // what may wait stands open
}

// jobPart is a group of fields under a name.
type jobPart struct {
	ID, Title, Lead string
	Fields          []jobField
}

// jobField is a field of the form: what was typed, and what is wrong with it.
type jobField struct {
	ID, Name, Label, Hint string
	Value, Type           string // text, date or tel
	Figure                bool   // a sum is typed
	Long                  bool
	Unit                  string
	Options               []choice
	Fault                 string
	Focus                 bool // the first that is at fault
}

// jobStepForm is the line of one stage.
type jobStepForm struct {
	Stage, Label    string
	Due, Done, Note jobField
}

// mostForecastsOffered is how many kept forecasts near a job are offered, and
// forecastNearM how near they are, metres; ours, no source.
const (
	mostForecastsOffered = 12
	forecastNearM        = 800
)

// jobFaults are what is wrong, by the name of the field.
type jobFaults map[string]string

// jobForm is a job as the form shows it.
type jobForm struct {
	typed  url.Values // what was sent; nil for a form that is shown first
	faults jobFaults
	job    *records.Job
}

// field is a field with what was typed, else with what the job says.
func (f *jobForm) field(name, label, hint, value string) jobField {
	if f.typed != nil {
		value = f.typed.Get(name)
	}
	return jobField{ID: "j-" + strings.ReplaceAll(name, ".", "-"), Name: name, Label: label, Hint: hint, Value: value, Type: "text", Fault: f.faults[name]}
}

// date is a field for a day. One that is known by year or month alone, or that
// cannot be read, stays as it was written.
func (f *jobForm) date(name, label, hint string, d records.Date) jobField {
	x := f.field(name, label, hint, d.String())
	t := strings.TrimSpace(x.Value)
	if d, err := records.ParseDate(t); t == "" || err == nil && d.Day > 0 && d.String() == t {
		x.Type = "date"
	}
	return x
}

func (f *jobForm) sum(name, label, hint string, cents int) jobField {
	value := ""
	if cents != 0 {
		value = (&officeField{kind: asMoney}).shown([]byte(strconv.Itoa(cents)))
		value = strings.TrimSuffix(value, ".00")
	}
	x := f.field(name, label, hint, value)
	x.Figure, x.Unit = true, f.job.Quote.Currency
	return x
}

// parts are the fields of the form, apart from the days of the stages.
func (f *jobForm) parts(private bool, forecasts []choice) []jobPart {
	j := f.job
	stage := f.field("stage", "It has come to", "", j.Stage)
	for _, word := range records.JobStages() {
		stage.Options = append(stage.Options, choice{word, word, word == stage.Value})
	}
	forecast := f.field("forecast", "The forecast it stands on", "those that were kept near the place", j.ForecastUID)
	for _, c := range forecasts {
		c.On = c.Value == forecast.Value
		forecast.Options = append(forecast.Options, c)
	}
	at := ""
	if j.Located {
		at = latLon(position.LonLat{Lon: j.Lon, Lat: j.Lat})
	}
	notes := f.field("notes", "Notes", "", j.Notes)
	notes.Long = true
	out := []jobPart{{ID: "what", Title: "The job", Fields: []jobField{
		f.field("label", "What you call it", "empty: its place", j.Label), stage,
	}}}
	if private {
		phone := f.field("customer.telephone", "Telephone", "", j.Customer.Telephone)
		phone.Type = "tel"
		out = append(out, jobPart{ID: "customer", Title: "The customer", Lead: "Kept private: on no list for the wall, and in no file that is given out unless it is asked for.", Fields: []jobField{
			f.field("customer.name", "Name", "", j.Customer.Name), phone, f.field("customer.address", "Address", "", j.Customer.Address),
		}})
	}
	low := f.sum("quote.low", "Lowest", "12,500 or 12500.00", j.Quote.LowCents)
	return append(out,
		jobPart{ID: "site", Title: "The site", Fields: []jobField{
			f.field("at", "Where", "latitude, longitude, or any other form", at), f.field("parcel", "Parcel", "", j.Parcel), f.field("access", "The way in", "gate, slope, wires, soft ground", j.AccessNotes),
		}},
		jobPart{ID: "quote", Title: "The quote", Fields: []jobField{
			low, f.sum("quote.mid", "Middle", "or the only sum", j.Quote.MidCents), f.sum("quote.high", "Highest", "", j.Quote.HighCents),
			f.field("quote.currency", "Currency", "three letters", j.Quote.Currency), f.date("quote.valid", "Holds until", "", j.Quote.ValidUntil), forecast,
		}},
		jobPart{ID: "filing", Title: "The record", Lead: "On its way to the authority.", Fields: []jobField{
			f.field("filing.authority", "Authority", "", j.Filing.Authority), f.field("filing.reference", "Its number for it", "", j.Filing.Reference),
			f.date("filing.due", "Due there", "", j.Filing.Due), f.date("filing.sent", "Sent", "", j.Filing.Sent), f.date("filing.accepted", "Accepted", "", j.Filing.Accepted),
		}},
		jobPart{ID: "end", Title: "The end", Fields: []jobField{f.sum("actual", "What it came to", "", j.ActualCents), notes}},
	)
}

// jobPartsLater is how many parts of the form may wait while a job is opened.
const jobPartsLater = 2

// focus puts the keyboard at the first field that is at fault, and opens what
// is folded away where it holds one.
func (p *jobFormPage) focus() {
	var fields, later []*jobField
	for i := range p.Parts {
		for k := range p.Parts[i].Fields {
			fields = append(fields, &p.Parts[i].Fields[k])
		}
	}
	for i := range p.Steps {
		later = append(later, &p.Steps[i].Due, &p.Steps[i].Done, &p.Steps[i].Note)
	}
	for i := range p.Later {
		for k := range p.Later[i].Fields {
			later = append(later, &p.Later[i].Fields[k])
		}
	}
	p.LaterOpen = p.Changing || slices.ContainsFunc(later, func(f *jobField) bool { return f.Fault != "" })
	for _, f := range append(fields, later...) {
		if f.Fault != "" {
			f.Focus = true
			return
		}
	}
}

// steps are the lines of the stages.
func (f *jobForm) steps() []jobStepForm {
	var out []jobStepForm
	for _, stage := range records.JobStages() {
		step := f.job.Step(stage)
		if step == nil {
			step = &records.JobStep{}
		}
		out = append(out, jobStepForm{
			Stage: stage, Label: capital(stage),
			Due: f.date("due."+stage, stage+", due", "", step.Due), Done: f.date("done."+stage, stage+", done", "", step.Done),
			Note: f.field("note."+stage, stage+", note", "", step.Note),
		})
	}
	return out
}

// jobShow writes the form.
func (s *Server) jobShow(w http.ResponseWriter, r *http.Request, p *jobFormPage, f *jobForm, status int) error {
	p.Base, p.Action, p.Back = s.base(r, "Job"), "/job/new", orElse(p.Back, "/jobs")
	p.Heading = "Open a job"
	if f.job.ID > 0 {
		p.Heading, p.Action, p.Back, p.Changing = "Change "+jobName(f.job), jobPath(f.job.ID)+"/edit", jobPath(f.job.ID), true
	}
	p.Title, p.Revision = p.Heading, f.job.Revision
	if r.Method == http.MethodPost { // its address cannot be asked for again
		p.Here = p.Back
	}
	forecasts, err := s.forecastChoices(r, f.job)
	if err != nil {
		return err
	}
	parts := f.parts(s.desk.Permit(s.actor(r), desk.SeePrivate) == nil, forecasts)
	p.Parts, p.Later, p.Steps = parts[:len(parts)-jobPartsLater], parts[len(parts)-jobPartsLater:], f.steps()
	p.focus()
	p.Why = f.field("why", "Why it is changed", "kept with the earlier state", "")
	return s.showAs(w, "jobform", p, status)
}

// forecastChoices are the kept forecasts near a job's place, the nearest
// first, and the one that it names.
func (s *Server) forecastChoices(r *http.Request, j *records.Job) ([]choice, error) {
	out := []choice{{"", "none", false}}
	all, err := s.desk.Forecasts(r.Context(), s.actor(r))
	if err != nil {
		return nil, err
	}
	type near struct {
		f     *records.Forecast
		distM float64
	}
	var found []near
	for _, f := range all {
		dist := 0.0
		if j.Located {
			dist, _ = position.Distance(position.LonLat{Lon: j.Lon, Lat: j.Lat}, position.LonLat{Lon: f.Lon, Lat: f.Lat})
		}
		if f.UID == j.ForecastUID || j.Located && dist <= forecastNearM && !f.Decision.Withdrawn {
			found = append(found, near{f, dist})
		}
	}
	slices.SortStableFunc(found, func(a, b near) int {
		switch {
		case a.distM < b.distM:
			return -1
		case a.distM > b.distM:
			return 1
		}
		return 0
	})
	known := j.ForecastUID == ""
	for i, n := range found {
		if i >= mostForecastsOffered && n.f.UID != j.ForecastUID {
			continue
		}
		known = known || n.f.UID == j.ForecastUID
		label := forecastName(n.f) + ", kept " + dayOf(n.f.KeptAt)
		if j.Located && n.distM >= 1 {
			label += ", " + unitsOf(r).Distance(n.distM) + " away"
		}
		out = append(out, choice{n.f.UID, label, false})
	}
	if !known {
		out = append(out, choice{j.ForecastUID, "one that is no longer on record", false})
	}
	return out, nil
}

// readJob reads the form that was sent into a job, and tells what cannot be
// read, by field.
func readJob(q url.Values, j *records.Job, private bool) jobFaults {
	faults := jobFaults{}
	text := func(name string) string { return strings.TrimSpace(strings.ReplaceAll(q.Get(name), "\r\n", "\n")) }
	date := func(name string, into *records.Date) {
		t := text(name)
		if t == "" {
			*into = records.Date{}
			return
		}
		d, err := records.ParseDate(t)
		if err != nil {
			faults[name] = capital(err.Error()) + "."
			return
		}
		*into = d
	}
	j.Label, j.Stage, j.Parcel, j.AccessNotes, j.Notes = text("label"), text("stage"), text("parcel"), text("access"), text("notes")
	if private {
		j.Customer.Name, j.Customer.Telephone, j.Customer.Address = text("customer.name"), text("customer.telephone"), text("customer.address")
	}
	readPlace(text("at"), j, faults)
	j.ForecastUID = text("forecast")
	j.Quote.Currency = strings.ToUpper(text("quote.currency"))
	date("quote.valid", &j.Quote.ValidUntil)
	for _, sum := range []struct {
		name string
		into *int
	}{{"quote.low", &j.Quote.LowCents}, {"quote.mid", &j.Quote.MidCents}, {"quote.high", &j.Quote.HighCents}, {"actual", &j.ActualCents}} {
		readSum(text(sum.name), j.Quote.Currency, sum.into, sum.name, faults)
	}
	quoteRuns(&j.Quote, faults)
	j.Filing.Authority, j.Filing.Reference = text("filing.authority"), text("filing.reference")
	date("filing.due", &j.Filing.Due)
	date("filing.sent", &j.Filing.Sent)
	date("filing.accepted", &j.Filing.Accepted)
	var steps []records.JobStep
	for _, stage := range records.JobStages() {
		step := records.JobStep{Stage: stage}
		if was := j.Step(stage); was != nil {
			step = *was
		}
		date("due."+stage, &step.Due)
		date("done."+stage, &step.Done)
		step.Note = text("note." + stage)
		if !step.Due.IsZero() || !step.Done.IsZero() || step.Note != "" || len(step.Extra) > 0 {
			steps = append(steps, step)
		}
	}
	j.Steps = steps
	return faults
}

// readPlace reads where a job is; a place that was not touched keeps how it
// was given.
func readPlace(t string, j *records.Job, faults jobFaults) {
	if t == "" {
		j.Located, j.Lon, j.Lat, j.Given, j.Datum, j.Method, j.Accuracy = false, 0, 0, "", "", "", records.Amount[records.Length]{}
		return
	}
	at, err := position.Parse(t)
	if err != nil {
		faults["at"] = capital(err.Error()) + "."
		return
	}
	if !j.Located || latLon(at.At) != latLon(position.LonLat{Lon: j.Lon, Lat: j.Lat}) {
		j.Located, j.Lon, j.Lat, j.Given, j.Datum, j.Method, j.Accuracy = true, at.At.Lon, at.At.Lat, t, "", "", records.Amount[records.Length]{}
	}
}

// readSum reads a sum of money as cents.
func readSum(typed, currency string, into *int, name string, faults jobFaults) {
	if typed == "" {
		*into = 0
		return
	}
	raw, fault := (&officeField{kind: asMoney}).raw(typed, 0, currency)
	if fault != nil {
		faults[name] = "“" + clipText(typed, 40) + "” is no sum of money in whole cents: write it like 12,500 or 12500.50."
		return
	}
	n, err := strconv.Atoi(string(raw))
	if err != nil || n < 0 {
		faults[name] = "“" + clipText(typed, 40) + "” is less than nothing: write what was asked for, like 12,500 or 12500.50."
		return
	}
	*into = n
}

// quoteRuns refuses sums that run backwards, in the words of the form.
func quoteRuns(q *records.Quote, faults jobFaults) {
	below := func(name string, cents int, what string, least int) {
		if cents > 0 && least > 0 && cents < least && faults[name] == "" {
			faults[name] = say.Money(int64(cents), q.Currency) + " is less than the " + what + ", " + say.Money(int64(least), q.Currency) + ": exchange them, or correct the one that is wrong."
		}
	}
	below("quote.mid", q.MidCents, "lowest", q.LowCents)
	below("quote.high", q.HighCents, "middle", q.MidCents)
	below("quote.high", q.HighCents, "lowest", q.LowCents)
}

// jobFormField is the field of the form that a property of a job is typed in;
// "" where it has none of its own.
func jobFormField(path string, j *records.Job) string {
	if rest, ok := strings.CutPrefix(path, "steps["); ok {
		number, name, _ := strings.Cut(rest, "].")
		i, err := strconv.Atoi(number)
		if err != nil || i < 0 || i >= len(j.Steps) {
			return ""
		}
		return name + "." + j.Steps[i].Stage
	}
	switch path {
	case "label", "stage", "parcel", "notes", "filing.authority", "filing.reference", "filing.due", "filing.sent", "filing.accepted",
		"customer.name", "customer.telephone", "customer.address", "quote.currency":
		return path
	case "lon", "lat", "coordinates_given":
		return "at"
	case "access_notes":
		return "access"
	case "quote.low_cents", "quote.mid_cents", "quote.high_cents":
		return strings.TrimSuffix(path, "_cents")
	case "quote.valid_until":
		return "quote.valid"
	case "actual_cents":
		return "actual"
	case "forecast_uid":
		return "forecast"
	}
	return ""
}

// place puts the faults that a job is refused for beside the fields of the
// form; what has none of its own is given back.
func (f jobFaults) place(faults []records.Fault, j *records.Job) (rest []string) {
	for _, x := range faults {
		if x.Severity != records.Refusal {
			continue
		}
		name := jobFormField(x.Field, j)
		if name == "" {
			rest = append(rest, jobFaultWords(x)+".")
		} else if f[name] == "" {
			f[name] = jobFaultWords(x) + "."
		}
	}
	return rest
}
