package predict

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"tallybook/geo/near"
)

// By says what is hidden together with a well when it is predicted as a test.
type By uint8

// What can be hidden.
const (
	// BySite hides every well on the same spot. Hiding the well alone flatters
	// every method, because many wells share their position with another.
	BySite By = iota
	// ByBlock hides the whole of the well's fold of square blocks: how the method
	// does where no well stands near.
	ByBlock
)

// String names it.
func (b By) String() string {
	if b == ByBlock {
		return "block"
	}
	return "site"
}

// Holdout is how test wells are drawn and what is hidden with each. Zero fields
// take the defaults.
type Holdout struct {
	By By
	// SiteM is how near another well must be to count as the same site, metres; 0
	// means 1.
	SiteM float64
	// BlockM and Folds are the side of the blocks in metres and the number of
	// folds they are dealt into; 0 means 10,000 and 10.
	BlockM float64
	Folds  int
	// TestWells is the most wells tried; 0 means 12,000. They are drawn by a hash
	// of Key and Seed, so that the draw does not depend on the order of rows.
	TestWells int
	// Seed steers the draw, the halves and the folds.
	Seed uint64
	// Workers is how many goroutines work at once; 0 means one for each processor
	// that Go may use. The result does not depend on it.
	Workers int
	// Progress, when not nil, is told how many tests of how many are done. It is
	// called from one goroutine at a time.
	Progress func(done, total int)
}

func (h Holdout) withDefaults() Holdout {
	if h.SiteM <= 0 {
		h.SiteM = 1
	}
	if h.BlockM <= 0 {
		h.BlockM = 10000
	}
	if h.Folds < 2 {
		h.Folds = 10
	}
	if h.TestWells <= 0 {
		h.TestWells = 12000
	}
	return h
}

// trial is one test well and what came of it.
type trial struct {
	i      int32
	year   float64
	setter bool // its site belongs to the half that sets the range

	nearestM float64 // to the nearest well that was not hidden
	d8       float64 // mean distance to the nearest eight of them

	crps, areaCRPS float64
	median         float64
	areaMedian     float64
	rank, areaRank rankPair
	failed         bool // nothing was left to predict from
}

// rankPair is the lowest and highest rank at which a distribution gives the
// outcome. known is false for a bound, whose rank lies anywhere between them.
type rankPair struct {
	lo, hi float64
	known  bool
}

// trials is a drawn test with what is hidden.
type trials struct {
	obs    *Observations
	hold   Holdout
	list   []trial
	folds  []int32 // by observation; nil when sites are hidden
	before bool    // forward in time: hide also all that is not older than the test well
	done   atomic.Int64
	total  int
	mu     sync.Mutex
}

// draw picks the test wells and deals their sites into two halves.
func draw(o *Observations, h Holdout) (*trials, error) {
	t := &trials{obs: o, hold: h.withDefaults()}
	type pick struct {
		hash uint64
		i    int32
	}
	picks := make([]pick, 0, o.Len())
	n := o.Len()
	// At a million wells only about twice as many as needed are sorted.
	limit := uint64(math.MaxUint64)
	if share := 2 * float64(t.hold.TestWells) / float64(max(n, 1)); share < 1 && t.hold.TestWells > 1000 {
		limit = uint64(share * math.MaxUint64)
	}
	for i := range n {
		if hash := mix64(o.key[i] ^ mix64(t.hold.Seed)); hash <= limit {
			picks = append(picks, pick{hash, int32(i)})
		}
	}
	slices.SortFunc(picks, func(a, b pick) int {
		if c := cmp.Compare(a.hash, b.hash); c != 0 {
			return c
		}
		return cmp.Compare(a.i, b.i)
	})
	picks = picks[:min(len(picks), t.hold.TestWells)]
	t.list = make([]trial, len(picks))
	x, y := make([]float64, len(picks)), make([]float64, len(picks))
	for j, p := range picks {
		t.list[j] = trial{i: p.i, year: float64(o.wells[p.i].year)}
		x[j], y[j] = o.index.At(int(p.i))
	}
	sites, err := near.Sites(x, y, t.hold.SiteM)
	if err != nil {
		return nil, err
	}
	// A site belongs to a half by its own hash: that of its first drawn well.
	half := make(map[int32]bool, len(picks))
	for j := range t.list {
		setter, seen := half[sites[j]]
		if !seen {
			setter = mix64(picks[j].hash)>>63 == 0
			half[sites[j]] = setter
		}
		t.list[j].setter = setter
	}
	if t.hold.By == ByBlock {
		all, ally := make([]float64, n), make([]float64, n)
		for i := range n {
			all[i], ally[i] = o.index.At(i)
		}
		if t.folds, err = near.Blocks(all, ally, t.hold.BlockM, t.hold.Folds, t.hold.Seed); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// leaveOut is what is hidden with test well j.
func (t *trials) leaveOut(j int) LeaveOut {
	i := t.list[j].i
	out := LeaveOut{WithinM: t.hold.SiteM}
	switch {
	case t.before:
		year := t.obs.wells[i].year
		wells, folds := t.obs.wells, t.folds
		out.Skip = func(k int32) bool {
			// A well of unknown year may be a later one.
			return !(wells[k].year < year) || (folds != nil && folds[k] == folds[i])
		}
	case t.folds != nil:
		folds, own := t.folds, t.folds[i]
		out.Skip = func(k int32) bool { return folds[k] == own }
	}
	return out
}

// each gathers the neighbours of every test well in parallel and hands them to
// f, which may write to the well's own trial alone.
func (t *trials) each(ctx context.Context, p Params, f func(pr *Predictor, q *query, j int)) error {
	return parallel(ctx, len(t.list), 64, t.hold.Workers, func() func(j int) error {
		pr := newPredictor(t.obs, p)
		return func(j int) error {
			q := pr.own(t.list[j].i, t.leaveOut(j))
			if t.before {
				q.Year = t.list[j].year
			}
			if err := pr.gather(&q); err != nil {
				t.list[j].failed = true
			} else {
				f(pr, &q, j)
			}
			t.tick()
			return nil
		}
	})
}

func (t *trials) tick() {
	done := t.done.Add(1)
	if t.hold.Progress == nil || (done%256 != 0 && int(done) != t.total) {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.hold.Progress(int(done), t.total)
}

// parallel calls the function made by worker for every j in [0, n), each worker
// with its own and chunk by chunk. It stops early on an error or when ctx ends.
func parallel(ctx context.Context, n, chunk, workers int, worker func() func(j int) error) error {
	workers = workerCount(workers, n)
	var next atomic.Int64
	group, ctx := errgroup.WithContext(ctx)
	for range workers {
		group.Go(func() error {
			f := worker()
			for {
				lo := int(next.Add(int64(chunk))) - chunk
				if lo >= n {
					return nil
				}
				if err := ctx.Err(); err != nil {
					return err
				}
				for j := lo; j < min(lo+chunk, n); j++ {
					if err := f(j); err != nil {
						return err
					}
				}
			}
		})
	}
	return group.Wait()
}

// mix64 scatters the bits of x: a bijection whose output looks drawn at random
// (the finaliser of SplitMix64; Steele, Lea and Flood 2014, constants from
// memory).
func mix64(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
