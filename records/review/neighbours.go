package review

import (
	"context"
	"fmt"
	"math"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/geo/spread"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// sameSpotM is how close two wells stand on one spot.
const sameSpotM = 1.0

// mostPairs is how many pairs are drawn to be set beside the neighbours.
const mostPairs = 20000

// pairSeed fixes which pairs are drawn.
const pairSeed = 5

// neighbours tells how far the quantity differs between wells that stand close
// together, and between wells drawn at random.
//
// Each well counts once however many stand around it: a pair weighs the mean of
// one over the pairs of either. Two records that agree in everything are likely
// one well on record twice and are left out.
func neighbours(ctx context.Context, in *Input) (*Answer, error) {
	f := in.Settings.Field()
	a := &Answer{Part: "neighbours"}
	set := in.located(f)
	radius := in.Settings.PairsWithinM
	a.figure("within_m", radius)
	a.figure("wells", float64(len(set.rows)))
	ix, err := near.New(set.x, set.y, set.key)
	if err != nil {
		return nil, err
	}
	in.Progress("pairing neighbours", 0, 0)
	pairs := spread.PairsWithin(ix, set.x, set.y, radius)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	kept := pairs[:0]
	twins := 0
	for _, p := range pairs {
		if alike(set.rows[p.A], set.rows[p.B]) {
			twins++
			continue
		}
		kept = append(kept, p)
	}
	a.figure("left_out_as_one_well", float64(twins))
	beside, silent := set.differences(kept)
	a.figure("pairs", float64(len(beside.samples)))
	a.figure("pairs_that_cannot_tell", float64(silent))
	if len(beside.samples) < LeastForMiddle {
		a.TooFew = fmt.Sprintf("%d pairs of wells within reach of each other can tell, and %d are the fewest", len(beside.samples), LeastForMiddle)
		return a, nil
	}
	drawn, _ := set.differences(spread.Drawn(len(set.rows), min(mostPairs, 10*len(set.rows)), pairSeed))
	return a, set.tell(a, beside, drawn, radius, suffix(f))
}

// tell fills in the tables.
func (s *locatedSet) tell(a *Answer, beside, drawn apart, radius float64, unit string) error {
	together, err := spread.Of(beside.samples)
	if err != nil {
		return err
	}
	a.limit("median_difference"+unit, together.Quantile(0.5))
	low, high := together.QuantileRange(0.5)
	a.limit("median_low"+unit, low)
	a.limit("median_high"+unit, high)
	a.limit("q90_difference"+unit, together.Quantile(0.9))
	steps := Table{Name: "differences", Columns: []string{"of", "difference" + unit, "share_at_most"}}
	for _, st := range together.Steps(mostSteps / 2) {
		steps.Add(T("neighbours"), N(st.Value), N(st.AtMost))
	}
	if len(drawn.samples) >= LeastForMiddle {
		far, err := spread.Of(drawn.samples)
		if err != nil {
			return err
		}
		a.limit("median_difference_at_random"+unit, far.Quantile(0.5))
		a.figure("pairs_at_random", float64(far.N))
		for _, st := range far.Steps(mostSteps / 2) {
			steps.Add(T("any_two"), N(st.Value), N(st.AtMost))
		}
	}
	classes := Table{Name: "by_distance", Columns: []string{"from_m", "to_m", "pairs", "bounds", "q25" + unit, "median" + unit, "q75" + unit, "median_low" + unit, "median_high" + unit}}
	for _, c := range [][2]float64{{0, sameSpotM}, {sameSpotM, radius / 2}, {radius / 2, radius}} {
		if c[1] <= c[0] {
			continue
		}
		var part []predict.Sample
		for i, d := range beside.distance {
			if d <= c[1] && (d > c[0] || c[0] == 0) {
				part = append(part, beside.samples[i])
			}
		}
		cells, err := summaryCells(part)
		if err != nil {
			return err
		}
		classes.Add(N(c[0]), N(c[1]), cells[0], cells[1], cells[3], cells[4], cells[5], cells[6], cells[7])
	}
	a.Tables = []Table{steps, classes}
	return nil
}

// locatedSet is the wells with a place and a value, on one plane.
type locatedSet struct {
	rows    []snapshot.Row
	x, y    []float64
	key     []uint64
	samples []predict.Sample
}

func (in *Input) located(f snapshot.Field) *locatedSet {
	s := &locatedSet{}
	west, east, south, north := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, r := range in.Rows {
		lon, lat, ok := r.Position()
		v, known := in.sample(r, f)
		if !ok || !known {
			continue
		}
		s.rows, s.samples, s.key = append(s.rows, r), append(s.samples, v), append(s.key, r.Key())
		west, east = min(west, lon), max(east, lon)
		south, north = min(south, lat), max(north, lat)
	}
	if len(s.rows) == 0 {
		return s
	}
	projection := position.ForExtent(west, south, east, north)
	for _, r := range s.rows {
		lon, lat, _ := r.Position()
		x, y := projection.Forward(position.LonLat{Lon: lon, Lat: lat})
		s.x, s.y = append(s.x, x), append(s.y, y)
	}
	return s
}

// alike says whether two records agree in everything that is compared: likely
// one well on record twice.
func alike(a, b snapshot.Row) bool {
	p, q := a.Digest(), b.Digest()
	return p.Year == q.Year && p.TotalDepth == q.TotalDepth && p.Yield == q.Yield && p.Bedrock == q.Bedrock &&
		(p.Year != 0 || p.TotalDepth.Qualifier != records.Missing)
}

// apart is differences with the distances over which they are.
type apart struct {
	samples  []predict.Sample
	distance []float64
}

// differences gives how far the pairs differ, and how many of them say nothing.
func (s *locatedSet) differences(pairs []spread.Pair) (out apart, silent int) {
	degree := make([]int, len(s.rows))
	for _, p := range pairs {
		degree[p.A]++
		degree[p.B]++
	}
	for _, p := range pairs {
		d, ok := spread.Apart(s.samples[p.A], s.samples[p.B])
		if !ok {
			silent++
			continue
		}
		d.Weight = (1/float64(degree[p.A]) + 1/float64(degree[p.B])) / 2
		out.samples, out.distance = append(out.samples, d), append(out.distance, p.DistanceM)
	}
	return out, silent
}
