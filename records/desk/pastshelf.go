package desk

import (
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// PastSheet is the score of the past of a field, summed up to be shown.
type PastSheet struct {
	*PastScore
	All   predict.PastSummary
	Spans []predict.PastSpan // of years, 30 forecasts each or more
	Ranks []float64          // shared out to ten equal bins
	// Chances is how often 'so much or more' came true as was forecast, at
	// amounts that are round in one unit or the other.
	Chances []predict.PastReliability
}

// PastState is how far the score of the past of a field is.
type PastState struct {
	// Sheet is nil until there is one. Stale says that records have changed
	// since it was made.
	Sheet *PastSheet
	Stale bool
	// Working says that it is being made; Step, Done and Total how far.
	Working     bool
	Step        string
	Done, Total int
	// Err says why there is none.
	Err error
}

// pastShelf keeps the scores of the past, which take seconds on a large set,
// and makes them in the background, one after another.
type pastShelf struct {
	mu      sync.Mutex
	turn    sync.Mutex // held by the one that works
	slots   map[snapshot.Field]*pastSlot
	working sync.WaitGroup
	closed  bool
}

type pastSlot struct {
	sheet  *PastSheet
	err    error
	errAt  int64     // the commit of the records that err is of
	work   *pastWork // nil: nothing is under way
	cancel context.CancelFunc
}

type pastWork struct {
	step        string
	done, total int
	ended       chan struct{}
}

// leastInSpan is how many forecasts a stretch of years holds: the standard
// error of a share of 80 % is then 7 points.
const leastInSpan = 30

// PastSoon gives the score of the past of a field as it stands, from all
// wells, and sees to it that one of the present records will be there. It
// waits for that no longer than it is told.
func (d *Desk) PastSoon(ctx context.Context, actor records.Actor, f snapshot.Field, wait time.Duration) (PastState, error) {
	if err := d.Permit(actor, Look); err != nil {
		return PastState{}, err
	}
	ended := d.pasts.start(d, actor, f)
	if ended != nil && wait > 0 {
		timer := time.NewTimer(wait)
		defer timer.Stop()
		select {
		case <-ended:
		case <-timer.C:
		case <-ctx.Done():
			return PastState{}, ctx.Err()
		}
	}
	return d.pasts.state(f, d.Picture().Content()), nil
}

func (s *pastShelf) state(f snapshot.Field, now int64) PastState {
	s.mu.Lock()
	defer s.mu.Unlock()
	slot := s.slots[f]
	if slot == nil {
		return PastState{}
	}
	st := PastState{Sheet: slot.sheet}
	if slot.err != nil && slot.errAt == now {
		st.Sheet, st.Err = nil, slot.err
	}
	st.Stale = st.Sheet != nil && st.Sheet.Model.Commit != now
	if w := slot.work; w != nil {
		st.Working, st.Step, st.Done, st.Total = true, w.step, w.done, w.total
	}
	return st
}

// start begins to work unless what is there is of the present records, and
// gives what is closed when it ends; nil where there is nothing to do.
func (s *pastShelf) start(d *Desk, actor records.Actor, f snapshot.Field) <-chan struct{} {
	now := d.Picture().Content()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.slots == nil {
		s.slots = map[snapshot.Field]*pastSlot{}
	}
	slot := s.slots[f]
	if slot == nil {
		slot = &pastSlot{}
		s.slots[f] = slot
	}
	switch {
	case slot.work != nil:
		return slot.work.ended
	case s.closed, slot.sheet != nil && slot.sheet.Model.Commit == now, slot.err != nil && slot.errAt == now:
		return nil
	}
	// Whoever asks may go away: the answer is kept for the next.
	ctx, cancel := context.WithCancel(context.Background())
	w := &pastWork{step: "waiting for its turn", ended: make(chan struct{})}
	slot.work, slot.cancel = w, cancel
	s.working.Add(1)
	go func() {
		defer s.working.Done()
		defer close(w.ended)
		s.turn.Lock()
		defer s.turn.Unlock()
		sheet, err := d.pastSheet(ctx, actor, f, func(step string, done, total int) {
			s.mu.Lock()
			defer s.mu.Unlock()
			w.step, w.done, w.total = step, done, total
		})
		cancel()
		s.mu.Lock()
		defer s.mu.Unlock()
		slot.work = nil
		if err != nil {
			if records.CodeOf(err) == records.Internal && !s.closed {
				d.log.Error("scoring the past", "field", f.String(), "err", err)
			}
			slot.err, slot.errAt = err, now
			return
		}
		slot.sheet, slot.err = sheet, nil
	}()
	return w.ended
}

// close ends what is under way.
func (s *pastShelf) close() {
	s.mu.Lock()
	s.closed = true
	for _, slot := range s.slots {
		if slot.cancel != nil {
			slot.cancel()
		}
	}
	s.mu.Unlock()
	s.working.Wait()
}

func (d *Desk) pastSheet(ctx context.Context, actor records.Actor, f snapshot.Field, progress func(step string, done, total int)) (*PastSheet, error) {
	progress("reading the wells", 0, 0)
	m, err := d.Model(ctx, f, &snapshot.Filter{})
	if err != nil {
		return nil, err
	}
	score, err := d.ScorePast(ctx, actor, f, &snapshot.Filter{}, m.RoundAmounts(), progress)
	if err != nil {
		return nil, err
	}
	progress("summing up", 0, 0)
	sheet := &PastSheet{PastScore: score, Ranks: score.RankHistogram(10), Chances: score.Reliability(10)}
	if sheet.All, err = score.Overall(); err != nil {
		return nil, err
	}
	sheet.Spans, err = score.Past.Spans(leastInSpan)
	return sheet, err
}

// RoundAmounts are amounts of the field among the middle of its wells, in the
// base unit, each round in feet or metres, gallons or litres a minute, in
// ascending order: at each the chance of as much or more can be told. There
// are twelve at most.
func (m *Model) RoundAmounts() []float64 {
	var values []float64
	for i := range m.Selection.Rows {
		if v := m.Selection.Value(i); v.Qualifier == records.Exact || v.Qualifier == records.About {
			values = append(values, v.Value)
		}
	}
	if len(values) == 0 {
		return nil
	}
	slices.Sort(values)
	low, high := values[len(values)/5], values[len(values)*4/5]
	units := []records.Unit{records.Foot, records.Metre}
	if m.Field == snapshot.Yield {
		units = []records.Unit{records.GallonPerMinute, records.LitrePerMinute}
	}
	var out []float64
	for _, u := range units {
		for _, v := range roundBetween(u.FromBase(low), u.FromBase(high), m.Field == snapshot.Yield) {
			out = append(out, u.ToBase(v))
		}
	}
	slices.Sort(out)
	return slices.CompactFunc(out, func(a, b float64) bool { return math.Abs(a-b) < 1e-9*b })
}

// roundBetween are at most six round figures from low to high, at even steps
// or, for what spreads by ratios, at 1, 2, 3, 5 and 10 of each ten.
func roundBetween(low, high float64, ratios bool) []float64 {
	var out []float64
	if ratios {
		for p := math.Pow(10, math.Floor(math.Log10(max(low, 0.1)))); p <= high; p *= 10 {
			for _, f := range []float64{1, 2, 3, 5} {
				if v := p * f; v >= low*0.999 && v <= high*1.001 {
					out = append(out, v)
				}
			}
		}
	} else {
		step := math.Pow(10, math.Floor(math.Log10(max(high-low, 1))))
		for _, f := range []float64{0.1, 0.2, 0.5, 1, 2, 5} {
			if (high-low)/(step*f) <= 5 {
				step *= f
				break
			}
		}
		for v := max(math.Ceil(low/step), 1) * step; v <= high*1.001; v += step {
			out = append(out, v)
		}
	}
	if len(out) == 0 && high > 0 {
		out = []float64{math.Max(math.Round(high), 1)}
	}
	for len(out) > 6 {
		out = slices.Delete(out, 0, 1)
	}
	return out
}
