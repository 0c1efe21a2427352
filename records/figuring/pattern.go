package figuring

import (
	"math"
	"slices"
	"strings"

	"tallybook/records"
)

// dayMinutes is the minutes in a day.
const dayMinutes = 1440

// Draw is water drawn at a steady flow from a time of day on.
type Draw struct {
	At   records.Minutes // after midnight, 0 to 1440
	Flow records.Flow
	For  records.Minutes // at most a day; past midnight it goes on in the morning of the same pattern
}

// Pattern is a day's demand, repeated every day where several are worked.
// Draws at the same time add up.
type Pattern struct {
	Name   string
	About  string
	Draws  []Draw
	Source Source // empty: as entered by the user
}

func (p Pattern) source() Source {
	s := p.Source
	if s.Mark == 0 {
		s.Mark = Entered
	}
	s.Text = strings.Join(slices.DeleteFunc([]string{"pattern of the day", p.Name, s.Text}, func(part string) bool { return part == "" }), ": ")
	return s
}

// Volume is what the pattern draws in a day.
func (p Pattern) Volume() records.Volume {
	sum := 0.0
	for _, d := range p.Draws {
		sum += drawn(d.Flow, d.For)
	}
	return records.Volume(sum)
}

// Peak is the largest flow at any moment of the day, as the mean of a minute.
func (p Pattern) Peak() (records.Flow, error) {
	byMinute, err := p.minutes()
	if err != nil {
		return 0, err
	}
	most := 0.0
	for _, l := range byMinute {
		most = max(most, l)
	}
	return records.Flow(most / 60), nil
}

// minutes is the litres drawn in each minute of the day. A draw that begins
// within a minute has its share of it.
func (p Pattern) minutes() (*[dayMinutes]float64, error) {
	var out [dayMinutes]float64
	for i, d := range p.Draws {
		err := firstOf(within("at_min", "the time of a draw", float64(d.At), 0, dayMinutes, false),
			anyFlow("flow_lps", "the flow of a draw", d.Flow),
			within("for_min", "the length of a draw", float64(d.For), 0, dayMinutes, false))
		if err != nil {
			return nil, bad("draws", "draw %d: %s", i+1, records.MessageOf(err))
		}
		at, end := float64(d.At), float64(d.At+d.For)
		for at < end {
			minute := math.Floor(at)
			next := min(minute+1, end)
			out[int(minute)%dayMinutes] += float64(d.Flow) * 60 * (next - at)
			at = next
		}
	}
	return &out, nil
}

// Shape is how a day's demand is spread: shares of the day's volume. They add
// up to 1.
type Shape struct {
	ID     string
	Name   string
	About  string
	Shares []Share
	Source Source
}

// Share is a part of the day's volume drawn evenly within a stretch of it.
type Share struct {
	At, For records.Minutes
	Share   float64
}

// Shapes lists patterns of a day. All are our own, made to be plain and on the
// hard side; none was measured. A household's own pattern is better.
func Shapes() []Shape {
	ours := Source{"our own pattern, not measured", Ours}
	const h = 60
	return []Shape{
		{"even", "even", "the same flow all day and night: the mildest there is", []Share{{0, 24 * h, 1}}, ours},
		{"two-peaks", "morning and evening", "35 % between six and eight, 40 % between five and nine in the evening, the rest in between", []Share{{6 * h, 2 * h, 0.35}, {8 * h, 9 * h, 0.20}, {17 * h, 4 * h, 0.40}, {21 * h, 2 * h, 0.05}}, ours},
		{"two-hours", "all within two hours", "the whole day's need between five and seven in the evening: the test that advisers put to a well", []Share{{17 * h, 2 * h, 1}}, ours},
		{"wash-day", "a wash day", "half between eight and noon in four loads, the rest morning and evening", []Share{{6 * h, 2 * h, 0.20}, {8 * h, 30, 0.125}, {9 * h, 30, 0.125}, {10 * h, 30, 0.125}, {11 * h, 30, 0.125}, {12 * h, 5 * h, 0.05}, {17 * h, 4 * h, 0.25}}, ours},
		{"stock", "stock watered twice", "half between six and seven, half between five and six in the evening", []Share{{6 * h, h, 0.5}, {17 * h, h, 0.5}}, ours},
	}
}

// Of spreads a day's volume as the shape has it.
func (s Shape) Of(daily records.Volume) (Pattern, error) {
	if err := anyVolume("daily_l", "the day's need", daily); err != nil {
		return Pattern{}, err
	}
	p := Pattern{Name: s.Name, About: s.About, Source: s.Source}
	for _, part := range s.Shares {
		if err := firstOf(someMinutes("for_min", "the length of a share", part.For), within("share", "a share", part.Share, 0, 1, false)); err != nil {
			return Pattern{}, err
		}
		p.Draws = append(p.Draws, Draw{part.At, records.Flow(float64(daily) * part.Share / (float64(part.For) * 60)), part.For})
	}
	return p, nil
}

// Pattern is the criterion's flow for its time, beginning at a time of day.
func (c Criterion) Pattern(at records.Minutes) Pattern {
	return Pattern{Name: c.Name, Source: c.Source, Draws: []Draw{{at, c.Flow, c.For}}}
}
