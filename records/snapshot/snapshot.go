package snapshot

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"

	"tallybook/geo/near"
	"tallybook/records"
)

// foldAt is how many changed wells are kept beside the base before they are
// folded into it.
const foldAt = 2000

// Snapshot hands out the current picture and swaps in new ones.
type Snapshot struct {
	current atomic.Pointer[Picture]

	foldAt  int
	mu      sync.Mutex // held while a new picture is made; readers never take it
	log     map[int64]entry
	seq     int64
	folding bool
	rebuilt int64 // how often the base was made anew in one go
	idle    sync.WaitGroup
}

// Empty is the picture of no wells, for those who look at none.
func Empty() *Snapshot {
	s := &Snapshot{log: map[int64]entry{}, foldAt: foldAt}
	s.current.Store(&Picture{base: &base{columns: newColumns(0), index: &near.Index{}}, changed: newColumns(0), state: state{sightings: newColumns(0)}})
	return s
}

// entry is the latest change to one well since the base was built.
type entry struct {
	digest records.Digest
	gone   bool
	seq    int64
}

// Open reads the digests of all wells.
func Open(ctx context.Context, store records.Store) (*Snapshot, error) {
	s := &Snapshot{log: map[int64]entry{}, foldAt: foldAt}
	err := store.View(ctx, func(v records.StoreView) error {
		n, err := v.CountWells(ctx)
		if err != nil {
			return err
		}
		c := newColumns(int(n))
		err = v.Digests(ctx, func(ds []records.Digest) error {
			for i := range ds {
				c.add(&ds[i])
			}
			return nil
		})
		if err != nil {
			return err
		}
		rocks, err := v.RockUnits(ctx)
		if err != nil {
			return err
		}
		b, err := newBase(c)
		if err != nil {
			return err
		}
		sightings, err := firstSightings(ctx, v)
		if err != nil {
			return err
		}
		s.current.Store(&Picture{base: b, changed: newColumns(0), state: state{commit: v.Commit(), content: v.Commit(), rocks: rocks, sightings: sightings}})
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("opening the picture of all wells: %w", err)
	}
	return s, nil
}

// Picture is the current picture. It costs nothing and never waits.
func (s *Snapshot) Picture() *Picture { return s.current.Load() }

// Refresh takes in whatever was committed since the current picture, by this
// process or another, and tells whether there was anything.
func (s *Snapshot) Refresh(ctx context.Context, store records.Store) (bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.current.Load()
	latest, err := store.Changes(ctx)
	if err != nil {
		return false, err
	}
	if latest == now.commit {
		return false, nil
	}
	err = store.View(ctx, func(v records.StoreView) error {
		changed, gone, err := v.DigestsSince(ctx, now.commit)
		if err != nil {
			return err
		}
		rocks, err := v.RockUnits(ctx)
		if err != nil {
			return err
		}
		sightings, err := nextSightings(ctx, v, now)
		if err != nil {
			return err
		}
		next := state{commit: v.Commit(), content: now.content, rocks: rocks, sightings: sightings}
		if len(changed)+len(gone) > 0 || sightings != now.sightings {
			next.content = next.commit
		}
		return s.apply(now, changed, gone, next)
	})
	if err != nil {
		return false, fmt.Errorf("refreshing the picture of all wells: %w", err)
	}
	return true, nil
}

// apply makes the next picture. s.mu is held.
func (s *Snapshot) apply(now *Picture, changed []records.Digest, gone []int64, next state) error {
	s.seq++
	if len(changed)+len(gone) >= s.foldAt { // a file was taken in: no use to lay it over first
		return s.rebuild(now, changed, gone, next)
	}
	for _, d := range changed {
		s.log[d.ID] = entry{digest: d, seq: s.seq}
	}
	for _, id := range gone {
		s.log[id] = entry{digest: records.Digest{ID: id}, gone: true, seq: s.seq}
	}
	s.current.Store(overlay(now.base, s.log, next))
	if len(s.log) >= s.foldAt && !s.folding {
		s.folding = true
		s.idle.Add(1)
		go s.fold(s.current.Load(), s.seq, s.rebuilt)
	}
	return nil
}

// overlay lays the changes over a base.
func overlay(b *base, log map[int64]entry, next state) *Picture {
	p := &Picture{base: b, state: next}
	ids := make([]int64, 0, len(log))
	for id, e := range log {
		if i, ok := b.row(id); ok {
			if p.hidden == nil {
				p.hidden = make(rowSet, (b.len()+63)/64)
			}
			p.hidden[i>>6] |= 1 << (i & 63)
			p.hiding++
		}
		if !e.gone {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	p.changed = newColumns(len(ids))
	for _, id := range ids {
		e := log[id]
		p.changed.add(&e.digest)
	}
	return p
}

// rebuild makes a new base of a picture and changes to it, in one go. s.mu is
// held.
func (s *Snapshot) rebuild(now *Picture, changed []records.Digest, gone []int64, next state) error {
	left := make(map[int64]struct{}, len(gone))
	for _, id := range gone {
		left[id] = struct{}{}
	}
	changed = slices.DeleteFunc(changed, func(d records.Digest) bool { _, out := left[d.ID]; return out })
	slices.SortFunc(changed, func(a, b records.Digest) int { return cmp.Compare(a.ID, b.ID) })
	b, err := newBase(merge(now, changed, left))
	if err != nil {
		return err
	}
	s.rebuilt++
	clear(s.log)
	s.current.Store(&Picture{base: b, changed: newColumns(0), state: next})
	return nil
}

// merge gives the wells of a picture with changes made to them, by id. changed
// is in order of id.
func merge(from *Picture, changed []records.Digest, gone map[int64]struct{}) *columns {
	c := newColumns(from.Len() + len(changed))
	next := 0
	from.inOrder(func(r Row) {
		id := r.ID()
		for next < len(changed) && changed[next].ID < id {
			c.add(&changed[next])
			next++
		}
		if _, out := gone[id]; out || next < len(changed) && changed[next].ID == id {
			return
		}
		d := r.Digest()
		c.add(&d)
	})
	for ; next < len(changed); next++ {
		c.add(&changed[next])
	}
	return c
}

// inOrder shows every well in the order of ids.
func (p *Picture) inOrder(fn func(Row)) {
	j, n := int32(0), int32(p.changed.len())
	for i := range int32(p.base.len()) {
		if p.hidden.has(i) {
			continue
		}
		for ; j < n && p.changed.id[j] < p.base.id[i]; j++ {
			fn(Row{p.changed, j})
		}
		fn(Row{p.base.columns, i})
	}
	for ; j < n; j++ {
		fn(Row{p.changed, j})
	}
}

// fold builds a new base from a picture while readers go on with the old one,
// then lays over it what changed meanwhile.
func (s *Snapshot) fold(from *Picture, upTo, rebuilt int64) {
	defer s.idle.Done()
	b, err := newBase(merge(from, nil, nil))

	s.mu.Lock()
	defer s.mu.Unlock()
	s.folding = false
	// An error cannot be, since the parts were indexed before; the old base
	// and its overlay go on serving then. A base made anew meanwhile has it all.
	if err != nil || s.rebuilt != rebuilt {
		return
	}
	for id, e := range s.log {
		if e.seq <= upTo {
			delete(s.log, id)
		}
	}
	s.current.Store(overlay(b, s.log, s.current.Load().state))
}

// Settle waits until no folding is under way.
func (s *Snapshot) Settle() { s.idle.Wait() }
