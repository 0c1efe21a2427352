package snapshot

// SetFoldAt makes the overlay fold early, so that tests see it happen.
func (s *Snapshot) SetFoldAt(n int) { s.foldAt = n }

// FoldState tells how many changes lie over the base, and whether a fold is
// under way.
func (s *Snapshot) FoldState() (overlaid int, folding bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.log), s.folding
}
