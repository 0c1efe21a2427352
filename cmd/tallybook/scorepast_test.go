package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
)

func TestScoreForward(t *testing.T) {
	db := county(t, 300) // six wells a year from 1970 on
	r := must(t, "score", "--db", db, "--forward", "--at-least", "8,12.5", "--json")
	var a pastAnswer
	if err := json.Unmarshal([]byte(r.out), &a); err != nil {
		t.Fatal(err)
	}
	if a.Forecast != 276 || a.TooEarly != 24 || a.Undated != 0 || a.Unit != "m" || len(a.Years) != 46 || a.Years[0].Year != 1974 || len(a.Ranks) != 10 || a.Choices != nil {
		t.Errorf("%+v", a)
	}
	if a.All.Inside+a.All.Outside+a.All.CannotTell != 276 || a.All.Skill == nil || *a.All.Skill < 0.5 {
		t.Errorf("an even slope: %+v", a.All)
	}
	if len(a.Reliability) != 2 || a.Reliability[1].AtLeast != 12.5 || a.Reliability[0].Tested != 276 || len(a.Reliability[0].Bins) != 10 {
		t.Errorf("reliability %+v", a.Reliability)
	}
	if again := must(t, "score", "--db", db, "--forward", "--at-least", "8,12.5", "--json"); again.out != r.out {
		t.Error("the same data give other numbers")
	}
	// The same in feet: the threshold is in the table's unit.
	var feet pastAnswer
	if err := json.Unmarshal([]byte(must(t, "score", "--db", db, "--forward", "--units", "us", "--at-least", "10", "--json").out), &feet); err != nil {
		t.Fatal(err)
	}
	if got := feet.Reliability[0].AtLeast; got < 3.0479 || got > 3.0481 || feet.Unit != "m" {
		t.Errorf("10 ft are %g %s", got, feet.Unit)
	}
	out := must(t, "score", "--db", db, "--forward", "--units", "us", "--at-least", "30").out
	for _, words := range []string{"ft: each well forecast from the wells of earlier years alone", "276 wells; not forecast: 0 without a date, 24 with too few", "2019", "all ", "cannot be told", "chance of 30 ft or more"} {
		if !strings.Contains(out, words) {
			t.Errorf("%q is not in\n%s", words, out)
		}
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"score", "--db", db, "--forward", "--by", "block"}, "leave one of them out"},
		{[]string{"score", "--db", db, "--at-least", "3"}, "--at-least goes with --forward"},
		{[]string{"score", "--db", db, "--forward", "--at-least=-3"}, "above zero"},
		{[]string{"score", "--db", county(t, 9), "--forward"}, "of 9 wells 9 bear a date"},
	} {
		if r := do(t, c.args...); r.code != exitUsage || !strings.Contains(r.err, c.says) {
			t.Errorf("%v ends with %d and says %q", c.args, r.code, r.err)
		}
	}
	undated := filepath.Join(t.TempDir(), "undated.db")
	must(t, "import", "--db", undated, file(t, "w.ndjson", strings.ReplaceAll(wells(40), `"completed"`, `"remark"`)))
	if r := do(t, "score", "--db", undated, "--forward"); r.code != exitUsage || !strings.Contains(r.err, "none of the 40 wells") || !strings.Contains(r.err, "dates of completion") {
		t.Errorf("without dates it ends with %d and says %q", r.code, r.err)
	}
}

// TestScoreForwardChoosesRanges: with 60 wells a year the choice can be told.
func TestScoreForwardChoosesRanges(t *testing.T) {
	r := must(t, "score", "--db", county(t, 3000), "--forward", "--json")
	var a pastAnswer
	if err := json.Unmarshal([]byte(r.out), &a); err != nil {
		t.Fatal(err)
	}
	best := 0
	for _, c := range a.Choices {
		if c.Best {
			best++
		}
	}
	if len(a.Choices) != 8 || best != 1 {
		t.Errorf("choices %+v", a.Choices)
	}
}
