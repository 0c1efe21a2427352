package predict

import (
	"context"
	"math"
	"sync/atomic"

	"tallybook/geo/position"
)

// GridRequest asks for many sites at once.
type GridRequest struct {
	// Points are the sites, degrees, WGS 84. A point with a NaN is passed over.
	Points []position.LonLat
	// Category and Year are those of every site (see Site); Categories, when not
	// nil, are those of the points, in their order, instead of Category.
	Category   uint16
	Categories []uint16
	Year       float64
	// Quantiles and Thresholds are what to evaluate at each site.
	Quantiles, Thresholds []float64
	// Workers is how many goroutines work at once; 0 means one for each processor.
	Workers int
	// Progress, when not nil, is told how many points of how many are done. It may
	// be called from several goroutines at once.
	Progress func(done, total int)
}

// Grid is the answer, a number for each point in the order of the points; NaN
// where the point was NaN. Where the verdict is NoMoreThanArea the numbers are
// the area's.
type Grid struct {
	// Quantile[k][i] is quantile k at point i; +Inf in an unknowable upper tail.
	Quantile [][]float64
	// AtLeast[k][i] is the probability of threshold k or more at point i.
	AtLeast [][]float64
	// Low and High are the ends of Range80; High is +Inf where the range says 'more
	// than', Low 0 where it says 'less than'.
	Low, High []float64
	// Verdict and Skill are the local verdict and skill.
	Verdict []Verdict
	Skill   []float64
	// NearestM is the distance to the nearest well.
	NearestM []float64
}

// EvaluateGrid estimates every point. Points that lie close together, as those
// of a surface do, share one walk through the index. It returns ctx's error when
// it ends early.
func (m *Model) EvaluateGrid(ctx context.Context, r GridRequest) (*Grid, error) {
	n := len(r.Points)
	g := &Grid{
		Quantile: make([][]float64, len(r.Quantiles)), AtLeast: make([][]float64, len(r.Thresholds)),
		Low: nans(n), High: nans(n), Verdict: make([]Verdict, n), Skill: nans(n), NearestM: nans(n),
	}
	for k := range g.Quantile {
		g.Quantile[k] = nans(n)
	}
	for k := range g.AtLeast {
		g.AtLeast[k] = nans(n)
	}
	tiles := m.tiles(r.Points)
	var done atomic.Int64
	err := parallel(ctx, len(tiles), 1, r.Workers, func() func(k int) error {
		p := m.Predictor()
		fill := func(s tileSite) error { return g.fill(p, r, s) }
		return func(k int) error {
			if err := p.inTiles(&tiles[k], fill); err != nil {
				return err
			}
			if total := done.Add(int64(len(tiles[k].sites))); r.Progress != nil {
				r.Progress(int(total), n)
			}
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	return g, nil
}

// fill writes the answers for one point.
func (g *Grid) fill(p *Predictor, r GridRequest, s tileSite) error {
	i := s.i
	q := query{Site: Site{At: r.Points[i], Category: r.Category, Year: r.Year}, x: s.x, y: s.y}
	if r.Categories != nil {
		q.Category = r.Categories[i]
	}
	d, skill, err := p.answer(&q)
	if err != nil {
		return err
	}
	for k, at := range r.Quantiles {
		g.Quantile[k][i] = d.Quantile(at)
	}
	for k, t := range r.Thresholds {
		g.AtLeast[k][i] = d.AtLeast(t)
	}
	r80 := d.Range80()
	g.Low[i], g.High[i] = r80.Low, r80.High
	if r80.AtLeastHigh {
		g.High[i] = math.Inf(1)
	}
	if r80.AtMostLow {
		g.Low[i] = 0
	}
	g.Verdict[i], g.Skill[i] = skill.Verdict, skill.Skill
	g.NearestM[i] = p.nearestM()
	return nil
}

func nans(n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = math.NaN()
	}
	return s
}
