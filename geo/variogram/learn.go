package variogram

import "context"

// Learnt is what samples themselves say of their structure: the lags that show
// it, the pairs, and the model that comes nearest.
type Learnt struct {
	Lags
	Pairs     *Pairs
	Empirical Empirical
	Fitted    Fitted
}

// LearntShapes are the shapes that Learn tries. The gaussian one is not among
// them: it is smooth to a degree that ground is not, and makes systems singular.
var LearntShapes = []Shape{Spherical, Exponential}

// Learn chooses lags by ChooseLags, draws pairs and fits the better of
// LearntShapes with weights pairs / distance^2 to the classical semivariance.
// Samples on one spot are best joined before. Errors: as for ChooseLags, Draw
// and Fit.
func Learn(ctx context.Context, x, y, values []float64, s Sampling) (Learnt, error) {
	l, err := ChooseLags(ctx, x, y, values, s)
	if err != nil {
		return Learnt{}, err
	}
	out := Learnt{Lags: l}
	if out.Pairs, err = Draw(ctx, x, y, values, l.Edges(), s); err != nil {
		return Learnt{}, err
	}
	out.Empirical = out.Pairs.Empirical(nil)
	out.Fitted, err = FitBest(out.Empirical, LearntShapes, PairsOverSquare, Classical)
	return out, err
}
