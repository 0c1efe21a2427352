package records_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

var jobDay = records.Date{Year: 2026, Month: 3, Day: 4}

func TestJobRoundTrip(t *testing.T) {
	want := recordstest.FullJob()
	want.Extra = []records.Member{{Name: "colour", JSON: `"red"`}}
	want.Quote.Extra = []records.Member{{Name: "form", JSON: "7"}}
	doc := want.AppendJob(nil, records.WriteOptions{Private: true})
	var got records.Job
	if faults := got.ParseJob(doc); len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(want, &got); diff != "" {
		t.Errorf("as written and read:\n%s", diff)
	}
	if open := string(want.AppendJob(nil, records.WriteOptions{})); strings.Contains(open, "Invented Customer") || strings.Contains(open, "Nowhere") || strings.Contains(open, "customer") {
		t.Errorf("the customer is given away: %s", open)
	}
	got.Stage, got.Customer.Name = records.JobCalled, "Another"
	changes := records.DiffJobs(want, &got)
	if len(changes) != 2 || changes[0].Field != "stage" || changes[1].Field != "customer.name" || !changes[1].Private {
		t.Errorf("differences: %+v", changes)
	}
}

func TestValidateJob(t *testing.T) {
	if faults := recordstest.FullJob().Validate(records.ValidateOptions{Today: jobDay}); len(faults) > 0 {
		t.Fatalf("a sound job has faults: %v", faults)
	}
	if faults := (&records.Job{Stage: records.JobCalled}).Validate(records.ValidateOptions{Today: jobDay}); len(faults) > 0 {
		t.Errorf("a call of which nothing is known has faults: %v", faults)
	}
	type job = records.Job
	later := records.Date{Year: 2026, Month: 4, Day: 1}
	const refuse, warn = records.Refusal, records.Warning
	for name, c := range map[string]struct {
		change   func(j *job)
		severity records.Severity
		field    string
		says     string
	}{
		"no stage":              {func(j *job) { j.Stage = "" }, refuse, "stage", `""`},
		"another stage":         {func(j *job) { j.Stage = "lost" }, refuse, "stage", `"lost"`},
		"off the earth":         {func(j *job) { j.Lon = 500 }, refuse, "lon", "not on the earth"},
		"no currency":           {func(j *job) { j.Quote.Currency = "" }, refuse, "quote.currency", "no currency"},
		"a sign for a currency": {func(j *job) { j.Quote.Currency = "$" }, refuse, "quote.currency", `"$"`},
		"a currency alone":      {func(j *job) { j.Quote, j.ActualCents = records.Quote{Currency: "usd"}, 0 }, warn, "quote.currency", `"usd"`},
		"low above mid":         {func(j *job) { j.Quote.LowCents = 1_300_000 }, refuse, "quote.mid_cents", "1250000 is less"},
		"mid above high":        {func(j *job) { j.Quote.HighCents = 1_200_000 }, refuse, "quote.high_cents", "1200000 is less"},
		"low above high":        {func(j *job) { j.Quote.LowCents, j.Quote.MidCents = 3_000_000, 0 }, refuse, "quote.high_cents", "2100000 is less"},
		"less than nothing":     {func(j *job) { j.ActualCents = -1 }, refuse, "actual_cents", "-1"},
		"no quote":              {func(j *job) { j.Quote, j.ActualCents = records.Quote{}, 0 }, warn, "quote", "no quote"},
		"a step of no stage":    {func(j *job) { j.Steps[1].Stage = "lunch" }, refuse, "steps[1].stage", `"lunch"`},
		"a stage twice":         {func(j *job) { j.Steps[1].Stage = records.JobScouted }, refuse, "steps[1].stage", "twice"},
		"done tomorrow":         {func(j *job) { j.Steps[1].Done = later }, refuse, "steps[1].done", "after today"},
		"done too early":        {func(j *job) { j.Stage = records.JobDrilling }, warn, "steps[3].done", "only drilling"},
		"sent tomorrow":         {func(j *job) { j.Filing.Sent, j.Filing.Accepted = later, records.Date{} }, refuse, "filing.sent", "after today"},
		"accepted tomorrow":     {func(j *job) { j.Filing.Accepted = later }, refuse, "filing.accepted", "after today"},
		"accepted, then sent":   {func(j *job) { j.Filing.Accepted = records.Date{Year: 2026, Month: 1} }, refuse, "filing.accepted", "before it was sent"},
		"filed and never sent":  {func(j *job) { j.Filing.Sent, j.Filing.Accepted = records.Date{}, records.Date{} }, warn, "filing.sent", "filed"},
		"accepted, never sent":  {func(j *job) { j.Filing.Sent = records.Date{} }, warn, "filing.sent", "accepted"},
		"no well at the end":    {func(j *job) { j.WellUID = "" }, warn, "well_uid", "no well"},
		"a control character":   {func(j *job) { j.Customer.Name = "\x07" }, refuse, "customer.name", "U+0007"},
	} {
		t.Run(name, func(t *testing.T) {
			j := recordstest.FullJob()
			c.change(j)
			faults := j.Validate(records.ValidateOptions{Today: jobDay})
			if !slices.ContainsFunc(faults, func(f records.Fault) bool {
				return f.Severity == c.severity && f.Field == c.field && strings.Contains(f.Message, c.says) && f.Mend != ""
			}) {
				t.Errorf("got %v, want a fault of %s saying %q", faults, c.field, c.says)
			}
			if records.Refuses(faults) != (c.severity == refuse) {
				t.Errorf("refused: %v (%v)", records.Refuses(faults), faults)
			}
		})
	}
}

func TestJobMoves(t *testing.T) {
	on := func(month, day int) records.Date { return records.Date{Year: 2026, Month: month, Day: day} }
	j := &records.Job{Stage: records.JobCalled, Steps: []records.JobStep{
		{Stage: records.JobScouted, Due: on(1, 10)}, {Stage: records.JobDrilling, Due: on(2, 1)},
	}, Filing: records.Filing{Due: on(1, 20)}}
	check := func(when string, want records.Date, what string) {
		t.Helper()
		if due, of := j.NextDue(); due != want || of != what {
			t.Errorf("%s: next due %v (%s), want %v (%s)", when, due, of, want, what)
		}
	}
	check("called", on(1, 10), records.JobScouted)
	j.MoveTo(records.JobScouted, on(1, 9))
	check("scouted", on(1, 20), "filing")
	before := j.Steps
	j.MoveTo(records.JobQuoted, on(1, 12))
	if s := j.Step(records.JobQuoted); s == nil || s.Done != on(1, 12) || len(before) != 2 {
		t.Errorf("quoted: %+v; the state before has %d steps", s, len(before))
	}
	j.MoveTo(records.JobDrilling, on(2, 3))
	j.MoveTo(records.JobScouted, records.Date{}) // it went back: the day of scouting stays
	if s := j.Step(records.JobScouted); s.Done != on(1, 9) {
		t.Errorf("scouted on %v", s.Done)
	}
	if !j.Step(records.JobQuoted).Done.IsZero() || !j.Step(records.JobDrilling).Done.IsZero() {
		t.Errorf("what came later is still done: %+v", j.Steps)
	}
	j.Filing.Sent = on(2, 2)
	check("sent", on(2, 1), records.JobDrilling)
	j.MoveTo(records.JobFiled, records.Date{})
	check("filed", records.Date{}, "")
	if j.Step(records.JobFiled) != nil {
		t.Error("a stage without a day is noted")
	}
	if j.Step("lunch") != nil || records.StageNumber("lunch") != -1 || records.StageNumber(records.JobFiled) != len(records.JobStages())-1 {
		t.Error("stages are not those of the list")
	}
}

func FuzzParseJob(f *testing.F) {
	f.Add(recordstest.FullJob().AppendJob(nil, records.WriteOptions{Private: true}))
	f.Add([]byte(`{"stage":"called","steps":[{"due":2026}],"quote":{"low_cents":"x"},"actual_cents":-1}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if !jsontext.Value(raw).IsValid() {
			return
		}
		var j records.Job
		if faults := j.ParseJob(raw); records.Refuses(faults) || records.Refuses(j.Validate(records.ValidateOptions{})) {
			return
		}
		doc := j.AppendJob(nil, records.WriteOptions{Private: true})
		var back records.Job
		if faults := back.ParseJob(doc); records.Refuses(faults) {
			t.Fatalf("%s is written and not read: %v", doc, faults)
		}
		if again := back.AppendJob(nil, records.WriteOptions{Private: true}); string(again) != string(doc) {
			t.Fatalf("%s becomes %s", doc, again)
		}
		for _, stage := range records.JobStages() {
			j.MoveTo(stage, jobDay)
			if due, _ := j.NextDue(); stage == records.JobFiled && !due.IsZero() {
				t.Fatalf("filed and still due %v: %s", due, doc)
			}
		}
	})
}
