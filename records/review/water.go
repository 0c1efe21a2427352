package review

import (
	"context"
	"fmt"
	"math"
	"slices"

	"tallybook/geo/spread"
)

// leastMetres is how much hole is the least of which a rate is told.
const leastMetres = 300

// waterCounts are the figures that both parts on water tell.
func waterCounts(a *Answer, l *Logs) {
	a.figure("records", float64(l.Records))
	a.figure("with_strikes", float64(l.Strikes))
	a.figure("dry", float64(l.Dry))
	a.figure("left_out_silent", float64(l.Silent))
	a.figure("left_out_without_depth", float64(l.NoDepth))
	a.figure("left_out_marked", float64(l.Marked))
	a.figure("strikes_without_a_depth", float64(l.Vague))
}

func tooDry(a *Answer, l *Logs) bool {
	if l.Strikes >= LeastForMiddle {
		return false
	}
	a.TooFew = fmt.Sprintf("%d records list at what depth water came, and %d are the fewest", l.Strikes, LeastForMiddle)
	return true
}

// materials tells by the ground at the strike how much water came, and how
// often it came for each metre drilled in that ground.
func materials(ctx context.Context, in *Input) (*Answer, error) {
	l, err := in.Logs(ctx)
	if err != nil {
		return nil, err
	}
	a := &Answer{Part: "materials"}
	waterCounts(a, l)
	if tooDry(a, l) {
		return a, nil
	}
	type ground struct {
		code string
		*tally
	}
	var list []ground
	for code, t := range l.byGround {
		if t.strikes() > 0 || t.metres > leastMetres*1e6 {
			list = append(list, ground{code, t})
		}
	}
	slices.SortFunc(list, func(a, b ground) int {
		if d := b.strikes() - a.strikes(); d != 0 {
			return d
		}
		if a.code < b.code {
			return -1
		}
		return 1
	})
	t := Table{Name: "materials", Columns: append([]string{"material", "wells", "drilled_m", "strikes", "strikes_with_flow", "strikes_per_100_m", "strikes_per_100_m_low", "strikes_per_100_m_high"}, summaryColumns("_lps")[1:]...)}
	for _, g := range list {
		samples := g.samples()
		cells, err := summaryCells(samples)
		if err != nil {
			return nil, err
		}
		row := append([]Cell{T(g.code), I(g.wells), N(float64(g.metres) / 1e6), I(g.strikes()), I(len(samples))}, rates(g.tally)...)
		t.Add(append(row, cells[1:]...)...)
	}
	a.Tables = []Table{t}
	return a, nil
}

// rates are the strikes for each 100 m drilled, and where that lies 95 times in
// a hundred when strikes come by chance; nothing where little was drilled.
func rates(t *tally) []Cell {
	m := float64(t.metres) / 1e6
	if m < leastMetres {
		return []Cell{{}, {}, {}}
	}
	low, high := spread.CountRange(t.strikes())
	return []Cell{N(100 * float64(t.strikes()) / m), N(100 * low / m), N(100 * high / m)}
}

// intervals tells by depth how much water came for each metre drilled there.
func intervals(ctx context.Context, in *Input) (*Answer, error) {
	l, err := in.Logs(ctx)
	if err != nil {
		return nil, err
	}
	a := &Answer{Part: "intervals"}
	waterCounts(a, l)
	if tooDry(a, l) {
		return a, nil
	}
	a.figure("stretch_m", l.stepM)
	t := Table{Name: "intervals", Columns: []string{"from_m", "to_m", "wells", "drilled_m", "strikes", "strikes_with_flow", "strikes_per_100_m", "strikes_per_100_m_low", "strikes_per_100_m_high",
		"gain_lps", "gain_lps_per_100_m", "gain_lps_per_100_m_low", "gain_lps_per_100_m_high"}}
	for k, d := range l.byDepth {
		if d == nil {
			break // no hole is as deep
		}
		to := N(float64(k+1) * l.stepM)
		if k == mostStretches-1 {
			to = Cell{}
		}
		samples := d.samples()
		row := append([]Cell{N(float64(k) * l.stepM), to, I(d.wells), N(float64(d.metres) / 1e6), I(d.strikes()), I(len(samples))}, rates(d)...)
		t.Add(append(row, gains(d)...)...)
	}
	a.Tables = []Table{t}
	return a, nil
}

// gains are the water that came in a stretch of depth, with limits taken at
// what is sure (none of 'less than', all of 'more than'), and for each 100 m
// drilled, with where that lies 95 times in a hundred: the compound Poisson
// variance, the sum of the squares, and the normal approximation (standard; from
// memory).
func gains(t *tally) []Cell {
	var sum, squares float64
	for _, s := range t.samples() { // in one order, so that every copy rounds alike
		v := s.Value
		if s.Bound.String() == "less than" {
			v = 0
		}
		sum += v
		squares += float64(v * v)
	}
	m := float64(t.metres) / 1e6
	if m < leastMetres {
		return []Cell{N(sum), {}, {}, {}}
	}
	half := 1.959964 * math.Sqrt(squares)
	return []Cell{N(sum), N(100 * sum / m), N(100 * max(sum-half, 0) / m), N(100 * (sum + half) / m)}
}
