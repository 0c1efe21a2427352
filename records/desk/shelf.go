package desk

import (
	"context"
	"slices"
	"sync"
	"time"
)

// shelf keeps answers that take seconds on a large set, and works them out in
// the background, one after another. A key names all that an answer depends on,
// the state of the records too. The zero shelf is ready.
type shelf[T any] struct {
	mu      sync.Mutex
	turn    sync.Mutex // held by the one that works
	slots   map[string]*shelfSlot[T]
	recent  []string // keys, latest first
	working sync.WaitGroup
	closed  bool
}

// mostOnShelf is how many answers are kept; the one unused for longest goes.
const mostOnShelf = 24

type shelfSlot[T any] struct {
	value       T
	err         error
	ended       chan struct{}
	over        bool
	step        string
	done, total int
	cancel      context.CancelFunc
}

// Shelved is how far an answer is.
type Shelved[T any] struct {
	Value T
	Ready bool // Value is there; else it is being worked, or Err says why not
	Err   error
	// Step says what is being done, and Done and Total how far.
	Step        string
	Done, Total int
}

// soon gives the answer of a key as it stands, and sees to it that there will be
// one. It waits for that no longer than it is told.
func (s *shelf[T]) soon(ctx context.Context, key string, wait time.Duration, work func(ctx context.Context, progress func(step string, done, total int)) (T, error)) (Shelved[T], error) {
	slot := s.start(key, work)
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-slot.ended:
	case <-timer.C:
	case <-ctx.Done():
		return Shelved[T]{}, ctx.Err()
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return Shelved[T]{Value: slot.value, Ready: slot.over && slot.err == nil, Err: slot.err, Step: slot.step, Done: slot.done, Total: slot.total}, nil
}

func (s *shelf[T]) start(key string, work func(ctx context.Context, progress func(step string, done, total int)) (T, error)) *shelfSlot[T] {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.slots == nil {
		s.slots = map[string]*shelfSlot[T]{}
	}
	s.recent = slices.DeleteFunc(s.recent, func(k string) bool { return k == key })
	s.recent = append([]string{key}, s.recent...)
	if slot := s.slots[key]; slot != nil {
		return slot
	}
	for len(s.recent) > mostOnShelf {
		last := s.recent[len(s.recent)-1]
		s.slots[last].cancel()
		delete(s.slots, last)
		s.recent = s.recent[:len(s.recent)-1]
	}
	// Whoever asks may go away: the answer is kept for the next.
	ctx, cancel := context.WithCancel(context.Background())
	slot := &shelfSlot[T]{ended: make(chan struct{}), step: "waiting for its turn", cancel: cancel}
	s.slots[key] = slot
	if s.closed {
		cancel()
	}
	s.working.Add(1)
	go func() {
		defer s.working.Done()
		defer cancel()
		s.turn.Lock()
		defer s.turn.Unlock()
		value, err := work(ctx, func(step string, done, total int) {
			s.mu.Lock()
			defer s.mu.Unlock()
			slot.step, slot.done, slot.total = step, done, total
		})
		s.mu.Lock()
		slot.value, slot.err, slot.over = value, err, true
		if ctx.Err() != nil && s.slots[key] == slot { // pushed out, or closed: not to be kept
			delete(s.slots, key)
			s.recent = slices.DeleteFunc(s.recent, func(k string) bool { return k == key })
		}
		s.mu.Unlock()
		close(slot.ended)
	}()
	return slot
}

// close ends what is under way.
func (s *shelf[T]) close() {
	s.mu.Lock()
	s.closed = true
	for _, slot := range s.slots {
		slot.cancel()
	}
	s.mu.Unlock()
	s.working.Wait()
}
