package server_test

import (
	"fmt"
	"math"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
)

// jobForm is what a person sends who opens a job.
func jobForm(pairs ...string) url.Values {
	f := url.Values{"stage": {"called"}, "quote.currency": {"USD"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

func (w *recordWorld) openJob(pairs ...string) *records.Job {
	w.t.Helper()
	to := w.send("/job/new", jobForm(pairs...)).is(303).header.Get("Location")
	var id int64
	if _, err := fmt.Sscanf(to, "/job/%d", &id); err != nil {
		w.t.Fatalf("opened and sent to %q", to)
	}
	return w.job(id)
}

func (w *recordWorld) job(id int64) *records.Job {
	w.t.Helper()
	j, err := w.desk.Job(w.t.Context(), desk.LocalPerson(), id)
	if err != nil {
		w.t.Fatal(err)
	}
	return j
}

func (w *recordWorld) place() position.LonLat {
	w.t.Helper()
	sheet, err := w.desk.Well(w.t.Context(), desk.LocalPerson(), w.first)
	if err != nil {
		w.t.Fatal(err)
	}
	return position.LonLat{Lon: sheet.Well.Place.Lon, Lat: sheet.Well.Place.Lat}
}

func TestJobsBeforeThereIsOne(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/jobs").is(200).sound().says("There is no job yet", "press “Open a job” there", "Open a job").saysNot("under way now")
	w.get("/job/new").is(200).sound().says("What you call it", "Kept private", "12,500 or 12500.00")
	w.get("/job/7").is(404)
	w.get("/job/99999999999999999999").is(404)
	w.get("/job/nobody").is(404)
	w.get("/jobs?stage=lunch").is(400).says("is no stage of a job")
	w.get("/jobs?from=x").is(400)
	w.get("/job/new?at=nowhere").is(400)
	w.get("/job/new?forecast=nobody").is(404)
}

func TestJobsAreListedByWhatIsDue(t *testing.T) {
	w := newRecordWorld(t) // today is 25 November 2026
	w.openJob("label", "no day", "customer.name", "Invented Customer 1")
	w.openJob("label", "far off", "stage", "quoted", "quote.mid", "9000", "due.drilling", "2027-02-01")
	w.openJob("label", "overdue", "stage", "scouted", "due.quoted", "2026-11-20")
	w.openJob("label", "tomorrow", "due.scouted", "2026-11-26")
	w.openJob("label", "month alone", "due.scouted", "2026-10")
	w.openJob("label", "sent", "stage", "filed", "filing.sent", "2026-11-01", "actual", "12000", "quote.low", "9,000", "quote.mid", "10000.00", "quote.high", "11000")
	a := w.get("/jobs").is(200).sound().says("5 jobs under way", "2 late", "as of 25 November 2026", "5 days late", "tomorrow", "to begin to drill", "Invented Customer 1").saysNot("$12,000")
	at := -1
	for _, name := range []string{"month alone", "overdue", "tomorrow", "far off", "no day"} {
		i := strings.Index(a.body, ">"+name+"<")
		if i <= at {
			t.Errorf("%q stands at %d, after %d", name, i, at)
		}
		at = i
	}
	late := regexp.MustCompile(`(?s)<tr role="row" class="late">.*?</tr>`).FindAllString(a.body, -1)
	if len(late) != 2 || !strings.Contains(late[1], `<span class="signal">20 November</span>`) {
		t.Errorf("late rows: %q", late)
	}
	w.get("/jobs?stage=filed").is(200).sound().says("$12,000", "outside the quote, $2,000 over its middle", "$9,000 to $11,000")
	w.get("/jobs?stage=drilling").is(200).sound().says("No job is drilling now", "See all of them")
	w.get("/jobs?stage=all&from=3").is(200).sound().says("sent", "Those before").saysNot("overdue")
	w.get("/jobs?stage=all&from=900").is(200)
	counts := regexp.MustCompile(`>([a-z]+) <span class="n">(\d+)</span>`).FindAllStringSubmatch(a.body, -1)
	if got := fmt.Sprint(counts[0][1:], counts[1][1:], counts[3][1:], counts[8][1:]); got != "[open 5] [called 3] [quoted 1] [all 6]" {
		t.Errorf("counts %s", got)
	}
}

func TestJobIsRefusedBesideItsFields(t *testing.T) {
	w := newRecordWorld(t)
	form := jobForm("label", attack, "stage", "lunch", "at", "the barn", "quote.low", "12,5", "quote.mid", "-4", "quote.high", "9000", "quote.currency", "dollars", "quote.valid", "soon",
		"done.called", "2026-13-01", "done.scouted", "2027-01-01", "filing.sent", "2026-11-20", "filing.accepted", "2026-11-02", "actual", "1.005")
	a := w.send("/job/new", form).is(422).sound().says("Nothing was saved", "“12,5” is no sum of money", "“-4” is less than nothing", "no stage of a job", "is no currency", "is not year", "is after today",
		"is before it was sent", "“1.005” is no sum")
	for name := range form {
		if name == "label" || name == "quote.currency" || name == "stage" || name == "filing.sent" || name == "quote.high" {
			continue
		}
		id := "j-" + strings.ReplaceAll(name, ".", "-")
		if !regexp.MustCompile(`id="` + id + `"[^>]*aria-invalid="true"[^>]*aria-describedby="` + id + `-fault"`).MatchString(a.body) {
			t.Errorf("the fault of %s is not tied to its field", name)
		}
		if !strings.Contains(a.body, `value="`+form.Get(name)+`"`) {
			t.Errorf("what was typed for %s is gone", name)
		}
	}
	w.send("/job/new", jobForm("quote.low", "9000", "quote.mid", "8000", "quote.high", "$7,500")).is(422).says("$8,000 is less than the lowest, $9,000", "$7,500 is less than the middle, $8,000")
	if jobs, err := w.desk.Jobs(t.Context(), desk.LocalPerson(), records.JobFilter{}); err != nil || len(jobs) != 0 {
		t.Errorf("%d jobs were kept (%v)", len(jobs), err)
	}
	w.send("/job/new", jobForm("forecast", "gone")).is(422).sound().says("no longer on record: choose another")
}

// Every property of the form comes back to the digit, and a form sent back
// untouched changes nothing.
func TestJobGoesThroughItsForm(t *testing.T) {
	w := newRecordWorld(t)
	j := w.openJob("label", "Upper pasture "+attack, "stage", "finished", "at", "44.25, -38.75", "parcel", "3-14", "access", attack, "notes", "two\r\nlines",
		"customer.name", "Invented Customer 2", "customer.telephone", "555 0100", "customer.address", "1 Invented Lane",
		"quote.low", "12,500", "quote.mid", "13100.50", "quote.high", "$ 15 000", "quote.valid", "2026-12", "actual", "13,000.05",
		"due.drilling", "2026-11-10", "done.drilling", "2026-11-12", "note.drilling", "wet", "done.finished", "2026",
		"filing.authority", "Invented Board", "filing.reference", "IB-7", "filing.due", "2026-12-01")
	if q := j.Quote; q.LowCents != 1250000 || q.MidCents != 1310050 || q.HighCents != 1500000 || q.ValidUntil != (records.Date{Year: 2026, Month: 12}) || j.ActualCents != 1300005 || j.Notes != "two\nlines" {
		t.Errorf("kept %+v, %d, %q", q, j.ActualCents, j.Notes)
	}
	page := w.get(jobPath(j)).is(200).sound().says("Upper pasture", "$13,100.50", "$12,500 to $15,000", "It came to $13,000.05", "within the quote, $100.45 under its middle", "Invented Customer 2", "555 0100",
		"Due 1 December, in 6 days: send the record", "wet", "No record is linked yet", "Invented Board").saysNot("Nothing is quoted")
	for _, href := range []string{`href="tel:5550100"`, `href="/?at=44.25%2C-38.75"`, `href="/scout?at=`, `href="/rig?`} {
		if !strings.Contains(page.body, href) {
			t.Errorf("there is no %s", href)
		}
	}
	back := formOf(w.get(jobPath(j) + "/edit").is(200).sound())
	w.send(jobPath(j)+"/edit", back).is(303)
	if again := w.job(j.ID); len(records.DiffJobs(j, again)) > 0 {
		t.Errorf("untouched, and changed: %+v", records.DiffJobs(j, again))
	}
	w.get("/job/" + j.UID).is(303)
}

// formOf is what a browser would send of the form of a job, untouched.
func formOf(a answer) url.Values {
	a.body = strings.Replace(strings.Replace(a.body, `<form action="/job`, `<form class="oform" action="/job`, 1), "</article>", "", 1)
	return a.form()
}

func jobPath(j *records.Job) string { return fmt.Sprintf("/job/%d", j.ID) }

func TestJobMovesFromStageToStage(t *testing.T) {
	w := newRecordWorld(t)
	j := w.openJob("label", "Lower field", "done.called", "2026-11-20")
	w.get(jobPath(j)).is(200).sound().says("Scouted", "then, by when: give the quote", "Nothing is quoted yet", "Not drilled yet")
	step := func(revision int64, stage string, more ...string) answer {
		f := url.Values{"revision": {fmt.Sprint(revision)}, "stage": {stage}, "on": {"2026-11-25"}}
		for i := 0; i+1 < len(more); i += 2 {
			f.Set(more[i], more[i+1])
		}
		return w.send(jobPath(j)+"/move", f)
	}
	a := step(1, "scouted", "due", "2026-11-28")
	if to := a.is(303).header.Get("Location"); to != jobPath(j) {
		t.Errorf("moved and sent to %q", to)
	}
	w.get(jobPath(j)).says("Due 28 November, in 3 days: give the quote")
	step(2, "quoted", "back", "/jobs?stage=open").is(303)
	got := w.job(j.ID)
	if got.Stage != records.JobQuoted || got.Step("scouted").Done.String() != "2026-11-25" || got.Step("called").Done.String() != "2026-11-20" {
		t.Errorf("moved to %+v", got)
	}
	w.get(jobPath(j)).sound().says("scouted → quoted", "no quote is kept")
	step(2, "scheduled").is(409)
	step(3, "scheduled", "on", "2027-01-05", "due", "Friday").is(422).sound().says("is not year").saysNot("day is set.")
	step(3, "scheduled", "on", "2027-01-05").is(422).sound().says("is after today")
	step(3, "lunch").is(422).sound()
	step(3, "drilling", "on", "never").is(422).sound()
	// Undo, as the message offers it.
	w.send(jobPath(j)+"/restore?revision=2&current=3", nil).is(303)
	if got := w.job(j.ID); got.Stage != records.JobScouted || got.Revision != 4 {
		t.Errorf("undone to %+v", got)
	}
	w.send(jobPath(j)+"/restore?revision=2&current=3", nil).is(409)
	w.send(jobPath(j)+"/restore?revision=2", nil).is(400)
	step(4, "finished", "due", "2026-12-20").is(303)
	step(5, "filed").is(303)
	if f := w.job(j.ID).Filing; f.Due.String() != "2026-12-20" || f.Sent.String() != "2026-11-25" {
		t.Errorf("filed: %+v", f)
	}
	w.get(jobPath(j)).is(200).sound().saysNot("Record sent on")
	// Taken out, and brought back.
	w.send(jobPath(j)+"/remove?revision=6", nil).is(303)
	w.get(jobPath(j)).is(200).sound().says("This job was taken out", "it was taken out")
	to := w.send(jobPath(j)+"/restore?revision=6&current=6", nil).is(303).header.Get("Location")
	w.get(to).is(200).says("Lower field")
}

func TestJobEndsWithAWell(t *testing.T) {
	w := newRecordWorld(t)
	j := w.openJob("label", "Quern", "stage", "finished", "quote.mid", "10000")
	w.save(&records.Well{Number: w.full.Number}, "")
	send := func(revision int64, pairs ...string) answer {
		f := url.Values{"revision": {fmt.Sprint(revision)}}
		for i := 0; i+1 < len(pairs); i += 2 {
			f.Set(pairs[i], pairs[i+1])
		}
		return w.send(jobPath(j)+"/end", f)
	}
	send(1, "number", "none such", "actual", "12,5").is(422).sound().says("No well on record bears the number none such", "“12,5” is no sum")
	send(1, "number", w.full.Number, "actual", "9,500").is(422).sound().says("2 wells bear this number")
	send(1, "number", "nf-0001", "actual", "9,500").is(303)
	if got := w.job(j.ID); got.ActualCents != 950000 || got.WellUID == "" {
		t.Errorf("ended with %+v", got)
	}
	w.get(jobPath(j)).is(200).sound().says("NF-0001", "$500 under the quote", "This is not the well").saysNot("No record is linked")
	send(2, "is", "none").is(303)
	if got := w.job(j.ID); got.WellUID != "" || got.ActualCents != 950000 {
		t.Errorf("taken away: %+v", got)
	}
	send(1, "actual", "1").is(409)
	send(3, "well", w.full.UID).is(303)
	w.get(jobPath(j)).says(w.full.Number)
	send(4, "well", "nobody").is(404)
}

// From a scouting: place, sums at the office's rates, and the forecast that
// was kept of the same question.
func TestJobOpensFromScouting(t *testing.T) {
	w := newRecordWorld(t)
	at := w.place()
	spot := fmt.Sprintf("at=%f%%2C%f", at.Lat, at.Lon)
	if page := w.get("/scout?" + spot).is(200); !strings.Contains(page.body, `href="/job/new?at=`) {
		t.Error("the scouting page does not lead to a job")
	}
	w.get("/job/new?"+spot).is(200).sound().says("there is no rate table that can be used", "Enter your rates")
	w.inventOffice()
	a := w.get("/job/new?"+spot).is(200).sound().says("From the scouting at your rates", "An estimate: what you quote is yours to say")
	form := formOf(a)
	sc, err := w.desk.Scouting(t.Context(), desk.LocalPerson(), desk.ScoutAsk{At: at, Need: records.Flow(records.GallonPerMinute.ToBase(5)), Hole: records.Diameter(records.InchDiameter.ToBase(6)), Casing: records.Diameter(records.InchDiameter.ToBase(6.625)), Daily: 1200, Shape: "two-peaks"})
	if err != nil {
		t.Fatal(err)
	}
	w.send("/job/new", form).is(303)
	j := w.job(1)
	within := func(cents int, want float64) bool {
		return float64(cents) > want*0.99-100 && float64(cents) < want*1.01+100
	}
	r := sc.Hole.Cost.Range80()
	high := r.High
	if r.AtLeastHigh || math.IsInf(high, 1) {
		high = float64(sc.Hole.Ceiling)
	}
	if mid := sc.Hole.Cost.Median(); math.IsInf(mid, 1) != (j.Quote.MidCents == 0) || !math.IsInf(mid, 1) && !within(j.Quote.MidCents, mid) ||
		!within(j.Quote.LowCents, r.Low) || !within(j.Quote.HighCents, high) {
		t.Errorf("quoted %+v of %g, %g, %g", j.Quote, r.Low, sc.Hole.Cost.Median(), r.High)
	}
	if j.Stage != records.JobScouted || j.ForecastUID != "" || !j.Located || j.Step("scouted").Done.String() != "2026-11-25" {
		t.Errorf("opened %+v", j)
	}
	w.send("/scout/keep", url.Values{"at": {form.Get("at")}, "label": {"Invented site"}}).is(303)
	kept := formOf(w.get("/job/new?" + spot).is(200).sound())
	if kept.Get("forecast") == "" || kept.Get("label") != "Invented site" {
		t.Errorf("the kept forecast is not taken: %v", kept)
	}
	if other := formOf(w.get("/job/new?need=9&" + spot)); other.Get("forecast") != "" {
		t.Error("a forecast of another question is taken")
	}
	if from := formOf(w.get("/job/new?forecast=" + kept.Get("forecast")).is(200).sound().says("From the forecast, kept")); from.Get("quote.mid") != kept.Get("quote.mid") || from.Get("at") != kept.Get("at") {
		t.Errorf("from the forecast %v, from the scouting %v", from, kept)
	}
	w.send("/job/new", kept).is(303)
	if page := w.get("/job/2"); !strings.Contains(page.body, `scope="col">of</th>`) {
		t.Error("what the forecast is of is left off paper")
	}
	w.get("/job/2").is(200).sound().says("The forecast it stands on", "Invented site", "8 in 10 between")
	w.get("/jobs").is(200).sound().says("depth", "yield")
	w.send("/job/2/move", url.Values{"revision": {"1"}, "stage": {"finished"}, "on": {"2026-11-25"}}).is(303)
	w.send("/job/2/end", url.Values{"revision": {"2"}, "number": {"NF-0001"}}).is(303)
	w.get("/job/2").is(200).sound().says("The forecast is not held against NF-0001 yet")
	w.send("/forecast/1/outcome", url.Values{"revision": {"0"}, "is": {"yes"}, "well": {w.job(2).WellUID}}).is(303)
	w.get("/job/2").is(200).sound().says("came", "in the range").saysNot("is not held against")
	w.get("/jobs").is(200).sound().says("came")
}

func TestJobSomebodyWasFaster(t *testing.T) {
	w := newRecordWorld(t)
	j := w.openJob("label", "Contested")
	mine, theirs := formOf(w.get(jobPath(j)+"/edit")), formOf(w.get(jobPath(j)+"/edit"))
	theirs.Set("label", "Theirs")
	w.send(jobPath(j)+"/edit", theirs).is(303)
	mine.Set("label", "Mine")
	a := w.send(jobPath(j)+"/edit", mine).is(409).sound().says("somebody changed the job while you typed")
	again := formOf(a)
	if again.Get("label") != "Mine" {
		t.Errorf("what was typed is gone: %v", again)
	}
	w.send(jobPath(j)+"/edit", again).is(303)
	w.get(jobPath(j)).says("Mine", "Earlier states")
	mine.Set("revision", "0")
	w.send(jobPath(j)+"/edit", mine).is(400)
}
