package desk_test

import (
	"bytes"
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// TestTakeInAccounts: rows read are rows accepted and rows refused, and the
// refused are told of and given back.
func TestTakeInAccounts(t *testing.T) {
	d, path := newDesk(t)
	bad := `{"type":"Feature","geometry":{"type":"Point","coordinates":[44,-140]},"properties":{"number":"swapped"}}`
	doubtful := `{"type":"Feature","geometry":null,"properties":{"number":"nowhere","strata":[{"top_m":0,"bottom_m":5,"description":"sand"},{"top_m":4,"bottom_m":9,"description":"granite"}]}}`
	text := feature(0) + "\n" + bad + "\n" + feature(1) + "\nnot json\n" + doubtful + "\n" + feature(2) + "\n"
	src, err := importer.NewSource(strings.NewReader(text), importer.Options{Name: "mixed.ndjson", Validate: d.Validation()})
	if err != nil {
		t.Fatal(err)
	}
	var rows, reasons bytes.Buffer
	told := map[int64]bool{}
	b, err := d.TakeIn(t.Context(), me, desk.Intake{Source: src, Name: "mixed.ndjson",
		Refused: importer.NewRefusals(&rows, &reasons, src),
		Told:    func(r *importer.Row) { told[r.Line] = r.Refused() }})
	if err != nil {
		t.Fatal(err)
	}
	if b.Read != 6 || b.Accepted+b.Refused != b.Read || b.Refused < 2 || int(b.Accepted) != d.Picture().Len() {
		t.Errorf("%+v, and %d wells show", b, d.Picture().Len())
	}
	if !told[2] || !told[4] {
		t.Errorf("told of %v, want lines 2 and 4 refused", told)
	}
	if !strings.Contains(rows.String(), bad) || !strings.Contains(rows.String(), "not json") {
		t.Errorf("the refused rows are not given back unchanged: %q", rows.String())
	}
	if n := int64(strings.Count(reasons.String(), "\n")); n != b.Refused {
		t.Errorf("%d reasons for %d refused rows", n, b.Refused)
	}
	if b.SHA256 == "" || b.By != me.Name || b.State != "published" {
		t.Errorf("the intake is recorded as %+v", b)
	}
	if n := ask(t, path, "SELECT read * 1000000 + accepted * 1000 + refused FROM batches"); int64(n) != b.Read*1000000+b.Accepted*1000+b.Refused {
		t.Errorf("the file's own record of the intake differs: %d", n)
	}
}

// TestStagedOutOfSight: while a file is taken in nobody sees any of it, and
// then all of it at once.
func TestStagedOutOfSight(t *testing.T) {
	d, path := newDesk(t)
	other := openDesk(t, path, 0)
	looked, staged := 0, 0
	_, err := takeIn(t.Context(), d, "wells.ndjson", strings.NewReader(features(20000)), desk.Intake{
		Progress: func(_, _, rows int64) {
			looked++
			staged = max(staged, ask(t, path, "SELECT count(*) FROM wells"))
			if err := other.Refresh(t.Context()); err != nil {
				t.Fatal(err)
			}
			if n := d.Picture().Len() + other.Picture().Len() + len(uids(t, d)) + len(uids(t, other)); n != 0 {
				t.Fatalf("after %d rows %d wells show", rows, n)
			}
		}})
	if err != nil {
		t.Fatal(err)
	}
	if looked < 5 || staged < 2000 {
		t.Fatalf("looked %d times, and at most %d rows were staged: nothing was tested", looked, staged)
	}
	if d.Picture().Len() != 20000 || other.Picture().Len() != 0 {
		t.Errorf("%d show, and %d at the other desk before it looks", d.Picture().Len(), other.Picture().Len())
	}
	if err := other.Refresh(t.Context()); err != nil || other.Picture().Len() != 20000 {
		t.Errorf("the other desk sees %d, %v", other.Picture().Len(), err)
	}
}

// TestAnotherDeskWatches: a server sees by itself what an import beside it
// took in.
func TestAnotherDeskWatches(t *testing.T) {
	d, path := newDesk(t)
	other := openDesk(t, path, 5*time.Millisecond)
	mustTakeIn(t, d, features(30))
	for deadline := time.Now().Add(20 * time.Second); other.Picture().Len() != 30; time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("after 20 s it sees %d of 30 wells", other.Picture().Len())
		}
	}
}

func TestTwiceTheSameFile(t *testing.T) {
	d, _ := newDesk(t)
	first := mustTakeIn(t, d, features(50))
	before := uids(t, d)
	var faults []records.Fault
	second, err := takeIn(t.Context(), d, "wells.ndjson", strings.NewReader(features(50)), desk.Intake{
		Told: func(r *importer.Row) { faults = append(faults, r.Faults...) }})
	if err != nil {
		t.Fatal(err)
	}
	if first.Accepted != 50 || second.Accepted != 0 || second.Refused != 50 {
		t.Errorf("first %+v, second %+v", first, second)
	}
	if diff := cmp.Diff(before, uids(t, d)); diff != "" || len(before) != 50 {
		t.Errorf("the public names changed:\n%s", diff)
	}
	if len(faults) == 0 || faults[0].Field != "uid" || !strings.Contains(faults[0].Message, "already") {
		t.Errorf("told %v", faults)
	}
	// In another database they have the same names.
	elsewhere, _ := newDesk(t)
	mustTakeIn(t, elsewhere, features(50))
	if diff := cmp.Diff(before, uids(t, elsewhere)); diff != "" {
		t.Errorf("in another database the public names differ:\n%s", diff)
	}
}

// nothingLeft holds a file against having been touched by an intake.
func nothingLeft(t *testing.T, d *desk.Desk, path string) {
	t.Helper()
	for _, q := range []string{"SELECT count(*) FROM wells", "SELECT count(*) FROM well_records", "SELECT count(*) FROM strata",
		"SELECT count(*) FROM idx_wells_geom", "SELECT count(*) FROM plates", "SELECT count(*) FROM revisions", "SELECT count(*) FROM batches WHERE state <> 'withdrawn'"} {
		if n := ask(t, path, q); n != 0 {
			t.Errorf("%s gives %d", q, n)
		}
	}
	if d.Picture().Len() != 0 {
		t.Errorf("%d wells show", d.Picture().Len())
	}
	r, err := d.Check(t.Context(), me, nil)
	if err != nil || !r.Sound() {
		t.Errorf("check finds %+v, %v", r, err)
	}
}

func TestInterruptedLeavesNothing(t *testing.T) {
	d, path := newDesk(t)
	ctx, cancel := context.WithCancel(t.Context())
	_, err := takeIn(ctx, d, "wells.ndjson", strings.NewReader(features(18000)), desk.Intake{
		Progress: func(_, _, rows int64) {
			if rows > 17000 {
				if ask(t, path, "SELECT count(*) FROM wells") == 0 {
					t.Error("nothing was staged before the interruption: the test does not test it")
				}
				cancel()
			}
		}})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("it ends with %v", err)
	}
	nothingLeft(t, d, path)
}

func TestBrokenOffLeavesNothing(t *testing.T) {
	pulled := errors.New("the cable was pulled")
	for _, c := range []struct {
		name, text string
		err        error
	}{
		{"reading fails", features(4100), pulled},
		{"a collection without its end", `{"type":"FeatureCollection","features":[` + strings.ReplaceAll(strings.TrimSpace(features(4100)), "\n", ",") + `,{"type":"Fea`, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, path := newDesk(t)
			r := &broken{strings.NewReader(c.text), c.err}
			b, err := takeIn(t.Context(), d, "wells.json", r, desk.Intake{})
			if err == nil {
				t.Fatalf("a source that breaks off is taken in: %+v", b)
			}
			if c.err != nil && !errors.Is(err, c.err) {
				t.Errorf("the cause is lost: %v", err)
			}
			nothingLeft(t, d, path)
		})
	}
}

// TestRefusalsThatCannotBeWritten: a row that is refused and cannot be given
// back would be lost, so nothing is taken in.
func TestRefusalsThatCannotBeWritten(t *testing.T) {
	d, path := newDesk(t)
	src, err := importer.NewSource(strings.NewReader(features(2500)+"not json\n"), importer.Options{Name: "w", Validate: d.Validation()})
	if err != nil {
		t.Fatal(err)
	}
	full := errors.New("no room")
	_, err = d.TakeIn(t.Context(), me, desk.Intake{Source: src, Name: "w", Refused: importer.NewRefusals(failing{full}, nil, src)})
	if !errors.Is(err, full) {
		t.Errorf("it ends with %v", err)
	}
	nothingLeft(t, d, path)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// TestProgramEndedDuringAnIntake: what was staged is taken out by the next
// intake, and the same file can be taken in then.
func TestProgramEndedDuringAnIntake(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wells.db")
	d := openDesk(t, path, 0)
	mustTakeIn(t, d, features(40))
	// As if the program had ended before it published.
	damage(t, path, "UPDATE batches SET state = 'staged'")
	d = openDesk(t, path, 0)
	if d.Picture().Len() != 0 {
		t.Fatalf("%d wells of an unfinished intake show", d.Picture().Len())
	}
	r, err := d.Check(t.Context(), me, nil)
	if err != nil || !r.Sound() || len(r.Notes) != 1 || !strings.Contains(r.Notes[0], "never finished") {
		t.Errorf("check finds %+v, %v", r, err)
	}
	b := mustTakeIn(t, d, features(40))
	if b.Accepted != 40 || b.Refused != 0 || d.Picture().Len() != 40 {
		t.Errorf("%+v, and %d wells show", b, d.Picture().Len())
	}
	if r, err := d.Check(t.Context(), me, nil); err != nil || !r.Sound() {
		t.Errorf("check finds %+v, %v", r, err)
	}
}

func TestOneIntakeAtATime(t *testing.T) {
	d, path := newDesk(t)
	other := openDesk(t, path, 0)
	tried := false
	_, err := takeIn(t.Context(), d, "a.ndjson", strings.NewReader(features(600)), desk.Intake{Progress: func(_, _, _ int64) {
		if tried {
			return
		}
		tried = true
		_, err := takeIn(t.Context(), other, "b.ndjson", strings.NewReader(features(3)), desk.Intake{})
		if records.CodeOf(err) != records.Busy {
			t.Errorf("a second intake at the same time: %v", err)
		}
	}})
	if err != nil || !tried {
		t.Fatalf("%v, tried %v", err, tried)
	}
	if b, err := takeIn(t.Context(), other, "b.ndjson", strings.NewReader(feature(900)), desk.Intake{}); err != nil || b.Accepted != 1 {
		t.Errorf("after the first has ended: %+v, %v", b, err)
	}
}

// TestWithoutAPicture: taking in needs none, and leaves it empty.
func TestWithoutAPicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wells.db")
	d, err := desk.Open(t.Context(), desk.Options{Store: openStore(t, path), NoPicture: true, Log: quiet()})
	if err != nil {
		t.Fatal(err)
	}
	b := mustTakeIn(t, d, features(20))
	if b.Accepted != 20 || d.Picture().Len() != 0 || len(uids(t, d)) != 20 {
		t.Errorf("%+v, %d show, %d can be given out", b, d.Picture().Len(), len(uids(t, d)))
	}
	if err := d.Close(); err != nil {
		t.Error(err)
	}
}

// TestOneNameTwiceInAFile: the second is refused, and not the file.
func TestOneNameTwiceInAFile(t *testing.T) {
	d, _ := newDesk(t)
	named := func(number string) string {
		return strings.Replace(feature(0), `"properties":{"number":"W-0"`, `"properties":{"uid":"0190a1b2-c3d4-7e5f-8a6b-0123456789ab","number":"`+number+`"`, 1) + "\n"
	}
	b := mustTakeIn(t, d, named("first")+features(2500)+named("second"))
	if b.Read != 2502 || b.Accepted != 2501 || b.Refused != 1 || d.Picture().Len() != 2501 {
		t.Errorf("%+v, and %d show", b, d.Picture().Len())
	}
}
