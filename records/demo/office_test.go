package demo_test

import (
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
)

// What the office keeps is sound, lies in the township and around the day that
// it is made for; a job stands at each stage, and one is late.
func TestOffice(t *testing.T) {
	for _, seed := range []uint64{9, 10, 2024} {
		town := demo.Make(seed)
		today := records.Date{Year: 2026, Month: 3, Day: 2} // days before it lie in another month
		o := town.Office(today)
		kinds := map[string]int{}
		for _, s := range o.Sightings {
			kinds[s.Kind]++
			if faults := s.Validate(records.ValidateOptions{Today: today}); len(faults) > 0 {
				t.Errorf("seed %d: a sighting: %v", seed, faults)
			}
		}
		if len(o.Sightings) != 5 || kinds[records.SawLedge] != 2 || kinds[records.SawRefusal] != 1 || kinds[records.SawNoRefusal] != 1 || kinds[records.SawDryHole] != 1 {
			t.Errorf("seed %d: seen %v", seed, kinds)
		}
		stages, late, forecasts := map[string]bool{}, 0, 0
		for _, j := range o.Jobs {
			stages[j.Job.Stage] = true
			if due, _ := j.Job.NextDue(); !due.IsZero() && due.Before(today) {
				late++
			}
			if j.Forecast {
				forecasts++
			}
			if (j.Well >= 0) != (j.Job.Stage == records.JobFiled) {
				t.Errorf("seed %d: the job that is %s has the well %d", seed, j.Job.Stage, j.Well)
			}
			if faults := j.Job.Validate(records.ValidateOptions{Today: today}); records.Refuses(faults) {
				t.Errorf("seed %d: the job that is %s: %v", seed, j.Job.Stage, faults)
			}
			if j.Job.Lat < 44 || j.Job.Lat > 44.5 || j.Job.Lon < -39 || j.Job.Lon > -38.5 {
				t.Errorf("seed %d: a job at %g, %g", seed, j.Job.Lat, j.Job.Lon)
			}
		}
		if len(o.Jobs) != 7 || len(stages) != 7 || late != 1 || forecasts != 2 {
			t.Errorf("seed %d: %d jobs at %d stages, %d late, %d with a forecast", seed, len(o.Jobs), len(stages), late, forecasts)
		}
	}
}
