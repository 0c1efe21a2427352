package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

const (
	mergeStill = "Nothing was merged yet: choose what is marked."
	mergeFault = "Nothing was merged: what would come of it is no sound record. Choose otherwise, or mend the two first."
	mergeStale = "Nothing was merged: somebody changed one of the two meanwhile. They stand here as they are now, with what you chose."
)

// mergePost answers POST /merge: it merges, or takes up what is likelier.
func (s *Server) mergePost(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	f := r.PostForm
	ask, err := mergeAsk(f)
	if err != nil {
		return err
	}
	ask.Why, ask.Choose = strings.TrimSpace(f.Get("why")), map[string]records.Word{}
	for name, values := range f {
		if m, ok := strings.CutPrefix(name, "m."); ok && len(values) > 0 {
			switch side := records.Word(values[0]); side {
			case records.FirstWord, records.SecondWord, records.BothWords:
				ask.Choose[m] = side
			}
		}
	}
	for _, x := range []struct {
		name string
		to   *int64
	}{{"ar", &ask.KeepRevision}, {"br", &ask.OutRevision}} {
		if *x.to, err = strconv.ParseInt(f.Get(x.name), 10, 64); err != nil {
			return records.Errorf(records.Invalid, "the form does not say which state of the records was seen; open the two again")
		}
	}
	p := &mergePage{Why: ask.Why}
	if b := f.Get("back"); localPath(b) {
		p.Back = b
	}
	switch f.Get("act") {
	case "show": // with other works
		return s.mergeShow(w, r, &ask, p, http.StatusOK)
	case "likely":
		if err := s.takeLikely(r, &ask); err != nil {
			return err
		}
		return s.mergeShow(w, r, &ask, p, http.StatusOK)
	}
	m, err := s.desk.Merge(r.Context(), s.actor(r), ask)
	switch {
	case records.CodeOf(err) == records.NotFound: // sent twice, the first made them one
		if to, err2 := s.desk.WhereTo(r.Context(), s.actor(r), ask.Out); err2 != nil || to != ask.Keep {
			return err
		}
		return s.done(w, r, historyPath(ask.Keep), said{Text: "The two are one record already; nothing was done twice."})
	case records.CodeOf(err) == records.Conflict:
		p.Refused = mergeStale
		return s.mergeShow(w, r, &ask, p, http.StatusConflict)
	case err != nil:
		return err
	case len(m.Open) > 0:
		p.Refused = mergeStill
		return s.mergeShow(w, r, &ask, p, http.StatusUnprocessableEntity)
	case m.ID == 0:
		p.Refused = mergeFault
		p.Faults = faultListing(m.Faults, true)
		return s.mergeShow(w, r, &ask, p, http.StatusUnprocessableEntity)
	}
	back := wellHref(m.Well.ID)
	if strings.HasPrefix(p.Back, "/duplicates") { // undo leads to the pair again
		back = pairsState{show: desk.PairsOpen, least: usualLeast}.pairHref(ask.Keep, ask.Out)
	}
	what := said{Text: "Merged: " + nameOf(m.Well) + " is kept.", Undo: splitPath(m.ID) + "?back=" + queryEscape(back)}
	if ask.How == records.MergedTwin {
		what.Text = "The copy is taken out; " + nameOf(m.Well) + " is kept."
	}
	return s.done(w, r, orElse(p.Back, wellHref(m.Well.ID)), what)
}

// takeLikely chooses what is suggested wherever nothing was chosen.
func (s *Server) takeLikely(r *http.Request, ask *desk.MergeAsk) error {
	o, err := s.desk.OfferMerge(r.Context(), s.actor(r), ask.Keep, ask.Out, ask.Works)
	if err != nil {
		return err
	}
	for i := range o.Matters {
		if m := &o.Matters[i]; m.Clashes() && ask.Choose[m.Name] == "" && m.Suggested != "" {
			ask.Choose[m.Name] = m.Suggested
		}
	}
	return nil
}

// faultListing lists faults in plain words with mends.
func faultListing(faults []records.Fault, refusedOnly bool) listing {
	l := listing{Heads: heads("where", "what was found", "what to do")}
	for _, f := range faults {
		if refusedOnly && f.Severity != records.Refusal {
			continue
		}
		l.add("wrong", cell{Text: capital(fieldWords(f.Field))}, cell{Text: capital(f.Message) + "."}, cell{Text: capital(f.Mend), Class: "quiet"})
	}
	return l
}

// mergeSplit answers /merge/{id}/split.
func (s *Server) mergeSplit(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	sp, err := s.desk.SplitMerge(r.Context(), s.actor(r), id, "")
	if err != nil {
		return err
	}
	what := said{Text: s.numberOf(r, sp.Back) + " is a record of its own again."}
	if sp.Kept != 0 {
		what.Undo = fmt.Sprintf("/merge/%d/again?back=1&kept=%d&wrote=%t", id, sp.Revision, sp.Wrote)
		other := s.numberOf(r, sp.Kept)
		switch {
		case sp.AsItWas:
			what.Text += " " + other + " stays as it is: what was changed since does not go with what was before. Look at it."
		case len(sp.Stays) > 0:
			var names []string
			for _, f := range sp.Stays {
				names = append(names, fieldWords(f))
			}
			what.Text += " In " + other + " these stay, since somebody changed them after the merge: " + clipText(strings.Join(names, ", "), 200) + "."
		default:
			what.Text += " " + other + " is as it was before."
		}
	}
	to := wellHref(sp.Back)
	switch b := backOf(r); {
	case strings.HasPrefix(b, "/duplicates/pair") && sp.Kept != 0:
		to = pairsState{show: desk.PairsOpen, least: usualLeast}.pairHref(sp.Kept, sp.Back) // under the key that it has now
	case b != "":
		to = b
	}
	return s.done(w, r, to, what)
}

// mergeAgain answers /merge/{id}/again: a split that was a mistake is undone.
func (s *Server) mergeAgain(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	var rev [2]int64
	for i, name := range []string{"back", "kept"} {
		if rev[i], err = strconv.ParseInt(q.Get(name), 10, 64); err != nil || rev[i] <= 0 {
			return records.Errorf(records.Invalid, "%s=%s is no revision; merge the two anew", name, clipText(q.Get(name), 20))
		}
	}
	kept, err := s.desk.MergeAgain(r.Context(), s.actor(r), id, rev[0], rev[1], q.Get("wrote") == "true")
	if err != nil {
		return err
	}
	return s.done(w, r, historyPath(kept), said{Text: "Merged again: " + s.numberOf(r, kept) + " is kept."})
}
