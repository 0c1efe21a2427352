package ogc

import (
	"bytes"
	"container/list"
	"sync"

	"github.com/klauspost/compress/gzip"

	"tallybook/records"
)

// pageCache keeps the pages made last, as they are sent. A key names everything
// that a page depends on, the commit of the records included, so that nothing
// in it is ever out of date.
type pageCache struct {
	mu     sync.Mutex
	byKey  map[string]*list.Element
	recent list.List // of *keptPage, the latest first
	bytes  int
}

// keptPage is a page as it is sent.
type keptPage struct {
	key  string
	etag string
	body []byte

	once   sync.Once
	packed []byte // by gzip
}

// mostKept is how many bytes of pages are kept, and largestKept of one of
// them. What a page takes by gzip is counted from the start, as a fifth.
const (
	mostKept    = 64 << 20
	largestKept = mostKept / 4
)

func (p *keptPage) size() int { return len(p.body) + len(p.body)/5 }

func (c *pageCache) get(key string) (*keptPage, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.byKey[key]
	if !ok {
		return nil, false
	}
	c.recent.MoveToFront(e)
	return e.Value.(*keptPage), true
}

func (c *pageCache) put(p *keptPage) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.byKey == nil {
		c.byKey = map[string]*list.Element{}
	}
	if _, ok := c.byKey[p.key]; ok || p.size() > largestKept {
		return
	}
	c.byKey[p.key] = c.recent.PushFront(p)
	c.bytes += p.size()
	for c.bytes > mostKept {
		last := c.recent.Back()
		old := last.Value.(*keptPage)
		c.bytes -= old.size()
		delete(c.byKey, old.key)
		c.recent.Remove(last)
	}
}

// gzipped is the page by gzip, made once.
func (p *keptPage) gzipped() []byte {
	p.once.Do(func() {
		var b bytes.Buffer
		w, err := gzip.NewWriterLevel(&b, gzip.BestSpeed)
		if err != nil {
			return // the level is one that there is
		}
		if _, err := w.Write(p.body); err != nil {
			return // to memory
		}
		if err := w.Close(); err == nil {
			p.packed = b.Bytes()
		}
	})
	return p.packed
}

// latest keeps one thing a name, that of the latest commit asked for.
type latest[T any] struct {
	mu     sync.Mutex
	commit map[string]int64
	value  map[string]T
}

func (l *latest[T]) get(name string, commit int64) (v T, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.commit[name] != commit || l.value == nil {
		return v, false
	}
	v, ok = l.value[name]
	return v, ok
}

func (l *latest[T]) put(name string, commit int64, v T) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.value == nil {
		l.commit, l.value = map[string]int64{}, map[string]T{}
	}
	if len(l.value) > mostNames {
		clear(l.commit)
		clear(l.value)
	}
	l.commit[name], l.value[name] = commit, v
}

// mostNames is how many things latest keeps before it forgets all of them.
const mostNames = 2000

type extents = latest[records.FeatureExtent]

// matched is how many features fulfil a condition, where that is known.
type matched struct {
	n       int64
	counted bool
}
