package server_test

import (
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"tallybook/records/lithology"
	"tallybook/records/sqlite"
)

var copyLink = regexp.MustCompile(`href="(/office/copies/[0-9a-f]{16})"`)

// made waits until the copy that was begun is there, and downloads it.
func (w *recordWorld) made() string {
	w.t.Helper()
	for range 200 {
		page := w.get("/office/copies").is(200).sound()
		if m := copyLink.FindStringSubmatch(page.body); m != nil {
			return w.get(m[1]).is(200).body
		}
		if !strings.Contains(page.body, "http-equiv") {
			w.t.Fatalf("no copy is made and none is being made: %s", page.body)
		}
		time.Sleep(20 * time.Millisecond)
	}
	w.t.Fatal("the copy is never ready")
	return ""
}

func TestCopiesPage(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/office").is(200).sound().says("Copies")
	w.get("/office/copies").is(200).sound().says("The whole of it", "To give away", "Layers for a GIS", "To restore a whole copy", "not in it")
	w.send("/office/copies", url.Values{"kind": {"other"}}).is(400)
	w.get("/office/copies/0123456789abcdef").is(404)
	sizes := map[string]int{}
	for _, c := range []struct {
		kind, private, name string
		owners              bool
	}{{"whole", "", "tallybook-whole-2026-11-25-0900.db", true}, {"given", "", "tallybook-to-give-", false}, {"layers", "", "tallybook-layers-2026", false}, {"layers", "yes", "tallybook-layers-private-", true}} {
		w.send("/office/copies", url.Values{"kind": {c.kind}, "private": {c.private}}).is(303)
		data := w.made()
		sizes[c.kind] = len(data)
		if !strings.HasPrefix(data, "SQLite format 3\x00") || strings.Contains(data, "Owner B") != c.owners {
			t.Errorf("%s: %d bytes, owners in it: %v", c.kind, len(data), strings.Contains(data, "Owner B"))
		}
		page := w.get("/office/copies").is(200).sound().says(" ready", c.name, "Delete it here")
		if strings.Contains(page.body, "addresses are in it.") != c.owners {
			t.Errorf("%s: whether owners are in it is not said", c.kind)
		}
		if c.kind != "layers" {
			path := filepath.Join(t.TempDir(), "copy.db")
			if err := os.WriteFile(path, []byte(data), 0o600); err != nil {
				t.Fatal(err)
			}
			s, err := sqlite.Open(t.Context(), sqlite.Options{Path: path, Reader: lithology.Default()})
			if err != nil {
				t.Fatal(err)
			}
			if faults, err := s.CheckIntegrity(t.Context()); err != nil || len(faults) > 2 {
				t.Errorf("%s: %v %v", c.kind, faults, err)
			}
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		}
	}
	w.send("/office/copies/drop", nil).is(303)
	if page := w.get("/office/copies").is(200); strings.Contains(page.body, "is ready") || strings.Contains(page.body, "are ready") {
		t.Error("the copy is still there")
	}
}
