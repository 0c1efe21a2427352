package snapshot

import (
	"context"
	"fmt"
	"sort"
	"sync"
	"sync/atomic"

	"tallybook/records"
)

// foldAt is how many changed wells are kept beside the base before they are
// folded into it.
const foldAt = 2000

// Snapshot hands out the current picture and swaps in new ones.
type Snapshot struct {
	current atomic.Pointer[Picture]

	mu      sync.Mutex // held while a new picture is made; readers never take it
	log     map[int64]entry
	seq     int64
	folding bool
	idle    sync.WaitGroup
}

// entry is the latest change to one well since the base was built.
type entry struct {
	digest records.Digest
	gone   bool
	seq    int64
}

// Open reads the digests of all wells.
func Open(ctx context.Context, store records.Store) (*Snapshot, error) {
	s := &Snapshot{log: map[int64]entry{}}
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
		s.current.Store(&Picture{base: b, changed: newColumns(0), commit: v.Commit(), rocks: rocks})
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
		s.apply(now, changed, gone, v.Commit(), rocks)
		return nil
	})
	if err != nil {
		return false, fmt.Errorf("refreshing the picture of all wells: %w", err)
	}
	return true, nil
}

// apply makes the next picture. s.mu is held.
func (s *Snapshot) apply(now *Picture, changed []records.Digest, gone []int64, commit int64, rocks map[uint16]string) {
	s.seq++
	for _, d := range changed {
		s.log[d.ID] = entry{digest: d, seq: s.seq}
	}
	for _, id := range gone {
		s.log[id] = entry{digest: records.Digest{ID: id}, gone: true, seq: s.seq}
	}
	s.current.Store(overlay(now.base, s.log, commit, rocks))
	if len(s.log) >= foldAt && !s.folding {
		s.folding = true
		s.idle.Add(1)
		go s.fold(s.current.Load(), s.seq)
	}
}

// overlay lays the changes over a base.
func overlay(b *base, log map[int64]entry, commit int64, rocks map[uint16]string) *Picture {
	ids := make([]int64, 0, len(log))
	hidden := make(map[int32]struct{}, len(log))
	for id, e := range log {
		if i, ok := b.row(id); ok {
			hidden[i] = struct{}{}
		}
		if !e.gone {
			ids = append(ids, id)
		}
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i] < ids[j] })
	c := newColumns(len(ids))
	for _, id := range ids {
		e := log[id]
		c.add(&e.digest)
	}
	return &Picture{base: b, hidden: hidden, changed: c, commit: commit, rocks: rocks}
}

// fold builds a new base from a picture while readers go on with the old one,
// then lays over it what changed meanwhile.
func (s *Snapshot) fold(from *Picture, upTo int64) {
	defer s.idle.Done()
	c := newColumns(from.Len())
	// Both parts are in order of id; merge them.
	i, j := int32(0), int32(0)
	nb, nc := int32(from.base.len()), int32(from.changed.len())
	for i < nb || j < nc {
		if i < nb {
			if _, gone := from.hidden[i]; gone {
				i++
				continue
			}
		}
		var r Row
		if j >= nc || i < nb && from.base.id[i] < from.changed.id[j] {
			r = Row{from.base.columns, i}
			i++
		} else {
			r = Row{from.changed, j}
			j++
		}
		d := r.Digest()
		c.add(&d)
	}
	b, err := newBase(c)

	s.mu.Lock()
	defer s.mu.Unlock()
	s.folding = false
	if err != nil { // cannot be: the parts were indexed before; keep the old base
		return
	}
	for id, e := range s.log {
		if e.seq <= upTo {
			delete(s.log, id)
		}
	}
	now := s.current.Load()
	s.current.Store(overlay(b, s.log, now.commit, now.rocks))
}

// Settle waits until no folding is under way.
func (s *Snapshot) Settle() { s.idle.Wait() }
