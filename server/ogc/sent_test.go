package ogc_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/server/draw"
	"tallybook/server/ogc"
	"tallybook/server/say"
)

// TestSentAgain: a page that the client has is not sent again, until somebody
// writes; and what is packed is the same.
func TestSentAgain(t *testing.T) {
	w := newWorld(t)
	for _, path := range []string{"/collections/wells/items?limit=20", "/collections/wells/items/" + w.wells[3].UID} {
		first := w.get(path, 200)
		tag := first.header.Get("ETag")
		if tag == "" || first.header.Get("Cache-Control") != "no-cache" {
			t.Fatalf("%s: ETag %q, Cache-Control %q", path, tag, first.header.Get("Cache-Control"))
		}
		again := w.get(path, 304, "If-None-Match", tag)
		if len(again.body) != 0 || again.header.Get("ETag") != tag {
			t.Errorf("%s again: %d bytes, ETag %q", path, len(again.body), again.header.Get("ETag"))
		}
		w.get(path, 304, "If-None-Match", `"x", `+tag)
		w.get(path, 200, "If-None-Match", `"x"`)
		if other, changed := strings.CutSuffix(path, "limit=20"); changed {
			w.get(other+"limit=21", 200, "If-None-Match", tag)
		}
		packed := w.get(path, 200, "Accept-Encoding", "gzip")
		if packed.header.Get("Content-Encoding") == "gzip" {
			r, err := gzip.NewReader(bytes.NewReader(packed.body))
			if err != nil {
				t.Fatal(err)
			}
			plain, err := io.ReadAll(r)
			if err != nil || !bytes.Equal(plain, first.body) {
				t.Errorf("%s packed is another (%v)", path, err)
			}
		} else if strings.Contains(path, "limit") {
			t.Errorf("%s is not packed", path)
		}
		if s := w.get(path, 200, "Accept-Encoding", "gzip;q=0"); s.header.Get("Content-Encoding") != "" {
			t.Errorf("%s is packed for one who does not take it", path)
		}
		x := w.wells[3]
		x.Status = "unused"
		if _, err := w.desk.Save(t.Context(), desk.LocalPerson(), x, "looked at"); err != nil {
			t.Fatal(err)
		}
		if s := w.get(path, 200, "If-None-Match", tag); s.header.Get("ETag") == tag || !strings.Contains(string(s.body), `"unused"`) {
			t.Errorf("%s after a write: ETag %q", path, s.header.Get("ETag"))
		}
	}
}

// TestMadeOnce: asked for by many at once, a page is the same for all, and is
// made again after a write that came meanwhile.
func TestMadeOnce(t *testing.T) {
	w := newWorld(t)
	var all sync.WaitGroup
	bodies := make([][]byte, 8)
	for i := range bodies {
		all.Add(1)
		go func() {
			defer all.Done()
			resp, err := http.Get(w.http.URL + ogc.Root + "/collections/wells/items?limit=57")
			if err != nil {
				t.Error(err)
				return
			}
			defer resp.Body.Close()
			bodies[i], err = io.ReadAll(resp.Body)
			if err != nil {
				t.Error(err)
			}
		}()
	}
	all.Wait()
	for _, b := range bodies {
		if !bytes.Equal(b, bodies[0]) {
			t.Error("two were told different things of one state")
		}
	}
}

// guarded is a source of which an actor may read only some collections.
type guarded struct{ *desk.Desk }

func (g guarded) MayRead(actor records.Actor, c *records.FeatureCollection) error {
	if c.Restricted {
		return records.Errorf(records.Forbidden, "not for you")
	}
	return g.Desk.MayRead(desk.LocalPerson(), c)
}

// TestRestricted: of a collection that somebody may not read nothing is told.
func TestRestricted(t *testing.T) {
	w := newWorld(t)
	service := ogc.New(ogc.Options{Source: guarded{w.desk}, Actor: func(*http.Request) records.Actor { return desk.LocalPerson() },
		Base: "https://wells.example.org/", Theme: func(*http.Request) draw.Theme { return draw.Light }, Units: func(*http.Request) say.System { return say.SI },
		Show: func(w http.ResponseWriter, _ *http.Request, p *ogc.Page) error {
			return json.NewEncoder(w).Encode(p)
		}})
	ask := func(path string) (int, string) {
		r := httptest.NewRequest("GET", ogc.Root+path, nil)
		out := httptest.NewRecorder()
		service.ServeHTTP(out, r)
		return out.Code, out.Body.String()
	}
	for _, path := range []string{"/collections/plates", "/collections/plates/items", "/collections/plates/items/x", "/collections/plates/download"} {
		if code, body := ask(path); code != 404 || strings.Contains(body, "not for you") {
			t.Errorf("%s: %d %s", path, code, body)
		}
	}
	for _, path := range []string{"/collections", "/api", "/collections?f=html", "/api?f=html"} {
		if code, body := ask(path); code != 200 || strings.Contains(body, "/collections/plates") || !strings.Contains(body, "/collections/wells") {
			t.Errorf("%s: %d, and tells of plates: %.300s", path, code, body)
		}
	}
	// Links begin with the address that is configured.
	if _, body := ask("/collections/wells/items?limit=1"); !strings.Contains(body, `"https://wells.example.org/ogc/collections/wells/items?`) || strings.Contains(body, "http://example.com") {
		t.Errorf("links lead elsewhere: %.400s", body)
	}
	if err := w.desk.Features(t.Context(), records.Actor{ID: 9, Name: "stranger"}, "wells", func(*desk.Features) error { return nil }); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger reads: %v", err)
	}
}

// TestDownload: all features in one answer, as pages have them.
func TestDownload(t *testing.T) {
	w := newWorld(t)
	for _, collection := range []string{"wells", "strata", "water-strikes", "plates", "forecasts"} {
		for _, q := range []string{"", "&bbox=-73,44,-72,44.1"} {
			path := "/collections/" + collection + "/"
			whole := w.page(path + "items?limit=10000" + q)
			var got page
			s := w.get(path+"download?f=json"+q, 200)
			s.read(t, &got)
			if !slices.Equal(got.ids(), whole.ids()) || got.Type != "FeatureCollection" {
				t.Errorf("%s: %d features, by pages %d", s.path, len(got.Features), len(whole.Features))
			}
			if d := s.header.Get("Content-Disposition"); d != `attachment; filename="`+collection+`.geojson"` {
				t.Errorf("%s: %s", s.path, d)
			}
			lines := strings.Split(strings.TrimSuffix(string(w.get(path+"download?f=ndjson"+q, 200).body), "\n"), "\n")
			if lines[0] == "" {
				lines = nil
			}
			var ids []string
			for _, l := range lines {
				var f struct{ Type, ID string }
				if err := json.Unmarshal([]byte(l), &f); err != nil || f.Type != "Feature" {
					t.Errorf("%s: a line is no feature: %v %.80s", collection, err, l)
				}
				ids = append(ids, f.ID)
			}
			if !slices.Equal(ids, whole.ids()) {
				t.Errorf("%s a line each: %d features, by pages %d", collection, len(ids), len(whole.Features))
			}
		}
	}
}

// TestDownloadMemory: what is held in memory does not grow with the features:
// ten times as many are sent within what the first thousand took and a margin.
func TestDownloadMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	w := bareWorld(t)
	add := func(n int) {
		var wells []*records.Well
		for i := range n {
			x := recordstest.Plain()
			x.UID, x.Number = "", fmt.Sprint(i)
			wells = append(wells, x)
		}
		if err := w.desk.AddAll(context.Background(), desk.LocalPerson(), wells, nil, nil); err != nil {
			t.Fatal(err)
		}
	}
	most := func() (heap uint64, bytes int64) {
		resp, err := http.Get(w.http.URL + ogc.Root + "/collections/strata/download")
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		var m runtime.MemStats
		room := make([]byte, 1<<20)
		for {
			n, err := io.ReadFull(resp.Body, room)
			bytes += int64(n)
			runtime.GC()
			runtime.ReadMemStats(&m)
			heap = max(heap, m.HeapAlloc)
			if err != nil {
				return heap, bytes
			}
		}
	}
	add(1000)
	small, sent := most()
	add(9000)
	large, sentLarge := most()
	t.Logf("%d bytes sent: heap %d; %d bytes sent: heap %d", sent, small, sentLarge, large)
	if sentLarge < 9*sent {
		t.Errorf("%d bytes of ten times what took %d", sentLarge, sent)
	}
	if large > small+8<<20 {
		t.Errorf("the heap grew from %d to %d bytes", small, large)
	}
}

// TestBrokenOff: an answer that breaks off does not look whole.
func TestGone(t *testing.T) {
	w := newWorld(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	r := httptest.NewRequest("GET", w.http.URL+ogc.Root+"/collections/wells/items?limit=7", nil).WithContext(ctx)
	out := httptest.NewRecorder()
	w.http.Config.Handler.ServeHTTP(out, r)
	if out.Body.Len() != 0 && out.Code == 200 {
		t.Errorf("%d with %d bytes for one who is gone", out.Code, out.Body.Len())
	}
	if got := w.page("/collections/wells/items?limit=7"); len(got.Features) != 7 {
		t.Errorf("afterwards %d features", len(got.Features))
	}
}
