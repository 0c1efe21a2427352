package server

import (
	"container/list"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strings"
	"sync"
)

// drawings keeps the drawings made last, so that Back and reload cost
// nothing. A key must name everything that a drawing depends on, the commit of
// the data included.
type drawings struct {
	mu     sync.Mutex
	byKey  map[string]*list.Element
	recent list.List // of *kept, latest first
	bytes  int
}

type kept struct {
	key   string
	data  []byte
	etag  string
	about mapAbout // of maps
}

// mostDrawn is how many bytes of drawings are kept.
const mostDrawn = 64 << 20

// get gives the drawing of a key, made by make where it is not kept.
func (d *drawings) get(key string, make func() ([]byte, error)) (data []byte, etag string, err error) {
	k, err := d.keep(key, func() (*kept, error) {
		data, err := make()
		return &kept{data: data}, err
	})
	if err != nil {
		return nil, "", err
	}
	return k.data, k.etag, nil
}

// keep gives what is kept under a key; make makes it where it is not, and
// leaves the key and the etag to keep.
func (d *drawings) keep(key string, make func() (*kept, error)) (*kept, error) {
	d.mu.Lock()
	if e, ok := d.byKey[key]; ok {
		d.recent.MoveToFront(e)
		d.mu.Unlock()
		return e.Value.(*kept), nil
	}
	d.mu.Unlock()
	k, err := make()
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(k.data)
	k.key, k.etag = key, `"`+hex.EncodeToString(sum[:12])+`"`
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.byKey == nil {
		d.byKey = map[string]*list.Element{}
	}
	if _, ok := d.byKey[key]; !ok && len(k.data) < mostDrawn/4 {
		d.byKey[key] = d.recent.PushFront(k)
		d.bytes += len(k.data)
		for d.bytes > mostDrawn {
			last := d.recent.Back()
			old := last.Value.(*kept)
			d.bytes -= len(old.data)
			delete(d.byKey, old.key)
			d.recent.Remove(last)
		}
	}
	return k, nil
}

// sendSVG answers with a drawing; name is what a download is called, "" when
// it is to be shown.
func sendSVG(w http.ResponseWriter, r *http.Request, data []byte, etag, name string) error {
	h := w.Header()
	h.Set("Content-Type", "image/svg+xml; charset=utf-8")
	h.Set("ETag", etag)
	h.Set("Cache-Control", "no-cache")
	h.Set("Vary", "Cookie, Sec-CH-Prefers-Color-Scheme")
	if name != "" {
		h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	}
	if strings.Contains(r.Header.Get("If-None-Match"), etag) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	_, err := w.Write(data)
	return ignoreGone(err)
}
