package lithology_test

import (
	"bufio"
	"cmp"
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"tallybook/records"
	"tallybook/records/lithology"
)

// blindLine is a line of testdata/blind/loglines.jsonl: logs written by somebody
// who had seen neither the reader of logs nor its vocabulary.
type blindLine struct {
	Text      string
	Intervals []blindInterval
	Water     []float64 `json:"water_ft"`
	Refuse    bool
	Level     string
}

type blindInterval struct {
	From  float64 `json:"from_ft"`
	To    float64 `json:"to_ft"`
	Words string
	Class string
}

func blindLines(t *testing.T) (lines []blindLine) {
	t.Helper()
	f, err := os.Open("../../testdata/blind/loglines.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	for s.Scan() {
		var l blindLine
		if err := json.Unmarshal(s.Bytes(), &l); err != nil {
			t.Fatal(err)
		}
		lines = append(lines, l)
	}
	if s.Err() != nil || len(lines) != 300 {
		t.Fatalf("%d lines, %v", len(lines), s.Err())
	}
	return lines
}

// TestBlindLogs scores the reader on them. What counts most is that what it
// takes without doubt is what the writer meant.
func TestBlindLogs(t *testing.T) {
	type score struct{ right, declined, wrong int }
	by := map[string]*score{"easy": {}, "ordinary": {}, "hard": {}, "refuse": {}}
	var classes, same, waters, metWaters, falseWaters int
	v := lithology.Default()
	for _, l := range blindLines(t) {
		s := by[l.Level]
		if l.Refuse {
			s = by["refuse"]
		}
		log := v.ReadLog(l.Text, records.Foot)
		switch {
		case log.Refused():
			s.declined++
			if testing.Verbose() && !l.Refuse {
				t.Logf("declined %q: %v", l.Text, log.Doubts)
			}
			continue
		case !l.Refuse && sameIntervals(log, &l):
			s.right++
		default:
			s.wrong++
			t.Logf("wrong %q: %s", l.Text, intervalsOf(log))
			continue
		}
		slices.SortStableFunc(log.Intervals, func(a, b lithology.LogInterval) int { return cmp.Compare(a.Top.Value, b.Top.Value) })
		for i, in := range log.Intervals {
			classes++
			got := v.Read(l.Text[in.WordsStart:in.WordsEnd] + " " + l.Text[in.AlsoStart:in.AlsoEnd]).Class.String()
			if got == l.Intervals[i].Class {
				same++
			} else if testing.Verbose() {
				t.Logf("class of %q: %s, meant %s", l.Text[in.WordsStart:in.WordsEnd], got, l.Intervals[i].Class)
			}
		}
		met, extra := compareWater(log, l.Water)
		waters, metWaters, falseWaters = waters+len(l.Water), metWaters+met, falseWaters+extra
	}
	var all score
	for _, s := range by {
		all.right, all.wrong = all.right+s.right, all.wrong+s.wrong
	}
	// See testdata/blind/README.md for what the reader came to unseen.
	if all.right < 203 || all.wrong > 1 || by["refuse"].declined != 15 || by["easy"].right != 60 {
		t.Errorf("right %d, wrong %d: it reads less, or more wrongly, than it did", all.right, all.wrong)
	}
	for _, level := range []string{"easy", "ordinary", "hard", "refuse"} {
		t.Logf("%s: %+v", level, *by[level])
	}
	t.Logf("classes: %d of %d as meant; water: %d of %d depths met, %d not meant", same, classes, metWaters, waters, falseWaters)
}

// within is how far a depth may be off: half an inch, for metres turned to feet.
const within = 0.04

func feet(a records.Amount[records.Depth]) float64 {
	v, ok := a.Number()
	if !ok {
		return math.NaN()
	}
	return records.Foot.FromBase(float64(v))
}

func sameIntervals(log *lithology.Log, l *blindLine) bool {
	if len(log.Intervals) != len(l.Intervals) {
		return false
	}
	// The order of the ground counts, not that of the text.
	order := slices.Clone(log.Intervals)
	slices.SortStableFunc(order, func(a, b lithology.LogInterval) int { return cmp.Compare(a.Top.Value, b.Top.Value) })
	slices.SortStableFunc(l.Intervals, func(a, b blindInterval) int { return cmp.Compare(a.From, b.From) })
	for i, in := range order {
		if !(math.Abs(feet(in.Top)-l.Intervals[i].From) <= within) || !(math.Abs(feet(in.Bottom)-l.Intervals[i].To) <= within) {
			return false
		}
	}
	return true
}

func intervalsOf(log *lithology.Log) string {
	out := ""
	for _, in := range log.Intervals {
		out += records.Foot.Symbol() + " " + number(feet(in.Top)) + "-" + number(feet(in.Bottom)) + " " + log.Text[in.WordsStart:in.WordsEnd] + "; "
	}
	return out
}

func number(v float64) string {
	b, err := json.Marshal(math.Round(v*100) / 100)
	if err != nil {
		return "?"
	}
	return string(b)
}

// compareWater counts the depths of water that were met, and those that nobody
// meant.
func compareWater(log *lithology.Log, meant []float64) (met, extra int) {
	left := append([]float64(nil), meant...)
	for _, s := range log.Strikes() {
		d := feet(s.Depth)
		found := false
		for i, m := range left {
			if math.Abs(m-d) <= within {
				left, met, found = append(left[:i], left[i+1:]...), met+1, true
				break
			}
		}
		if !found {
			extra++
		}
	}
	return met, extra
}
