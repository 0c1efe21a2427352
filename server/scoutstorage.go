package server

import (
	"fmt"
	"html/template"
	"math"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/figuring"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// storageView is whether yield and storage carry a day.
type storageView struct {
	Lead     string
	Ways     []string
	Chart    template.HTML
	ChartSay string
	Working  *workingView
	Cautions []string
}

// workingView is how a figure came about.
type workingView struct {
	Title, Formula, Limits string
	Inputs                 []string
	Sources                []string
}

func volumeWords(v records.Volume, u say.System) string { return u.Volume(records.Of(v)) }

func storageViewOf(s *desk.Scouting, u say.System, theme draw.Theme) *storageView {
	st := s.Storage
	if st == nil {
		return nil
	}
	v := &storageView{}
	day := volumeWords(st.Pattern.Volume(), u)
	peak := u.FlowFigure(float64(st.Peak)) + " " + u.FlowUnit().Symbol()
	v.Lead = fmt.Sprintf("%d in 20 such wells carry a day of %s, drawn %s with a peak of %s, from what the hole holds and what the rock gives.", inTwenty(st.Alone), day, st.Pattern.Name, peak)
	if st.Tank > 0 {
		v.Ways = append(v.Ways, fmt.Sprintf("With a tank of %s: %d in 20.", volumeWords(st.Tank, u), inTwenty(st.WithTank)))
	}
	switch {
	case math.IsNaN(float64(st.Enough)):
		v.Ways = append(v.Ways, "No tank makes it 16 in 20: too many of these wells give less in a day than is used in one.")
	case st.Enough > 0:
		v.Ways = append(v.Ways, fmt.Sprintf("A tank of about %s makes it 16 in 20.", volumeWords(st.Enough, u)))
	}
	if st.Alone < 0.995 {
		v.Ways = append(v.Ways, fmt.Sprintf("If a later hydrofracture added %s (the low end of what is reported; some wells gain nothing): %d in 20.",
			u.FlowFigure(float64(st.Gain.Low))+" "+u.FlowUnit().Symbol(), inTwenty(st.Fractured)))
	}
	if st.Middle != nil {
		if full := st.Middle.Supply.Hole + st.Middle.Supply.Tank; st.Middle.Day.Lowest < full*9/10 {
			v.Chart = template.HTML(draw.DrawChart(dayChart(st, u), theme, "day")) //nolint:gosec // escaped by package draw
		}
		v.ChartSay = fmt.Sprintf("The middle one of these wells holds %s and gives %s %s; its store is lowest at %s, with %s left.",
			volumeWords(st.Middle.Supply.Hole, u), u.FlowFigure(float64(st.Middle.Supply.Yield)), u.FlowUnit().Symbol(), clock(st.Middle.Day.LowestAt), volumeWords(st.Middle.Day.Lowest, u))
		v.Working = workingOf(&st.Middle.Day.Working, u)
		if c := st.Middle.Day.Working.Caution; c != "" {
			v.Cautions = append(v.Cautions, c)
		}
	}
	return v
}

func clock(m records.Minutes) string {
	at := int(math.Mod(float64(m), 1440))
	return fmt.Sprintf("%d:%02d", at/60, at%60)
}

// dayChart draws what stands in the hole through a day.
func dayChart(st *desk.StorageOutlook, u say.System) *draw.Chart {
	unit := u.VolumeUnit()
	levels := st.Middle.Day.Levels
	level := draw.ChartMark{Kind: draw.CurveMark, Tone: draw.WaterTone}
	band := draw.ChartMark{Kind: draw.BandMark, Tone: draw.WaterTone}
	for i := 0; i < len(levels); i += 10 {
		x, y := float64(i)/60, unit.FromBase(float64(levels[i].Hole+levels[i].Tank))
		level.X, level.Y = append(level.X, x), append(level.Y, y)
		band.X, band.Low, band.High = append(band.X, x), append(band.Low, 0), append(band.High, y)
	}
	hour := func(v float64) string { return fmt.Sprintf("%.0f", v) }
	c := &draw.Chart{
		Title: "What stands in the hole through a day", Desc: "The water above the pump, hour by hour.", W: 560, H: 230,
		X:     draw.ChartAxis{Label: "hour of the day", Low: 0, High: 24, Figure: hour, Ticks: []float64{0, 6, 12, 18, 24}},
		Y:     draw.ChartAxis{Label: "above the pump, " + unitPlural(u), Low: 0, High: 1.08 * unit.FromBase(float64(st.Middle.Supply.Hole+st.Middle.Supply.Tank)), Figure: func(v float64) string { return u.Figure(v, 0) }},
		Marks: []draw.ChartMark{band, level},
	}
	return c
}

func unitPlural(u say.System) string {
	if u == say.SI {
		return "litres"
	}
	return "gallons"
}

// workingOf sets out how a figure came about, in the reader's units.
func workingOf(w *figuring.Working, u say.System) *workingView {
	v := &workingView{Title: w.Title, Formula: w.Formula, Limits: w.Limits}
	for _, in := range w.Inputs {
		v.Inputs = append(v.Inputs, in.Name+" "+quantityWords(in.Value, in.Unit, u))
	}
	for _, s := range w.Sources {
		v.Sources = append(v.Sources, s.String())
	}
	return v
}

// quantityWords writes a quantity given in a base unit in the reader's own.
func quantityWords(v float64, unit records.Unit, u say.System) string {
	shown := unit
	switch unit {
	case records.Metre:
		shown = u.LengthUnit()
	case records.Millimetre:
		shown = u.DiameterUnit()
	case records.LitrePerSecond:
		shown = u.FlowUnit()
	case records.Litre:
		shown = u.VolumeUnit()
	case records.NoUnit:
		return trimFloat(v, 3)
	}
	return trimFloat(shown.FromBase(unit.ToBase(v)), 2) + " " + shown.Symbol()
}
