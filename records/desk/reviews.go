package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"tallybook/records"
	"tallybook/records/review"
)

// ReviewParts are the questions of a review, in their order.
func (d *Desk) ReviewParts() []review.Part {
	return append(review.Parts(), d.reviewParts()...)
}

// reviewParts are the questions that need what only the desk has: its models
// and scores. Each has a line of its own.
func (d *Desk) reviewParts() []review.Part {
	return spatialParts()
}

// ReviewState is how far a review is.
type ReviewState struct {
	Data     review.Data
	LeftOut  int                       // wells left out of the quantity, since they are marked unreliable
	Answers  map[string]*review.Answer // by part, those that are there
	Errs     map[string]error          // why a part has no answer
	Working  bool
	Step     string // what is being worked, and how far
	Done     int
	Total    int
	Selected int // wells chosen
}

// mostInputs is how many choices of wells are kept: sixteen bytes a well each.
const mostInputs = 6

// mostAnswers is how many answers are kept; the oldest go first.
const mostAnswers = 400

// reviewShelf keeps answers, and makes them in the background: quick ones in
// one row, slow ones in another, so that no chart waits for a million logs.
type reviewShelf struct {
	mu      sync.Mutex
	turns   [2]sync.Mutex // of quick and of slow parts
	slots   map[string]*reviewSlot
	order   []string
	inputs  map[string]*reviewInput
	inOrder []string
	only    map[string]*chosenWells // by the state and the filter
	ctx     context.Context
	cancel  context.CancelFunc
	working sync.WaitGroup
	closed  bool
}

// reviewSlot is one answer.
type reviewSlot struct {
	answer *review.Answer
	err    error
	ended  chan struct{}

	mu          sync.Mutex
	step        string
	done, total int
}

// reviewInput is the wells that a review chose, and what their logs say.
type reviewInput struct {
	once  sync.Once
	err   error
	in    review.Input
	data  review.Data
	turn  sync.Mutex // held by the one that reads logs
	logs  atomic.Pointer[review.Logs]
	owner *Desk
}

// ReviewSoon gives as much of a review as is there, and sees to it that the rest
// will be. It waits for that no longer than it is told.
func (d *Desk) ReviewSoon(ctx context.Context, actor records.Actor, s *review.Settings, wait time.Duration) (*ReviewState, error) {
	names := make([]string, 0, 16)
	for _, p := range d.ReviewParts() {
		names = append(names, p.Name)
	}
	return d.reviewSome(ctx, actor, s, names, wait)
}

// ReviewPart gives one answer, and waits for it no longer than it is told: nil
// where it is not there by then.
func (d *Desk) ReviewPart(ctx context.Context, actor records.Actor, s *review.Settings, part string, wait time.Duration) (*review.Answer, error) {
	st, err := d.reviewSome(ctx, actor, s, []string{part}, wait)
	if err != nil {
		return nil, err
	}
	if err := st.Errs[part]; err != nil {
		return nil, err
	}
	return st.Answers[part], nil
}

// Review works a whole review and waits for all of it. Progress may be nil.
func (d *Desk) Review(ctx context.Context, actor records.Actor, s *review.Settings, progress func(step string, done, total int)) (*review.Document, error) {
	for {
		st, err := d.ReviewSoon(ctx, actor, s, 200*time.Millisecond)
		if err != nil {
			return nil, err
		}
		if progress != nil && st.Working {
			progress(st.Step, st.Done, st.Total)
		}
		if st.Working {
			continue
		}
		doc := &review.Document{Format: review.Format, Settings: s, Data: st.Data}
		for _, p := range d.ReviewParts() {
			if err := st.Errs[p.Name]; err != nil {
				return nil, err
			}
			if a := st.Answers[p.Name]; a != nil {
				doc.Answers = append(doc.Answers, a)
			}
		}
		return doc, nil
	}
}

func (d *Desk) reviewSome(ctx context.Context, actor records.Actor, s *review.Settings, names []string, wait time.Duration) (*ReviewState, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if err := s.Check(d.vocabulary); err != nil {
		return nil, err
	}
	in, err := d.reviewInput(s)
	if err != nil {
		return nil, err
	}
	slots, err := d.reviews.start(d, in, s, names)
	if err != nil {
		return nil, err
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	late := wait <= 0
	for _, slot := range slots {
		select {
		case <-slot.ended:
			continue
		default:
		}
		if late {
			break
		}
		select {
		case <-slot.ended:
		case <-timer.C:
			late = true
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	return stateOf(in, names, slots), nil
}

func stateOf(in *reviewInput, names []string, slots []*reviewSlot) *ReviewState {
	st := &ReviewState{Data: in.data, Answers: map[string]*review.Answer{}, Errs: map[string]error{}, Selected: len(in.in.Rows)}
	if l := in.logs.Load(); l != nil {
		st.Data.Logs = l.Digest.String()
	}
	for i, slot := range slots {
		select {
		case <-slot.ended:
			if slot.err != nil {
				st.Errs[names[i]] = slot.err
			} else {
				st.Answers[names[i]] = slot.answer
			}
		default:
			slot.mu.Lock()
			if !st.Working || slot.total > 0 {
				st.Step, st.Done, st.Total = slot.step, slot.done, slot.total
			}
			slot.mu.Unlock()
			st.Working = true
		}
	}
	return st
}

// reviewInput gathers the wells of a review, or gives those that were gathered
// before of the same records.
func (d *Desk) reviewInput(s *review.Settings) (*reviewInput, error) {
	p := d.Picture()
	filter, err := d.reviewFilter(p, s)
	if err != nil {
		return nil, err
	}
	key := fmt.Sprintf("%d %s %s %s", p.Content(), d.vocabulary.Version(), s.Units, filter.Key())
	sh := &d.reviews
	sh.mu.Lock()
	if sh.inputs == nil {
		sh.inputs = map[string]*reviewInput{}
	}
	in := sh.inputs[key]
	if in == nil {
		in = &reviewInput{owner: d}
		sh.inputs[key] = in
		sh.inOrder = append(sh.inOrder, key)
		// Those of earlier states go, or they would hold on to a whole picture each.
		now := fmt.Sprintf("%d ", p.Content())
		sh.inOrder = slices.DeleteFunc(sh.inOrder, func(k string) bool {
			old := !strings.HasPrefix(k, now)
			if old {
				delete(sh.inputs, k)
			}
			return old
		})
		for len(sh.inOrder) > mostInputs {
			delete(sh.inputs, sh.inOrder[0])
			sh.inOrder = sh.inOrder[1:]
		}
	}
	sh.mu.Unlock()
	in.once.Do(func() {
		in.in = review.Input{Picture: p, Filter: filter, Vocabulary: d.vocabulary, Rows: review.Choose(p, filter)}
		in.data = review.Data{Commit: p.Content(), Wells: len(in.in.Rows), Of: p.Len(), Digest: review.DigestOf(p, filter, in.in.Rows).String(), Words: d.vocabulary.Version(), Program: d.program, At: d.now().UTC().Truncate(time.Second)}
	})
	return in, in.err
}

// start sees to it that the parts are worked, and gives their slots.
func (s *reviewShelf) start(d *Desk, in *reviewInput, set *review.Settings, names []string) ([]*reviewSlot, error) {
	parts := map[string]review.Part{}
	for _, p := range d.ReviewParts() {
		parts[p.Name] = p
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return nil, records.Errorf(records.Busy, "the program is ending")
	}
	if s.slots == nil {
		s.slots = map[string]*reviewSlot{}
		s.ctx, s.cancel = context.WithCancel(context.Background())
	}
	slots := make([]*reviewSlot, len(names))
	var todo [2][]func()
	for i, name := range names {
		p, ok := parts[name]
		if !ok {
			return nil, records.Errorf(records.NotFound, "there is no part %q of a review", name)
		}
		key := fmt.Sprintf("%d %s %s", in.data.Commit, in.data.Words, set.Key(name))
		if slots[i] = s.slots[key]; slots[i] != nil {
			continue
		}
		slot := &reviewSlot{ended: make(chan struct{}), step: "waiting for its turn"}
		slots[i] = slot
		s.slots[key] = slot
		s.order = append(s.order, key)
		row := 0
		if p.Slow {
			row = 1
		}
		todo[row] = append(todo[row], func() { s.work(d, in, set, p, key, slot) })
	}
	for len(s.order) > mostAnswers {
		delete(s.slots, s.order[0])
		s.order = s.order[1:]
	}
	for row, list := range todo {
		if len(list) == 0 {
			continue
		}
		s.working.Add(1)
		go func() {
			defer s.working.Done()
			s.turns[row].Lock()
			defer s.turns[row].Unlock()
			for _, f := range list {
				f()
			}
		}()
	}
	return slots, nil
}

// work works one answer.
func (s *reviewShelf) work(d *Desk, in *reviewInput, set *review.Settings, p review.Part, key string, slot *reviewSlot) {
	defer close(slot.ended)
	input := in.in
	input.Settings = set
	input.Progress = func(step string, done, total int) {
		slot.mu.Lock()
		defer slot.mu.Unlock()
		slot.step, slot.done, slot.total = step, done, total
	}
	input.Logs = func(ctx context.Context) (*review.Logs, error) { return in.readLogs(ctx, set, input.Progress) }
	input.Progress("working: "+p.Title, 0, 0)
	slot.answer, slot.err = p.Work(s.ctx, &input)
	if slot.err != nil {
		if records.CodeOf(slot.err) == records.Internal && s.ctx.Err() == nil {
			d.log.Error("working a review", "part", p.Name, "err", slot.err)
		}
		s.mu.Lock() // another may try again
		delete(s.slots, key)
		s.mu.Unlock()
	}
}

// close ends what is under way.
func (s *reviewShelf) close() {
	s.mu.Lock()
	s.closed = true
	if s.cancel != nil {
		s.cancel()
	}
	s.mu.Unlock()
	s.working.Wait()
}
