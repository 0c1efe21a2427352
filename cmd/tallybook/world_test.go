package main

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// result is what a command line did.
type result struct {
	code     int
	out, err string
}

// do runs a command line in process.
func do(t testing.TB, args ...string) result {
	t.Helper()
	return doWith(t, context.Background(), args...)
}

func doWith(t testing.TB, ctx context.Context, args ...string) result {
	t.Helper()
	var out, err bytes.Buffer
	code := run(ctx, args, &out, &err)
	for _, stream := range []string{out.String(), err.String()} {
		if strings.Contains(stream, "goroutine ") || strings.Contains(stream, "panic") {
			t.Fatalf("%v panics:\n%s", args, stream)
		}
	}
	return result{code, out.String(), err.String()}
}

// must runs a command line that has to end well.
func must(t testing.TB, args ...string) result {
	t.Helper()
	r := do(t, args...)
	if r.code != exitOK {
		t.Fatalf("%v ends with %d:\n%s%s", args, r.code, r.out, r.err)
	}
	return r
}

// lastLine is the last line that a command printed.
func (r result) lastLine() string {
	lines := strings.Split(strings.TrimRight(r.out, "\n"), "\n")
	return lines[len(lines)-1]
}

// file writes a file into a folder of the test's own.
func file(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func read(t testing.TB, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// well is an invented well as a GeoJSON feature; extra goes among its
// properties.
func well(i int, extra string) string {
	x, y := i%20, i/20
	if extra != "" {
		extra = "," + extra
	}
	return fmt.Sprintf(`{"type":"Feature","geometry":{"type":"Point","coordinates":[%.4f,%.4f]},"properties":{"number":"W-%d","depth_to_bedrock_m":%d.5,"total_depth_m":%d,"yield_gpm":%d,"completed":"%d-05-01"%s}}`,
		-40+float64(x)*0.012, 44+float64(y)*0.009, i, 3+x, 60+y, 1+(x*y)%9, 1970+i%50, extra)
}

func wells(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(well(i, ""))
		b.WriteByte('\n')
	}
	return b.String()
}

// county is a database of n wells.
func county(t testing.TB, n int) string {
	t.Helper()
	db := filepath.Join(t.TempDir(), "county.db")
	text := wells(n)
	if n == 0 {
		text = `{"type":"FeatureCollection","features":[]}`
	}
	must(t, "import", "--db", db, file(t, "wells.ndjson", text))
	return db
}

// onlyHolds says whether a folder holds nothing but what is named.
func onlyHolds(t testing.TB, folder string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	allowed := map[string]bool{}
	for _, n := range names {
		allowed[n] = true
	}
	for _, e := range entries {
		if !allowed[e.Name()] {
			t.Errorf("%s is left behind", e.Name())
		}
	}
}

// rawSQL runs SQL on a file behind the program's back.
func rawSQL(t testing.TB, path, query string) {
	t.Helper()
	db, err := sqlOpen(path)
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

func sqlOpen(path string) (*sql.DB, error) {
	return sql.Open("sqlite3", "file:"+path+"?_busy_timeout=5000")
}
