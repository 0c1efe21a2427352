package server

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/sqlite"
)

// mapWorld is a server over a real database.
type mapWorld struct {
	server  *Server
	desk    *desk.Desk
	handler http.Handler
	dir     string
}

// worlds are made once, since calibrating a township takes seconds, and are
// closed when all tests are done.
var (
	worldsMu sync.Mutex
	worlds   []*mapWorld

	// township is the invented township.
	township = sync.OnceValues(func() (*mapWorld, error) { return makeWorld(1) })
	// county is several townships in one place: about 2,000 wells in view.
	county = sync.OnceValues(func() (*mapWorld, error) { return makeWorld(1, 2, 3) })
	// wilderness has no wells at all.
	wilderness = sync.OnceValues(func() (*mapWorld, error) { return makeWorld(0) })
)

func TestMain(m *testing.M) {
	code := m.Run()
	for _, w := range worlds {
		if err := errors.Join(w.desk.Close(), os.RemoveAll(w.dir)); err != nil {
			code = 1
			println(err.Error())
		}
	}
	os.Exit(code)
}

func makeWorld(seeds ...uint64) (w *mapWorld, err error) {
	w = &mapWorld{}
	if w.dir, err = os.MkdirTemp("", "tallybook-map-"); err != nil {
		return nil, err
	}
	ctx := context.Background()
	vocabulary := lithology.Default()
	now := func() time.Time { return time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC) }
	store, err := sqlite.Open(ctx, sqlite.Options{Path: filepath.Join(w.dir, "world.db"), Create: true, Reader: vocabulary, Now: now})
	if err != nil {
		return nil, err
	}
	if w.desk, err = desk.Open(ctx, desk.Options{Store: store, Vocabulary: vocabulary, Now: now}); err != nil {
		return nil, err
	}
	worldsMu.Lock()
	worlds = append(worlds, w)
	worldsMu.Unlock()
	for i, seed := range seeds {
		if seed == 0 {
			break
		}
		town := demo.Make(seed)
		var layers []records.Layer
		if i == len(seeds)-1 {
			layers = town.Layers
		}
		if err := w.desk.AddAll(ctx, desk.LocalPerson(), town.Wells[:min(len(town.Wells), 2000-i*len(town.Wells))], nil, layers); err != nil {
			return nil, err
		}
	}
	if w.server, err = New(Options{Desk: w.desk, Note: "invented"}); err != nil {
		return nil, err
	}
	w.handler = w.server.Handler()
	return w, nil
}

func world(t testing.TB, make func() (*mapWorld, error)) *mapWorld {
	t.Helper()
	w, err := make()
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// get asks the server; header pairs follow the address.
func (w *mapWorld) get(t testing.TB, url string, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(http.MethodGet, url, nil)
	r.Host = "127.0.0.1"
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	a := httptest.NewRecorder()
	w.handler.ServeHTTP(a, r)
	return a
}
