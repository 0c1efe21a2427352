package records_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func picked(set, depth, reason string) records.OwnPick {
	return records.OwnPick{Set: set, Of: records.PickBedrock, Depth: recordstest.Feet[records.Depth](depth), Reason: reason, By: "Reviewer A"}
}

// The plain record's log has rock from 40 ft; see recordstest.Plain. What is
// expected was worked by hand.
func TestTrust(t *testing.T) {
	const foot = 0.3048
	w := recordstest.Plain()
	w.OwnPicks = []records.OwnPick{picked("a", "44", "the ledge is a boulder"), picked("b", ">60", ""), picked("a", "45", "read again"),
		{Set: "a", Of: records.PickStrike, Depth: recordstest.Feet[records.Depth]("97")}}
	w.Unreliable = []records.Doubt{{About: records.DoubtStrata, Reason: "copied from the next lot"}}
	for _, c := range []struct {
		name   string
		trust  records.Trust
		want   records.Amount[records.Depth]
		source records.PickSource
	}{
		{"marked is left out", records.Trust{}, records.Amount[records.Depth]{}, records.FromNothing},
		{"marked is taken in", records.Trust{Marked: true}, records.Of[records.Depth](40 * foot), records.FromStrata},
		{"the later pick of the set counts, marked or not", records.Trust{Picks: "a"}, records.Of[records.Depth](45 * foot), records.FromOwnPick},
		{"a bound stays a bound", records.Trust{Picks: "b", Marked: true}, records.MoreThan[records.Depth](60 * foot), records.FromOwnPick},
		{"a set without a pick here goes by the log", records.Trust{Picks: "c", Marked: true}, records.Of[records.Depth](40 * foot), records.FromStrata},
	} {
		got := c.trust.PicksOf(w, recordstest.ByClass{}).Bedrock
		if got.Depth.Qualifier != c.want.Qualifier || abs(float64(got.Depth.Value-c.want.Value)) > 1e-9 || got.Source != c.source {
			t.Errorf("%s: %v from %v (%s), want %v from %v", c.name, got.Depth, got.Source, got.Why, c.want, c.source)
		}
	}
	if got := w.PickSets(); !cmp.Equal(got, []string{"a", "b"}) {
		t.Errorf("sets %v", got)
	}
}

func abs(v float64) float64 { return max(v, -v) }

func TestTrustOfARecord(t *testing.T) {
	w := recordstest.Full()
	w.Unreliable = nil
	if got := (records.Trust{}).Of(w); got != w {
		t.Error("a record without marks was copied")
	}
	whole := asJSON(w)
	w.Unreliable = []records.Doubt{{About: records.DoubtAll, Reason: "forged"}}
	if got := (records.Trust{Marked: true}).Of(w); got != w {
		t.Error("marks are taken in, and the record was copied")
	}
	c := (records.Trust{}).Of(w)
	if len(c.Strata) != 0 || c.Bedrock.Known() || c.Yield.Known() || len(c.YieldTests) != 0 || c.Strikes[0].Flow.Known() || c.Works[0].Yield.Known() || c.Treatments[0].YieldAfter.Known() || c.Place.Located {
		t.Errorf("something that is marked came through: %s", asJSON(c))
	}
	if c.TotalDepth != w.TotalDepth || len(c.Casing) != len(w.Casing) || len(c.Strikes) != len(w.Strikes) {
		t.Error("something that is not marked was left out")
	}
	w.Unreliable = nil
	if got := asJSON(w); got != whole {
		t.Errorf("the record itself was changed:\n%s", cmp.Diff(whole, got))
	}
}

func TestMarksSetFlags(t *testing.T) {
	all := records.StrataUnreliable | records.YieldUnreliable | records.PositionUnreliable
	for about, want := range map[string]records.DigestFlags{
		"strata": records.StrataUnreliable, "yield": records.YieldUnreliable, "position": records.PositionUnreliable, "all": all,
		"the colour": all, // a word of another program: nothing that is marked slips in
	} {
		w := recordstest.Plain()
		w.Unreliable = []records.Doubt{{About: about, Reason: "r"}}
		if got := records.Derive(w, recordstest.ByClass{}, nil).Flags & records.AnyUnreliable; got != want {
			t.Errorf("%s sets %b, want %b", about, got, want)
		}
	}
}

func TestValidateJudgement(t *testing.T) {
	w := recordstest.Plain()
	w.OwnPicks = []records.OwnPick{picked("a", "300", "r"), picked("a", "40", "r"), picked("", "40", "r"), picked("b", "-3", "r"), {Set: "c", Of: records.PickStrike}, picked("d", ">300", "r")}
	w.Unreliable = []records.Doubt{{About: records.DoubtYield}}
	var got []string
	for _, f := range w.Validate(records.ValidateOptions{Reader: recordstest.ByClass{}}) {
		got = append(got, f.Severity.String()+" "+f.Field)
	}
	want := []string{"warning own_picks[0].depth_m", "warning own_picks[0].of", "warning own_picks[2].set", "refused own_picks[3].depth_m", "warning own_picks[4].depth_m", "warning unreliable[0].reason"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
