package predict

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"
	"sync/atomic"
)

// PastOptions say which wells are forecast from those before them. Zero fields
// take the defaults.
type PastOptions struct {
	// Most is the most wells forecast; 0 means 4,000. They are drawn by a hash of
	// Key and Seed among those that can be forecast.
	Most int
	// Seed steers the draw.
	Seed uint64
	// SiteM is how near another well must be to count as the same site, which is
	// hidden, metres; 0 means 1.
	SiteM float64
	// Without, when not nil, names observations that are evidence but are not to
	// be forecast, such as what was seen in a road cut.
	Without func(i int32) bool
	// Thresholds are the values t at which P(y >= t) is kept with each forecast.
	Thresholds []float64
	// Workers is how many goroutines work at once; 0 means one for each processor
	// that Go may use. The result does not depend on it.
	Workers int
	// Progress, when not nil, is told how many forecasts of how many are done. It
	// may be called from several goroutines, though not at the same time.
	Progress func(done, total int)
}

func (o PastOptions) withDefaults() PastOptions {
	if o.Most <= 0 {
		o.Most = 4000
	}
	if o.SiteM <= 0 {
		o.SiteM = 1
	}
	return o
}

// minEarlier is from how few earlier wells nothing is forecast.
const minEarlier = 20

// PastForecast is a well and what the wells of the years before it would have
// said of it.
type PastForecast struct {
	// Row is the observation's number, as given to NewObservations.
	Row int
	// Year is its year, and Earlier how many observations are of earlier years.
	Year, Earlier int
	Judgement
	// FromRank and ToRank are the ranks that its range went by.
	FromRank, ToRank float64
	// AreaCRPS is the score of the area alone.
	AreaCRPS float64
	// NearestM is the distance to the nearest earlier well.
	NearestM float64
	// AtLeast is P(y >= t) at each threshold.
	AtLeast []float64
}

// Past is how a set of observations would have forecast its own wells, each from
// those of strictly earlier years alone.
type Past struct {
	// Forecasts are in order of year, then of key.
	Forecasts []PastForecast
	// Candidates is how many observations could have been forecast, of which
	// Forecasts are a sample or all.
	Candidates int
	// Undated observations were neither forecast nor used; TooEarly ones have
	// fewer than 20 observations of earlier years.
	Undated, TooEarly int
	// Params, RankLow and RankHigh are the model's; each range goes by ranks that
	// depend on how far off its wells stood. They were set with all years in view: what each forecast could not have seen is its neighbours' later
	// companions, and not these few numbers. PastChoices sets ranks, too, from
	// earlier years alone.
	Params            Params
	RankLow, RankHigh float64

	thresholds []float64
	trials     []trial // their ranks moved so that each range runs from 0.1 to 0.9
	samples    []Sample
	seed       uint64
}

// Past forecasts every dated well, or a sample of at most o.Most, from the wells
// of strictly earlier years, with its own site and all of unknown year hidden,
// with the model's settings and the ranks of its range. The distribution judged
// is the one from neighbours, whatever the local verdict.
//
// It returns ErrTooFew when no well has 20 wells of earlier years, and ctx's
// error when it ends.
func (m *Model) Past(ctx context.Context, o PastOptions) (*Past, error) {
	o = o.withDefaults()
	p := &Past{Params: m.params, RankLow: m.rankLow, RankHigh: m.rankHigh, thresholds: slices.Clone(o.Thresholds), seed: o.Seed}
	if p.RankLow == 0 && p.RankHigh == 0 {
		p.RankLow, p.RankHigh = 0.1, 0.9
	}
	t := p.draw(m.obs, o)
	if len(t.list) == 0 {
		return nil, ErrTooFew
	}
	p.Forecasts = make([]PastForecast, len(t.list))
	err := t.each(ctx, m.params, func(pr *Predictor, q *query, w *trial, j int) {
		f := &p.Forecasts[j]
		*f = PastForecast{Row: int(w.i), Year: int(math.Floor(w.year)), Earlier: t.earlier[j], NearestM: pr.nearestM()}
		y := m.obs.sample(w.i)
		d := &pr.mixed
		pr.distribution(m.params.Kappa, d)
		w.median = d.Median()
		f.FromRank, f.ToRank = m.ranks.at(pr.d8)
		f.Judgement = judge(d, y, f.FromRank, f.ToRank)
		w.crps, w.rank, w.nearestM = f.CRPS, straightPair(f.pair(), f.FromRank, f.ToRank), f.NearestM
		for _, at := range p.thresholds {
			f.AtLeast = append(f.AtLeast, certainAtLeast(d, at))
		}
		pr.areaAlone(d)
		f.AreaCRPS = d.CRPSOf(y)
		w.areaCRPS, w.areaMedian = f.AreaCRPS, d.Median()
	})
	if err != nil {
		return nil, err
	}
	// What had nothing left but its own site was not forecast.
	p.trials = t.list
	kept := 0
	for j := range p.Forecasts {
		if p.trials[j].failed {
			p.TooEarly++
			p.Candidates--
			continue
		}
		p.Forecasts[kept], p.trials[kept] = p.Forecasts[j], p.trials[j]
		kept++
	}
	p.Forecasts, p.trials = p.Forecasts[:kept], p.trials[:kept]
	if kept == 0 {
		return nil, ErrTooFew
	}
	p.samples = make([]Sample, kept)
	for j := range p.trials {
		p.samples[j] = m.obs.sample(p.trials[j].i)
	}
	return p, nil
}

// certainAtLeast is P(y >= t), or NaN where a tail that is known only to lie
// above a limit below t leaves it open.
func certainAtLeast(d *Distribution, t float64) float64 {
	low, high := d.AtLeastBounds(t)
	if low != high {
		return math.NaN()
	}
	return low
}

// pastTrials is a drawn test forward in time.
type pastTrials struct {
	obs     *Observations
	o       PastOptions
	list    []trial
	earlier []int // by test: observations of earlier years
	hidden  bool  // hide the site alone, whatever the years
}

// draw picks the wells to forecast, in order of year.
func (p *Past) draw(obs *Observations, o PastOptions) *pastTrials {
	t := &pastTrials{obs: obs, o: o}
	var years []int32
	for i := range obs.wells {
		if y := float64(obs.wells[i].year); !math.IsNaN(y) {
			years = append(years, int32(math.Floor(y)))
		}
	}
	p.Undated = obs.Len() - len(years)
	slices.Sort(years)
	if len(years) <= minEarlier {
		p.TooEarly = len(years)
		return t
	}
	// The first year that has enough before it; and how many are before each.
	before := map[int32]int{}
	for k, y := range years {
		if _, seen := before[y]; !seen {
			before[y] = k
		}
	}
	asked := func(i int) bool {
		y := float64(obs.wells[i].year)
		return !math.IsNaN(y) && (o.Without == nil || !o.Without(int32(i)))
	}
	for i := range obs.wells {
		switch {
		case !asked(i):
		case before[int32(math.Floor(float64(obs.wells[i].year)))] < minEarlier:
			p.TooEarly++
		default:
			p.Candidates++
		}
	}
	type pick struct {
		hash uint64
		i    int32
	}
	var picks []pick
	// At a million wells only about twice as many as needed are sorted.
	limit := uint64(math.MaxUint64)
	if share := 2 * float64(o.Most) / float64(max(p.Candidates, 1)); share < 1 && o.Most > 1000 {
		limit = uint64(share * math.MaxUint64)
	}
	for i := range obs.wells {
		hash := mix64(obs.key[i] ^ mix64(o.Seed))
		if hash <= limit && asked(i) && before[int32(math.Floor(float64(obs.wells[i].year)))] >= minEarlier {
			picks = append(picks, pick{hash, int32(i)})
		}
	}
	slices.SortFunc(picks, func(a, b pick) int {
		if c := cmp.Compare(a.hash, b.hash); c != 0 {
			return c
		}
		return cmp.Compare(a.i, b.i)
	})
	picks = picks[:min(len(picks), o.Most)]
	slices.SortFunc(picks, func(a, b pick) int {
		ya, yb := math.Floor(float64(obs.wells[a.i].year)), math.Floor(float64(obs.wells[b.i].year))
		if c := cmp.Compare(ya, yb); c != 0 {
			return c
		}
		if c := cmp.Compare(obs.key[a.i], obs.key[b.i]); c != 0 {
			return c
		}
		return cmp.Compare(a.i, b.i)
	})
	t.list = make([]trial, len(picks))
	t.earlier = make([]int, len(picks))
	for j, c := range picks {
		y := float64(obs.wells[c.i].year)
		t.list[j] = trial{i: c.i, year: y}
		t.earlier[j] = before[int32(math.Floor(y))]
	}
	return t
}

// each gathers the earlier neighbours of every test in parallel and hands them to
// f, which may write to the test's own results alone.
func (t *pastTrials) each(ctx context.Context, params Params, f func(pr *Predictor, q *query, w *trial, j int)) error {
	var done atomic.Int64
	var telling sync.Mutex
	told := 0
	wells := t.obs.wells
	return parallel(ctx, len(t.list), 16, t.o.Workers, func() func(j int) error {
		pr := newPredictor(t.obs, params)
		return func(j int) error {
			w := &t.list[j]
			out := LeaveOut{WithinM: t.o.SiteM}
			if !t.hidden {
				year := float32(math.Floor(w.year))
				// A well of unknown year may be a later one.
				out.Skip = func(k int32) bool { return !(wells[k].year < year) }
				// The area is as large as it was when only these wells stood.
				pr.params.Area = params.areaWells(t.earlier[j])
			}
			q := pr.own(w.i, out)
			if err := pr.gather(&q); err != nil {
				w.failed = true
			} else {
				pr.prepare(&q, params.Gamma)
				f(pr, &q, w, j)
			}
			if n := done.Add(1); t.o.Progress != nil && (n%64 == 0 || int(n) == len(t.list)) {
				telling.Lock()
				if int(n) > told { // another worker may have overtaken this one
					told = int(n)
					t.o.Progress(told, len(t.list))
				}
				telling.Unlock()
			}
			return nil
		}
	})
}
