package predict_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/geo/predict"
)

// TestKeptForecastComesBack: a distribution written down and read back gives the
// same numbers to the last bit.
func TestKeptForecastComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, err := predict.NewDistribution(drawSamples(t, true))
		if err != nil {
			t.Fatal(err)
		}
		d = d.WithRanks(0.07, 0.94)
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		var back predict.Distribution
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if diff := cmp.Diff(d.Dots(50), back.Dots(50)); diff != "" {
			t.Fatal(diff)
		}
		if d.Range80() != back.Range80() || d.CRPS(7) != back.CRPS(7) || d.CDF(3) != back.CDF(3) {
			t.Fatalf("%+v came back as %+v", d.Range80(), back.Range80())
		}
	})
	m, _ := calibrate(t, generate(country{n: 600, seed: 91, signal: 1, noise: 0.3, greater: 0.2}), predict.CalibrationOptions{})
	e, err := m.At(predict.At(countryLon, countryLat), predict.LeaveOut{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(e.Best())
	if err != nil {
		t.Fatal(err)
	}
	var back predict.Distribution
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if back.Range80() != e.Best().Range80() || back.CRPS(12) != e.Best().CRPS(12) {
		t.Error("an estimate did not come back as it was")
	}
	var empty predict.Distribution
	if text, err = json.Marshal(empty); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &back); err != nil || !back.Empty() {
		t.Errorf("nothing came back as something: %v", err)
	}
}

// FuzzKeptForecast: whatever is read either fails or is a distribution: quantiles
// rise, probabilities fall within [0, 1], scores are numbers, and it is written
// and read again unchanged.
func FuzzKeptForecast(f *testing.F) {
	f.Add(`{"values":[1,2],"shares":[0.5,1],"halves":[0.25,0.25]}`)
	f.Add(`{"values":[0],"shares":[0.5],"halves":[0.1],"above":0.5,"aboveOf":3,"rankLow":0.1,"rankHigh":0.9}`)
	f.Add(`{"values":[0.5],"shares":[1],"halves":[0],"below":1,"belowOf":1}`)
	f.Add(`{"values":[],"shares":[],"halves":[],"above":1,"aboveOf":30}`)
	f.Add(`{"values":[2,1],"shares":[0.5,1],"halves":[0,0]}`)
	f.Add(`{"values":[1e308,1.7e308],"shares":[0.5,1],"halves":[0.5,9]}`)
	f.Add(`{"values":[1,2],"shares":[0.5,0.9999999999],"halves":[0.25,0.25]}`)
	f.Add(`[]`)
	f.Fuzz(func(t *testing.T, text string) {
		var d predict.Distribution
		if json.Unmarshal([]byte(text), &d) != nil {
			return
		}
		if d.Empty() {
			return
		}
		last := -1.0
		for p := 0.0; p <= 1; p += 0.125 {
			q := d.Quantile(p)
			if math.IsNaN(q) || q < last {
				t.Fatalf("quantile %g = %g after %g", p, q, last)
			}
			last = q
		}
		lastP := 1.0
		for _, v := range []float64{0, 0.1, 1, 7, 100, 1e9} {
			p := d.AtLeast(v)
			if !(p >= 0 && p <= 1) || p > lastP+1e-6 {
				t.Fatalf("P(>= %g) = %g after %g", v, p, lastP)
			}
			lastP = p
			if r := d.CDF(v); !(r >= -1e-6 && r <= 1+1e-6) {
				t.Fatalf("rank of %g = %g", v, r)
			}
		}
		if c := d.CRPS(1); !(c >= 0 && c <= 1+d.Quantile(1)) && !math.IsInf(d.Quantile(1), 1) {
			t.Fatalf("CRPS %g", c)
		}
		again, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		var back predict.Distribution
		if err := json.Unmarshal(again, &back); err != nil {
			t.Fatal(err)
		}
		if back.Range80() != d.Range80() || back.Median() != d.Median() {
			t.Fatal("written and read again, it differs")
		}
	})
}
