package demo

import (
	"fmt"
	"math"
	"time"

	"tallybook/geo/position"
	"tallybook/records"
)

// Office is what the invented contractor keeps beside the records: what was
// seen and is no well, and the jobs under way.
type Office struct {
	Sightings []*records.Sighting
	Jobs      []OfficeJob
}

// OfficeJob is a job, and what it stands on.
type OfficeJob struct {
	Job *records.Job
	// Forecast says that a forecast of its place is to be kept, and the quote
	// made of it.
	Forecast bool
	// Well is what was drilled, by its place in the township's Wells; -1 for
	// none yet.
	Well int
}

// Office invents them as of a day: the jobs lie around it, and one of them is
// late.
func (t *Township) Office(today records.Date) Office {
	return Office{Sightings: t.sightings(), Jobs: t.jobs(today)}
}

// beside is a place so many metres east and north of a well, to the sixth
// decimal.
func beside(w *records.Well, eastM, northM float64) (lon, lat float64) {
	at := position.NewPlane(position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}).FromXY(eastM, northM)
	return math.Round(at.Lon*1e6) / 1e6, math.Round(at.Lat*1e6) / 1e6
}

// wellThat finds the n-th well, from 0, of which something is true; the last
// one where there are not so many.
func (t *Township) wellThat(n int, ok func(*records.Well) bool) int {
	last := 0
	for i, w := range t.Wells {
		if !w.Place.Located || !ok(w) {
			continue
		}
		if last = i; n == 0 {
			break
		}
		n--
	}
	return last
}

// sightings are what somebody saw near wells that say the like: rock where it
// is shallow, none where it is deep.
func (t *Township) sightings() []*records.Sighting {
	rock := func(fromM, toM float64) func(*records.Well) bool {
		return func(w *records.Well) bool {
			v, ok := w.Bedrock.Number()
			return ok && float64(v) >= fromM && float64(v) < toM
		}
	}
	dry := func(w *records.Well) bool {
		v, ok := w.Yield.Number()
		return ok && v == 0
	}
	var out []*records.Sighting
	add := func(kind string, by int, eastM, northM float64, depth records.Amount[records.Depth], sureM float64, date records.Date, note string) {
		s := &records.Sighting{
			Kind: kind, Located: true, Method: "map", Accuracy: records.Of(records.Length(sureM)), Depth: depth, Date: date,
			By: fmt.Sprintf("Invented Neighbour %d", len(out)+1), Note: note + " (invented)",
		}
		s.Lon, s.Lat = beside(t.Wells[by], eastM, northM)
		out = append(out, s)
	}
	day := func(y, m, d int) records.Date { return records.Date{Year: y, Month: m, Day: d} }
	none := records.Amount[records.Depth]{}
	add(records.SawLedge, t.wellThat(0, rock(0, 1.3)), 60, 40, none, 30, day(2022, 5, 14), "ledge across the drive")
	add(records.SawLedge, t.wellThat(6, rock(0, 1.6)), -80, 30, feet(records.Foot.ToBase(2)), 30, day(2023, 8, 2), "seen in the new road cut")
	add(records.SawRefusal, t.wellThat(2, rock(1.6, 2.4)), 50, -70, feet(records.Foot.ToBase(6)), 30, day(2023, 6, 20), "test pit for a septic field, the bucket would not go further")
	add(records.SawNoRefusal, t.wellThat(4, rock(7, 20)), -60, -60, feet(records.Foot.ToBase(8)), 30, day(2023, 6, 21), "test pit for a septic field, sand all the way")
	add(records.SawDryHole, t.wellThat(1, dry), 140, 90, feet(records.Foot.ToBase(300)), 150, records.Date{Year: 1998}, "told at the fence; nobody kept a log")
	return out
}

// jobs are one at each of the seven stages.
func (t *Township) jobs(today records.Date) []OfficeJob {
	const authority = "Ninefold Township well office (invented)"
	quote := func(low, mid, high int) records.Quote {
		return records.Quote{LowCents: low * 100, MidCents: mid * 100, HighCents: high * 100, Currency: "USD"}
	}
	var out []OfficeJob
	// open makes a job whose stages so far were done so many days from a day.
	open := func(label, stage string, from records.Date, done ...int) *records.Job {
		n := len(out) + 1
		w := t.Wells[t.wellThat(n*105, func(*records.Well) bool { return true })]
		j := &records.Job{
			Stage: stage, Label: label, Located: true, Method: "map", Accuracy: records.Of(records.Length(30)), Parcel: w.Place.Parcel,
			Customer: records.Person{Name: fmt.Sprintf("Invented Customer %d", n), Telephone: fmt.Sprintf("555 01%02d", n)},
			Notes:    "Invented for demonstration.",
		}
		j.Lon, j.Lat = beside(w, 70, 50)
		for i, days := range done {
			j.Steps = append(j.Steps, records.JobStep{Stage: records.JobStages()[i], Done: addDays(from, days)})
		}
		out = append(out, OfficeJob{Job: j, Well: -1})
		return j
	}
	due := func(j *records.Job, stage string, days int) {
		j.Steps = append(j.Steps, records.JobStep{Stage: stage, Due: addDays(today, days)})
	}
	due(open("Sedge Lane, second house", records.JobCalled, today, -1), records.JobScouted, 2)
	j := open("Old Kiln Road, barn", records.JobScouted, today, -6, -2)
	j.AccessNotes = "soft ground behind the barn; come by the upper gate"
	due(j, records.JobQuoted, 1)
	j = open("Cooper's Rise, new house", records.JobQuoted, today, -15, -12, -9)
	j.Quote.ValidUntil = addDays(today, 21)
	due(j, records.JobScheduled, 5)
	out[len(out)-1].Forecast = true
	j = open("Tarn Road, replaces a dug well", records.JobScheduled, today, -24, -20, -17, -8)
	j.AccessNotes = "wires over the drive: lower the mast before the bend"
	due(j, records.JobDrilling, 4)
	out[len(out)-1].Forecast = true
	j = open("Withy Lane, greenhouse", records.JobDrilling, today, -33, -30, -26, -20, -1)
	j.Quote = quote(11200, 13800, 17900)
	due(j, records.JobFinished, 1)
	j = open("Quern Road, lower meadow", records.JobFinished, today, -60, -57, -52, -44, -23, -19)
	j.Quote, j.ActualCents = quote(9800, 12400, 16100), 1425000
	j.Filing = records.Filing{Authority: authority, Due: addDays(today, -5)}
	drilled := len(t.Wells) - 1
	for i, w := range t.Wells {
		if v, ok := w.Yield.Number(); ok && v > 0 && w.Place.Located && w.Completed.Day > 0 && w.Completed.Year == lastYear {
			drilled = i
		}
	}
	w := t.Wells[drilled]
	j = open("Ninefold Turnpike, house "+w.Number, records.JobFiled, w.Completed, -47, -40, -38, -21, -2, 0, 20)
	j.Lon, j.Lat, j.Parcel = w.Place.Lon, w.Place.Lat, w.Place.Parcel
	j.Quote, j.ActualCents = quote(10600, 13300, 17400), 1416000
	j.Filing = records.Filing{Authority: authority, Reference: "NTW " + w.Number, Due: addDays(w.Completed, 30), Sent: addDays(w.Completed, 20), Accepted: addDays(w.Completed, 41)}
	out[len(out)-1].Well = drilled
	return out
}

// addDays is a whole date so many days later.
func addDays(d records.Date, days int) records.Date {
	return records.DateOf(time.Date(d.Year, time.Month(d.Month), d.Day+days, 0, 0, 0, 0, time.UTC))
}
