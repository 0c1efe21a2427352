package predict

import "fmt"

// Kind is a family of methods that Score can put to the test.
type Kind uint8

// The methods.
const (
	// Neighbours is this package's estimate, calibrated under the same holdout.
	Neighbours Kind = iota
	// GlobalMedian answers the median of the whole set everywhere.
	GlobalMedian
	// AreaMedian answers the distribution of the nearest 200 wells, unweighted.
	AreaMedian
	// NearestWell answers the value of the nearest well.
	NearestWell
	// InverseDistance answers the mean of the nearest K wells, weighted by
	// 1 / distance^Power, on the plain scale.
	InverseDistance
	// Kriging is ordinary kriging from the nearest K sites, with the model that
	// the values themselves suggest (variogram.Learn): a normal distribution of the
	// value or, with Log, of z = log(1 + value / unit). Bounds have no part in it.
	Kriging
)

// Method is a method with its settings.
type Method struct {
	Kind Kind
	// Power and K are read for InverseDistance; 0 means 2 and 12. K is read for
	// Kriging too; 0 means 24.
	Power float64
	K     int
	// Log is read for Kriging only.
	Log bool
	// Params are read for Neighbours only: where its calibration starts from. The
	// zero value means DefaultParams.
	Params Params
}

// String names the method.
func (m Method) String() string {
	switch m.Kind {
	case Neighbours:
		return "neighbours"
	case GlobalMedian:
		return "global median"
	case AreaMedian:
		return "area median"
	case NearestWell:
		return "nearest well"
	case InverseDistance:
		power, k := m.inverse()
		return fmt.Sprintf("inverse distance, power %g, %d wells", power, k)
	case Kriging:
		if m.Log {
			return fmt.Sprintf("kriging of logarithms, %d sites", m.krigingWells())
		}
		return fmt.Sprintf("ordinary kriging, %d sites", m.krigingWells())
	}
	return "unknown method"
}

func (m Method) inverse() (power float64, k int) {
	power, k = m.Power, m.K
	if power == 0 {
		power = 2
	}
	if k == 0 {
		k = 12
	}
	return power, k
}

func (m Method) krigingWells() int {
	if m.K == 0 {
		return krigingWells
	}
	return m.K
}

// spread reports whether the method gives a distribution and not one number.
func (m Method) spread() bool {
	return m.Kind == Neighbours || m.Kind == AreaMedian || m.Kind == Kriging
}

// Methods are those of the usual comparison.
func Methods() []Method {
	return []Method{
		{Kind: GlobalMedian}, {Kind: AreaMedian}, {Kind: NearestWell},
		{Kind: InverseDistance, Power: 1, K: 12}, {Kind: InverseDistance, Power: 2, K: 12},
		{Kind: InverseDistance, Power: 3, K: 12}, {Kind: InverseDistance, Power: 2, K: 8},
		{Kind: InverseDistance, Power: 2, K: 16}, {Kind: InverseDistance, Power: 2, K: 32},
		{Kind: Kriging}, {Kind: Kriging, Log: true},
		{Kind: Neighbours},
	}
}
