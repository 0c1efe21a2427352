package predict_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// An invented country of about 100 x 100 km, to have a truth to test against.
const (
	countryLon, countryLat            = 10.0, 50.0
	countryWidthDeg, countryHeightDeg = 1.4, 0.9
)

// country says how to generate wells: value = exp(level + signal * field(place) +
// noise * normal) - 1, never below zero. The field is a sum of eight waves of 4
// to 40 km with variance one.
type country struct {
	n             int
	seed          uint64
	signal, noise float64
	clumps        bool
	greater, less float64 // shares turned into bounds
	categories    float64 // difference of level between two categories, mixed at random
	drift         float64 // rise of level per year over the years 1990 to 2020
	dated         bool
	draw          uint64 // another draw of wells from the same field
}

func countryProjection() position.TransverseMercator {
	return position.NewTransverseMercator(countryLon, 0.9996, 500000, 0, position.WGS84())
}

// field is the same for the same seed, whatever is drawn from it.
func field(seed uint64) func(east, north float64) float64 {
	r := rand.New(rand.NewPCG(seed, 77))
	type wave struct{ kx, ky, phase float64 }
	waves := make([]wave, 8)
	for i := range waves {
		length := 4000 * math.Pow(10, r.Float64())
		angle := 2 * math.Pi * r.Float64()
		k := 2 * math.Pi / length
		waves[i] = wave{k * math.Cos(angle), k * math.Sin(angle), 2 * math.Pi * r.Float64()}
	}
	return func(east, north float64) float64 {
		var s float64
		for _, w := range waves {
			s += math.Sin(w.kx*east + w.ky*north + w.phase)
		}
		return s / 2 // eight waves of variance 1/2 each
	}
}

func place(r *rand.Rand) position.LonLat {
	return position.LonLat{
		Lon: countryLon + (r.Float64()-0.5)*countryWidthDeg,
		Lat: countryLat + (r.Float64()-0.5)*countryHeightDeg,
	}
}

func scatter(n int, seed uint64) []position.LonLat {
	r := rand.New(rand.NewPCG(seed, 3))
	out := make([]position.LonLat, n)
	for i := range out {
		out[i] = place(r)
	}
	return out
}

func generate(c country) []predict.Observation {
	projection := countryProjection()
	truth := field(c.seed)
	r := rand.New(rand.NewPCG(c.seed, 1000+c.draw))
	rows := make([]predict.Observation, c.n)
	var towns []position.LonLat
	planner := rand.New(rand.NewPCG(c.seed, 55)) // towns stay where they are in another draw
	for range 60 {
		towns = append(towns, place(planner))
	}
	for i := range rows {
		o := predict.Observation{At: place(r), Year: math.NaN(), Key: uint64(i)*2654435761 + c.draw*7919 + 1}
		if c.clumps && r.Float64() < 0.6 {
			town := towns[r.IntN(len(towns))]
			o.At = position.LonLat{Lon: town.Lon + 0.01*r.NormFloat64(), Lat: town.Lat + 0.007*r.NormFloat64()}
		}
		o.XM, o.YM = projection.Forward(o.At)
		level := 3.0
		if c.categories != 0 {
			o.Category = uint16(1 + r.IntN(2))
			level += c.categories * (float64(o.Category) - 1.5)
		}
		if c.dated || c.drift != 0 {
			o.Year = 1990 + 30*r.Float64()
			level += c.drift * (o.Year - 2005)
		}
		z := level + c.signal*truth(o.XM, o.YM) + c.noise*r.NormFloat64()
		o.Value = max(math.Exp(z)-1, 0)
		switch u := r.Float64(); {
		case u < c.greater:
			o.Bound, o.Value = predict.GreaterThan, o.Value*r.Float64()
		case u < c.greater+c.less:
			o.Bound, o.Value = predict.LessThan, max(o.Value, 0.1)*(1+r.Float64())
		}
		rows[i] = o
	}
	return rows
}

func observe(t testing.TB, rows []predict.Observation) *predict.Observations {
	t.Helper()
	obs, err := predict.NewObservations(len(rows), func(i int) predict.Observation { return rows[i] }, countryProjection(), predict.ObservationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return obs
}
