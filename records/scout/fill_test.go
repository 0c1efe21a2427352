package scout_test

import (
	"math"
	"testing"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/scout"
)

// TestDrawsFollowTheField: what a thousand holes without bedrock are given has
// the quantiles of the field's own distribution; a hole 'deeper than' is drawn
// beyond its limit; and the same data give the same draws.
func TestDrawsFollowTheField(t *testing.T) {
	var samples []predict.Sample
	for i := range 100 {
		samples = append(samples, predict.Sample{Value: float64(i) + 0.5, Weight: 1})
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		t.Fatal(err)
	}
	p := plan()
	p.MaxDepth = 1000
	var free, bound []scout.Neighbour
	for i := range 1000 {
		n := hole(int64(i+1), 10, 900, [2]float64{890, 9})
		n.Key = records.KeyOf(string(rune('a'+i%26)) + string(rune('a'+i/26)))
		n.Bedrock = records.Amount[records.Depth]{}
		free = append(free, n)
		n.Bedrock = records.MoreThan(records.Depth(60))
		bound = append(bound, n)
	}
	own := scout.Own{Bedrock: &d}
	r := scout.InventedRates()
	below := map[float64]int{25: 0, 50: 0, 75: 0}
	a, b := scout.Replay(free, p, own, &r), scout.Replay(free, p, own, &r)
	for i, o := range a {
		if o.Bedrock != b[i].Bedrock {
			t.Fatal("two draws of one record differ")
		}
		if o.Drawn != scout.DrewBedrock {
			t.Fatalf("drawn %b", o.Drawn)
		}
		for v := range below {
			if float64(o.Bedrock) < v {
				below[v]++
			}
		}
	}
	for v, n := range below {
		if math.Abs(float64(n)-v*10) > 60 { // four standard errors of a share of a thousand draws
			t.Errorf("%d of 1000 below %g m", n, v)
		}
	}
	sum := 0.0
	for _, o := range scout.Replay(bound, p, own, &r) {
		if o.Bedrock < 60 {
			t.Fatalf("a hole deeper than 60 m is given bedrock at %g m", o.Bedrock)
		}
		sum += float64(o.Bedrock)
	}
	near(t, "mean beyond 60 m", sum/1000, 80, 1.5)
}

// TestNothingToDrawFrom: without any distribution the limits themselves stand,
// and nothing is infinite or no number.
func TestNothingToDrawFrom(t *testing.T) {
	r := scout.InventedRates()
	empty := scout.Neighbour{Vote: scout.Vote{Weight: 1}, Overrun: math.NaN()}
	f := costOf(t, []scout.Neighbour{empty}, plan(), r)
	o := f.Outcomes[0]
	if o.Result != scout.StoppedEarly || o.Drawn != scout.DrewBedrock|scout.DrewDepth|scout.DrewYield || o.Bill.Total <= 0 {
		t.Errorf("outcome %+v", o)
	}
}
