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
)

// Method is a method with its settings.
type Method struct {
	Kind Kind
	// Power and K are read for InverseDistance only; 0 means 2 and 12.
	Power float64
	K     int
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

// spread reports whether the method gives a distribution and not one number.
func (m Method) spread() bool { return m.Kind == Neighbours || m.Kind == AreaMedian }

// Methods are those of the usual comparison.
func Methods() []Method {
	return []Method{
		{Kind: GlobalMedian}, {Kind: AreaMedian}, {Kind: NearestWell},
		{Kind: InverseDistance, Power: 1, K: 12}, {Kind: InverseDistance, Power: 2, K: 12},
		{Kind: InverseDistance, Power: 3, K: 12}, {Kind: InverseDistance, Power: 2, K: 8},
		{Kind: InverseDistance, Power: 2, K: 16}, {Kind: InverseDistance, Power: 2, K: 32},
		{Kind: Neighbours},
	}
}
