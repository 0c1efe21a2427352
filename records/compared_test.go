package records_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
)

// TestComparison: what a plate may bear is taken from where a record keeps it.
func TestComparison(t *testing.T) {
	exact := func(v float64) records.DigestValue { return records.DigestValue{Value: v, Qualifier: records.Exact} }
	w := &records.Well{
		ID: 7, Revision: 2, Number: "A-1", PermitNumber: "P 2",
		Completed: records.Date{Year: 1990, Month: 5, Day: 2}, Started: records.Date{Year: 1990, Month: 4},
		TotalDepth: records.Of(records.Depth(120)), CompletedDepth: records.Of(records.Depth(118)),
		Casing: []records.Casing{
			{To: records.Of(records.Depth(12)), Diameter: records.Of(records.Diameter(254))},
			{To: records.Of(records.Depth(30)), Diameter: records.Of(records.Diameter(152.4))},
		},
		Bores: []records.Bore{{Diameter: records.Of(records.Diameter(300))}, {Diameter: records.Of(records.Diameter(150))}},
		Pump:  records.Pump{SetDepth: records.Of(records.Depth(90))},
		Yield: records.Within(records.Flow(1), records.Flow(2)),
		Extra: []records.Member{{Name: "remarks", JSON: `"none"`}, {Name: "Well_Tag_No", JSON: `"55210"`}},
	}
	got := w.Comparison()
	want := records.Compared{
		ID: 7, Revision: 2, Lon: math.NaN(), Lat: math.NaN(), Number: "A-1", Permit: "P 2", Tag: "55210",
		Completed: w.Completed, OtherDate: w.Started, Depth: exact(120), OtherDepth: exact(118), Casing: exact(30),
		Pump: exact(90), Diameter: exact(152.4), OtherDiameter: exact(150),
		Yield: records.DigestValue{Value: 1, High: 2, Qualifier: records.Between},
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateNaNs()); diff != "" {
		t.Error(diff)
	}
	// A well that was deepened: a plate fixed before that bears the first depth.
	w.Works = []records.Work{
		{Kind: "drill", TotalDepth: records.Of(records.Depth(80)), Completed: w.Completed},
		{Kind: "deepen", TotalDepth: records.Of(records.Depth(120)), Completed: records.Date{Year: 2001}},
	}
	if got := w.Comparison(); got.OtherDepth != exact(80) || got.OtherDate != (records.Date{Year: 2001}) {
		t.Errorf("deepened: other depth %v, other date %v", got.OtherDepth, got.OtherDate)
	}
}
