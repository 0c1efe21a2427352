package variogram

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"golang.org/x/sync/errgroup"

	"tallybook/geo/near"
)

// Pairs is pairs of samples grouped by their distance and kept one by one, so
// that they can be looked at along a direction, without some of the samples,
// or with the values dealt out anew. It never changes once made.
type Pairs struct {
	x, y, values []float64
	edges        []float64
	list         []pair // by centre, in the order of the draw

	// Centres is how many samples were drawn to be compared with others around
	// them; 0 where every sample was compared with every other.
	Centres int
}

type pair struct{ i, j, class int32 }

// wholeSamples is up to how many samples all pairs are compared: three million
// at most. Beyond it drawnCentres of them, drawn by lot, are compared with others
// around them.
const (
	wholeSamples = 2500
	drawnCentres = 2000
)

// Sampling steers which pairs are drawn where there are too many.
type Sampling struct {
	Key  []uint64 // a lasting number of each sample, so that the order of rows changes nothing; nil: its position
	Seed uint64
	Most int // about how many pairs are drawn, shared evenly among the classes; 0 means 1,200,000
}

func (s *Sampling) lot(i int, salt uint64) uint64 {
	k := uint64(i)
	if s.Key != nil {
		k = s.Key[i]
	}
	return mix(k ^ mix(s.Seed^salt))
}

// mix is one step of the SplitMix64 generator (G. L. Steele, D. Lea and C. H.
// Flood, 'Fast splittable pseudorandom number generators', OOPSLA 2014;
// constants from memory).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Draw gathers the pairs of samples whose distance, in metres, lies in one of
// the classes between ascending edges: above the lower edge, up to the upper
// one. Pairs at the very same place belong to none.
//
// Up to 2,500 samples give all their pairs. Of more, 2,000 are drawn by lot, and
// each is compared in every class with all others or, where those are too many,
// with a share of them drawn by lot. Every pair of a class is as likely to be
// drawn as any other, so that means over the drawn are fair for all.
//
// Errors: as for Measure, edges that do not ascend, that of ctx.
func Draw(ctx context.Context, x, y, values, edges []float64, s Sampling) (*Pairs, error) {
	if err := checkSamples(x, y, values); err != nil {
		return nil, err
	}
	if err := checkEdges(edges); err != nil {
		return nil, err
	}
	if s.Key != nil && len(s.Key) != len(x) {
		return nil, fmt.Errorf("variogram: %d keys for %d samples", len(s.Key), len(x))
	}
	p := &Pairs{x: x, y: y, values: values, edges: edges}
	if len(x) <= wholeSamples {
		return p, p.drawAll(ctx)
	}
	return p, p.drawSome(ctx, s)
}

func checkEdges(edges []float64) error {
	if len(edges) < 2 || len(edges) > maxLags {
		return fmt.Errorf("variogram: %d edges make no classes of distance", len(edges))
	}
	for i, e := range edges {
		if e-e != 0 || e < 0 || i > 0 && !(e > edges[i-1]) {
			return fmt.Errorf("variogram: edge %d of the classes, %g m, does not ascend from zero", i+1, e)
		}
	}
	return nil
}

// Edges are the edges of the lags of a binning.
func (b Binning) Edges() []float64 {
	n := max(1, int(math.Ceil(b.CutoffM/b.WidthM-1e-9)))
	edges := make([]float64, n+1)
	for i := range edges {
		edges[i] = min(float64(i)*b.WidthM, b.CutoffM)
	}
	return edges
}

// classOf is the class of a distance; -1 where it belongs to none.
func (p *Pairs) classOf(d float64) int32 {
	if !(d > p.edges[0]) || d > p.edges[len(p.edges)-1] {
		return -1
	}
	c, _ := slices.BinarySearch(p.edges, d)
	return int32(c - 1)
}

func (p *Pairs) distance(i, j int32) float64 {
	dx, dy := p.x[j]-p.x[i], p.y[j]-p.y[i]
	return math.Sqrt(dx*dx + dy*dy)
}

func (p *Pairs) drawAll(ctx context.Context) error {
	order := eastward(p.x, p.y, p.values)
	last := p.edges[len(p.edges)-1]
	for a, i := range order {
		if a%256 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		for _, j := range order[a+1:] {
			if p.x[j]-p.x[i] > last {
				break
			}
			if c := p.classOf(p.distance(i, j)); c >= 0 {
				p.list = append(p.list, pair{i, j, c})
			}
		}
	}
	return nil
}

// thinned is a share of the samples, drawn by lot: one in 2^level.
type thinned struct {
	index *near.Index
	of    []int32 // position in the index -> sample
}

// thinner hands out thinned sets, each made once.
type thinner struct {
	p    *Pairs
	s    Sampling
	sets map[int]*thinned
}

const (
	centreSalt = 0x63656e74
	othersSalt = 0x6f746865
)

func (t *thinner) has(i int32, level int) bool {
	return t.s.lot(int(i), othersSalt) <= math.MaxUint64>>level
}

func (t *thinner) set(level int) (*thinned, error) {
	if s, ok := t.sets[level]; ok {
		return s, nil
	}
	s := &thinned{}
	var x, y []float64
	for i := range t.p.x {
		if level == 0 || t.has(int32(i), level) {
			s.of = append(s.of, int32(i))
			x, y = append(x, t.p.x[i]), append(y, t.p.y[i])
		}
	}
	var err error
	s.index, err = near.New(x, y, nil)
	t.sets[level] = s
	return s, err
}

// drawSome compares centres with others around them.
func (p *Pairs) drawSome(ctx context.Context, s Sampling) error {
	centres := p.centres(s)
	p.Centres = len(centres)
	t := &thinner{p: p, s: s, sets: map[int]*thinned{}}
	levels, err := p.levels(t, centres, s)
	if err != nil {
		return err
	}
	centre := make(map[int32]bool, len(centres))
	for _, i := range centres {
		centre[i] = true
	}
	// Classes next to each other that draw from the same set are asked at once.
	type ask struct {
		set      *thinned
		level    int
		from, to int32
	}
	var asks []ask
	for c := 0; c < len(levels); {
		end := c + 1
		for end < len(levels) && levels[end] == levels[c] {
			end++
		}
		set, err := t.set(levels[c])
		if err != nil {
			return err
		}
		asks = append(asks, ask{set, levels[c], int32(c), int32(end)})
		c = end
	}
	parts := make([][]pair, len(centres))
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(workers())
	const piece = 32
	for lo := 0; lo < len(centres); lo += piece {
		g.Go(func() error {
			if err := inner.Err(); err != nil {
				return err
			}
			var buf []int32
			for c := lo; c < min(lo+piece, len(centres)); c++ {
				i := centres[c]
				for _, a := range asks {
					r := p.edges[a.to]
					buf = a.set.index.Box(p.x[i]-r, p.y[i]-r, p.x[i]+r, p.y[i]+r, buf)
					for _, at := range buf {
						j := a.set.of[at]
						class := p.classOf(p.distance(i, j))
						if class < a.from || class >= a.to || j == i {
							continue
						}
						// Two centres meet twice where each may meet the other.
						if centre[j] && j < i && t.has(i, a.level) {
							continue
						}
						parts[c] = append(parts[c], pair{i, j, class})
					}
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	p.list = slices.Concat(parts...)
	return nil
}

// centres are the samples with the lowest lots.
func (p *Pairs) centres(s Sampling) []int32 {
	order := make([]int32, 0, len(p.x))
	lots := make([]uint64, len(p.x))
	for i := range p.x {
		lots[i] = s.lot(i, centreSalt)
		// Only about as many as are needed are sorted.
		if float64(lots[i]) <= 4*drawnCentres/float64(len(p.x))*math.MaxUint64 {
			order = append(order, int32(i))
		}
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(lots[a], lots[b]), cmp.Compare(a, b)) })
	return order[:min(len(order), drawnCentres)]
}

// levels says for each class of which set its others are: the fullest that does
// not give too many pairs. It counts for some centres in a thin set how many
// there are.
func (p *Pairs) levels(t *thinner, centres []int32, s Sampling) ([]int, error) {
	most := s.Most
	if most <= 0 {
		most = 1_200_000
	}
	thin := max(0, int(math.Ceil(math.Log2(float64(len(p.x))/20_000))))
	set, err := t.set(thin)
	if err != nil {
		return nil, err
	}
	classes := len(p.edges) - 1
	counts := make([]float64, classes)
	probes := centres[:min(len(centres), 100)]
	r := p.edges[classes]
	var buf []int32
	for _, i := range probes {
		buf = set.index.Box(p.x[i]-r, p.y[i]-r, p.x[i]+r, p.y[i]+r, buf)
		for _, at := range buf {
			if c := p.classOf(p.distance(i, set.of[at])); c >= 0 {
				counts[c]++
			}
		}
	}
	levels := make([]int, classes)
	for c, n := range counts {
		expected := n * math.Exp2(float64(thin)) * float64(len(centres)) / float64(len(probes))
		if wanted := float64(most) / float64(classes); expected > wanted {
			levels[c] = int(math.Ceil(math.Log2(expected / wanted)))
		}
	}
	return levels, nil
}
