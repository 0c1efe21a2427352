package sqlite_test

import (
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"tallybook/records"
	"tallybook/records/sqlite"
)

func indexAll(t *testing.T, s *sqlite.Store) (looked int) {
	t.Helper()
	for {
		n := 0
		if err := s.Update(t.Context(), someone, func(tx records.StoreTx) (err error) {
			n, err = tx.IndexWords(t.Context(), 7)
			return err
		}); err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			return looked
		}
		looked += n
	}
}

func findWords(t *testing.T, s *sqlite.Store, ask records.WordsAsked) (found records.WordsFound) {
	t.Helper()
	if ask.Limit == 0 {
		ask.Limit = 50
	}
	if err := s.View(t.Context(), func(v records.StoreView) (err error) {
		found, err = v.FindWords(t.Context(), ask)
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return found
}

func putWells(t *testing.T, s *sqlite.Store, wells ...*records.Well) {
	t.Helper()
	if err := s.Update(t.Context(), someone, func(tx records.StoreTx) error {
		for _, w := range wells {
			if err := tx.PutWell(t.Context(), w, ""); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
}

// What is written is found by its words, whole or begun, in any case and
// without accents, by those who may see it; what is no longer written is not.
func TestFindWords(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "w.db"))
	wells := make([]*records.Well, 30)
	for i := range wells {
		w := &records.Well{Number: fmt.Sprintf("W-%d", i), Completed: records.Date{Year: 1990 + i}}
		w.Strata = []records.Stratum{{Top: records.Of(records.Depth(0)), Bottom: records.Of(records.Depth(9)), Description: "blue clay"}, {Top: records.Of(records.Depth(9)), Bottom: records.Of(records.Depth(40)), Description: "Gneïss, very hard"}}
		if i%3 == 0 {
			w.Strata[0].Description = "clay, some blue granite boulders"
			w.Owner.Name = "Owner Invented"
		}
		wells[i] = w
	}
	putWells(t, s, wells...)
	if got := findWords(t, s, records.WordsAsked{Words: []string{"clay"}}); got.Count != 0 {
		t.Errorf("%d found before anything was taken in", got.Count)
	}
	if n := indexAll(t, s); n != 30 {
		t.Errorf("%d records taken in", n)
	}
	for _, c := range []struct {
		ask  records.WordsAsked
		want int64
	}{
		{records.WordsAsked{Words: []string{"clay"}}, 30},
		{records.WordsAsked{Words: []string{"CLAY", "gneiss"}}, 30},
		{records.WordsAsked{Words: []string{"blue clay"}}, 20}, // a phrase
		{records.WordsAsked{Words: []string{"gran*"}}, 10},
		{records.WordsAsked{Words: []string{"gran"}}, 0},
		{records.WordsAsked{Words: []string{"invented"}}, 0}, // a name, not asked for as private
		{records.WordsAsked{Words: []string{"invented"}, Private: true}, 10},
		{records.WordsAsked{Words: []string{"invented", "granite"}, Private: true}, 10},
		{records.WordsAsked{Words: []string{`private:invented`}}, 0}, // nothing in a word is an operator
		{records.WordsAsked{Words: []string{`clay" OR "invented`}}, 0},
		{records.WordsAsked{Words: []string{"clay", "NOT", "gneiss"}}, 0},
		{records.WordsAsked{Words: []string{"clay"}, FromYear: 2000, ToYear: 2009}, 10},
		{records.WordsAsked{Words: []string{"clay"}, Class: "rock"}, 10}, // granite, as the test's reader reads it
		{records.WordsAsked{Words: []string{"clay"}, Plate: true}, 0},
	} {
		if got := findWords(t, s, c.ask); got.Count != c.want || int64(len(got.IDs)) != c.want {
			t.Errorf("%+v: counted %d, listed %d, want %d", c.ask, got.Count, len(got.IDs), c.want)
		}
	}
	// Pages hold each once, the latest written first.
	var pages []int64
	for ask := (records.WordsAsked{Words: []string{"clay"}, Limit: 7}); ; {
		got := findWords(t, s, ask)
		pages = append(pages, got.IDs...)
		if ask.Before = got.Next; ask.Before == 0 {
			break
		}
	}
	if len(pages) != 30 || !slices.IsSortedFunc(pages, func(a, b int64) int { return int(b - a) }) {
		t.Errorf("the pages hold %v", pages)
	}
	// An edit, and a record taken out.
	wells[0].Strata[0].Description = "gravel"
	putWells(t, s, wells[0])
	if err := s.Update(t.Context(), someone, func(tx records.StoreTx) error {
		return tx.RemoveWell(t.Context(), wells[3].ID, wells[3].Revision, "")
	}); err != nil {
		t.Fatal(err)
	}
	if n := indexAll(t, s); n != 1 {
		t.Errorf("%d records taken in after an edit", n)
	}
	if got := findWords(t, s, records.WordsAsked{Words: []string{"gravel"}}); !slices.Equal(got.IDs, []int64{wells[0].ID}) {
		t.Errorf("gravel is found in %v", got.IDs)
	}
	if got := findWords(t, s, records.WordsAsked{Words: []string{"granite"}}); got.Count != 8 {
		t.Errorf("granite is found in %d, want 8", got.Count)
	}
	if faults, err := s.CheckIntegrity(t.Context()); err != nil || len(faults) > 0 {
		t.Errorf("%v, %v", faults, err)
	}
}

// A batch that is not published is not found, and is once it is.
func TestStagedWordsAreHidden(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "w.db"))
	b := records.Batch{Source: "x", State: "staged"}
	state := func(to string) {
		t.Helper()
		if err := s.Update(t.Context(), someone, func(tx records.StoreTx) error { b.State = to; return tx.PutBatch(t.Context(), &b) }); err != nil {
			t.Fatal(err)
		}
	}
	state("staged")
	w := &records.Well{Remarks: "unheard of"}
	w.Provenance.Batch = b.ID
	putWells(t, s, w)
	indexAll(t, s)
	ask := records.WordsAsked{Words: []string{"unheard"}}
	if got := findWords(t, s, ask); got.Count != 0 || len(got.IDs) != 0 {
		t.Errorf("a staged record is found: %+v", got)
	}
	state("published")
	if got := findWords(t, s, ask); got.Count != 1 {
		t.Errorf("a published record is not found: %+v", got)
	}
}

// What other programs write is found too, and an index that is mostly of texts
// that no record bears any more is made anew.
func TestWordsFollowOutsideAndAreSwept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "w.db")
	s := open(t, path)
	w := &records.Well{Number: "A", Rock: "old rock"}
	putWells(t, s, w)
	indexAll(t, s)
	foreign(t, path, "UPDATE wells SET rock_unit = 'other rock'")
	indexAll(t, s)
	if got := findWords(t, s, records.WordsAsked{Words: []string{"other"}}); got.Count != 1 {
		t.Error("what another program wrote is not found")
	}
	if got := findWords(t, s, records.WordsAsked{Words: []string{"old"}}); got.Count != 0 {
		t.Error("what another program took away is found")
	}
	foreign(t, path, "INSERT INTO word_docs(docid, well_id, revision) VALUES (50000, 999, 1)")
	if err := s.View(t.Context(), func(v records.StoreView) (err error) { w, err = v.Well(t.Context(), w.ID); return err }); err != nil {
		t.Fatal(err)
	}
	w.Remarks = "again"
	putWells(t, s, w)
	indexAll(t, s)
	indexAll(t, s)
	if got := findWords(t, s, records.WordsAsked{Words: []string{"again"}}); got.Count != 1 {
		t.Error("after the sweep a record is not found")
	}
	// A docid was put far ahead: without the sweep there would be two texts.
	foreign(t, path, "CREATE TEMP TABLE one(n CHECK (n = 1))", "INSERT INTO one SELECT count(*) FROM word_docs")
}
