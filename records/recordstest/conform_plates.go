package recordstest

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// ConformPlateDesk holds a store against what is asked of it for decisions
// about plates and the search for their numbers.
func ConformPlateDesk(t *testing.T, open Opener) {
	t.Run("decided and undone", func(t *testing.T) { platesDecided(t, open(t)) })
	t.Run("put off until something is new", func(t *testing.T) { platesRenewed(t, open(t)) })
	t.Run("links changed with the record", func(t *testing.T) { platesUnlinked(t, open(t)) })
	t.Run("stale and wrong decisions", func(t *testing.T) { platesRefused(t, open(t)) })
	t.Run("taken out and brought back", func(t *testing.T) { platesRemoved(t, open(t)) })
	t.Run("numbers", func(t *testing.T) { numbersLike(t, open(t)) })
	t.Run("news", func(t *testing.T) { plateNews(t, open(t)) })
}

// plateWorld is two wells and two plates, the second linked as it came in.
type plateWorld struct {
	s      records.Store
	wells  [2]*records.Well
	plates [2]*records.Plate
}

func newPlateWorld(t *testing.T, s records.Store) *plateWorld {
	t.Helper()
	w := &plateWorld{s: s}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		for i := range w.wells {
			x := Plain()
			x.UID, x.Number = "", fmt.Sprintf("T-%d", i+1)
			if err := tx.PutWell(ctx, x, ""); err != nil {
				return err
			}
			w.wells[i] = x
		}
		for i := range w.plates {
			p := &records.Plate{Number: fmt.Sprintf("401%d", 7+i), Stamped: records.Stamped{Depth: Feet[records.Depth]("203")}}
			if i == 1 {
				p.WellID, p.Evidence = w.wells[1].ID, "number on the report"
			}
			if err := tx.PutPlate(ctx, p, ""); err != nil {
				return err
			}
			w.plates[i] = p
		}
		return nil
	})
	return w
}

func (w *plateWorld) decide(t *testing.T, d records.PlateDecision) records.PlateDecision {
	t.Helper()
	write(t, w.s, func(ctx context.Context, tx records.StoreTx) error { return tx.DecidePlate(ctx, &d) })
	return d
}

func (w *plateWorld) state(t *testing.T, id int64) (p records.PlateState) {
	t.Helper()
	look(t, w.s, func(ctx context.Context, v records.StoreView) (err error) {
		p, err = v.PlateState(ctx, id)
		return err
	})
	return p
}

func (w *plateWorld) decisions(t *testing.T, id int64) (list []records.PlateDecision) {
	t.Helper()
	look(t, w.s, func(ctx context.Context, v records.StoreView) (err error) {
		list, err = v.PlateDecisions(ctx, id)
		return err
	})
	return list
}

func platesDecided(t *testing.T, s records.Store) {
	w := newPlateWorld(t, s)
	first, second := w.plates[0], w.plates[1]
	if p := w.state(t, first.ID); p.State() != records.PlateOpen || p.Decision.Revision != 0 || p.Number != "4017" {
		t.Errorf("a new plate stands at %+v", p)
	}
	before := commits(t, s)
	d := w.decide(t, records.PlateDecision{PlateID: first.ID, State: records.PlateLinked, WellUID: w.wells[0].UID, Why: "all agrees", Evidence: "depth and date",
		Act: "act-1", Candidates: []string{w.wells[0].UID, w.wells[1].UID}, Refused: []string{w.wells[1].UID}, Reasons: `[{"well":"x"}]`})
	if d.Revision != 1 || d.By != Writer().Name || d.At.IsZero() || d.Commit <= before || d.PlateRevision != 2 {
		t.Errorf("decided: %+v", d)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		p, err := v.Plate(ctx, first.ID)
		if err == nil && (p.WellID != w.wells[0].ID || p.LinkedBy != Writer().Name || p.Evidence != "depth and date" || p.LinkedAt.IsZero()) {
			t.Errorf("the plate after it: %+v", p)
		}
		revs, err2 := v.PlateRevisions(ctx, first.ID)
		if err2 != nil || len(revs) != 1 || revs[0].Why != "all agrees" || revs[0].Image.WellID != 0 {
			t.Errorf("earlier states: %+v, %v", revs, err2)
		}
		act, err3 := v.PlateAct(ctx, "act-1")
		if diff := cmp.Diff([]records.PlateDecision{d}, act); diff != "" || err3 != nil {
			t.Errorf("the act: %v\n%s", err3, diff)
		}
		for _, none := range []string{"", "act-9"} {
			if act, err := v.PlateAct(ctx, none); len(act) != 0 || err != nil {
				t.Errorf("act %q: %v, %v", none, act, err)
			}
		}
		return err
	})
	list := w.decisions(t, first.ID)
	if len(list) != 2 || list[1].Revision != 0 || list[1].State != records.PlateOpen || !cmp.Equal(list[0], d) {
		t.Errorf("decisions: %+v", list)
	}
	// Undone: the state before it is written again.
	undo := list[1]
	undo.Revision, undo.Why, undo.Act = 1, "undone", "act-2"
	if d := w.decide(t, undo); d.Revision != 2 {
		t.Errorf("undone at %d", d.Revision)
	}
	if p := w.state(t, first.ID); p.State() != records.PlateOpen || p.WellID != 0 || p.Decision.State != records.PlateOpen {
		t.Errorf("undone and at %+v", p)
	}
	// One that came in linked remembers it.
	w.decide(t, records.PlateDecision{PlateID: second.ID, State: records.PlateNoRecord})
	if p := w.state(t, second.ID); p.State() != records.PlateNoRecord || p.WellID != 0 {
		t.Errorf("no record: %+v", p)
	}
	list = w.decisions(t, second.ID)
	if len(list) != 2 || list[1].WellUID != w.wells[1].UID || list[1].Evidence != "number on the report" || list[1].State != records.PlateLinked {
		t.Errorf("as it stood before: %+v", list)
	}
	var states []string
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachPlateState(ctx, func(p *records.PlateState) error {
			states = append(states, p.Number+" "+p.State())
			return nil
		})
	})
	if want := []string{"4017 open", "4018 no_record"}; !slices.Equal(states, want) {
		t.Errorf("all of them: %v, want %v", states, want)
	}
	undone(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.DecidePlate(ctx, &records.PlateDecision{PlateID: first.ID, Revision: 2, State: records.PlateLater})
	})
}

func platesRenewed(t *testing.T, s records.Store) {
	w := newPlateWorld(t, s)
	p := w.plates[0]
	later := func() {
		t.Helper()
		w.decide(t, records.PlateDecision{PlateID: p.ID, Revision: w.state(t, p.ID).Decision.Revision, State: records.PlateLater, Candidates: []string{w.wells[0].UID}})
		if got := w.state(t, p.ID); got.State() != records.PlateLater || got.Renewed {
			t.Fatalf("put off and at %+v", got)
		}
	}
	later()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		w.wells[1].StopReason = "depth"
		return tx.PutWell(ctx, w.wells[1], "")
	})
	if got := w.state(t, p.ID).State(); got != records.PlateLater {
		t.Errorf("a well that was not looked at is edited, and it is %s", got)
	}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		w.wells[0].StopReason = "depth"
		return tx.PutWell(ctx, w.wells[0], "")
	})
	if got := w.state(t, p.ID).State(); got != records.PlateOpen {
		t.Errorf("a well that was looked at is edited, and it is %s", got)
	}
	later()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		p.Seen = append(p.Seen, records.PlateSighting{Located: true, Lon: -72, Lat: 44})
		return tx.PutPlate(ctx, p, "seen again")
	})
	if got := w.state(t, p.ID).State(); got != records.PlateOpen {
		t.Errorf("seen again, and it is %s", got)
	}
}

func platesUnlinked(t *testing.T, s records.Store) {
	w := newPlateWorld(t, s)
	p := w.plates[0]
	w.decide(t, records.PlateDecision{PlateID: p.ID, State: records.PlateLinked, WellUID: w.wells[0].UID})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.RemoveWell(ctx, w.wells[0].ID, w.wells[0].Revision, "twin")
	})
	if got := w.state(t, p.ID); got.State() != records.PlateOpen || got.Decision.Revision != 1 {
		t.Errorf("its well is taken out, and it is %+v", got)
	}
	d := w.decide(t, records.PlateDecision{PlateID: p.ID, Revision: 1, State: records.PlateLinked, WellUID: w.wells[1].UID})
	list := w.decisions(t, p.ID)
	if d.Revision != 3 || len(list) != 4 || list[1].State != records.PlateOpen || list[1].Revision != 2 {
		t.Errorf("what was before the new link is not written down: %+v", list)
	}
}

func platesRefused(t *testing.T, s records.Store) {
	w := newPlateWorld(t, s)
	id := w.plates[0].ID
	before := commits(t, s)
	decide := func(d records.PlateDecision) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error { return tx.DecidePlate(ctx, &d) }
	}
	refused(t, s, "stale", records.Conflict, decide(records.PlateDecision{PlateID: id, Revision: 1, State: records.PlateLater}))
	refused(t, s, "no such plate", records.NotFound, decide(records.PlateDecision{PlateID: 99, State: records.PlateLater}))
	refused(t, s, "no such well", records.NotFound, decide(records.PlateDecision{PlateID: id, State: records.PlateLinked, WellUID: "none"}))
	refused(t, s, "linked to nothing", records.NotFound, decide(records.PlateDecision{PlateID: id, State: records.PlateLinked}))
	refused(t, s, "open with a well", records.Invalid, decide(records.PlateDecision{PlateID: id, State: records.PlateOpen, WellUID: w.wells[0].UID}))
	refused(t, s, "no such word", records.Invalid, decide(records.PlateDecision{PlateID: id, State: "perhaps"}))
	refused(t, s, "reasons that are no JSON", records.Invalid, decide(records.PlateDecision{PlateID: id, State: records.PlateLater, Reasons: "{"}))
	refused(t, s, "taken out stale", records.Conflict, func(ctx context.Context, tx records.StoreTx) error { return tx.RemovePlate(ctx, id, 9, "") })
	refused(t, s, "taken out and not there", records.NotFound, func(ctx context.Context, tx records.StoreTx) error { return tx.RemovePlate(ctx, 99, 1, "") })
	if now := commits(t, s); now != before {
		t.Errorf("refused writes left commit %d, want %d", now, before)
	}
}

func platesRemoved(t *testing.T, s records.Store) {
	w := newPlateWorld(t, s)
	p := w.plates[0]
	w.decide(t, records.PlateDecision{PlateID: p.ID, State: records.PlateLater})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.RemovePlate(ctx, p.ID, p.Revision, "written twice")
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		if _, err := v.Plate(ctx, p.ID); records.CodeOf(err) != records.NotFound {
			t.Errorf("taken out and still there: %v", err)
		}
		revs, err := v.PlateRevisions(ctx, p.ID)
		if len(revs) != 1 || revs[0].Why != "written twice" || revs[0].Image.Number != "4017" {
			t.Errorf("its last image: %+v", revs)
		}
		return err
	})
	back := *p
	back.ID, back.Revision = 0, 0
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutPlate(ctx, &back, "") })
	if got := w.state(t, back.ID); got.Decision.State != records.PlateLater || got.UID != p.UID {
		t.Errorf("brought back, and what was decided of it is %+v", got.Decision)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		id, err := v.PlateIDByUID(ctx, p.UID)
		if id != back.ID {
			t.Errorf("its public name leads to %d, not %d", id, back.ID)
		}
		if _, err := v.PlateIDByUID(ctx, "none"); records.CodeOf(err) != records.NotFound {
			t.Errorf("a name that there is not: %v", err)
		}
		return err
	})
}

// What '?' stands for was worked out by hand.
func numbersLike(t *testing.T, s records.Store) {
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		for _, n := range []string{"4017", "4917", "40 17", "4?17", "41?7", "A-4017", "[4*17", "40170", "?017"} {
			if err := tx.PutPlate(ctx, &records.Plate{Number: n}, ""); err != nil {
				return err
			}
		}
		for i, n := range []string{"4017", "4-117", "5017"} {
			x := Plain()
			x.UID, x.Number = "", n
			if err := tx.PutWell(ctx, x, ""); err != nil {
				return fmt.Errorf("%d: %w", i, err)
			}
		}
		return nil
	})
	for _, c := range []struct {
		sought string
		limit  int
		want   []string // plates, then wells marked w
	}{
		{"4?17", 50, []string{"4?17", "4017", "40 17", "4917", "41?7", "?017", "w4017", "w4-117"}},
		{"4017", 50, []string{"4017", "40 17", "w4017", "4?17", "?017"}},
		{"?017", 50, []string{"?017", "4017", "40 17", "4?17", "w4017", "w5017"}},
		{"a 40?7", 50, []string{"A-4017"}},
		{"[4*1?", 50, []string{"[4*17"}},
		{"????", 3, []string{"4017", "40 17", "41?7"}}, // in the order of their digits
		{"4018", 50, nil},
		{"  ", 50, nil},
	} {
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			got, err := v.NumbersLike(ctx, c.sought, c.limit)
			var names []string
			for _, m := range got {
				name := m.Text
				if m.PlateID == 0 {
					name = "w" + name
				}
				names = append(names, name)
			}
			slices.Sort(names)
			want := slices.Clone(c.want)
			slices.Sort(want)
			if !slices.Equal(names, want) {
				t.Errorf("%q finds %q, want %q", c.sought, names, want)
			}
			return err
		})
	}
}

func plateNews(t *testing.T, s records.Store) {
	w := newPlateWorld(t, s)
	start := commits(t, s)
	news := func(wells, plates int64) {
		t.Helper()
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			a, b, err := v.PlateNews(ctx, start)
			if a != wells || b != plates {
				t.Errorf("news of %d wells and %d plates, want %d and %d", a, b, wells, plates)
			}
			return err
		})
	}
	news(0, 0)
	w.decide(t, records.PlateDecision{PlateID: w.plates[0].ID, State: records.PlateLinked, WellUID: w.wells[0].UID})
	news(0, 0)
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		w.plates[1].Number = "9"
		return tx.PutPlate(ctx, w.plates[1], "")
	})
	news(1, 1) // the well that it is linked to is shown anew
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		ids, err := v.PlatesWritten(ctx, v.Commit())
		if !slices.Equal(ids, []int64{w.plates[1].ID}) {
			t.Errorf("written in the latest commit: %v", ids)
		}
		return err
	})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.RemoveWell(ctx, w.wells[0].ID, w.wells[0].Revision, "")
	})
	if look(t, s, func(ctx context.Context, v records.StoreView) error {
		if wells, _, err := v.PlateNews(ctx, start); wells != 2 || err != nil {
			t.Errorf("after a well was taken out: news of %d wells (%v), want 2", wells, err)
		}
		return nil
	}); t.Failed() {
		return
	}
}
