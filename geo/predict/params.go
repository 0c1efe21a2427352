package predict

import (
	"fmt"
	"math"
)

// Params are the settings of the estimate. Take DefaultParams and change what
// needs changing; Calibrate sets Kappa and Gamma from the data.
type Params struct {
	// Near is how many nearest wells vote.
	Near int
	// WeightScale sets the vote: 1 / (1 + (d / (WeightScale * D8))^2), with D8 the
	// mean distance to the nearest 8.
	WeightScale float64
	// CrowdScale and CrowdExponent set how a clump shares its vote: each vote is
	// divided by (the sum over the voters, itself included, of
	// exp(-h / (CrowdScale * D8)))^CrowdExponent. Exponent 0 turns it off.
	CrowdScale, CrowdExponent float64
	// SlopeWells, SlopeScale, SlopeRidge and SlopeShare set the local slope: how
	// many wells it is fitted to, how fast their say falls with distance (in D8),
	// how much it is held back, and which share of it is applied (0: none).
	SlopeWells             int
	SlopeScale, SlopeRidge float64
	SlopeShare             float64
	// BlurShare is the blur as a share of the area's spread (0: none).
	BlurShare float64
	// Area is how many nearest wells make the area; a quarter of all where there
	// are under four times as many, and never under 8.
	Area int
	// Kappa is the weight of the whole area beside the votes.
	Kappa float64
	// Gamma multiplies the weight of a well of another known category.
	Gamma float64
	// RecencyYears, when above zero, multiplies every weight by
	// exp(-age / RecencyYears); a well of unknown year has the middle age.
	RecencyYears float64
	// LevelShift is added to z = log(1 + value / unit) of every well, for ground
	// or practice that has moved on; 0 is none.
	LevelShift float64
}

// DefaultParams are the settings that were best, or within noise of it, on open
// sets of well records. Kappa and Gamma are only a start: Calibrate sets them.
func DefaultParams() Params {
	return Params{
		Near: 32, WeightScale: 0.5,
		CrowdScale: 0.3, CrowdExponent: 1,
		SlopeWells: 64, SlopeScale: 1.5, SlopeRidge: 0.1, SlopeShare: 0.5,
		BlurShare: 0.15,
		Area:      200, Kappa: 0.25, Gamma: 1,
	}
}

// Validate returns an error that names the first setting that makes no sense.
func (p Params) Validate() error {
	type bounded struct {
		name     string
		v        float64
		min, max float64
	}
	for _, c := range []bounded{
		{"Near", float64(p.Near), 1, 1024},
		{"SlopeWells", float64(p.SlopeWells), 0, 4096},
		{"Area", float64(p.Area), 8, 1 << 20},
		{"WeightScale", p.WeightScale, 1e-3, 1e3},
		{"CrowdScale", p.CrowdScale, 1e-3, 1e3},
		{"CrowdExponent", p.CrowdExponent, 0, 4},
		{"SlopeScale", p.SlopeScale, 1e-3, 1e3},
		{"SlopeRidge", p.SlopeRidge, 1e-6, 1e6},
		{"SlopeShare", p.SlopeShare, 0, 1},
		{"BlurShare", p.BlurShare, 0, 1},
		{"Kappa", p.Kappa, 0, 1e6},
		{"Gamma", p.Gamma, 1e-9, 1},
		{"RecencyYears", p.RecencyYears, 0, 1e4},
		{"LevelShift", p.LevelShift, -10, 10},
	} {
		if !(c.v >= c.min && c.v <= c.max) || math.IsNaN(c.v) {
			return fmt.Errorf("predict: %s is %g, must lie between %g and %g", c.name, c.v, c.min, c.max)
		}
	}
	return nil
}

// areaWells is how many wells make the area in a set of n.
func (p *Params) areaWells(n int) int {
	m := p.Area
	if n < 4*m {
		m = max(n/4, 8)
	}
	return min(m, n)
}

// kappas and gammas that Calibrate tries.
func kappaChoices() []float64 { return []float64{0.06, 0.12, 0.25, 0.5, 1, 2, 4, 16, 64} }
func gammaChoices() []float64 { return []float64{1, 0.2, 0.05} }
