package server

import (
	"fmt"
	"net/http"

	"tallybook/records"
)

// platePast fills in what can be done with a plate, what was decided of it, and
// its earlier states.
func (s *Server) platePast(r *http.Request, p *platePage, pl *records.Plate) error {
	path := fmt.Sprintf("/plates/%d", pl.ID)
	p.Acts = plateActs{Decide: path, Again: path + "/seen", Edit: path + "/edit", Remove: plateRemoveHref(pl)}
	revs, err := s.desk.PlateRevisions(r.Context(), s.actor(r), pl.ID)
	if err != nil {
		return err
	}
	p.Earlier = earlierPlates(revs, pl, units{unitsOf(r)})
	decided, err := s.desk.PlateDecisions(r.Context(), s.actor(r), pl.ID)
	if err != nil {
		return err
	}
	p.Decided = decisionViews(decided)
	return nil
}

// earlierPlates lists the states before this one, the latest first, each with
// what the write after it changed. Those in which only the link was another are
// told among the decisions.
func earlierPlates(revs []records.Earlier[records.Plate], now *records.Plate, u units) []sightingEarlier {
	var out []sightingEarlier
	next := now
	for _, rev := range revs {
		var changed []string
		seen := map[string]bool{}
		for _, ch := range records.DiffPlates(rev.Image, next) {
			word := platePlain(ch.Field)
			if word != "" && !seen[word] {
				seen[word] = true
				changed = append(changed, word)
			}
		}
		if len(changed) > 0 {
			out = append(out, sightingEarlier{Revision: rev.Revision, Until: rev.Until.Format("2 January 2006 15:04"), By: rev.By, Why: rev.Why,
				What: joinWords(plateName(rev.Image), stampedWords(u, &rev.Image.Stamped)), Changed: changed, Restore: plateRestoreHref(now.ID, rev.Revision, now.Revision)})
		}
		next = rev.Image
	}
	return out
}
