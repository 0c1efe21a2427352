package draw

import (
	"testing"

	"tallybook/records"
)

// A number that does not fit is written as 0 and would be found by no test of
// the document, so that none may be.
func TestNoUnfitNumbers(t *testing.T) {
	d := ColumnData{TotalDepth: records.Of(records.Depth(1e300)), Static: records.Of(records.Depth(-1e300))}
	d.measure()
	for _, width := range []float64{350, 820} {
		if n := newColumnSheet(d, Options{Width: width}).render().Unfit(); n != 0 {
			t.Errorf("%d numbers do not fit at %v px", n, width)
		}
	}
	deep := ColumnData{TotalDepth: records.Of(records.Depth(deepestM)), Strata: []StratumView{{Span: Span{0, 1e-9}}, {Span: Span{1e-9, deepestM}}}}
	deep.measure()
	k := &sideSheet{cols: []ColumnData{d, deep}}
	if n := k.render().Unfit(); n != 0 {
		t.Errorf("%d numbers do not fit side by side", n)
	}
}
