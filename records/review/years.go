package review

import (
	"context"
	"fmt"
	"math"
	"slices"

	"tallybook/geo/predict"
	"tallybook/geo/spread"
)

// years tells the middle of the quantity by the year of drilling. Years that
// hold fewer than ten values each are put together, one, two, five or ten at a
// time, the fewest with which most values stand in a stretch that holds ten.
func years(_ context.Context, in *Input) (*Answer, error) {
	f := in.Settings.Field()
	unit := suffix(f)
	a := &Answer{Part: "years"}
	byYear := map[int][]predict.Sample{}
	dated, undated := 0, 0
	for _, r := range in.Rows {
		s, ok := in.sample(r, f)
		switch {
		case !ok:
		case r.Year() == 0:
			undated++
		default:
			y := int(math.Floor(r.Year()))
			byYear[y] = append(byYear[y], s)
			dated++
		}
	}
	a.figure("dated", float64(dated))
	a.figure("undated", float64(undated))
	if dated < 2*LeastForMiddle {
		a.TooFew = fmt.Sprintf("both a date and this are known of %d, and two stretches of %d are the fewest that can be set beside each other", dated, LeastForMiddle)
		return a, nil
	}
	step := stretch(byYear, dated)
	a.figure("years_together", float64(step))
	groups := map[int][]predict.Sample{}
	for y, list := range byYear {
		from := int(math.Floor(float64(y)/float64(step))) * step
		groups[from] = append(groups[from], list...)
	}
	firsts := make([]int, 0, len(groups))
	for y := range groups {
		firsts = append(firsts, y)
	}
	slices.Sort(firsts)
	t := Table{Name: "years", Columns: append([]string{"first_year", "last_year"}, summaryColumns(unit)...)}
	for _, y := range firsts {
		cells, err := summaryCells(groups[y])
		if err != nil {
			return nil, err
		}
		t.Add(append([]Cell{I(y), I(y + step - 1)}, cells...)...)
	}
	a.Tables = []Table{t}
	return a, nil
}

// stretch is how many years are put together: at most a tenth of the values,
// or what is left over at the largest step, stand in a stretch too thin to tell.
func stretch(byYear map[int][]predict.Sample, dated int) int {
	steps := []int{1, 2, 5, 10}
	for _, step := range steps {
		n := map[int]int{}
		for y, list := range byYear {
			n[int(math.Floor(float64(y)/float64(step)))] += len(list)
		}
		thin := 0
		for _, k := range n {
			if k < LeastForMiddle {
				thin += k
			}
		}
		if thin*10 <= dated && len(n) <= 30 {
			return step
		}
	}
	return steps[len(steps)-1]
}

// summaryColumns name what summaryCells gives: counts, quartiles, the middle
// and where it lies 95 times in a hundred. A quantile with is_more beside it is
// known only to be more than that; one with is_less only to be less, and what it
// is sure of begins at none.
func summaryColumns(unit string) []string {
	return []string{"wells", "bounds", "noughts", "q25" + unit, "median" + unit, "q75" + unit,
		"median_low" + unit, "median_high" + unit, "median_is_more", "q75_is_more", "median_is_less"}
}

func yes(b bool) Cell {
	if b {
		return T("yes")
	}
	return Cell{}
}

// summaryCells sums up; of too few it gives the counts alone.
func summaryCells(list []predict.Sample) ([]Cell, error) {
	if len(list) == 0 {
		return []Cell{I(0), I(0), I(0), {}, {}, {}, {}, {}, {}, {}, {}}, nil
	}
	s, err := spread.Of(list)
	if err != nil {
		return nil, err
	}
	counts := []Cell{I(s.N), I(s.Less + s.Greater + s.Between), I(s.Zeros)}
	if s.N < LeastForMiddle {
		return append(counts, Cell{}, Cell{}, Cell{}, Cell{}, Cell{}, Cell{}, Cell{}, Cell{}), nil
	}
	low, high := s.QuantileRange(0.5)
	q25, q50, q75 := s.Quantile(0.25), s.Quantile(0.5), s.Quantile(0.75)
	share, under := s.Below()
	less := func(l spread.Limit) bool { return share > 0 && !l.More && l.Value < under }
	under50 := less(q50)
	if less(low) {
		low.Value = 0
	}
	for _, l := range []*spread.Limit{&q50, &high} {
		if less(*l) {
			l.Value = under
		}
	}
	return append(counts, N(q25.Value), N(q50.Value), N(q75.Value), N(low.Value), N(high.Value), yes(q50.More), yes(q75.More), yes(under50)), nil
}
