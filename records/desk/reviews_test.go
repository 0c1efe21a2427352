package desk_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/review"
	"tallybook/records/sqlite"
)

// reviewDesk is a database of wells of its own.
func reviewDesk(t testing.TB, wells []*records.Well) *desk.Desk {
	t.Helper()
	vocabulary := lithology.Default()
	now := func() time.Time { return time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC) }
	store, err := sqlite.Open(t.Context(), sqlite.Options{Path: filepath.Join(t.TempDir(), "review.db"), Create: true, Reader: vocabulary, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), desk.Options{Store: store, Vocabulary: vocabulary, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	if err := d.AddAll(t.Context(), desk.LocalPerson(), wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	return d
}

func reviewSettings(change func(*review.Settings)) *review.Settings {
	s := &review.Settings{Quantity: "yield"}
	s.Defaults()
	if change != nil {
		change(s)
	}
	return s
}

// The same records taken in in another order, with other keys, give the same
// numbers to the last digit that counts; one record changed shows.
func TestReviewOnAnotherCopy(t *testing.T) {
	wells := func() []*records.Well {
		list := demo.Make(3).Wells[:400]
		for i, w := range list { // public names, as a copy or a file taken in again has them
			w.UID = fmt.Sprintf("00000000-0000-7000-8000-%012d", i)
		}
		return list
	}
	turned := wells()
	for i, j := 0, len(turned)-1; i < j; i, j = i+1, j-1 {
		turned[i], turned[j] = turned[j], turned[i]
	}
	one, two := reviewDesk(t, wells()), reviewDesk(t, turned)
	from := 1990.0
	for name, s := range map[string]*review.Settings{
		"all":          reviewSettings(nil),
		"some, metric": reviewSettings(func(s *review.Settings) { s.Units, s.Quantity, s.DrilledFrom = "si", "depth_to_bedrock", &from }),
		"a filter":     reviewSettings(func(s *review.Settings) { s.Only = "total_depth_ft > 200 AND rock_unit IS NOT NULL" }),
		"a circle":     reviewSettings(func(s *review.Settings) { s.Where = &review.Where{Centre: &[2]float64{-38.75, 44.25}, RadiusM: 3000} }),
	} {
		a, b := worked(t, one, s), worked(t, two, s)
		if a.Data.Digest != b.Data.Digest || a.Data.Logs != b.Data.Logs || a.Data.Logs == "" {
			t.Errorf("%s: fingerprints %+v and %+v", name, a.Data, b.Data)
		}
		if a.Data.Wells == 0 || len(a.Answers) < 7 {
			t.Errorf("%s: %d wells, %d answers", name, a.Data.Wells, len(a.Answers))
		}
		text, err := a.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		back, err := review.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		if d := review.Compare(back.Answers, b.Answers); len(d) > 0 {
			t.Errorf("%s: %v", name, d)
		}
	}
	// One yield changed in the other copy.
	s := reviewSettings(nil)
	before := worked(t, one, s)
	if err := two.AddAll(t.Context(), desk.LocalPerson(), demo.Make(4).Wells[:3], nil, nil); err != nil {
		t.Fatal(err)
	}
	since, err := two.ReviewSince(desk.LocalPerson(), before)
	if err != nil || since.Same || since.String() != "The data have changed since: 3 wells more." {
		t.Errorf("%v %q", err, since)
	}
	differs := review.Compare(before.Answers, worked(t, two, s).Answers)
	if len(differs) < 3 || differs[0].String() != "completeness, wells: 400 before, 403 now" {
		t.Errorf("differences: %v", differs)
	}
}

// A filter takes the wells that the page's own words for the same take.
func TestReviewByFilter(t *testing.T) {
	d := reviewDesk(t, demo.Make(3).Wells[:400])
	from, deep := 1990.0, 200*0.3048
	words := worked(t, d, reviewSettings(func(s *review.Settings) { s.DrilledFrom, s.DepthFromM = &from, &deep }))
	filter := worked(t, d, reviewSettings(func(s *review.Settings) {
		s.Only = "completed >= DATE('1990-01-01') AND total_depth_ft >= 200 AND total_depth_qualifier = 'exact'"
	}))
	if n := words.Data.Wells; n < 20 || n > 380 || n != filter.Data.Wells {
		t.Errorf("%d wells by words, %d by the filter", n, filter.Data.Wells)
	}
	for i := range words.Answers {
		if diff := review.Compare(words.Answers[i:i+1], filter.Answers[i:i+1]); len(diff) > 0 {
			t.Errorf("%v", diff)
		}
	}
	both := worked(t, d, reviewSettings(func(s *review.Settings) {
		s.DrilledFrom, s.Only = &from, "total_depth_ft >= 200 AND total_depth_qualifier = 'exact'"
	}))
	if both.Data.Wells != words.Data.Wells {
		t.Errorf("%d wells by both, want %d", both.Data.Wells, words.Data.Wells)
	}
	// What is added since is looked at anew.
	more := demo.Make(4).Wells[:40]
	if err := d.AddAll(t.Context(), desk.LocalPerson(), more, nil, nil); err != nil {
		t.Fatal(err)
	}
	all := worked(t, d, reviewSettings(func(s *review.Settings) { s.Only = "total_depth_m >= 0 OR total_depth_m IS NULL" }))
	if all.Data.Wells != 440 {
		t.Errorf("%d wells, want 440", all.Data.Wells)
	}
	if _, err := d.Review(t.Context(), desk.LocalPerson(), reviewSettings(func(s *review.Settings) { s.Only = "depth > 3" }), nil); records.CodeOf(err) != records.Invalid {
		t.Errorf("%v", err)
	}
}

func worked(t testing.TB, d *desk.Desk, s *review.Settings) *review.Document {
	t.Helper()
	doc, err := d.Review(t.Context(), desk.LocalPerson(), s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func TestReviewKept(t *testing.T) {
	d := reviewDesk(t, demo.Make(3).Wells[:60])
	me, ctx := desk.LocalPerson(), t.Context()
	s := reviewSettings(nil)
	r, err := d.KeepReview(ctx, me, s, "Sixty wells", "A. Consultant", "")
	if err != nil {
		t.Fatal(err)
	}
	got, doc, err := d.KeptReview(ctx, me, r.ID)
	if err != nil || got.Title != "Sixty wells" || doc.Author != "A. Consultant" || doc.Data.Wells != 60 || got.Digest != doc.Data.Digest {
		t.Errorf("%+v %+v %v", got, doc, err)
	}
	// Keeping a review is a commit of its own and leaves the data as they were.
	if since, err := d.ReviewSince(me, doc); err != nil || !since.Same {
		t.Errorf("%+v %v", since, err)
	}
	if err := d.WithdrawReview(ctx, me, r.ID, 0, true, "no use"); err != nil {
		t.Fatal(err)
	}
	if err := d.WithdrawReview(ctx, me, r.ID, 0, true, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("withdrawn from a stale state: %v", err)
	}
	stranger := records.Actor{ID: 9, Name: "stranger"}
	if _, err := d.KeepReview(ctx, stranger, s, "x", "", ""); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger keeps a review: %v", err)
	}
	if _, _, err := d.KeptReview(ctx, stranger, r.ID); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger reads a review: %v", err)
	}
	if err := d.WithdrawReview(ctx, stranger, r.ID, 1, false, ""); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger brings it back: %v", err)
	}
	if _, err := d.KeepReview(ctx, me, s, "", "", ""); records.CodeOf(err) != records.Invalid {
		t.Errorf("without a title: %v", err)
	}
	report, err := d.Check(ctx, me, nil)
	if err != nil || !report.Sound() {
		t.Errorf("%v %+v", err, report)
	}
}

// What is marked unreliable is left out, and taken in when asked.
func TestReviewLeavesOutMarked(t *testing.T) {
	wells := demo.Make(3).Wells[:60]
	d := reviewDesk(t, wells)
	known := func(s *review.Settings) int { return worked(t, d, s).Answer("distribution").Count("known") }
	before := known(reviewSettings(nil))
	w := wells[0]
	for _, x := range wells {
		if v, ok := x.Yield.Number(); ok && v > 0 && x.CountsForYield() {
			w = x
			break
		}
	}
	w.Unreliable = append(w.Unreliable, records.Doubt{About: "all", Reason: "copied from another"})
	if _, err := d.Save(t.Context(), desk.LocalPerson(), w, ""); err != nil {
		t.Fatal(err)
	}
	if n := known(reviewSettings(nil)); n != before-1 {
		t.Errorf("%d yields are known, not %d", n, before-1)
	}
	if n := known(reviewSettings(func(s *review.Settings) { s.MarkedToo = true })); n != before {
		t.Errorf("taken in: %d yields are known, not %d", n, before)
	}
}
