package scout

import (
	"cmp"
	"math"
	"slices"

	"tallybook/records"
)

// Strike is water that came in at a depth, or somewhere in a stretch of hole.
type Strike struct {
	// From and To are where it came; equal where the depth is known.
	From, To records.Depth
	// Flow is what it added (not the running total); Missing where nobody
	// wrote how much.
	Flow records.Amount[records.Flow]
}

// compareStrikes orders strikes from the top down.
func compareStrikes(a, b Strike) int {
	if c := cmp.Compare(a.From, b.From); c != 0 {
		return c
	}
	return cmp.Compare(a.To, b.To)
}

// readStrikes takes the record's water strikes as gains, from the top down.
func (n *Neighbour) readStrikes(w *records.Well) {
	bottom, bottomKnown := n.Depth.Number()
	below := 0
	for i := range w.Strikes {
		s := &w.Strikes[i]
		depth := sound(s.Depth)
		if !depth.Known() {
			continue
		}
		low, high := limits(depth)
		if bottomKnown && low > bottom {
			below++
			continue
		}
		if depth.Qualifier == records.LessThan {
			low = min(n.openTop(), high)
		}
		if bottomKnown {
			high = min(high, bottom)
		}
		if math.IsInf(float64(high), 1) {
			high = low
		}
		n.Strikes = append(n.Strikes, Strike{From: low, To: high, Flow: sound(s.Flow)})
	}
	if below > 0 {
		n.note("strikes below the depth as first drilled are left out")
	}
	slices.SortStableFunc(n.Strikes, compareStrikes)
	if n.runningTotals(w.StrikesAs) {
		n.toGains()
	}
}

// runningTotals says whether the flows at the strikes are running totals: as
// stated, else as the final yield tells, and where it does not tell, as fits
// the flows: falling flows are no totals, rising ones are taken as totals
// because that promises less water.
func (n *Neighbour) runningTotals(stated string) bool {
	switch stated {
	case "gain":
		return false
	case "running_total":
		return true
	}
	var sum, last float64
	flows, rising := 0, true
	for _, s := range n.Strikes {
		if f, ok := s.Flow.Number(); ok {
			flows++
			sum += float64(f)
			rising = rising && float64(f) >= last
			last = float64(f)
		}
	}
	if flows < 2 || !rising {
		return false // one flow is the same either way
	}
	if y, ok := n.Yield.Number(); ok {
		total := math.Abs(last-float64(y)) <= math.Abs(sum-float64(y))
		if total {
			n.note("flows at strikes are read as running totals, which fits the final yield")
		} else {
			n.note("flows at strikes are read as gains, which fits the final yield")
		}
		return total
	}
	n.note("nobody wrote whether flows at strikes are gains; they rise, and are read as running totals")
	return true
}

// toGains turns running totals into gains. A total that falls gains nothing;
// a strike without a total shares the next gain evenly with the strike that
// has one.
func (n *Neighbour) toGains() {
	before := records.Flow(0)
	waiting := 0
	for i := range n.Strikes {
		f := n.Strikes[i].Flow
		if !f.Known() {
			waiting++
			continue
		}
		share := max(f.Value-before, 0) / records.Flow(waiting+1)
		for k := i - waiting; k < i; k++ {
			n.Strikes[k].Flow = records.Roughly(share)
		}
		gain := records.Amount[records.Flow]{Qualifier: f.Qualifier, Value: share}
		if f.Qualifier == records.Between {
			gain.High = share + max(f.High-f.Value, 0)
		}
		n.Strikes[i].Flow = gain
		before, waiting = max(before, f.Value), 0
	}
}
