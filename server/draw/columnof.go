package draw

import (
	"math"
	"sort"
	"strings"

	"tallybook/records"
)

// ColumnOf makes the drawing's view of a record and the picks derived from it.
// Nothing is dropped silently: a stratum without usable depths is kept in
// words in Unplaced.
func ColumnOf(w *records.Well, picks records.Picks, vocab Grounds) ColumnData {
	d := ColumnData{
		UID: w.UID, Number: plainText(w.Number), Year: w.Completed.Year, Purpose: strings.ReplaceAll(w.Purpose, "_", " "),
		TotalDepth: w.TotalDepth, Static: w.StaticLevel, Yield: w.Yield, PumpM: w.Pump.SetDepth,
		FirstRock: picks.FirstRock, Bedrock: picks.Bedrock, Disagree: picks.Disagree,
	}
	if d.Number == "" {
		d.Number = plainText(w.PermitNumber)
	}
	if v, ok := w.Yield.Number(); ok && v == 0 {
		d.Dry = true
	}
	if e, ok := w.Place.Elevation.Number(); ok && finite(float64(e)) {
		d.HasElevation, d.ElevationM, d.VertDatum = true, float64(e), plainText(w.Place.VertDatum)
	}
	for _, p := range [...]records.Pick{picks.ByStrata, picks.ByStated, picks.BySeat} {
		if _, ok := depthOf(p.Depth); ok && picks.Disagree && p.Source != picks.Bedrock.Source {
			d.Others = append(d.Others, p)
		}
	}
	d.addWorks(w)
	d.standUp(w.Finish.StickUp)
	d.addStrata(w.Strata, vocab)
	d.addJudgement(w)
	d.measure()
	return d
}

// finite says whether a depth can be drawn at all.
func finite(m float64) bool { return math.Abs(m) <= deepestM }

// depthOf gives a depth to draw at, the limit where it is a bound, and
// whether there is one.
func depthOf(a records.Amount[records.Depth]) (float64, bool) {
	if !a.Known() || !finite(float64(a.Value)) {
		return 0, false
	}
	if a.Qualifier == records.Between && finite(float64(a.High)) {
		return float64(a.Value+a.High) / 2, true
	}
	return float64(a.Value), true
}

// spanOf gives an interval to draw; without a top it starts at ground.
func spanOf(from, to records.Amount[records.Depth]) (Span, bool) {
	bottom, ok := depthOf(to)
	if !ok {
		return Span{}, false
	}
	top, ok := depthOf(from)
	if !ok {
		top = min(0, bottom)
	}
	return Span{top, bottom}, top <= bottom
}

func (d *ColumnData) addWorks(w *records.Well) {
	for _, c := range w.Casing {
		if s, ok := spanOf(c.From, c.To); ok {
			dia := c.Diameter
			if !dia.Known() {
				dia = c.OutsideDia
			}
			d.Casing = append(d.Casing, CasingView{s, dia, plainText(c.Material), c.DriveShoe != nil && *c.DriveShoe})
			continue
		}
		d.Undrawn = append(d.Undrawn, "casing")
	}
	for _, c := range w.Screens {
		if s, ok := spanOf(c.From, c.To); ok {
			d.Screens = append(d.Screens, ScreenView{s, c.Slot, plainText(c.Material)})
			continue
		}
		d.Undrawn = append(d.Undrawn, "screen")
	}
	for _, g := range w.Grout {
		if g.Material == "none" {
			continue
		}
		if s, ok := spanOf(g.From, g.To); ok {
			d.Grout = append(d.Grout, GroutView{s, plainText(g.Material)})
			continue
		}
		d.Undrawn = append(d.Undrawn, "grout")
	}
	for _, b := range w.Bores {
		if s, ok := spanOf(b.From, b.To); ok {
			mm, _ := b.Diameter.Number()
			if !(mm >= 0 && mm < 1e5) {
				mm = 0
			}
			d.Bores = append(d.Bores, BoreView{s, float64(mm)})
		}
	}
	for _, s := range w.Strikes {
		if m, ok := depthOf(s.Depth); ok {
			d.Strikes = append(d.Strikes, StrikeView{m, s.Depth.Qualifier != records.Exact, s.Flow, w.StrikesAs})
			continue
		}
		d.Undrawn = append(d.Undrawn, "water met")
	}
	for _, r := range w.Rods {
		s, ok := spanOf(r.From, r.To)
		t, timed := r.Time.Number()
		if rate := (s.BottomM - s.TopM) / float64(t); ok && timed && t > 0 && rate > 0 && rate < 1000 {
			d.Rates = append(d.Rates, RateView{s, rate})
		}
	}
	sort.SliceStable(d.Strikes, func(i, j int) bool { return d.Strikes[i].DepthM < d.Strikes[j].DepthM })
	sort.SliceStable(d.Rates, func(i, j int) bool { return d.Rates[i].TopM < d.Rates[j].TopM })
}

// standUp raises the innermost casing to the stick-up as measured, where the
// casing's own top says nothing of one.
func (d *ColumnData) standUp(stick records.Amount[records.Length]) {
	up, ok := stick.Number()
	if !ok || !(up > 0) || !finite(float64(up)) {
		return
	}
	inner := -1
	for i, c := range d.Casing {
		if c.TopM < 0 {
			return
		}
		if c.TopM > sameM {
			continue
		}
		a, known := c.Diameter.Number()
		if inner < 0 {
			inner = i
		} else if b, both := d.Casing[inner].Diameter.Number(); known && both && a < b {
			inner = i
		}
	}
	if inner >= 0 {
		d.Casing[inner].TopM = -float64(up)
	}
}

func (d *ColumnData) addStrata(strata []records.Stratum, vocab Grounds) {
	last := 0.0
	for i := range strata {
		s := &strata[i]
		top, okTop := depthOf(s.Top)
		bottom, okBottom := depthOf(s.Bottom)
		if !okTop && okBottom {
			top = min(last, bottom)
		}
		if !okBottom && okTop {
			if bottom, okBottom = nextTop(strata[i+1:]); !okBottom || bottom < top {
				if bottom, okBottom = depthOf(d.TotalDepth); bottom < top {
					okBottom = false
				}
			}
		}
		if !okBottom || bottom < top || bottom < 0 {
			d.Unplaced = append(d.Unplaced, plainText(s.Description))
			continue
		}
		g := vocab.Ground(s)
		label := g.Material
		if m, ok := vocab.Material(g.Material); ok {
			label = m.Label
		}
		d.Strata = append(d.Strata, StratumView{
			Span:     Span{max(top, 0), bottom},
			TopAbout: s.Top.Qualifier != records.Exact && top > 0, BottomAbout: s.Bottom.Qualifier != records.Exact,
			Code: g.Material, Label: label, Class: g.Class, Words: s.Description, More: moreOf(s),
		})
		last = bottom
	}
	sort.SliceStable(d.Strata, func(i, j int) bool {
		a, b := d.Strata[i].Span, d.Strata[j].Span
		if a.TopM != b.TopM {
			return a.TopM < b.TopM
		}
		return a.BottomM < b.BottomM
	})
}

func nextTop(rest []records.Stratum) (float64, bool) {
	if len(rest) == 0 {
		return 0, false
	}
	return depthOf(rest[0].Top)
}

// moreOf joins what was recorded of a stratum apart from its description and
// is not already in it.
func moreOf(s *records.Stratum) string {
	said := strings.ToLower(s.Description)
	var more []string
	for _, t := range [...]string{s.Color, s.Hardness, s.Weathering, s.Water} {
		t = plainText(t)
		if t != "" && !strings.Contains(said, strings.ToLower(t)) {
			more = append(more, t)
		}
	}
	return strings.Join(more, ", ")
}

// sameM is how far apart two depths may lie and still be the same contact: a
// foot written in metres to a hundredth is off by up to this.
const sameM = 0.01

// measure finds the bottom of the drawing and the gaps in the log.
func (d *ColumnData) measure() {
	hole, known := depthOf(d.TotalDepth)
	deepest := max(hole, 0)
	see := func(m float64) { deepest = max(deepest, m) }
	for _, s := range d.Strata {
		see(s.BottomM)
	}
	for _, b := range d.Bores {
		see(b.BottomM)
	}
	for _, c := range d.Casing {
		see(c.BottomM)
	}
	for _, s := range d.Screens {
		see(s.BottomM)
	}
	for _, g := range d.Grout {
		see(g.BottomM)
	}
	for _, s := range d.Strikes {
		see(s.DepthM)
	}
	for _, r := range d.Rates {
		see(r.BottomM)
	}
	if m, ok := depthOf(d.PumpM); ok {
		see(m)
	}
	for _, p := range append([]records.Pick{d.Bedrock}, d.Others...) {
		if m, ok := depthOf(p.Depth); ok {
			see(m)
		}
	}
	for i := range d.Own {
		see(d.Own[i].M)
	}
	d.BottomM, d.HoleM = deepest, deepest
	if known && hole > 0 {
		d.HoleM = hole
	}
	end := 0.0
	for _, s := range d.Strata {
		if s.TopM-end > sameM {
			d.Gaps = append(d.Gaps, Span{end, s.TopM})
		}
		end = max(end, s.BottomM)
	}
	if d.HoleM-end > sameM {
		d.Gaps = append(d.Gaps, Span{end, d.HoleM})
	}
}
