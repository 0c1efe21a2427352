package figuring_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
)

func lb(v float64) records.Mass { return records.Mass(records.Pound.ToBase(v)) }

// lbPerGallon is the printed unit of slurry weight.
func lbPerGallon(kgPerL float64) float64 {
	return records.Pound.FromBase(kgPerL * float64(gal(1)))
}

// Computed from 94/(3.15 x 62.4) + 0.13368 x gallons. Published beside it:
// 1.145 cubic feet at 5 gal ('Volume of grout', Concrete Construction); from
// memory 1.18 and 15.6 lb/gal at 5.2, 1.28 and 15.0 at 6; 1.41 implied at 7 by
// a state plugging table.
func TestNeatCement(t *testing.T) {
	for _, c := range []struct{ water, cuFt, gal, weight, published, within float64 }{
		{5.0, 1.147, 8.58, 15.81, 1.145, 0.003},
		{5.2, 1.173, 8.78, 15.64, 1.18, 0.008},
		{5.5, 1.213, 9.08, 15.40, 1.213, 0.001},
		{6.0, 1.280, 9.58, 15.03, 1.28, 0.005},
		{6.5, 1.347, 10.08, 14.70, 1.347, 0.001},
		{7.0, 1.414, 10.58, 14.40, 1.41, 0.005},
	} {
		m := must[figuring.Mix](t)(figuring.NeatCement(gal(c.water)))
		near(t, "ft3 a sack", inCuFt(m.Yield), c.cuFt, 0.0006)
		near(t, "gal a sack", inGal(m.Yield), c.gal, 0.0051)
		near(t, "lb/gal", lbPerGallon(m.Density), c.weight, 0.0051)
		near(t, "published", inCuFt(m.Yield), c.published, c.within)
	}
}

// National Driller: a 50-lb bag makes 3.5 cubic feet at 20 % solids (24 gal)
// and 2.2 at 30 % (14 gal). The rest computed by absolute volume, SG 2.6, for
// mixes that Contra Costa County lists.
func TestBentonite(t *testing.T) {
	for _, c := range []struct{ water, cuFt, within, solids float64 }{
		{24, 3.5, 0.05, 0.200}, {14, 2.2, 0.05, 0.300},
		{24, 3.52, 0.0051, 0.200}, {14, 2.18, 0.0051, 0.300}, {23, 3.38, 0.0051, 0.207}, {20, 2.98, 0.0051, 0.231},
	} {
		m := must[figuring.Mix](t)(figuring.Bentonite(lb(50), gal(c.water)))
		near(t, "ft3 a bag", inCuFt(m.Yield), c.cuFt, c.within)
		near(t, "solids", m.Solids, c.solids, 0.0006)
	}
}

// State plugging table: feet of hole that a 50-lb bag of chips fills. Its
// bags come to 0.68 to 0.71 cubic feet; its 1.9 ft for 4 in is a misprint and
// is left out, and 12 in lies just under, at 0.675.
func TestChips(t *testing.T) {
	coarse, fine := figuring.MixExamples()[4], figuring.MixExamples()[5]
	near(t, "3/4 in", inCuFt(coarse.Yield), 0.704, 0.0006)
	near(t, "3/8 in", inCuFt(fine.Yield), 0.676, 0.0006)
	for _, c := range []struct{ inside, feet float64 }{{2, 31.3}, {3, 13.9}, {5, 5.0}, {6, 3.5}, {8, 2.0}, {10, 1.3}, {12, 0.86}} {
		low := must[figuring.Figure[records.Length]](t)(figuring.LengthHolding(fine.Yield, in(c.inside)))
		high := must[figuring.Figure[records.Length]](t)(figuring.LengthHolding(coarse.Yield, in(c.inside)))
		a, b := records.Foot.FromBase(float64(low.Value)), records.Foot.FromBase(float64(high.Value))
		if c.feet < a-0.05 || c.feet > b+0.05 {
			t.Errorf("%v in: the table's %v ft a bag is not from %.2f to %.2f", c.inside, c.feet, a, b)
		}
	}
}

// State plugging table: a sack at 7 gal fills 16.2, 7.2, 4.0, 2.6 ft of 4, 6,
// 8, 10 in hole.
func TestSackFillsHole(t *testing.T) {
	m := must[figuring.Mix](t)(figuring.NeatCement(gal(7)))
	for _, c := range []struct{ inside, feet float64 }{{4, 16.2}, {6, 7.2}, {8, 4.0}, {10, 2.6}} {
		l := must[figuring.Figure[records.Length]](t)(figuring.LengthHolding(m.Yield, in(c.inside)))
		near(t, "ft a sack", records.Foot.FromBase(float64(l.Value)), c.feet, 0.051)
	}
}

// Computed: 9 in hole, 6.625 in casing, 50 ft hold 10.12 cubic feet, 75.7
// gal: 7.9 sacks at 6 gal, 9.9 with a quarter more; 2.9 bags of 20 % and 4.6
// of 30 % bentonite.
func TestBatch(t *testing.T) {
	annulus := must[figuring.Figure[records.Volume]](t)(figuring.Annulus(in(9), in(6.625), ft(50))).Value
	near(t, "ft3", inCuFt(annulus), 10.12, 0.0051)
	near(t, "gal", inGal(annulus), 75.7, 0.051)
	cement := must[figuring.Mix](t)(figuring.NeatCement(gal(6)))
	twenty := must[figuring.Mix](t)(figuring.Bentonite(lb(50), gal(24)))
	thirty := must[figuring.Mix](t)(figuring.Bentonite(lb(50), gal(14)))
	for _, c := range []struct {
		name  string
		mix   figuring.Mix
		over  figuring.Overrun
		used  float64
		bags  int
		water float64
	}{
		{"cement", cement, 1, 7.9, 8, 48},
		{"cement and a quarter", cement, 1.25, 9.9, 10, 60},
		{"20 %", twenty, 1, 2.9, 3, 72},
		{"30 %", thirty, 1, 4.6, 5, 70},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := must[figuring.Batch](t)(c.mix.For(annulus, c.over))
			near(t, "bags before rounding", b.BagsUsed, c.used, 0.051)
			near(t, "water, gal", inGal(b.Water), c.water, 1e-9)
			near(t, "dry, lb", records.Pound.FromBase(float64(b.Dry)), float64(c.bags)*records.Pound.FromBase(float64(c.mix.Bag)), 1e-9)
			if b.Bags != c.bags || b.Makes < b.Grout {
				t.Errorf("%d bags that make %v for %v, want %d", b.Bags, b.Makes, b.Grout, c.bags)
			}
			lines := b.Lines("annulus and overrun")
			if len(lines) != 2 || lines[0].Quantity != float64(c.bags) || lines[1].Unit != records.Litre || lines[1].Quantity != float64(b.Water) {
				t.Errorf("lines %+v", lines)
			}
		})
	}
	whole := must[figuring.Batch](t)(cement.For(cement.Yield*3, 1))
	if whole.Bags != 3 {
		t.Errorf("three sacks' worth takes %d", whole.Bags)
	}
	none := must[figuring.Batch](t)(cement.For(0, 1.3))
	if none.Bags != 0 || none.Water != 0 {
		t.Errorf("nothing to fill takes %d", none.Bags)
	}
	short := must[figuring.Batch](t)(cement.For(100, 0.9))
	if !strings.Contains(short.Working.Caution, "below 1") {
		t.Errorf("an overrun below 1 is not cautioned against: %q", short.Working.Caution)
	}
}

// 6 gallons a 94-lb sack at most: COMAR 26.04.04.19 and 12VAC5-630-400; 5 to
// 6 in Kern County; at least 20 % bentonite solids in Maryland.
func TestMixLimits(t *testing.T) {
	broken := func(m figuring.Mix) string {
		var places []string
		for _, l := range m.Broken(figuring.MixLimits()) {
			places = append(places, l.Place)
		}
		return strings.Join(places, "; ")
	}
	for _, c := range []struct {
		water float64
		want  string
	}{
		{6, ""}, {5.5, ""},
		{6.2, "Maryland; Virginia; Minnesota; Kern County, California"},
		{7, "Maryland; Virginia; Minnesota; Kern County, California; Contra Costa County, California"},
		{4.8, "Kern County, California"},
	} {
		if got := broken(must[figuring.Mix](t)(figuring.NeatCement(gal(c.water)))); got != c.want {
			t.Errorf("%v gal a sack breaks %q, want %q", c.water, got, c.want)
		}
	}
	if got := broken(must[figuring.Mix](t)(figuring.Bentonite(lb(50), gal(24)))); got != "" {
		t.Errorf("20 %% solids breaks %q", got)
	}
	if got := broken(must[figuring.Mix](t)(figuring.Bentonite(lb(50), gal(26)))); got != "Maryland" {
		t.Errorf("18.8 %% solids breaks %q", got)
	}
}
