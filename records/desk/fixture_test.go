package desk_test

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3" // to damage files behind the program's back

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/records/lithology"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

var (
	me       = desk.LocalPerson()
	stranger = records.Actor{ID: 2, Name: "a stranger"}
	noon     = time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)
)

func quiet() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

// openStore opens the real store.
func openStore(t testing.TB, path string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(t.Context(), sqlite.Options{Path: path, Create: true, Reader: lithology.Default(), Now: func() time.Time { return noon }, Log: quiet()})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// openDesk opens a desk on a file.
func openDesk(t testing.TB, path string, watch time.Duration) *desk.Desk {
	t.Helper()
	d, err := desk.Open(t.Context(), desk.Options{Store: openStore(t, path), Now: func() time.Time { return noon }, Log: quiet(), Watch: watch})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d
}

func newDesk(t testing.TB) (*desk.Desk, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "wells.db")
	return openDesk(t, path, 0), path
}

// feature is a well as a file has it: on a grid about 1 km wide, its bedrock
// and yield following from its place.
func feature(i int) string {
	x, y := i%20, i/20
	return fmt.Sprintf(`{"type":"Feature","geometry":{"type":"Point","coordinates":[%.4f,%.4f]},"properties":{"number":"W-%d","depth_to_bedrock_m":%d,"total_depth_m":%d,"yield_gpm":%d,"completed":"%d-05-01"}}`,
		-40+float64(x)*0.012, 44+float64(y)*0.009, i, 3+x, 60+y, 1+(x*y)%9, 1970+i%50)
}

func features(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(feature(i))
		b.WriteByte('\n')
	}
	return b.String()
}

// takeIn takes a text in.
func takeIn(ctx context.Context, d *desk.Desk, name string, r io.Reader, in desk.Intake) (*records.Batch, error) {
	src, err := importer.NewSource(r, importer.Options{Name: name, Validate: d.Validation()})
	if err != nil {
		return nil, err
	}
	in.Source, in.Name = src, name
	return d.TakeIn(ctx, me, in)
}

func mustTakeIn(t testing.TB, d *desk.Desk, text string) *records.Batch {
	t.Helper()
	b, err := takeIn(t.Context(), d, "wells.ndjson", strings.NewReader(text), desk.Intake{})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// uids lists the public names of all wells.
func uids(t testing.TB, d *desk.Desk) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	err := d.GiveOut(t.Context(), me, nil, true, func(w *records.Well, _ int64) error { out[w.UID] = true; return nil })
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// damage runs SQL on the file behind the program's back.
func damage(t testing.TB, path, query string) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path+"?_busy_timeout=5000")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(query); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// ask reads one number from the file.
func ask(t testing.TB, path, query string) (n int) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path+"?mode=ro&_busy_timeout=5000")
	if err != nil {
		t.Fatal(err)
	}
	if err := db.QueryRow(query).Scan(&n); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return n
}

// plain saves a new well.
func plain(t testing.TB, d *desk.Desk, change func(*records.Well)) *records.Well {
	t.Helper()
	w := recordstest.Plain()
	w.UID = ""
	if change != nil {
		change(w)
	}
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	return w
}

// broken gives a text and then fails, as a cable that is pulled.
type broken struct {
	r   io.Reader
	err error
}

func (b *broken) Read(p []byte) (int, error) {
	n, err := b.r.Read(p)
	if err == io.EOF {
		err = b.err
	}
	return n, err
}
