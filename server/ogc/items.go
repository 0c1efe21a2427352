package ogc

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
)

// items answers a page of features. It is made once for a query and a state of
// the records, and then sent as it is kept.
func (c *call) items() error {
	a, err := c.readAsk()
	switch {
	case err != nil && c.html && c.r.URL.Query().Has("filter") && records.CodeOf(err) == records.Invalid:
		return c.refusedPage(err)
	case err != nil:
		return err
	case c.html:
		return c.itemsPage(a)
	}
	c.answeredIn(a.crs)
	p, err := c.page("items?"+canonical(c.r.URL.Query(), "f"), func(f *desk.Features) ([]byte, error) { return c.itemsJSON(f, a) })
	if err != nil || p == nil {
		return err
	}
	return c.sendPage(typeGeoJSON, p)
}

// item answers one feature.
func (c *call) item() error {
	if c.html {
		return c.itemPage()
	}
	crs, err := c.itemCRS()
	if err != nil {
		return err
	}
	c.answeredIn(crs)
	p, err := c.page("item/"+c.id+" "+crs.uri, func(f *desk.Features) ([]byte, error) {
		x, err := f.One(c.r.Context(), c.collection.Name, c.id)
		if err != nil {
			return nil, err
		}
		path := c.itemPath(x.ID)
		links := append(c.selfLinks(path, typeGeoJSON), link{c.href(collectionPath(c.collection)), "collection", typeJSON, c.collection.Title})
		return newWriter(c.collection, crs).append(nil, x, links)
	})
	if err != nil || p == nil {
		return err
	}
	return c.sendPage(typeGeoJSON, p)
}

func (c *call) itemPath(id string) string {
	return collectionPath(c.collection) + "/items/" + url.PathEscape(id)
}

// page gives a page that is kept, or makes it; nil where the asker has it
// already and was told so. Asked for by many at once, it is made once.
func (c *call) page(what string, make func(*desk.Features) ([]byte, error)) (*keptPage, error) {
	ctx := c.r.Context()
	commit, err := c.s.o.Source.Changes(ctx, c.actor)
	if err != nil {
		return nil, err
	}
	about := c.base() + " " + c.collection.Name + " " + what
	key := pageKey(about, commit)
	if c.has(c.s.tag(key)) {
		return nil, nil
	}
	if p, ok := c.s.pages.get(key); ok {
		return p, nil
	}
	made, err, _ := c.s.making.Do(fmt.Sprint(c.actor.ID)+" "+key, func() (any, error) {
		p := &keptPage{}
		err := c.features(c.collection, func(_ context.Context, f *desk.Features) (err error) {
			p.key = pageKey(about, f.Commit()) // somebody may have written since
			p.etag = c.s.tag(p.key)
			p.body, err = make(f)
			return err
		})
		if err == nil {
			c.s.pages.put(p)
		}
		return p, err
	})
	switch {
	case err != nil && errors.Is(err, context.Canceled) && ctx.Err() == nil: // whoever it was made for went away
		return c.page(what, make)
	case err != nil:
		return nil, err
	}
	return made.(*keptPage), nil
}

func pageKey(about string, commit int64) string { return strconv.FormatInt(commit, 10) + " " + about }

// tag is the ETag of a page: of what was asked, of which state, in this run. It
// is weak, since what is sent may be packed or not.
func (s *Service) tag(key string) string {
	sum := sha256.Sum256([]byte(s.mark + " " + key))
	return `W/"` + hex.EncodeToString(sum[:12]) + `"`
}

// has answers 304 where the asker has the page with this tag.
func (c *call) has(tag string) bool {
	if !strings.Contains(c.r.Header.Get("If-None-Match"), strings.TrimPrefix(tag, "W/")) {
		return false
	}
	c.w.Header().Set("ETag", tag)
	c.w.Header().Set("Cache-Control", "no-cache")
	c.w.WriteHeader(http.StatusNotModified)
	return true
}

func (c *call) sendPage(kind string, p *keptPage) error {
	h := c.w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-cache")
	h.Set("ETag", p.etag)
	body := p.body
	if len(body) > leastPacked && takesGzip(c.r) {
		if packed := p.gzipped(); packed != nil {
			h.Set("Content-Encoding", "gzip")
			body = packed
		}
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	_, _ = c.w.Write(body) // whoever asked may be gone
	return nil
}

// leastPacked is the size from which a page is worth packing: below it all of
// it travels in a packet or two.
const leastPacked = 1400

func takesGzip(r *http.Request) bool {
	for _, part := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		if kind, q := acceptPart(part); (kind == "gzip" || kind == "*") && q > 0 {
			return true
		}
	}
	return false
}

// found is what was read for a page.
type found struct {
	first, last records.FeatureKey
	n           int
	ahead       bool // there are features ahead of the page
	behind      bool // and behind it
}

// readPage reads the features of a page, one more than it holds to learn
// whether there are others, and hands them out in the order in which the store
// gives them: the other way round where the page ahead of a key is asked for.
func (c *call) readPage(f *desk.Features, a *ask, fn func(*records.Feature) error) (found, error) {
	var got found
	more := false
	q := records.FeatureQuery{Collection: c.collection.Name, Where: a.condition(), After: a.after, Limit: a.limit + 1, Backwards: a.backwards}
	err := f.Each(c.r.Context(), q, func(x *records.Feature) error {
		if got.n == a.limit {
			more = true
			return nil
		}
		if got.n == 0 {
			got.first = x.Key
		}
		got.n++
		got.last = x.Key
		return fn(x)
	})
	if a.backwards {
		got.first, got.last = got.last, got.first
		got.ahead, got.behind = more, true
	} else {
		got.ahead, got.behind = a.paged, more
	}
	if got.n == 0 { // turn back to where the asker came from
		got.first, got.last = records.FeatureKey{Record: a.after.Record, Part: a.after.Part + 1}, a.after
	}
	return got, err
}

// turnLinks lead to the pages behind and ahead.
func (c *call) turnLinks(got found) []link {
	path := collectionPath(c.collection) + "/items"
	var out []link
	if got.behind {
		out = append(out, link{c.turned(path, "after", keyText(got.last)), "next", typeGeoJSON, "The next page"})
	}
	if got.ahead {
		out = append(out, link{c.turned(path, "before", keyText(got.first)), "prev", typeGeoJSON, "The page before"})
	}
	return out
}

// itemsJSON makes a page as a FeatureCollection.
func (c *call) itemsJSON(f *desk.Features, a *ask) ([]byte, error) {
	w := newWriter(c.collection, a.crs)
	features := make([]byte, 0, min(a.limit, 2000)*1024)
	var starts []int
	got, err := c.readPage(f, a, func(x *records.Feature) (err error) {
		starts = append(starts, len(features))
		features, err = w.append(features, x, nil)
		return err
	})
	if err != nil {
		return nil, err
	}
	count, err := c.count(f, a.condition())
	if err != nil {
		return nil, err
	}
	links, err := marshal(append(c.selfLinks(collectionPath(c.collection)+"/items", typeGeoJSON),
		append(c.turnLinks(got), link{c.href(collectionPath(c.collection)), "collection", typeJSON, c.collection.Title})...))
	if err != nil {
		return nil, err
	}
	b := make([]byte, 0, len(features)+len(starts)+len(links)+200)
	b = append(b, `{"type":"FeatureCollection",`...)
	if count.counted {
		b = fmt.Appendf(b, `"numberMatched":%d,`, count.n)
	}
	b = fmt.Appendf(b, `"numberReturned":%d,"timeStamp":"%s","links":%s,"features":[`, got.n, c.s.o.Now().UTC().Format(time.RFC3339), links)
	b = appendPieces(b, features, starts, a.backwards)
	return append(b, "]}"...), nil
}

// appendPieces appends the pieces that begin at starts, with commas between,
// turned round where they came so.
func appendPieces(b, all []byte, starts []int, turned bool) []byte {
	order := make([]int, len(starts))
	for i := range order {
		order[i] = i
	}
	if turned {
		slices.Reverse(order)
	}
	for n, i := range order {
		end := len(all)
		if i+1 < len(starts) {
			end = starts[i+1]
		}
		if n > 0 {
			b = append(b, ',')
		}
		b = append(b, all[starts[i]:end]...)
	}
	return b
}

// count is how many features a query picks, counted once a commit; not known
// where it would take going through very many (records.FeatureView).
func (c *call) count(f *desk.Features, where records.Condition) (matched, error) {
	name := c.collection.Name + " " + canonical(c.r.URL.Query(), "f", "limit", "after", "before", "units", "theme")
	if m, ok := c.s.counts.get(name, f.Commit()); ok {
		return m, nil
	}
	n, counted, err := f.Count(c.r.Context(), c.collection.Name, where)
	if err != nil {
		return matched{}, err
	}
	m := matched{n, counted}
	c.s.counts.put(name, f.Commit(), m)
	return m, nil
}
