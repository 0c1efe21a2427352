package server

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"tallybook/geo/predict"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Sizes of the charts, and how many standard errors a bar of nine in ten is to
// either side.
const (
	scoreChartW = 560.0
	scoreChartH = 280.0
	nineInTen   = 1.645
)

func percentFigure(v float64) string { return fmt.Sprintf("%.0f\u00a0%%", v) }

func yearFigure(v float64) string { return strconv.Itoa(int(math.Round(v))) }

func drawn(c *draw.Chart, theme draw.Theme, id string) template.HTML {
	c.W, c.H = scoreChartW, scoreChartH
	return template.HTML(draw.DrawChart(c, theme, id)) //nolint:gosec // escaped by package draw
}

// yearsAxis spans the stretches with whole years.
func yearsAxis(spans []predict.PastSpan) draw.ChartAxis {
	a := draw.ChartAxis{Label: "year drilled", Figure: yearFigure}
	if len(spans) == 0 {
		return a
	}
	first, last := spans[0].FirstYear, spans[len(spans)-1].LastYear
	a.Low, a.High = float64(first), float64(last+1)
	step := 1
	for _, s := range []int{1, 2, 5, 10, 20, 50} {
		step = s
		if (last-first)/s <= 7 {
			break
		}
	}
	a.Ticks = []float64{}
	for y := (first + step - 1) / step * step; y <= last; y += step {
		a.Ticks = append(a.Ticks, float64(y))
	}
	return a
}

func middleYear(s *predict.PastSpan) float64 { return float64(s.FirstYear+s.LastYear+1) / 2 }

// heldChart is how often the ranges held, through the years.
func heldChart(sheet *desk.PastSheet, theme draw.Theme) chartView {
	v := chartView{ID: "years", Title: "Did the ranges hold, through the years?"}
	points := draw.ChartMark{Kind: draw.PointsMark}
	low, reach := 1.0, 0
	for i := range sheet.Spans {
		s := &sheet.Spans[i]
		share, se := s.Coverage.Share, s.Coverage.SE()
		if !finite(share) {
			continue
		}
		from, to := max(share-nineInTen*se, 0), min(share+nineInTen*se, 1)
		points.X, points.Y = append(points.X, middleYear(s)), append(points.Y, share*100)
		points.Low, points.High = append(points.Low, from*100), append(points.High, to*100)
		low = min(low, from)
		if from <= 0.8 && to >= 0.8 {
			reach++
		}
	}
	v.Say = fmt.Sprintf("Each point is %d wells or more, in the order in which they were drilled, with ranges as they are set today. The bar of %d of %s holds the promised 80\u00a0%%; nine in ten would.", leastPerPoint(sheet.Spans), reach, count(len(points.X), "point", "points"))
	if len(points.X) == 1 {
		v.Say = "There are wells for one point only: a trend needs twice as many."
	}
	v.SVG = drawn(&draw.Chart{
		Title: v.Title, Desc: v.Say, X: yearsAxis(sheet.Spans),
		Y: draw.ChartAxis{Label: "ranges that held; the line: as promised", Low: min(50, math.Floor(low*10)*10), High: 100, Figure: percentFigure},
		Marks: []draw.ChartMark{
			{Kind: draw.AcrossMark, Tone: draw.SignalTone, Y: []float64{80}, Dashed: true},
			points,
		},
	}, theme, "chart-years")
	v.Terms = "Coverage of the central 80 % range, with bars of 90 % as if wells were independent."
	return v
}

func leastPerPoint(spans []predict.PastSpan) int {
	least := 0
	for i := range spans {
		if n := spans[i].Tested; least == 0 || n < least {
			least = n
		}
	}
	return least
}

// betterChart is how much of the area's error the neighbours took away.
func betterChart(sheet *desk.PastSheet, theme draw.Theme) chartView {
	v := chartView{ID: "better", Title: "Better than the area alone?"}
	points := draw.ChartMark{Kind: draw.PointsMark, Tone: draw.WaterTone}
	lowest, highest, better := 0.0, 0.2, 0
	for i := range sheet.Spans {
		s := &sheet.Spans[i]
		if !finite(s.Skill) || !finite(s.SkillSE) {
			continue
		}
		from, to := s.Skill-nineInTen*s.SkillSE, s.Skill+nineInTen*s.SkillSE
		points.X, points.Y = append(points.X, middleYear(s)), append(points.Y, s.Skill*100)
		points.Low, points.High = append(points.Low, max(from, -1)*100), append(points.High, min(to, 1)*100)
		lowest, highest = min(lowest, max(from, -1)), max(highest, min(to, 1))
		if s.Skill > 0 {
			better++
		}
	}
	v.Say = fmt.Sprintf("Over all years %s. Better in %d of %s.", lessErrorWords(sheet.All.Skill, sheet.All.SkillSE), better, count(len(points.X), "point", "points"))
	v.SVG = drawn(&draw.Chart{
		Title: v.Title, Desc: v.Say, X: yearsAxis(sheet.Spans),
		Y: draw.ChartAxis{Label: "error taken away; the line: the area alone", Low: math.Floor(lowest*5) * 20, High: math.Ceil(highest*5) * 20, Figure: percentFigure},
		Marks: []draw.ChartMark{
			{Kind: draw.AcrossMark, Tone: draw.MutedTone, Y: []float64{0}, Dashed: true},
			points,
		},
	}, theme, "chart-better")
	v.Terms = "Skill: 1 − CRPS of the forecast / CRPS of the area's own spread, the continuous ranked probability score over both. 100 % would be perfect."
	return v
}

// ranksAsk is what a chart of ranks is drawn from.
type ranksAsk struct {
	id, title string
	held      []float64 // outcomes by equal bins
	tested    int
}

// rankShares shares judgements out to bins.
func rankShares(js []predict.Judgement, bins int) []float64 { return predict.RankHistogram(js, bins) }

// rankBand is within how many percent of all a bin lies nine times in ten when
// forecasts are what they say: the binomial's normal approximation.
func rankBand(tested, bins int) (low, high float64) {
	p := 1 / float64(bins)
	se := math.Sqrt(p * (1 - p) / float64(tested))
	return max(p-nineInTen*se, 0) * 100, (p + nineInTen*se) * 100
}

// ranksChart shows where in what was expected the outcomes fell.
func ranksChart(a ranksAsk, theme draw.Theme) chartView {
	v := chartView{ID: a.id, Title: a.title}
	bins := len(a.held)
	low, high := rankBand(a.tested, bins)
	columns := draw.ChartMark{Kind: draw.ColumnsMark, Tone: draw.MutedTone}
	within, top := 0, high
	for b, n := range a.held {
		share := 100 * n / float64(a.tested)
		columns.X, columns.Y = append(columns.X, float64(b)*100/float64(bins)), append(columns.Y, share)
		top = max(top, share)
		if share >= low && share <= high {
			within++
		}
	}
	columns.X = append(columns.X, 100)
	v.Say = fmt.Sprintf("%d of %d columns end in the band where nine in ten would, if forecasts were what they say. %s", within, bins, rankShape(a))
	v.SVG = drawn(&draw.Chart{
		Title: v.Title, Desc: v.Say,
		X: draw.ChartAxis{Label: "of 100 expected outcomes, so many were less", Low: 0, High: 100, Figure: func(x float64) string { return fmt.Sprintf("%.0f", x) }, Ticks: []float64{0, 20, 40, 60, 80, 100}},
		Y: draw.ChartAxis{Label: "of all outcomes", Low: 0, High: math.Ceil(top/5) * 5, Figure: percentFigure},
		Marks: []draw.ChartMark{
			columns,
			{Kind: draw.BandMark, Tone: draw.SignalTone, X: []float64{0, 100}, Low: []float64{low, low}, High: []float64{high, high}},
			{Kind: draw.AcrossMark, Tone: draw.SignalTone, Y: []float64{100 / float64(bins)}, Dashed: true},
		},
	}, theme, "chart-"+a.id)
	v.Terms = "Rank histogram, or histogram of the probability integral transform (PIT). Bounds are shared out over the ranks that they allow (Turnbull's self-consistency)."
	return v
}

// rankShape says in words what the columns show: two standard errors count as
// something.
func rankShape(a ranksAsk) string {
	bins := len(a.held)
	n := float64(a.tested)
	var upper float64
	for b := bins / 2; b < bins; b++ {
		part := a.held[b]
		if bins%2 == 1 && b == bins/2 {
			part /= 2
		}
		upper += part / n
	}
	p := 1 / float64(bins)
	endSE, halfSE := math.Sqrt(p*(1-p)/n), math.Sqrt(0.25/n)
	end := func(b int) int { // how a column at an end differs: -1, 0, 1
		switch d := a.held[b]/n - p; {
		case d > 2*endSE:
			return 1
		case d < -2*endSE:
			return -1
		}
		return 0
	}
	var t string
	switch low, high := end(0), end(bins-1); {
	case low > 0 && high > 0:
		t = "More than expected fell at both ends: the ground was more various than was said."
	case high > 0:
		t = "More than expected came out above nearly all that was said."
	case low > 0:
		t = "More than expected came out below nearly all that was said."
	case low < 0 && high < 0:
		t = "Fewer than expected fell at the ends: more spread was allowed for than there was."
	default:
		t = "No more than expected fell at the ends."
	}
	switch {
	case upper-0.5 > 2*halfSE:
		t += fmt.Sprintf(" %.0f\u00a0%% came out above the middle of what was expected.", upper*100)
	case 0.5-upper > 2*halfSE:
		t += fmt.Sprintf(" %.0f\u00a0%% came out below the middle of what was expected.", (1-upper)*100)
	}
	return t
}

// chancesChart holds the chances of so much or more against how often it came.
func chancesChart(rel *predict.PastReliability, f snapshot.Field, u say.System, theme draw.Theme) chartView {
	amount := amountWords(f, rel.Threshold, u)
	v := chartView{ID: "chances", Title: "When it said 7 in 10, did it come 7 times in 10?"}
	points := draw.ChartMark{Kind: draw.PointsMark}
	within := 0
	for i := range rel.Bins {
		b := &rel.Bins[i]
		if b.Tested == 0 {
			continue
		}
		points.X, points.Y = append(points.X, b.Forecast*100), append(points.Y, b.Observed*100)
		points.Low, points.High = append(points.Low, b.Low*100), append(points.High, b.High*100)
		if b.Consistent() {
			within++
		}
	}
	v.Say = fmt.Sprintf("The chance of %s or more: %d of %s lie on their bar, where nine in ten would if every chance were right.", amount, within, count(len(points.X), "point", "points"))
	if rel.Open > 0 {
		v.Say += " " + count(rel.Open, "well is", "wells are") + " left out: a bound leaves open whether it came."
	}
	axis := draw.ChartAxis{Low: 0, High: 100, Figure: percentFigure, Ticks: []float64{0, 20, 40, 60, 80, 100}}
	x, y := axis, axis
	x.Label, y.Label = "chance that was said", "how often it came"
	v.SVG = drawn(&draw.Chart{
		Title: v.Title, Desc: v.Say, X: x, Y: y,
		Marks: []draw.ChartMark{{Kind: draw.CurveMark, Tone: draw.SignalTone, X: []float64{0, 100}, Y: []float64{0, 100}, Dashed: true}, points},
	}, theme, "chart-chances")
	v.Terms = "Reliability diagram with consistency bars: where a point lies nine times in ten when every chance is right, by drawing the forecasts anew (Bröcker and Smith 2007)."
	return v
}
