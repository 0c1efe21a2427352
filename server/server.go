// Package server answers over HTTP: pages for people, drawings, and later the
// features API for GIS. It draws from the picture of all wells and calls the
// use cases of records/desk; it never sees the store.
//
// Until there are accounts it answers on loopback only and checks the Host
// header, so that no foreign page can reach it through a name of its own.
package server

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"github.com/gorilla/mux"
	"github.com/klauspost/compress/gzhttp"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// Server is the HTTP side of a desk.
type Server struct {
	desk    *desk.Desk
	log     *slog.Logger
	pages   *pageSet
	asset   *assets
	note    string // said on every page: that the data are invented
	address string
	http    http.Server
	cache   drawings
	tiles   groundTiles
	layers  mapLayers
}

// Options are what a Server is made with.
type Options struct {
	Desk *desk.Desk
	Log  *slog.Logger
	// Note is shown on every page, such as that the data are invented.
	Note string
	// Address is what links that leave the server begin with, such as
	// https://wells.example.org; "": the host that a request names.
	Address string
}

// New makes a server. It fails when a page's template does.
func New(o Options) (*Server, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Server{desk: o.Desk, log: o.Log, note: o.Note, address: o.Address}
	var err error
	if s.asset, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.pages, err = loadPages(s.asset); err != nil {
		return nil, err
	}
	s.http = http.Server{
		Handler:           s.Handler(),
		ReadHeaderTimeout: 10 * time.Second,
		WriteTimeout:      120 * time.Second,
		IdleTimeout:       2 * time.Minute,
		ErrorLog:          slog.NewLogLogger(o.Log.Handler(), slog.LevelWarn),
	}
	return s, nil
}

// Handler is everything the server answers, for tests and for Serve.
func (s *Server) Handler() http.Handler {
	r := mux.NewRouter()
	s.routes(r)
	r.NotFoundHandler = s.page(func(http.ResponseWriter, *http.Request) error {
		return records.Errorf(records.NotFound, "there is no page at this address")
	})
	r.MethodNotAllowedHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { // sent by a button, then asked for again
		s.failAs(w, r, http.StatusMethodNotAllowed, records.Errorf(records.NotFound, "this address takes what a button sends and shows nothing by itself; go back to the page with the button"))
	})
	var h http.Handler = gzhttp.GzipHandler(r)
	h = http.NewCrossOriginProtection().Handler(h)
	h = checkHost(h)
	h = withHeaders(h)
	return h
}

// Serve answers on l until ctx ends, then lets requests under way finish for
// a few seconds.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	ended := make(chan error, 1)
	go func() { ended <- s.http.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serving: %w", err)
	case <-ctx.Done():
	}
	wait, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := s.http.Shutdown(wait); err != nil {
		return s.http.Close()
	}
	return nil
}

// Listen opens a loopback address. Any other is refused: there are no
// accounts yet, so whoever reaches the port may do everything.
func Listen(addr string) (net.Listener, error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, records.Errorf(records.Invalid, "%q is no address; write HOST:PORT, such as 127.0.0.1:8080", addr)
	}
	if host == "" || host == "localhost" {
		host = "127.0.0.1"
	}
	ip := net.ParseIP(host)
	if ip == nil || !ip.IsLoopback() {
		return nil, records.Errorf(records.Invalid, "%q is not an address of this machine alone; use 127.0.0.1:%s (there are no accounts yet, so nobody else may reach it)", addr, port)
	}
	l, err := net.Listen("tcp", net.JoinHostPort(host, port))
	if err != nil {
		return nil, records.WrapError(records.Busy, err, "cannot listen on %s: it may be in use by another program; try another port, or port 0 for any free one", addr)
	}
	return l, nil
}

// handler answers a request or says in an error why not.
type handler func(w http.ResponseWriter, r *http.Request) error

// page wraps a handler of pages: an error becomes a page of its own.
func (s *Server) page(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		forgetSaid(w, r)
		if err := h(w, r); err != nil {
			s.fail(w, r, err)
		}
	}
}

// errorPage is what is said when something could not be done.
type errorPage struct {
	Base
	Status  int
	Heading string
	Message string
}

// fail answers with an error: in words for a person, with the details in the
// log alone.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	s.failAs(w, r, say.Status(records.CodeOf(err)), err)
}

func (s *Server) failAs(w http.ResponseWriter, r *http.Request, status int, err error) {
	if r.Context().Err() != nil {
		return // nobody is there to read it
	}
	code := records.CodeOf(err)
	if code == records.Internal {
		s.log.Error("request failed", "path", r.URL.Path, "query", r.URL.RawQuery, "err", err)
	}
	p := errorPage{Base: s.base(r, http.StatusText(status)), Status: status, Message: records.MessageOf(err)}
	switch code {
	case records.NotFound:
		p.Heading = "Not here"
	case records.Invalid:
		p.Heading = "That cannot be read"
	case records.Conflict:
		p.Heading = "Somebody was faster"
	case records.Busy:
		p.Heading = "Busy just now"
	case records.Forbidden:
		p.Heading = "Not allowed"
	case records.TooLarge:
		p.Heading = "Too large"
	default:
		p.Heading = "Something went wrong"
	}
	var b bytes.Buffer
	if err := s.pages.render(&b, "error", p); err != nil {
		s.log.Error("the page for an error failed", "err", err)
		http.Error(w, p.Message, status)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if _, err := w.Write(b.Bytes()); err != nil {
		s.log.Debug("writing an answer", "err", err)
	}
}

// show renders a page to a buffer first, so that a fault in it cannot leave
// half a page.
func (s *Server) show(w http.ResponseWriter, name string, view any) error {
	var b bytes.Buffer
	if err := s.pages.render(&b, name, view); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Add("Vary", "Cookie, Sec-CH-Prefers-Color-Scheme")
	_, err := w.Write(b.Bytes())
	return ignoreGone(err)
}

// ignoreGone drops the error of a reader who went away.
func ignoreGone(error) error { return nil }

// actor is who asks: today always the person at this machine.
func (s *Server) actor(*http.Request) records.Actor { return desk.LocalPerson() }
