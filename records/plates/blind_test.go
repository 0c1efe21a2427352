package plates_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"tallybook/records"
	"tallybook/records/plates"
)

// blindWell and blindPlate are lines of testdata/blind: logs and plates written
// by somebody who had not seen the matcher, with errors as they happen in life.
type blindWell struct {
	ID, Number, Completed, Driller string
	Depth                          *float64 `json:"total_depth_ft"`
	Casing                         *float64 `json:"casing_ft"`
	Diameter                       *float64 `json:"diameter_in"`
	Yield                          *float64 `json:"yield_gpm"`
	Static                         *float64 `json:"static_ft"`
	Pump                           *float64 `json:"pump_ft"`
	Lon, Lat                       *float64
}

type blindPlate struct {
	Plate struct {
		Number, Date, Driller string
		Depth                 *float64 `json:"depth_ft"`
		Casing                *float64 `json:"casing_ft"`
		Diameter              *float64 `json:"diameter_in"`
		Yield                 *float64 `json:"yield_gpm"`
		Static                *float64 `json:"static_ft"`
		Pump                  *float64 `json:"pump_ft"`
		Lon                   *float64 `json:"seen_lon"`
		Lat                   *float64 `json:"seen_lat"`
		Accuracy              *float64 `json:"seen_accuracy_m"`
	}
	Log        *string `json:"log_id"`
	StampedFor string  `json:"stamped_for"`
	Errors     string
}

func blindFile[T any](t *testing.T, name string) (out []T) {
	t.Helper()
	f, err := os.Open("../../testdata/blind/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	for s.Scan() {
		var v T
		if err := json.Unmarshal(s.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	if s.Err() != nil {
		t.Fatal(s.Err())
	}
	return out
}

func given[T ~float64](t *testing.T, v *float64, d records.Dimension, u records.Unit) records.Amount[T] {
	t.Helper()
	if v == nil {
		return records.Amount[T]{}
	}
	a, err := records.ParseAmount(fmt.Sprint(*v), d, u)
	if err != nil {
		t.Fatal(err)
	}
	return records.Amount[T]{Qualifier: a.Qualifier, Value: T(a.Value), High: T(a.High), Given: a.Given}
}

func blindDate(t *testing.T, s string) (d records.Date) {
	t.Helper()
	if s == "" {
		return d
	}
	d, err := records.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

type blindSource []records.Compared

func (s blindSource) Compared(_ context.Context, fn func([]records.Compared) error) error {
	return fn(s)
}

// TestBlindPlates scores the matcher on plates that it was not made with.
func TestBlindPlates(t *testing.T) {
	var source blindSource
	name := map[int64]string{}
	for i, l := range blindFile[blindWell](t, "logs.jsonl") {
		w := &records.Well{ID: int64(i + 1), Revision: 1, Number: l.Number, Completed: blindDate(t, l.Completed)}
		w.Crew.Driller = l.Driller
		w.TotalDepth = given[records.Depth](t, l.Depth, records.DimLength, records.Foot)
		w.StaticLevel = given[records.Depth](t, l.Static, records.DimLength, records.Foot)
		w.Yield = given[records.Flow](t, l.Yield, records.DimFlow, records.GallonPerMinute)
		w.Pump.SetDepth = given[records.Depth](t, l.Pump, records.DimLength, records.Foot)
		if l.Casing != nil || l.Diameter != nil {
			w.Casing = []records.Casing{{To: given[records.Depth](t, l.Casing, records.DimLength, records.Foot), Diameter: given[records.Diameter](t, l.Diameter, records.DimDiameter, records.InchDiameter)}}
		}
		if l.Lon != nil && l.Lat != nil {
			w.Place.Located, w.Place.Lon, w.Place.Lat = true, *l.Lon, *l.Lat
		}
		source = append(source, w.Comparison())
		name[w.ID] = l.ID
	}
	truth := blindFile[blindPlate](t, "pairs.jsonl")
	list := make([]*records.Plate, len(truth))
	for i := range truth {
		x := &truth[i].Plate
		p := &records.Plate{ID: int64(i + 1), Number: x.Number}
		p.Stamped = records.Stamped{
			Date: blindDate(t, x.Date), Depth: given[records.Depth](t, x.Depth, records.DimLength, records.Foot),
			Casing: given[records.Depth](t, x.Casing, records.DimLength, records.Foot), Diameter: given[records.Diameter](t, x.Diameter, records.DimDiameter, records.InchDiameter),
			Yield: given[records.Flow](t, x.Yield, records.DimFlow, records.GallonPerMinute), Static: given[records.Depth](t, x.Static, records.DimLength, records.Foot),
			PumpDepth: given[records.Depth](t, x.Pump, records.DimLength, records.Foot), Driller: x.Driller,
		}
		if x.Lon != nil && x.Lat != nil {
			p.Seen = []records.PlateSighting{{Located: true, Lon: *x.Lon, Lat: *x.Lat, Accuracy: given[records.Length](t, x.Accuracy, records.DimLength, records.Metre)}}
		}
		list[i] = p
	}
	r, err := plates.Match(t.Context(), list, source, plates.Options{Feet: true})
	if err != nil {
		t.Fatal(err)
	}
	var linked, right, stamped, wrong, best, own, with, stampedAll int
	for i, m := range r.Plates {
		if truth[i].Log != nil {
			with++
			if truth[i].StampedFor != "" {
				stampedAll++
			} else {
				own++
			}
		}
		if m.Best == nil {
			continue
		}
		got := name[m.Best.WellID]
		isRight := truth[i].Log != nil && got == *truth[i].Log
		if isRight {
			best++
		}
		if m.Best.Probability < r.Threshold {
			continue
		}
		linked++
		switch {
		case isRight:
			right++
		case truth[i].StampedFor != "" && got == truth[i].StampedFor:
			stamped++
		default:
			wrong++
			t.Logf("wrong link of %.4f: %+v to %s; %s", m.Best.Probability, truth[i].Plate.Number, got, truth[i].Errors)
		}
	}
	for _, at := range []float64{0.9, 0.99, 0.995, 0.998, 0.999, 0.9995, 0.9999} {
		var right, stamped, wrong int
		for i, m := range r.Plates {
			if m.Best == nil || m.Best.Probability < at {
				continue
			}
			got := name[m.Best.WellID]
			switch {
			case truth[i].Log != nil && got == *truth[i].Log:
				right++
			case truth[i].StampedFor != "" && got == truth[i].StampedFor:
				stamped++
			default:
				wrong++
			}
		}
		t.Logf("from %.4f on: right %d, stamped for it %d, wrong %d, expected wrong %.2f", at, right, stamped, wrong, r.At(at).False)
	}
	e := r.At(r.Threshold)
	t.Logf("threshold %.4f; %d plates with a log (%d that are stamped for another), %d without; linked at once %d: right %d, to the log they are stamped for %d, wrong %d (expected wrong %.1f); the likeliest is right for %d",
		r.Threshold, with, stampedAll, len(truth)-with, linked, right, stamped, wrong, e.False, best)
	// See testdata/blind/README.md for what it came to unseen.
	if right < 129 || wrong > 1 || best < 180 {
		t.Errorf("right %d, wrong %d, the likeliest right %d: it does worse than it did", right, wrong, best)
	}
}
