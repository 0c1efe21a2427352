package records_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// byMaterial reads the ground from Stratum.Material, which in these tests
// names the class itself.
type byMaterial struct{}

func (byMaterial) Ground(s *records.Stratum) records.Ground {
	c, err := records.ParseClass(s.Material)
	if err != nil {
		c = records.ClassUnknown
	}
	return records.Ground{Material: s.Material, Class: c, Index: uint8(c)}
}

func (byMaterial) Version() string { return "test" }

type layer struct {
	top, bottom float64
	class       string
}

func wellOf(layers ...layer) *records.Well {
	w := &records.Well{}
	for _, l := range layers {
		w.Strata = append(w.Strata, records.Stratum{
			Top: records.Of(records.Depth(l.top)), Bottom: records.Of(records.Depth(l.bottom)), Material: l.class,
		})
	}
	return w
}

func cased(w *records.Well, seat, total float64) *records.Well {
	w.Casing = []records.Casing{{From: records.Of[records.Depth](-0.5), To: records.Of(records.Depth(seat))}}
	w.TotalDepth = records.Of(records.Depth(total))
	return w
}

func stated(w *records.Well, a records.Amount[records.Depth]) *records.Well {
	w.Bedrock = a
	return w
}

// The expected depths follow from the rule in words (Derive's comment); the
// thresholds are ours, no source.
func TestDepthToSoundBedrock(t *testing.T) {
	type depth = records.Depth
	of, about := records.Of[depth], records.Roughly[depth]
	more, between := records.MoreThan[depth], records.Within[depth]
	var missing records.Amount[depth]
	for name, c := range map[string]struct {
		well     *records.Well
		want     records.Amount[depth]
		source   records.PickSource
		disagree bool
	}{
		"plain contact":         {well: wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), want: of(12)},
		"rock at the surface":   {well: wellOf(layer{0, 60, "rock"}), want: of(0)},
		"one interval of soil":  {well: wellOf(layer{0, 30, "soil"}), want: more(30)},
		"ends in overburden":    {well: wellOf(layer{0, 10, "soil"}, layer{10, 40, "soil"}), want: more(40)},
		"empty log":             {well: wellOf(), want: missing, source: records.FromNothing},
		"total depth alone":     {well: &records.Well{TotalDepth: of(80)}, want: missing, source: records.FromNothing},
		"several rocks":         {well: wellOf(layer{0, 5, "soil"}, layer{5, 20, "rock"}, layer{20, 80, "rock"}), want: of(5)},
		"not in order of depth": {well: wellOf(layer{12, 60, "rock"}, layer{0, 4, "soil"}, layer{4, 12, "soil"}), want: of(12)},

		"a ledge over sand over rock":     {well: wellOf(layer{0, 8, "soil"}, layer{8, 10, "rock"}, layer{10, 18, "soil"}, layer{18, 60, "rock"}), want: of(18)},
		"a thick ledge over thick sand":   {well: wellOf(layer{0, 8, "soil"}, layer{8, 16, "rock"}, layer{16, 20, "soil"}, layer{20, 60, "rock"}), want: of(20)},
		"a ledge and the log ends in it":  {well: wellOf(layer{0, 8, "soil"}, layer{8, 10, "rock"}, layer{10, 18, "soil"}), want: more(18)},
		"boulders over gravel under lava": {well: wellOf(layer{0, 3, "soil"}, layer{3, 20, "rock"}, layer{20, 24, "soil"}, layer{24, 31, "soil"}), want: more(31)},
		"lava, boulders, gravel, lava":    {well: wellOf(layer{0, 20, "rock"}, layer{20, 24, "soil"}, layer{24, 31, "soil"}, layer{31, 70, "rock"}), want: of(31)},

		"a soft zone within rock":           {well: wellOf(layer{0, 6, "soil"}, layer{6, 20, "rock"}, layer{20, 24, "transition"}, layer{24, 60, "rock"}), want: of(6)},
		"a soft zone at the foot":           {well: wellOf(layer{0, 6, "soil"}, layer{6, 20, "rock"}, layer{20, 24, "transition"}), want: of(6)},
		"saprolite grading into rock":       {well: wellOf(layer{0, 3, "soil"}, layer{3, 15, "transition"}, layer{15, 60, "rock"}), want: of(15)},
		"ends in saprolite":                 {well: wellOf(layer{0, 3, "soil"}, layer{3, 15, "transition"}), want: more(15)},
		"a corestone in saprolite":          {well: wellOf(layer{0, 3, "soil"}, layer{3, 4, "rock"}, layer{4, 15, "transition"}, layer{15, 60, "rock"}), want: of(15)},
		"a weathered seam under the top":    {well: wellOf(layer{0, 3, "soil"}, layer{3, 5, "rock"}, layer{5, 6, "transition"}, layer{6, 60, "rock"}), want: of(3)},
		"soil over saprolite with no depth": {well: wellOf(layer{0, 3, "transition"}, layer{3, 9, "soil"}, layer{9, 30, "rock"}), want: of(9)},

		"a thin clay seam deep in granite":    {well: wellOf(layer{0, 6, "soil"}, layer{6, 40, "rock"}, layer{40, 41, "soil"}, layer{41, 90, "rock"}), want: of(6)},
		"a seam of 1.5 m is too thick":        {well: wellOf(layer{0, 6, "soil"}, layer{6, 20, "rock"}, layer{20, 21.5, "soil"}, layer{21.5, 90, "rock"}), want: of(21.5)},
		"five feet of mud deep in granite":    {well: wellOf(layer{0, 6, "soil"}, layer{6, 150, "rock"}, layer{150, 151.524, "soil"}, layer{151.524, 160, "rock"}), want: of(6)},
		"twelve feet of mud deep in granite":  {well: wellOf(layer{0, 6, "soil"}, layer{6, 150, "rock"}, layer{150, 153.6, "soil"}, layer{153.6, 160, "rock"}), want: of(153.6)},
		"a seam under 3 m of rock":            {well: wellOf(layer{0, 6, "soil"}, layer{6, 9, "rock"}, layer{9, 10, "soil"}, layer{10, 90, "rock"}), want: of(6)},
		"a seam under 2.9 m of rock":          {well: wellOf(layer{0, 6, "soil"}, layer{6, 8.9, "rock"}, layer{8.9, 9.9, "soil"}, layer{9.9, 90, "rock"}), want: of(9.9)},
		"two seams that lie together":         {well: wellOf(layer{0, 6, "soil"}, layer{6, 20, "rock"}, layer{20, 21, "soil"}, layer{21, 22, "soil"}, layer{22, 90, "rock"}), want: of(22)},
		"seams with a void between":           {well: wellOf(layer{0, 6, "soil"}, layer{6, 40, "rock"}, layer{40, 40.5, "soil"}, layer{40.5, 43, "void"}, layer{43, 43.5, "soil"}, layer{43.5, 90, "rock"}), want: of(43.5)},
		"a thin seam at the foot, thick rock": {well: wellOf(layer{0, 6, "soil"}, layer{6, 40, "rock"}, layer{40, 40.6, "soil"}), want: about(6)},
		"a thin seam at the foot, thin rock":  {well: wellOf(layer{0, 6, "soil"}, layer{6, 12, "rock"}, layer{12, 12.6, "soil"}), want: more(12.6)},

		"two feet of rock at the bottom":       {well: wellOf(layer{0, 12, "soil"}, layer{12, 12.6096, "rock"}), want: about(12)},
		"2.9 m of rock at the bottom":          {well: wellOf(layer{0, 12, "soil"}, layer{12, 14.9, "rock"}), want: about(12)},
		"3 m of rock at the bottom":            {well: wellOf(layer{0, 12.3, "soil"}, layer{12.3, 15.3, "rock"}), want: of(12.3)},
		"two feet of rock, the seat agrees":    {well: cased(wellOf(layer{0, 12, "soil"}, layer{12, 12.6, "rock"}), 12.3, 12.6), want: of(12)},
		"two feet of rock, the seat elsewhere": {well: cased(wellOf(layer{0, 12, "soil"}, layer{12, 12.6, "rock"}), 6, 12.6), want: about(12), disagree: true},

		"a gap at the contact":            {well: wellOf(layer{0, 10, "soil"}, layer{14, 60, "rock"}), want: between(10, 14)},
		"the first metres not logged":     {well: wellOf(layer{5, 60, "rock"}), want: between(0, 5)},
		"a gap in the overburden":         {well: wellOf(layer{0, 4, "soil"}, layer{6, 10, "soil"}, layer{10, 60, "rock"}), want: of(10)},
		"a gap deep in the rock":          {well: wellOf(layer{0, 10, "soil"}, layer{10, 30, "rock"}, layer{34, 60, "rock"}), want: about(10)},
		"a gap under a little rock":       {well: wellOf(layer{0, 10, "soil"}, layer{10, 12, "rock"}, layer{20, 60, "rock"}), want: between(10, 20)},
		"a gap that is only rounding":     {well: wellOf(layer{0, 10, "soil"}, layer{10.1, 60, "rock"}), want: of(10.1)},
		"soil and rock logged twice over": {well: wellOf(layer{0, 14, "soil"}, layer{10, 60, "rock"}), want: between(10, 14)},

		"unknown at the contact":          {well: wellOf(layer{0, 10, "soil"}, layer{10, 15, "unknown"}, layer{15, 60, "rock"}), want: between(10, 15)},
		"unknown above saprolite":         {well: wellOf(layer{0, 10, "unknown"}, layer{10, 15, "transition"}, layer{15, 60, "rock"}), want: of(15)},
		"unknown deep in the rock":        {well: wellOf(layer{0, 10, "soil"}, layer{10, 40, "rock"}, layer{40, 60, "unknown"}, layer{60, 90, "rock"}), want: about(10)},
		"a thin unknown seam in the rock": {well: wellOf(layer{0, 10, "soil"}, layer{10, 40, "rock"}, layer{40, 41, "unknown"}, layer{41, 90, "rock"}), want: of(10)},
		"unknown above a seam":            {well: wellOf(layer{0, 0.75, "soil"}, layer{0.75, 3.75, "rock"}, layer{3.75, 4.25, "unknown"}, layer{4.25, 4.75, "soil"}, layer{4.75, 5.25, "soil"}, layer{5.25, 9, "rock"}), want: about(0.75)},
		"unknown under a little rock":     {well: wellOf(layer{0, 10, "soil"}, layer{10, 11, "rock"}, layer{11, 60, "unknown"}), want: more(10)},
		"unknown to the end":              {well: wellOf(layer{0, 10, "soil"}, layer{10, 60, "unknown"}), want: more(10)},
		"nothing understood":              {well: wellOf(layer{0, 60, "unknown"}), want: missing, source: records.FromNothing},

		"void in rock":         {well: wellOf(layer{0, 10, "soil"}, layer{10, 30, "rock"}, layer{30, 33, "void"}, layer{33, 60, "rock"}), want: of(10)},
		"void at the contact":  {well: wellOf(layer{0, 10, "soil"}, layer{10, 13, "void"}, layer{13, 60, "rock"}), want: of(13)},
		"ends in a void":       {well: wellOf(layer{0, 10, "soil"}, layer{10, 30, "rock"}, layer{30, 33, "void"}), want: of(10)},
		"mud in a cave":        {well: wellOf(layer{0, 2, "soil"}, layer{2, 30, "rock"}, layer{30, 33, "void"}, layer{33, 34, "soil"}, layer{34, 60, "rock"}), want: of(2)},
		"only a void and rock": {well: wellOf(layer{0, 3, "void"}, layer{3, 30, "rock"}), want: of(3)},

		"a note without thickness":        {well: wellOf(layer{0, 10, "soil"}, layer{10, 60, "rock"}, layer{30, 30, "soil"}), want: of(10)},
		"a note of soil at the foot":      {well: wellOf(layer{0, 10, "soil"}, layer{10, 60, "rock"}, layer{60, 60, "soil"}), want: of(10)},
		"rock met and not followed":       {well: wellOf(layer{0, 12, "soil"}, layer{12, 12, "rock"}), want: about(12)},
		"an interval that runs backwards": {well: wellOf(layer{0, 10, "soil"}, layer{60, 10, "rock"}), want: more(10)},
		"depths that are no numbers":      {well: wellOf(layer{0, 10, "soil"}, layer{10, math.NaN(), "rock"}), want: more(10)},

		"stated alone":                        {well: stated(&records.Well{}, of(20)), want: of(20), source: records.FromStated},
		"stated bound alone":                  {well: stated(&records.Well{}, more(20)), want: more(20), source: records.FromStated},
		"stated and nothing understood":       {well: stated(wellOf(layer{0, 60, "unknown"}), of(20)), want: of(20), source: records.FromStated},
		"stated agrees":                       {well: stated(wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), of(12.5)), want: of(12)},
		"stated contradicts":                  {well: stated(wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), of(20)), want: of(12), disagree: true},
		"stated not reached contradicts":      {well: stated(wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), more(60)), want: of(12), disagree: true},
		"stated lies in the gap":              {well: stated(wellOf(layer{0, 10, "soil"}, layer{14, 60, "rock"}), of(11)), want: of(11), source: records.FromStated},
		"stated lies outside the gap":         {well: stated(wellOf(layer{0, 10, "soil"}, layer{14, 60, "rock"}), of(30)), want: between(10, 14), disagree: true},
		"stated below a log in overburden":    {well: stated(wellOf(layer{0, 40, "soil"}), of(44)), want: of(44), source: records.FromStated},
		"stated above a log in overburden":    {well: stated(wellOf(layer{0, 40, "soil"}), of(20)), want: more(40), disagree: true},
		"stated not reached, deeper than log": {well: stated(wellOf(layer{0, 40, "soil"}), more(55)), want: more(55), source: records.FromStated},

		"the seat agrees":           {well: cased(wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), 15, 60), want: of(12)},
		"the seat is above rock":    {well: cased(wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), 6, 60), want: of(12), disagree: true},
		"the seat alone is no pick": {well: cased(&records.Well{}, 15, 60), want: missing, source: records.FromNothing},
	} {
		t.Run(name, func(t *testing.T) {
			got := records.DerivePicks(c.well, byMaterial{})
			if diff := cmp.Diff(c.want, got.Bedrock.Depth, ignoreGiven()); diff != "" {
				t.Errorf("depth to sound bedrock (-want +got):\n%s\nwhy: %s", diff, got.Bedrock.Why)
			}
			source := c.source
			if source == records.FromNothing && c.want.Known() {
				source = records.FromStrata
			}
			if got.Bedrock.Source != source {
				t.Errorf("source %v, want %v", got.Bedrock.Source, source)
			}
			if got.Disagree != c.disagree {
				t.Errorf("disagree %v, want %v (%s)", got.Disagree, c.disagree, got.Bedrock.Why)
			}
			for _, p := range []records.Pick{got.FirstRock, got.Bedrock, got.ByStrata, got.ByStated, got.BySeat} {
				if p.Why == "" || strings.ContainsAny(p.Why, "\n%") {
					t.Errorf("why = %q", p.Why)
				}
			}
			if digest := records.Derive(c.well, byMaterial{}, nil); digest.Bedrock.Qualifier != got.Bedrock.Depth.Qualifier || digest.Bedrock.Value != float64(got.Bedrock.Depth.Value) {
				t.Errorf("digest says %+v, the picks %+v", digest.Bedrock, got.Bedrock.Depth)
			}
		})
	}
}

func ignoreGiven() cmp.Option {
	return cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Given" }, cmp.Ignore())
}

func TestBoundsInTheDepthsOfStrata(t *testing.T) {
	type depth = records.Depth
	for name, c := range map[string]struct {
		change func(w *records.Well)
		want   records.Amount[depth]
	}{
		"top about":          {func(w *records.Well) { w.Strata[1].Top = records.Roughly[depth](12) }, records.Roughly[depth](12)},
		"top less than":      {func(w *records.Well) { w.Strata[1].Top = records.Under[depth](14) }, records.Within[depth](12, 14)},
		"top between":        {func(w *records.Well) { w.Strata[1].Top = records.Within[depth](12, 15) }, records.Within[depth](12, 15)},
		"top more than":      {func(w *records.Well) { w.Strata[1].Top = records.MoreThan[depth](12) }, records.Within[depth](12, 60)},
		"last bottom open":   {func(w *records.Well) { w.Strata[1].Bottom = records.MoreThan[depth](60) }, records.Of[depth](12)},
		"top left out":       {func(w *records.Well) { w.Strata[1].Top = records.Amount[depth]{} }, records.Of[depth](12)},
		"first top left out": {func(w *records.Well) { w.Strata[0].Top = records.Amount[depth]{} }, records.Of[depth](12)},
		"bottom left out":    {func(w *records.Well) { w.Strata[0].Bottom = records.Amount[depth]{} }, records.Of[depth](12)},
		"last bottom left out": {func(w *records.Well) {
			w.Strata[1].Bottom = records.Amount[depth]{}
			w.TotalDepth = records.Of[depth](60)
		}, records.Of[depth](12)},
		"no bottoms, no total":    {func(w *records.Well) { w.Strata[1].Bottom = records.Amount[depth]{} }, records.MoreThan[depth](12)},
		"all depths left out":     {func(w *records.Well) { w.Strata = make([]records.Stratum, 3) }, records.Amount[depth]{}},
		"stated depth not finite": {func(w *records.Well) { w.Bedrock = records.Of(depth(math.Inf(1))) }, records.Of[depth](12)},
	} {
		t.Run(name, func(t *testing.T) {
			w := wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"})
			c.change(w)
			got := records.DerivePicks(w, byMaterial{})
			if diff := cmp.Diff(c.want, got.Bedrock.Depth, ignoreGiven()); diff != "" {
				t.Errorf("(-want +got):\n%s\nwhy: %s", diff, got.Bedrock.Why)
			}
		})
	}
}

func TestWhySaysWhichSourceIsUsed(t *testing.T) {
	w := stated(wellOf(layer{0, 12, "soil"}, layer{12, 60, "rock"}), records.Of[records.Depth](24.384))
	got := records.DerivePicks(w, byMaterial{})
	const want = "by the strata: 12 m (39.4 ft), from where the log shows rock to its end at 60 m (196.9 ft); " +
		"against it the stated depth says 24.38 m (80 ft); what was met interval by interval is used"
	if got.Bedrock.Why != want {
		t.Errorf("why:\n%s\nwant:\n%s", got.Bedrock.Why, want)
	}
}

func TestFirstRockAndSeat(t *testing.T) {
	w := cased(wellOf(layer{0, 8, "soil"}, layer{8, 10, "rock"}, layer{10, 18, "soil"}, layer{18, 60, "rock"}), 21, 60)
	w.Casing[0].SocketToRock = records.Of[records.Length](3)
	got := records.DerivePicks(w, byMaterial{})
	if v, ok := got.FirstRock.Depth.Number(); !ok || v != 8 {
		t.Errorf("first rock %+v, want 8", got.FirstRock.Depth)
	}
	if v := got.BySeat.Depth; v.Qualifier != records.About || v.Value != 18 {
		t.Errorf("by seat %+v, want about 18", v)
	}
	w.Strata = nil
	if got := records.DerivePicks(w, byMaterial{}).Bedrock; got.Source != records.FromSeat || got.Depth.Value != 18 {
		t.Errorf("without strata %+v, want about 18 from the seat", got)
	}
	w.Casing[0].SocketToRock = records.Amount[records.Length]{}
	w.Screens = make([]records.Screen, 1)
	if got := records.DerivePicks(w, byMaterial{}).BySeat; got.Depth.Known() {
		t.Errorf("a screened well's casing says %+v of rock", got)
	}
}
