package demo_test

import (
	"testing"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// TestLikenessMeasured asks which word of a record tells wells apart best: its
// rock unit, its use or its setting, by the score with sites left out, over five
// townships. Likeness is offered for the yield alone, by rock; the test holds that
// against the others.
func TestLikenessMeasured(t *testing.T) {
	if testing.Short() {
		t.Skip("NOT CHECKED (-short): which likeness helps in five townships")
	}
	words := []struct {
		name string
		of   func(records.Digest) uint16
	}{
		{"none", func(records.Digest) uint16 { return 0 }},
		{"rock", func(d records.Digest) uint16 { return d.Rock }},
		{"use", func(d records.Digest) uint16 { return uint16(d.Purpose) }},
		{"setting", func(d records.Digest) uint16 { return uint16(d.Setting) }},
	}
	const towns = 5
	for _, f := range []snapshot.Field{snapshot.Bedrock, snapshot.Yield, snapshot.TotalDepth} {
		sums := map[string]float64{}
		gammas := map[string][]float64{}
		for town := range towns {
			d, _, err := townDesk(t.Context(), t.TempDir(), uint64(town+1))
			if err != nil {
				t.Fatal(err)
			}
			s, err := d.Picture().Select(f, &snapshot.Filter{})
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range words {
				obs, err := predict.NewObservations(len(s.Rows), func(i int) predict.Observation {
					o := s.Observations.Observation(i)
					o.Category = w.of(s.Rows[i].Digest())
					return o
				}, s.Projection, predict.ObservationOptions{Unit: unitOf(f)})
				if err != nil {
					t.Fatal(err)
				}
				_, r, err := predict.Calibrate(t.Context(), obs, predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 1, Workers: 2}})
				if err != nil {
					t.Fatal(err)
				}
				sums[w.name] += r.CRPS
				gammas[w.name] = append(gammas[w.name], r.Params.Gamma)
			}
			if err := d.Close(); err != nil {
				t.Fatal(err)
			}
		}
		for _, w := range words {
			t.Logf("%-16v %-8s CRPS %.4f, %+.2f%% against none; gamma %v", f, w.name, sums[w.name]/towns, 100*(sums[w.name]/sums["none"]-1), gammas[w.name])
			if sums[w.name] > 1.002*sums["none"] {
				t.Errorf("%v: likeness by %s costs %.2f %%, though calibration may turn it off", f, w.name, 100*(sums[w.name]/sums["none"]-1))
			}
		}
	}
}

// unitOf is the value that counts as one on the scale of the estimates.
func unitOf(f snapshot.Field) float64 {
	if f == snapshot.Yield {
		return records.GallonPerMinute.ToBase(1)
	}
	return 1
}
