package figuring

import "tallybook/records"

// NeedRule is one rule of thumb for the water used in a day. Where the rule
// gives one figure, Low and High are alike.
type NeedRule struct {
	ID        string // stable, for links and settings
	Per       string // what is counted: "person", "bedroom", "dairy cow"
	Low, High records.Volume
	Place     string // where it holds
	Source    Source
}

// NeedRules lists rules of thumb with the place they hold. None of them is a
// default: the caller chooses, and shows which.
func NeedRules() []NeedRule {
	rule := func(id, per string, lowGal, highGal float64, place, source string, mark Mark) NeedRule {
		return NeedRule{id, per, gallons(lowGal), gallons(highGal), place, Source{source, mark}}
	}
	const (
		epa   = "US EPA manuals of individual water supply systems (EPA 570/9-82-004 and later)"
		stock = "US EPA manuals of individual water supply systems, planning guide for water use"
		us    = "United States, advice"
	)
	return []NeedRule{
		{"person-gwp", "person", 300, 300, "United States, mean domestic use", Source{"Groundwater Project, Domestic Wells (2022), box 1, after Dieter and Maupin 2017", Read}},
		rule("person-watersense", "person", 82, 82, us, "US EPA WaterSense", Copied),
		rule("person-usda", "person", 50, 100, us, "USDA water-systems handbook", Copied),
		rule("person-epa", "person", 50, 75, us, epa, Remembered),
		rule("bedroom-ny", "bedroom", 110, 110, "New York", "New York Department of Health, fact sheet 2", Read),
		rule("bedroom-nc", "bedroom", 120, 120, "Orange County, North Carolina", "county report: 360, 480, 600 gallons a day for 3, 4, 5 bedrooms", Read),
		rule("bedroom-va", "bedroom", 150, 150, "Virginia", "12VAC5-610-1140", Read),
		rule("bedroom-southborough", "bedroom", 200, 200, "Southborough, Massachusetts", "town code 228-5", Read),
		rule("dairy-cow-epa", "dairy cow, washing included", 35, 35, us, stock, Remembered),
		rule("beef-epa", "head of beef cattle or dry cow", 12, 12, us, stock, Remembered),
		rule("horse-epa", "horse", 12, 12, us, stock, Remembered),
		rule("hog-epa", "hog", 4, 4, us, stock, Remembered),
		rule("sheep-epa", "sheep or goat", 2, 2, us, stock, Remembered),
		rule("chickens-epa", "hundred chickens", 5, 10, us, stock, Remembered),
	}
}

const needLimits = "a rule of thumb for a mean day: gardens, pools, heat pumps, leaks and hot weather come on top; ask what is planned for later"

// Need is the water used in a day, litres.
type Need struct {
	Low, High records.Volume
	Working   Working
}

// For is a number of persons, bedrooms or animals times the rule's figure.
func (r NeedRule) For(number float64) (Need, error) {
	err := firstOf(within("number", "the number", number, 0, 1e6, false),
		anyVolume("low_l", "the rule's figure", r.Low), anyVolume("high_l", "the rule's figure", r.High))
	if err == nil && r.High < r.Low {
		err = bad("high_l", "the rule's upper figure is below its lower one: exchange them")
	}
	if err != nil {
		return Need{}, err
	}
	return Need{
		Low: r.Low * records.Volume(number), High: r.High * records.Volume(number),
		Working: Working{
			Title:   "need for water in a day",
			Formula: "number x figure for each",
			Inputs:  []Input{count("number, each a "+r.Per, number), volume("for each, low", r.Low), volume("for each, high", r.High)},
			Sources: []Source{{r.Source.Text + "; holds in: " + r.Place, r.Source.Mark}},
			Limits:  needLimits,
		},
	}, nil
}

// Together adds needs, as of a household and its animals.
func Together(needs ...Need) Need {
	sum := Need{Working: Working{Title: "need for water in a day", Formula: "the sum of the needs", Limits: needLimits}}
	for _, n := range needs {
		sum.Low, sum.High = sum.Low+n.Low, sum.High+n.High
		sum.Working.Inputs = append(sum.Working.Inputs, n.Working.Inputs...)
		sum.Working.Sources = append(sum.Working.Sources, n.Working.Sources...)
	}
	return sum
}

// Sustained is the flow that gives a volume over a time, L/s: a day's need
// over 24 hours is the least yield that can ever do, over 12 or 6 hours one
// that leaves the well rest.
func Sustained(of records.Volume, over records.Minutes) (Figure[records.Flow], error) {
	if err := firstOf(anyVolume("volume_l", "the volume", of), someMinutes("over_min", "the time", over)); err != nil {
		return Figure[records.Flow]{}, err
	}
	return Figure[records.Flow]{
		Value: records.Flow(float64(of) / (float64(over) * 60)),
		Working: Working{
			Title:   "sustained flow",
			Formula: "volume / time",
			Inputs:  []Input{volume("volume", of), minutes("time", over)},
			Sources: []Source{{"arithmetic", Computed}},
			Limits:  "a mean: what is drawn at the busiest hour is several times more and must come from storage",
		},
	}, nil
}

// Fixture is a tap or machine and the flow it draws while it runs.
type Fixture struct {
	Name   string
	Flow   records.Flow
	Source Source
}

// Fixtures lists flows of taps and machines.
func Fixtures() []Fixture {
	usda := Source{"USDA water-systems handbook", Copied}
	var out []Fixture
	for _, f := range []struct {
		name string
		gpm  float64
	}{
		{"clothes washer", 5}, {"shower", 5}, {"kitchen sink", 3}, {"toilet", 3},
		{"lavatory", 2}, {"dishwasher", 2}, {"hose", 5}, {"filter backwash", 10},
	} {
		out = append(out, Fixture{f.name, gallonsPerMinute(f.gpm), usda})
	}
	return out
}

// Peak is the flow of the fixtures that run at the same moment, L/s.
func Peak(running ...Fixture) (Figure[records.Flow], error) {
	out := Figure[records.Flow]{Working: Working{
		Title:   "peak demand",
		Formula: "the sum of what runs at the same moment",
		Limits:  "newer fixtures draw less than these; the pump and the pipe may not let so much through",
	}}
	for _, f := range running {
		if err := anyFlow("flow_lps", "the flow of "+f.Name, f.Flow); err != nil {
			return Figure[records.Flow]{}, err
		}
		out.Value += f.Flow
		out.Working.Inputs = append(out.Working.Inputs, flow(f.Name, f.Flow))
		out.Working.addSource(f.Source)
	}
	return out, nil
}

func (w *Working) addSource(s Source) {
	for _, have := range w.Sources {
		if have == s {
			return
		}
	}
	w.Sources = append(w.Sources, s)
}
