package scout

import (
	"fmt"
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
)

// CasingChance says whether the casing on the truck is enough.
type CasingChance struct {
	// RunsOut is the chance that bedrock, socket and stick-up need more than
	// is aboard, given that bedrock is deeper than the hole is now. Low and
	// High differ where holes that never met bedrock leave it open; Value is
	// the middle between them.
	RunsOut Chance
	// Reaches is the deepest bedrock for which the casing is enough.
	Reaches records.Depth
	// Median and Upper are the casing needed in half, and in nine of ten, of
	// the cases left; +Inf where nothing but 'more than' is known.
	Median, Upper records.Length
	// Effective is the effective number of neighbours whose bedrock, or whose
	// hole in loose ground, is deeper than the hole is now.
	Effective float64
	Tells     bool
	Why       string
}

// CasingRunsOut answers 'casing enough?' for a hole that is now so deep
// without bedrock, with so much casing aboard, by the distribution of depth
// to bedrock at the site, cut off at the depth now, and the neighbours that
// tell of ground deeper than that.
func CasingRunsOut(bedrock *predict.Distribution, neighbours []Neighbour, now records.Depth, aboard records.Length, p Plan) CasingChance {
	c := CasingChance{Reaches: records.Depth(aboard - p.StickUp - p.Socket), Median: records.Length(math.NaN()), Upper: records.Length(math.NaN())}
	var deeperOnes mass
	for i := range neighbours {
		n := &neighbours[i]
		low, high := limits(n.Bedrock)
		deeper := low > now || n.Bedrock.Qualifier == records.Between && high > now
		if n.Bedrock.Known() && deeper && n.Weight > 0 && finite(n.Weight) {
			deeperOnes.add(n.Weight)
		}
	}
	c.Effective = deeperOnes.effective()
	if aboard-p.StickUp < p.MinCasing || c.Reaches < now {
		c.RunsOut, c.Tells = Chance{1, 1, 1}, true
		c.Why = "the casing aboard is too short for any bedrock below the depth now"
		if aboard-p.StickUp < p.MinCasing {
			c.Why = "the casing aboard is shorter than the least casing"
		}
		return c
	}
	above := func(d records.Depth) (low, high float64) {
		return bedrock.AtLeastBounds(math.Nextafter(float64(d), math.Inf(1)))
	}
	if bedrock == nil || bedrock.Empty() {
		c.RunsOut, c.Why = Chance{0, 0, 1}, "cannot tell: no well nearby says anything of bedrock"
		return c
	}
	_, left := above(now)
	if !(left > 0) {
		c.RunsOut, c.Why = Chance{0, 0, 1}, "cannot tell: no well nearby met bedrock so deep"
		return c
	}
	low, high := above(c.Reaches)
	c.RunsOut = Chance{Value: (low + high) / 2 / left, Low: low / left, High: high / left}
	needs := func(share float64) records.Length {
		rank := 1 - left + share*left
		return records.Length(p.casingTo(max(records.Depth(bedrock.Quantile(rank)), now))) + p.StickUp
	}
	c.Median, c.Upper = needs(0.5), needs(0.9)
	if c.Tells = c.Effective >= LeastEffective; !c.Tells {
		c.Why = fmt.Sprintf("cannot tell: only %.1f effective wells nearby speak of ground deeper than this; it takes %d", c.Effective, LeastEffective)
	}
	return c
}
