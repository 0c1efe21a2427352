package desk_test

import (
	"math"
	"strings"
	"testing"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

func saveJob(t testing.TB, d *desk.Desk, j *records.Job) {
	t.Helper()
	if _, err := d.SaveJob(t.Context(), me, j, ""); err != nil {
		t.Fatal(err)
	}
}

func TestJobMovesAndIsUndone(t *testing.T) {
	d, _ := newDesk(t)
	j := &records.Job{Stage: records.JobCalled, Label: "upper pasture", Customer: records.Person{Name: "Invented Customer"}}
	saveJob(t, d, j)
	content := d.Picture().Content()
	today := records.DateOf(noon)
	move := func(revision int64, stage string) *records.Job {
		t.Helper()
		moved, _, err := d.MoveJob(t.Context(), me, j.ID, revision, desk.JobMove{Stage: stage, On: today})
		if err != nil {
			t.Fatal(err)
		}
		return moved
	}
	if moved := move(1, records.JobScouted); moved.Stage != records.JobScouted || moved.Revision != 2 || moved.Step(records.JobScouted).Done != today {
		t.Errorf("moved to %+v", moved)
	}
	if _, _, err := d.MoveJob(t.Context(), me, j.ID, 1, desk.JobMove{Stage: records.JobQuoted, On: today}); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale move: %v", err)
	}
	if _, _, err := d.MoveJob(t.Context(), me, j.ID, 2, desk.JobMove{Stage: "lunch", On: today}); records.CodeOf(err) != records.Invalid {
		t.Errorf("to no stage: %v", err)
	}
	if _, _, err := d.MoveJob(t.Context(), me, j.ID, 2, desk.JobMove{Stage: records.JobQuoted, On: records.Date{Year: 2027}}); records.CodeOf(err) != records.Invalid {
		t.Errorf("reached next year: %v", err)
	}
	move(2, records.JobDrilling)
	if _, err := d.RestoreJob(t.Context(), me, j.ID, 2, 3); err != nil {
		t.Fatal(err)
	}
	got, err := d.Job(t.Context(), me, j.ID)
	if err != nil || got.Stage != records.JobScouted || got.Step(records.JobDrilling) != nil || got.Customer.Name != "Invented Customer" {
		t.Errorf("undone (%v): %+v", err, got)
	}
	revs, err := d.JobRevisions(t.Context(), me, j.ID)
	if err != nil || len(revs) != 3 || revs[1].Why != "scouted → drilling" || revs[2].Why != "called → scouted" || revs[0].By != me.Name {
		t.Errorf("revisions (%v): %+v", err, revs)
	}
	if err := d.RemoveJob(t.Context(), me, j.ID, 4, "came to nothing"); err != nil {
		t.Fatal(err)
	}
	if list, err := d.Jobs(t.Context(), me, records.JobFilter{}); err != nil || len(list) != 0 {
		t.Errorf("taken out (%v): %+v", err, list)
	}
	id, err := d.RestoreJob(t.Context(), me, j.ID, 4, 0)
	if err != nil || id == j.ID {
		t.Errorf("brought back as %d: %v", id, err)
	}
	if found, err := d.JobIDByUID(t.Context(), me, j.UID); err != nil || found != id {
		t.Errorf("found as %d: %v", found, err)
	}
	if _, err := d.RestoreJob(t.Context(), me, j.ID, 77, 0); records.CodeOf(err) != records.NotFound {
		t.Errorf("a state that never was: %v", err)
	}
	if d.Picture().Content() != content {
		t.Error("a job makes the estimates calibrate anew")
	}
}

// What a job names must be there when it is first named, and may go later.
func TestJobNamesWhatIsThere(t *testing.T) {
	d, _ := newDesk(t)
	w := plain(t, d, nil)
	j := &records.Job{Stage: records.JobFinished}
	for field, change := range map[string]func(j *records.Job){
		"forecast_uid": func(j *records.Job) { j.ForecastUID = "nobody" },
		"well_uid":     func(j *records.Job) { j.WellUID = "nobody" },
	} {
		x := *j
		change(&x)
		if _, err := d.SaveJob(t.Context(), me, &x, ""); records.CodeOf(err) != records.NotFound || !strings.Contains(records.MessageOf(err), field) {
			t.Errorf("%s of nobody: %v", field, err)
		}
	}
	j.WellUID = w.UID
	saveJob(t, d, j)
	if err := d.Remove(t.Context(), me, w.ID, w.Revision, ""); err != nil {
		t.Fatal(err)
	}
	j.Notes = "the record was taken out"
	saveJob(t, d, j)
	if faults, err := d.SaveJob(t.Context(), me, &records.Job{Stage: "lunch"}, ""); records.CodeOf(err) != records.Invalid || len(faults) == 0 {
		t.Errorf("an unsound one: %v, %v", err, faults)
	}
}

func TestJobsAreGivenOutWithoutCustomers(t *testing.T) {
	d, _ := newDesk(t)
	j := recordstest.FullJob()
	j.ForecastUID, j.WellUID = "", ""
	saveJob(t, d, j)
	for _, private := range []bool{false, true} {
		n := 0
		err := d.GiveOutJobs(t.Context(), me, records.JobFilter{}, private, func(j *records.Job) error {
			n++
			if (j.Customer.Name != "") != private {
				t.Errorf("private %v gives %+v", private, j.Customer)
			}
			return nil
		})
		if err != nil || n != 1 {
			t.Errorf("private %v: %d jobs, %v", private, n, err)
		}
	}
}

// The actual cost of a job is the outcome of the cost that was expected, in
// the same currency; for 9,000 or 21,000 and 13,100.50 the score is (4,100.50
// + 7,899.50) / 2 - 12,000 / 4 = 3,000 (worked by hand, as in
// TestScoreQuantityByHand).
func TestCostIsScoredByTheJob(t *testing.T) {
	for what, c := range map[string]struct {
		currency string
		byJob    bool // the forecast names the job, else the job the forecast
		scored   bool
	}{
		"the job names the forecast": {"USD", false, true},
		"the forecast names the job": {"USD", true, true},
		"in another currency":        {"CAD", false, false},
	} {
		t.Run(what, func(t *testing.T) {
			d, _ := newDesk(t)
			w := plain(t, d, nil)
			j := recordstest.FullJob()
			j.ForecastUID, j.WellUID, j.Quote.Currency = "", w.UID, c.currency
			saveJob(t, d, j)
			cost, err := predict.NewDistribution([]predict.Sample{{Value: 9000, Weight: 1}, {Value: 21000, Weight: 1}})
			if err != nil {
				t.Fatal(err)
			}
			q, err := desk.Expect(records.CostQuantity, "USD", &cost, nil)
			if err != nil {
				t.Fatal(err)
			}
			f := &records.Forecast{Lon: -72.5, Lat: 44.25, Expected: []records.ForecastQuantity{q}}
			if c.byJob {
				f.JobUID = j.UID
			}
			if err := d.KeepForecast(t.Context(), me, f); err != nil {
				t.Fatal(err)
			}
			if !c.byJob {
				j.ForecastUID = f.UID
				saveJob(t, d, j)
			}
			if err := d.LinkForecast(t.Context(), me, f.ID, 0, w.UID, false, ""); err != nil {
				t.Fatal(err)
			}
			s, err := d.ScoreForecast(t.Context(), me, f.ID)
			if err != nil {
				t.Fatal(err)
			}
			if c.scored != (len(s.Scores) == 1) {
				t.Fatalf("scores: %+v", s.Scores)
			}
			if c.scored && (s.Scores[0].Found.Value != 13100.5 || math.Abs(s.Scores[0].CRPS-3000) > 1e-6 || s.Scores[0].Unit != "USD") {
				t.Errorf("cost: %+v", s.Scores[0])
			}
		})
	}
}

func TestReckonJob(t *testing.T) {
	for what, c := range map[string]struct {
		low, mid, high, actual int
		ok, within             bool
		over                   int
	}{
		"within":          {900, 1250, 2100, 1310, true, true, 60},
		"under":           {900, 1250, 2100, 800, true, false, -450},
		"over":            {900, 1250, 2100, 2200, true, false, 950},
		"one price, held": {0, 1250, 0, 1250, true, true, 0},
		"one price, not":  {0, 1250, 0, 1251, true, false, 1},
		"no middle":       {1000, 0, 2000, 1600, true, true, 100},
		"no quote":        {0, 0, 0, 1600, false, false, 0},
		"no cost":         {1000, 0, 2000, 0, false, false, 0},
	} {
		r, ok := desk.ReckonJob(&records.Job{Quote: records.Quote{LowCents: c.low, MidCents: c.mid, HighCents: c.high, Currency: "USD"}, ActualCents: c.actual})
		if ok != c.ok || r.Within != c.within || r.OverMidCents != c.over {
			t.Errorf("%s: %+v %v, want within %v, over %d, %v", what, r, ok, c.within, c.over, c.ok)
		}
	}
}

// A move notes by when the next thing is due: a stage, and after the hole is
// finished the record. One that is filed was sent then.
func TestJobMoveNotesWhatComesNext(t *testing.T) {
	d, _ := newDesk(t)
	j := &records.Job{Stage: records.JobCalled, Steps: []records.JobStep{{Stage: records.JobQuoted, Note: "by letter"}}}
	saveJob(t, d, j)
	today, due := records.DateOf(noon), records.Date{Year: 2027, Month: 3, Day: 1}
	revision := j.Revision
	move := func(stage string, next records.Date) *records.Job {
		t.Helper()
		moved, _, err := d.MoveJob(t.Context(), me, j.ID, revision, desk.JobMove{Stage: stage, On: today, NextDue: next})
		if err != nil {
			t.Fatal(err)
		}
		revision = moved.Revision
		return moved
	}
	if m := move(records.JobScouted, due); m.Step(records.JobQuoted).Due != due || m.Step(records.JobQuoted).Note != "by letter" {
		t.Errorf("scouted: %+v", m.Steps)
	}
	if m := move(records.JobQuoted, due); m.Step(records.JobScheduled).Due != due || m.Step(records.JobQuoted).Due != due {
		t.Errorf("quoted: %+v", m.Steps)
	}
	if m := move(records.JobFinished, due); m.Filing.Due != due || m.Step(records.JobFiled) != nil {
		t.Errorf("finished: %+v", m)
	}
	if m := move(records.JobFiled, due); m.Filing.Sent != today || m.Filing.Due != due {
		t.Errorf("filed: %+v", m.Filing)
	}
}

func TestJobOutcomes(t *testing.T) {
	d, _ := newDesk(t)
	w := &records.Well{Number: "J-1", Owner: records.Person{Name: "Invented Owner"}}
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	gone := recordstest.FullForecast().UID
	jobs := []*records.Job{{}, {WellUID: w.UID}, {WellUID: gone, ForecastUID: gone}}
	out, err := d.JobOutcomes(t.Context(), me, jobs)
	if err != nil || len(out) != 3 {
		t.Fatal(out, err)
	}
	if out[0] != (desk.JobOutcome{}) || out[1].Well == nil || out[1].Well.Number != "J-1" || !out[2].WellLost || !out[2].ForecastLost {
		t.Errorf("%+v", out)
	}
	if _, err := d.JobOutcomes(t.Context(), records.Actor{ID: 9, Name: "nobody"}, jobs); records.CodeOf(err) != records.Forbidden {
		t.Errorf("anybody may look: %v", err)
	}
}
