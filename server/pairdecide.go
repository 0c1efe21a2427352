package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
)

// pairDecide answers POST /duplicates/decide: the two are of different wells,
// or somebody is not sure. What makes one record of two has its own page.
func (s *Server) pairDecide(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	f := r.PostForm
	st, err := parsePairs(url.Values{"show": f["show"], "least": f["least"]})
	if err != nil {
		return err
	}
	a, b, revision, err := pairNamed(f)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	sheet, err := s.desk.Pair(ctx, actor, a, b)
	if err != nil {
		return err
	}
	next, err := s.placeInList(r, st, a, b, &pairPage{})
	if err != nil {
		return err
	}
	verdict := f.Get("verdict")
	rev, err := s.desk.DecidePair(ctx, actor, a, b, revision, verdict, strings.TrimSpace(f.Get("why")))
	if err != nil {
		return err
	}
	what := said{Text: fmt.Sprintf("%s and %s: %s.", nameOf(sheet.A.Well), nameOf(sheet.B.Well), verdictWords[verdict])}
	if verdict == records.PairDifferent {
		what.Text += " They are not asked again until one of them changes."
	}
	was := records.PairOpen
	if v := sheet.Decision.Verdict; v == records.PairDifferent || v == records.PairUnsure {
		was = v
	}
	what.Undo = fmt.Sprintf("/duplicates/undo?a=%d&b=%d&revision=%d&verdict=%s&show=%s&least=%d", a, b, rev, was, st.show, st.least)
	return s.done(w, r, orElse(next, st.href()), what)
}

func pairNamed(q url.Values) (a, b, revision int64, err error) {
	for _, x := range []struct {
		name string
		to   *int64
	}{{"a", &a}, {"b", &b}, {"revision", &revision}} {
		if *x.to, err = strconv.ParseInt(q.Get(x.name), 10, 64); err != nil || *x.to < 0 {
			return 0, 0, 0, records.Errorf(records.Invalid, "%s=%s names no pair; open it from the list again", x.name, clipText(q.Get(x.name), 20))
		}
	}
	return a, b, revision, nil
}

// pairUndo answers POST /duplicates/undo: the pair is again as it was decided
// before, and is shown.
func (s *Server) pairUndo(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	st, err := parsePairs(q)
	if err != nil {
		return err
	}
	a, b, revision, err := pairNamed(q)
	if err != nil {
		return err
	}
	if _, err := s.desk.DecidePair(r.Context(), s.actor(r), a, b, revision, q.Get("verdict"), "taken back"); err != nil {
		return err
	}
	return s.done(w, r, st.pairHref(a, b), said{Text: "Taken back."})
}
