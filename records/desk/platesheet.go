package desk

import (
	"context"
	"slices"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/plates"
)

// PlateCandidate is a record that a plate may belong to, with the reasons as
// they stand. It is kept with each decision, as JSON.
type PlateCandidate struct {
	WellID      int64         `json:"-"`
	WellUID     string        `json:"well"`
	Number      string        `json:"number,omitempty"`
	Probability float64       `json:"probability"`
	Weight      float64       `json:"weight"`
	Fields      []PlateReason `json:"fields,omitempty"`

	Well *records.Well `json:"-"` // as it is now; private things blanked
}

// PlateReason is what one field says of a plate and a record.
type PlateReason struct {
	Name      string  `json:"field"`
	Plate     string  `json:"plate,omitempty"`
	Record    string  `json:"record,omitempty"`
	Agreement string  `json:"agreement"`     // agrees, near, differs, missing
	How       string  `json:"how,omitempty"` // how far, more exactly
	Weight    float64 `json:"weight"`
	Words     string  `json:"words,omitempty"`
}

// PlateSheet is a plate at the desk.
type PlateSheet struct {
	Plate      *records.Plate
	State      records.PlateState
	Candidates []PlateCandidate // the likeliest first
	// None is the probability that its record is not in the file.
	None float64
	// Threshold is the probability from which on links may be made many at once.
	Threshold float64
	// Pending says that plates are being matched and nothing is known yet.
	Pending   bool
	Decisions []records.PlateDecision // the latest first
	Linked    *records.Well           // the record that it is linked to; nil for none
	Refused   []*records.Well         // records that somebody said it is not
}

// mostCandidates is how many records are offered for a plate.
const mostCandidates = 4

// PlateSheet puts a plate on the desk.
func (d *Desk) PlateSheet(ctx context.Context, actor records.Actor, id int64) (*PlateSheet, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	run, err := d.plateRun(ctx)
	if err != nil {
		return nil, err
	}
	s := &PlateSheet{Threshold: 2}
	err = d.store.View(ctx, func(v records.StoreView) error {
		if s.Plate, err = v.Plate(ctx, id); err != nil {
			return err
		}
		if s.State, err = v.PlateState(ctx, id); err != nil {
			return err
		}
		if s.Decisions, err = v.PlateDecisions(ctx, id); err != nil {
			return err
		}
		if s.Plate.WellID != 0 {
			if s.Linked, err = v.Well(ctx, s.Plate.WellID); err != nil {
				return err
			}
		}
		for _, uid := range s.State.Decision.Refused {
			w, err := wellOfUID(ctx, v, uid)
			if err != nil {
				return err
			}
			if w != nil {
				s.Refused = append(s.Refused, w)
			}
		}
		if run != nil {
			s.Threshold = run.Result.Threshold
		}
		s.Candidates, s.None, err = d.candidatesOf(ctx, v, s.Plate, s.State.Decision.Refused, run)
		return err
	})
	if err != nil {
		return nil, err
	}
	s.Pending = run == nil && len(s.Candidates) == 0
	d.hideFinder(actor, s.Plate)
	for _, w := range s.wells() {
		d.hideOwner(actor, w)
	}
	return s, nil
}

// wells are all records that the sheet shows.
func (s *PlateSheet) wells() []*records.Well {
	out := slices.Clone(s.Refused)
	if s.Linked != nil {
		out = append(out, s.Linked)
	}
	for i := range s.Candidates {
		out = append(out, s.Candidates[i].Well)
	}
	return out
}

// hideOwner blanks what is private of a record for those who may not see it.
func (d *Desk) hideOwner(actor records.Actor, w *records.Well) {
	if d.Permit(actor, SeePrivate) != nil {
		blankPrivate(w)
	}
}

// wellOfUID reads a record by its public name; nil where it was taken out.
func wellOfUID(ctx context.Context, v records.StoreView, uid string) (*records.Well, error) {
	id, err := v.WellIDByUID(ctx, uid)
	if err == nil {
		var w *records.Well
		if w, err = v.Well(ctx, id); err == nil {
			return w, nil
		}
	}
	if records.CodeOf(err) == records.NotFound {
		return nil, nil
	}
	return nil, err
}

// candidates gives the records that plates may belong to, for the reasons of a
// decision.
func (d *Desk) candidates(ctx context.Context, ids []int64) (map[int64][]PlateCandidate, error) {
	run, err := d.plateRun(ctx)
	if err != nil {
		return nil, err
	}
	out := map[int64][]PlateCandidate{}
	return out, d.store.View(ctx, func(v records.StoreView) error {
		for _, id := range ids {
			p, err := v.Plate(ctx, id)
			if err != nil {
				return err
			}
			s, err := v.PlateState(ctx, id)
			if err != nil {
				return err
			}
			if out[id], _, err = d.candidatesOf(ctx, v, p, s.Decision.Refused, run); err != nil {
				return err
			}
		}
		return nil
	})
}

// candidatesOf gives the records that a plate may belong to, the likeliest
// first, and the probability that there is none. It goes by the matching of all
// plates; for a plate that this does not know as it is now, by the records near
// where it was seen and those with its number.
func (d *Desk) candidatesOf(ctx context.Context, v records.StoreView, p *records.Plate, refused []string, run *PlateRun) ([]PlateCandidate, float64, error) {
	found := run.of(p.ID)
	if found == nil || run.revision(p.ID) != seenRevision(p) {
		var err error
		if found, err = d.matchNear(ctx, v, p, found); err != nil || found == nil {
			return nil, 0, err
		}
	}
	all := slices.Clone(found.Others)
	if found.Best != nil {
		all = append([]plates.Suggestion{*found.Best}, all...)
	}
	var out []PlateCandidate
	for i := range all {
		s := &all[i]
		w, err := v.Well(ctx, s.WellID)
		if records.CodeOf(err) == records.NotFound && err != nil {
			continue // taken out since
		}
		if err != nil {
			return nil, 0, err
		}
		if slices.Contains(refused, w.UID) || len(out) == mostCandidates {
			continue
		}
		c := PlateCandidate{WellID: w.ID, WellUID: w.UID, Number: w.Number, Probability: s.Probability, Weight: s.Weight, Well: w}
		if run != nil && s.Fields == nil {
			run.Result.Explain(s)
		}
		for _, f := range s.Fields {
			c.Fields = append(c.Fields, PlateReason{f.Name, f.Left, f.Right, f.Agreement, f.Level, f.Weight, f.Words})
		}
		out = append(out, c)
	}
	slices.SortStableFunc(out, func(a, b PlateCandidate) int {
		switch {
		case a.Probability > b.Probability:
			return -1
		case a.Probability < b.Probability:
			return 1
		}
		return 0
	})
	return out, found.None, nil
}

// nearPlate is how many of the nearest records are compared with a plate by
// itself.
const nearPlate = 60

// matchNear compares one plate with the records near each place where it was
// seen, those whose number is like its own, and those that were found before.
func (d *Desk) matchNear(ctx context.Context, v records.StoreView, p *records.Plate, before *plates.PlateMatch) (*plates.PlateMatch, error) {
	ids := map[int64]bool{}
	for _, s := range p.Seen {
		at := position.LonLat{Lon: s.Lon, Lat: s.Lat}
		if !s.Located || at.Valid() != nil {
			continue
		}
		for _, n := range d.snap.Picture().Nearest(at, nearPlate, nil) {
			ids[n.ID()] = true
		}
	}
	if p.Number != "" {
		like, err := v.NumbersLike(ctx, p.Number, nearPlate)
		if err != nil {
			return nil, err
		}
		for _, m := range like {
			if m.WellID != 0 {
				ids[m.WellID] = true
			}
		}
	}
	if before != nil {
		if before.Best != nil {
			ids[before.Best.WellID] = true
		}
		for i := range before.Others {
			ids[before.Others[i].WellID] = true
		}
	}
	if p.WellID != 0 {
		ids[p.WellID] = true
	}
	var some someRecords
	for id := range ids {
		w, err := v.Well(ctx, id)
		if records.CodeOf(err) == records.NotFound && err != nil {
			continue
		}
		if err != nil {
			return nil, err
		}
		some = append(some, w.Comparison())
	}
	if len(some) == 0 {
		return nil, nil
	}
	slices.SortFunc(some, func(a, b records.Compared) int { return int(a.ID - b.ID) })
	r, err := plates.Match(ctx, []*records.Plate{p}, some, plates.Options{Feet: true, Runners: mostCandidates})
	if err != nil || len(r.Plates) == 0 {
		return nil, err
	}
	return &r.Plates[0], nil
}

// someRecords is a source of a few records.
type someRecords []records.Compared

// Compared implements plates.Source.
func (s someRecords) Compared(_ context.Context, fn func([]records.Compared) error) error {
	return fn(s)
}
