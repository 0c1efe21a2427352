package desk

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"tallybook/records"
	"tallybook/records/review"
	"tallybook/records/snapshot"
)

// chosenWells are the wells that a filter chose of a state of the records.
type chosenWells struct {
	filter string
	ids    []int64 // in order
}

// Has implements snapshot.Chosen.
func (c *chosenWells) Has(id int64) bool {
	_, found := slices.BinarySearch(c.ids, id)
	return found
}

// Key implements snapshot.Chosen: a filter chooses the same of the same records.
func (c *chosenWells) Key() string { return strconv.Quote(c.filter) }

// mostChosen is how many of them are kept.
const mostChosen = 8

// ReviewFilter says which wells a review takes, all that it asks counted in.
func (d *Desk) ReviewFilter(actor records.Actor, s *review.Settings) (*snapshot.Filter, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	return d.reviewFilter(d.Picture(), s)
}

func (d *Desk) reviewFilter(p *snapshot.Picture, s *review.Settings) (*snapshot.Filter, error) {
	filter, err := s.Filter(d.vocabulary)
	if err != nil || s.Only == "" {
		return filter, err
	}
	chosen, err := d.chosenBy(p, s)
	if err != nil {
		return nil, err
	}
	filter.Only = chosen
	return filter, nil
}

// chosenBy asks the store once for a state which wells a filter chooses.
func (d *Desk) chosenBy(p *snapshot.Picture, s *review.Settings) (*chosenWells, error) {
	where, err := s.OnlyCondition()
	if err != nil {
		return nil, err
	}
	sh := &d.reviews
	out := &chosenWells{filter: s.Only}
	key := fmt.Sprintf("%d %s", p.Content(), s.Only)
	sh.mu.Lock()
	kept := sh.only[key]
	sh.mu.Unlock()
	if kept != nil {
		return kept, nil
	}
	ctx := context.Background() // what is found is for others too
	err = d.store.View(ctx, func(v records.StoreView) error {
		return v.EachFeature(ctx, records.FeatureQuery{Collection: records.FeaturesWells, Where: where}, func(f *records.Feature) error {
			out.ids = append(out.ids, f.Key.Record)
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	if d.Picture().Content() != p.Content() {
		return nil, records.Errorf(records.Busy, "records changed while the filter looked through them; ask again")
	}
	sh.mu.Lock()
	defer sh.mu.Unlock()
	if sh.only == nil || len(sh.only) >= mostChosen {
		sh.only = map[string]*chosenWells{}
	}
	sh.only[key] = out
	return out, nil
}
