package predict

import (
	"context"
	"math"

	"tallybook/geo/position"
)

// GridRequest asks for many sites at once.
type GridRequest struct {
	// Points are the sites, degrees, WGS 84. A point with a NaN is passed over.
	Points []position.LonLat
	// Category and Year are those of every site (see Site).
	Category uint16
	Year     float64
	// Quantiles and Thresholds are what to evaluate at each site.
	Quantiles, Thresholds []float64
	// Workers is how many goroutines work at once; 0 means one for each processor.
	Workers int
	// Progress, when not nil, is told how many points are done. It is called from
	// several goroutines, about every 64 points.
	Progress func(done int)
}

// Grid is the answer, a number for each point in the order of the points; NaN
// where the point was NaN. Where the verdict is NoMoreThanArea the numbers are
// the area's.
type Grid struct {
	// Quantile[k][i] is quantile k at point i; +Inf in an unknowable upper tail.
	Quantile [][]float64
	// AtLeast[k][i] is the probability of threshold k or more at point i.
	AtLeast [][]float64
	// Low and High are the ends of Range80.
	Low, High []float64
	// Verdict and Skill are the local verdict and skill.
	Verdict []Verdict
	Skill   []float64
	// NearestM is the distance to the nearest well.
	NearestM []float64
}

// EvaluateGrid estimates every point. It returns ctx's error when it ends early.
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
	err := parallel(ctx, n, r.Workers, func() func(i int) error {
		p := m.Predictor()
		done := 0
		return func(i int) error {
			done++
			if r.Progress != nil && done%64 == 0 {
				r.Progress(done)
			}
			at := r.Points[i]
			if math.IsNaN(at.Lon) || math.IsNaN(at.Lat) {
				return nil
			}
			d, s, err := p.Distribution(Site{At: at, Category: r.Category, Year: r.Year}, LeaveOut{})
			if err != nil {
				return err
			}
			for k, q := range r.Quantiles {
				g.Quantile[k][i] = d.Quantile(q)
			}
			for k, t := range r.Thresholds {
				g.AtLeast[k][i] = d.AtLeast(t)
			}
			r80 := d.Range80()
			g.Low[i], g.High[i] = r80.Low, r80.High
			g.Verdict[i], g.Skill[i] = s.Verdict, s.Skill
			g.NearestM[i] = p.voters[0].d
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	return g, nil
}

func nans(n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = math.NaN()
	}
	return s
}
