package ogc

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Source is where features come from: a desk.
type Source interface {
	// MayRead says whether an actor may read a collection; nil means yes.
	MayRead(actor records.Actor, c *records.FeatureCollection) error
	// Features opens one state of a collection for as long as fn runs.
	Features(ctx context.Context, actor records.Actor, collection string, fn func(*desk.Features) error) error
	// Changes is the number of the latest commit.
	Changes(ctx context.Context, actor records.Actor) (int64, error)
}

// Options are what a Service is made with.
type Options struct {
	Source Source
	Actor  func(*http.Request) records.Actor
	// Base is the address that links begin with, such as
	// https://wells.example.org; "": that of the request's host.
	Base string
	// Note is said of the data as a whole, such as that they are invented.
	Note string
	// Show answers with a page for people.
	Show func(w http.ResponseWriter, r *http.Request, p *Page) error
	// Fail answers a person with an error.
	Fail func(w http.ResponseWriter, r *http.Request, status int, err error)
	// Theme is what a person looks at drawings in.
	Theme func(*http.Request) draw.Theme
	// Units are what a person reads distances in.
	Units func(*http.Request) say.System
	Log   *slog.Logger
	Now   func() time.Time
}

// Root is the address of the service on its server.
const Root = "/ogc"

// Service answers for the collections. It is safe for concurrent use.
type Service struct {
	o       Options
	pages   pageCache
	extents extents
	counts  latest[matched]
	making  singleflight.Group
	// parameters of an operation on a collection, so that they are made once.
	parameters sync.Map
	mark       string // of this run: what another run sent is asked for anew
}

// New makes a service.
func New(o Options) *Service {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	mark := make([]byte, 6)
	_, _ = rand.Read(mark) // never fails
	return &Service{o: o, mark: hex.EncodeToString(mark)}
}

// call is a request under way: who asks for what, how it is to be answered.
type call struct {
	s          *Service
	r          *http.Request
	w          http.ResponseWriter
	actor      records.Actor
	op         *operation
	collection *records.FeatureCollection // nil where the address names none
	id         string                     // of a feature
	html       bool
}

// ServeHTTP answers everything below Root.
func (s *Service) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	c := &call{s: s, r: r, w: w, actor: s.o.Actor(r)}
	w.Header().Set("Vary", "Accept, Accept-Encoding")
	c.html = wantsHTML(r)
	if err := c.answer(); err != nil {
		c.fail(err)
	}
}

func (c *call) answer() error {
	if err := c.find(strings.TrimSuffix(strings.TrimPrefix(c.r.URL.EscapedPath(), Root), "/")); err != nil {
		return err
	}
	if c.r.Method != http.MethodGet && c.r.Method != http.MethodHead {
		c.w.Header().Set("Allow", "GET, HEAD")
		return statusError{http.StatusMethodNotAllowed, records.Errorf(records.Invalid, "this address is only read: GET or HEAD")}
	}
	if err := c.checkParameters(); err != nil {
		return err
	}
	return c.op.handle(c)
}

// find finds the operation of an address.
func (c *call) find(path string) error {
	parts, err := segments(path)
	if err != nil {
		return err
	}
	for i := range operations {
		op := &operations[i]
		names, ok := op.match(parts)
		if !ok {
			continue
		}
		if name, is := names["collectionId"]; is {
			if c.collection, err = records.FeatureCollectionNamed(name); err == nil && c.s.o.Source.MayRead(c.actor, c.collection) != nil {
				err = records.Errorf(records.NotFound, "there is no collection %q", name) // and nothing is told of one that is not for all
			}
			if err != nil {
				return err
			}
		}
		c.op, c.id = op, names["featureId"]
		return nil
	}
	return records.Errorf(records.NotFound, "there is nothing at this address; begin at %s", Root)
}

// collections are those that the asker may read.
func (c *call) collections() (out []*records.FeatureCollection) {
	all := records.FeatureCollections()
	for i := range all {
		if c.s.o.Source.MayRead(c.actor, &all[i]) == nil {
			out = append(out, &all[i])
		}
	}
	return out
}

// base is what absolute links begin with.
func (c *call) base() string {
	if c.s.o.Base != "" {
		return strings.TrimSuffix(c.s.o.Base, "/")
	}
	scheme := "http://"
	if c.r.TLS != nil {
		scheme = "https://"
	}
	return scheme + c.r.Host
}

// href is the absolute address of something below Root.
func (c *call) href(path string) string { return c.base() + Root + path }
