package desk_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// spooledDesk is a desk whose sent files wait in a folder of the test.
func spooledDesk(t *testing.T, now func() time.Time) (*desk.Desk, string) {
	t.Helper()
	dir := t.TempDir()
	spool := filepath.Join(dir, "wells.db.intake")
	d, err := desk.Open(t.Context(), desk.Options{Store: openStore(t, filepath.Join(dir, "wells.db")), Now: now, Log: quiet(), Spool: spool})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d, spool
}

func receive(t *testing.T, d *desk.Desk, name, text string) *desk.Sent {
	t.Helper()
	s, err := d.Receive(t.Context(), me, name, strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ended waits until the work on a file has ended.
func ended(t *testing.T, d *desk.Desk, token string) *desk.IntakeWork {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(2 * time.Millisecond) {
		w, err := d.IntakeWork(me, token)
		if err != nil {
			t.Fatal(err)
		}
		if w != nil && w.Over() {
			return w
		}
	}
	t.Fatal("after 30 s the work has not ended")
	return nil
}

func atNoon() time.Time { return noon }

// TestSentFilesAreSwept: what nobody accepts goes after two weeks, what is
// newer stays, and so does what it knows across a restart.
func TestSentFilesAreSwept(t *testing.T) {
	now := time.Now()
	d, spool := spooledDesk(t, func() time.Time { return now })
	old := receive(t, d, `C:\files\..\old.csv`, threeWells)
	if old.Name != "old.csv" || old.Size != int64(len(threeWells)) || len(old.SHA256) != 64 {
		t.Errorf("received as %+v", old)
	}
	now = now.Add(13 * 24 * time.Hour)
	newer := receive(t, d, "new.csv", threeWells)
	later := now.Add(-time.Hour)
	if err := os.Chtimes(filepath.Join(spool, newer.Token), later, later); err != nil {
		t.Fatal(err)
	}
	now = now.Add(2 * 24 * time.Hour)
	receive(t, d, "third.csv", threeWells)
	if _, err := d.SentFile(t.Context(), me, old.Token); records.CodeOf(err) != records.NotFound {
		t.Errorf("one of two weeks ago: %v", err)
	}
	all, err := d.SentFiles(t.Context(), me)
	if err != nil || len(all) != 2 || all[1].Token != newer.Token {
		t.Errorf("%d are left, %v", len(all), err)
	}
	if err := d.DropSent(t.Context(), me, newer.Token); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(spool, newer.Token)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("dropped, it is still there: %v", err)
	}
}

// TestReceiveLeavesNothingBroken: what does not arrive whole, or holds
// nothing, is not kept.
func TestReceiveLeavesNothingBroken(t *testing.T) {
	d, spool := spooledDesk(t, atNoon)
	pulled := errors.New("the cable was pulled")
	for name, r := range map[string]io.Reader{"broken off": &broken{strings.NewReader(threeWells), pulled}, "empty": strings.NewReader("")} {
		if s, err := d.Receive(t.Context(), me, name, r); records.CodeOf(err) != records.Invalid {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := d.Receive(ctx, me, "left", strings.NewReader(threeWells)); err == nil {
		t.Error("one whose sender has left is kept")
	}
	entries, err := os.ReadDir(spool)
	if err != nil || len(entries) != 0 {
		t.Errorf("%d are left behind, %v", len(entries), err)
	}
}

// TestSentIsRehearsedAndAccepted: nothing is written by a rehearsal, and what
// it foretold is what comes.
func TestSentIsRehearsedAndAccepted(t *testing.T) {
	d, path := newDesk(t)
	text := "number,lon,lat,depth_to_bedrock_m\nA,-72,44,3\nB,-72.01,44,nonsense\nC,-72.02,44,5\n"
	s := receive(t, d, "wells.csv", text)
	if err := d.AcceptSent(t.Context(), me, s.Token, s.Revision); records.CodeOf(err) != records.Conflict {
		t.Errorf("accepted without a rehearsal: %v", err)
	}
	commits := ask(t, path, "SELECT count(*) FROM commits")
	if err := d.RehearseSent(t.Context(), me, s.Token); err != nil {
		t.Fatal(err)
	}
	if w := ended(t, d, s.Token); w.Err != nil {
		t.Fatal(w.Err)
	}
	if n := ask(t, path, "SELECT count(*) FROM commits"); n != commits {
		t.Errorf("a rehearsal wrote: %d commits after %d", n, commits)
	}
	now, err := d.SentFile(t.Context(), me, s.Token)
	if err != nil || now.Rehearsed == nil {
		t.Fatalf("%+v, %v", now, err)
	}
	foretold := now.Rehearsed.Tally
	if err := d.AcceptSent(t.Context(), me, s.Token, now.Revision); err != nil {
		t.Fatal(err)
	}
	w := ended(t, d, s.Token)
	if w.Err != nil || w.Batch == 0 {
		t.Fatalf("%+v", w)
	}
	b, err := d.Intake(t.Context(), me, w.Batch)
	if err != nil || b.Read != foretold.Read || b.Accepted != foretold.Accepted || b.Refused != foretold.Refused || b.Warned != foretold.Warned || b.Refused != 1 || b.SHA256 != s.SHA256 {
		t.Errorf("came %+v, foretold %+v, %v", b, foretold, err)
	}
	r, err := d.IntakeReport(t.Context(), me, w.Batch)
	if err != nil {
		t.Fatal(err)
	}
	rows, total, err := r.Rows(desk.ReportFilter{Only: "refused"}, 0, 10)
	if err != nil || total != 1 || rows[0].Row != 2 || !strings.Contains(rows[0].Raw, "nonsense") {
		t.Errorf("the report has %d: %+v, %v", total, rows, err)
	}
	if err := d.AcceptSent(t.Context(), me, s.Token, now.Revision); records.CodeOf(err) != records.Conflict {
		t.Errorf("accepted twice: %v", err)
	}
}

// TestOneWorkAtATime: a second file is told to wait, and cancelling leaves
// nothing.
func TestOneWorkAtATime(t *testing.T) {
	d, path := newDesk(t)
	long := receive(t, d, "long.ndjson", features(30000))
	other := receive(t, d, "other.csv", threeWells)
	if err := d.RehearseSent(t.Context(), me, long.Token); err != nil {
		t.Fatal(err)
	}
	if err := d.RehearseSent(t.Context(), me, other.Token); records.CodeOf(err) != records.Busy || !strings.Contains(records.MessageOf(err), "long.ndjson") {
		t.Errorf("a second at the same time: %v", err)
	}
	if err := d.DropSent(t.Context(), me, long.Token); records.CodeOf(err) != records.Busy {
		t.Errorf("dropped while it is worked on: %v", err)
	}
	if err := d.CancelWork(me, long.Token); err != nil {
		t.Fatal(err)
	}
	if w := ended(t, d, long.Token); !errors.Is(w.Err, context.Canceled) {
		t.Errorf("cancelled, it ends with %v", w.Err)
	}
	if err := d.RehearseSent(t.Context(), me, other.Token); err != nil {
		t.Errorf("afterwards: %v", err)
	}
	ended(t, d, other.Token)
	nothingLeft(t, d, path)
}

// TestMappingsAreRemembered by name, with their earlier values, and offered
// where they fit.
func TestMappingsAreRemembered(t *testing.T) {
	d, _ := newDesk(t)
	mapping := func(column string) *importer.Mapping {
		return &importer.Mapping{Version: importer.MappingVersion, Sheets: []importer.SheetMapping{{Role: importer.Wells, Columns: []importer.ColumnMapping{{Column: column, Field: "total_depth", Unit: "ft"}, {Column: "lon", Field: "lon"}}}}}
	}
	for _, m := range []struct{ name, column string }{{"county", "TD"}, {"other", "number"}} {
		if err := d.SaveMapping(t.Context(), me, m.name, mapping(m.column), 0); err != nil {
			t.Fatal(err)
		}
	}
	if err := d.SaveMapping(t.Context(), me, "county", mapping("X"), 0); records.CodeOf(err) != records.Conflict {
		t.Errorf("a name that is taken: %v", err)
	}
	for _, name := range []string{"", "\n", strings.Repeat("x", 81)} {
		if err := d.SaveMapping(t.Context(), me, name, mapping("X"), 0); records.CodeOf(err) != records.Invalid {
			t.Errorf("the name %q: %v", name, err)
		}
	}
	l, err := d.LookAtSent(t.Context(), me, receive(t, d, "w.csv", threeWells).Token)
	if err != nil {
		t.Fatal(err)
	}
	all, err := d.Mappings(t.Context(), me, l)
	if err != nil || len(all) != 2 || all[0].Name != "other" || !all[0].Fits() || all[1].Fits() || fmt.Sprint(all[1].Missing) != "[TD]" {
		t.Fatalf("%+v, %v", all, err)
	}
	if err := d.SaveMapping(t.Context(), me, "county", nil, all[1].Revision); err != nil {
		t.Fatal(err)
	}
	if all, err = d.Mappings(t.Context(), me, l); err != nil || len(all) != 1 {
		t.Errorf("forgotten: %+v, %v", all, err)
	}
}

// TestStrangersTakeNothingIn: every use case of the intake asks first.
func TestStrangersTakeNothingIn(t *testing.T) {
	d, _ := newDesk(t)
	s := receive(t, d, "w.csv", threeWells)
	ctx := t.Context()
	for what, err := range map[string]error{
		"receive":  errOf(d.Receive(ctx, stranger, "w", strings.NewReader("x"))),
		"sent":     errOf(d.SentFile(ctx, stranger, s.Token)),
		"list":     errOf(d.SentFiles(ctx, stranger)),
		"drop":     d.DropSent(ctx, stranger, s.Token),
		"work":     errOf(d.IntakeWork(stranger, s.Token)),
		"cancel":   d.CancelWork(stranger, s.Token),
		"choose":   errOf(d.ChooseSent(ctx, stranger, s.Token, 1, nil, "", 0)),
		"rehearse": d.RehearseSent(ctx, stranger, s.Token),
		"accept":   d.AcceptSent(ctx, stranger, s.Token, 1),
		"report":   errOf(d.SentReport(ctx, stranger, s.Token)),
		"kept":     errOf(d.IntakeReport(ctx, stranger, 1)),
		"intake":   errOf(d.Intake(ctx, stranger, 1)),
		"look":     errOf(d.LookAtSent(ctx, stranger, s.Token)),
		"try":      errOf(d.TrySent(ctx, stranger, s.Token, nil)),
		"before":   errOf(d.CameBefore(ctx, stranger, s)),
		"mappings": errOf(d.Mappings(ctx, stranger, nil)),
		"remember": d.SaveMapping(ctx, stranger, "x", nil, 0),
		"again":    d.BringBackMapping(ctx, stranger, "x"),
		"withdraw": errOf(d.Withdraw(ctx, stranger, 1)),
		"clash":    d.DecideClash(ctx, stranger, 1, 1, "x", "copy"),
	} {
		if records.CodeOf(err) != records.Forbidden || err == nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	if _, _, err := d.IntakeStanding(ctx, stranger, 1); records.CodeOf(err) != records.Forbidden {
		t.Errorf("standing: %v", err)
	}
	if _, _, err := d.CopyRecords(ctx, stranger, 1, "", 0, 1); records.CodeOf(err) != records.Forbidden {
		t.Errorf("copies: %v", err)
	}
}

func errOf[T any](_ T, err error) error { return err }

// FuzzFileNames: whatever a file is called, its name is one line of text and
// no path.
func FuzzFileNames(f *testing.F) {
	for _, s := range []string{"wells.csv", `C:\a\b.csv`, "/etc/passwd", "..", "a\x00b", "\xff\xfe", strings.Repeat("ä", 300), "\u202egnp.exe"} {
		f.Add(s)
	}
	d, err := desk.Open(context.Background(), desk.Options{Store: openStore(f, filepath.Join(f.TempDir(), "w.db")), Now: atNoon, Log: quiet(), NoPicture: true})
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() {
		if err := d.Close(); err != nil {
			f.Error(err)
		}
	})
	f.Fuzz(func(t *testing.T, name string) {
		s, err := d.Receive(t.Context(), me, name, bytes.NewReader([]byte("x")))
		if err != nil {
			t.Fatal(err)
		}
		if s.Name == "" || s.Name == ".." || len(s.Name) > 200 || strings.ContainsAny(s.Name, "/\\\x00\n\r") || strings.ToValidUTF8(s.Name, "") != s.Name {
			t.Errorf("%q is called %q", name, s.Name)
		}
		back, err := d.SentFile(t.Context(), me, s.Token)
		if err != nil || back.Name != s.Name {
			t.Errorf("%q came back as %+v, %v", s.Name, back, err)
		}
		if err := d.DropSent(t.Context(), me, s.Token); err != nil {
			t.Error(err)
		}
	})
}
