package ogc

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// The media types that are sent.
const (
	typeJSON    = "application/json"
	typeGeoJSON = "application/geo+json"
	typeHTML    = "text/html"
	typeOpenAPI = "application/vnd.oai.openapi+json;version=3.0"
	typeProblem = "application/problem+json"
	typeSchema  = "application/schema+json"
	typeNDJSON  = "application/x-ndjson"
)

// wantsHTML says whether a page for people is to be sent: f says so, or else
// text/html is named by Accept and liked better than what programs read. What
// accepts anything gets what programs read.
func wantsHTML(r *http.Request) bool {
	if f := r.URL.Query().Get("f"); f != "" {
		return f == "html"
	}
	html, other := 0.0, 0.0
	for _, part := range strings.Split(strings.Join(r.Header.Values("Accept"), ","), ",") {
		kind, q := acceptPart(part)
		switch {
		case kind == "text/html" || kind == "application/xhtml+xml":
			html = max(html, q)
		case kind == typeJSON || kind == typeGeoJSON || strings.HasPrefix(kind, "application/vnd.oai"):
			other = max(other, q)
		}
	}
	return html > other
}

// acceptPart reads one media range and its weight (RFC 9110, 12.5.1).
func acceptPart(part string) (kind string, q float64) {
	kind, rest, _ := strings.Cut(part, ";")
	q = 1
	for _, p := range strings.Split(rest, ";") {
		if v, ok := strings.CutPrefix(strings.TrimSpace(p), "q="); ok {
			if f, err := strconv.ParseFloat(v, 64); err == nil && f >= 0 && f <= 1 {
				q = f
			}
		}
	}
	return strings.ToLower(strings.TrimSpace(kind)), q
}

// segments cuts an address, still escaped, into its parts.
func segments(path string) ([]string, error) {
	if path == "" {
		return nil, nil
	}
	parts := strings.Split(strings.TrimPrefix(path, "/"), "/")
	for i, p := range parts {
		text, err := url.PathUnescape(p)
		if err != nil {
			return nil, records.Errorf(records.NotFound, "there is nothing at this address")
		}
		parts[i] = text
	}
	return parts, nil
}

// statusError is an error with a status of its own.
type statusError struct {
	status int
	error
}

func (e statusError) Unwrap() error { return e.error }

// statusOf is the HTTP status code of an error. What is forbidden is not told
// apart from what is not there.
func statusOf(err error) int {
	var e statusError
	if errors.As(err, &e) {
		return e.status
	}
	code := records.CodeOf(err)
	if code == records.Forbidden {
		code = records.NotFound
	}
	return say.Status(code)
}

// problem is an error as RFC 9457 has it.
type problem struct {
	Type   string `json:"type"`
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail"`
}

// fail answers with an error: in words, with the details in the log alone.
func (c *call) fail(err error) {
	if c.r.Context().Err() != nil {
		return // nobody is there to read it
	}
	status := statusOf(err)
	if status == http.StatusInternalServerError {
		c.s.o.Log.Error("features request failed", "path", c.r.URL.Path, "query", c.r.URL.RawQuery, "err", err)
	}
	h := c.w.Header()
	h.Del("ETag")
	h.Del("Content-Crs")
	h.Set("Cache-Control", "no-store")
	if c.html && c.s.o.Fail != nil {
		c.s.o.Fail(c.w, c.r, status, err)
		return
	}
	h.Set("Content-Type", typeProblem)
	body, _ := marshal(problem{"about:blank", http.StatusText(status), status, records.MessageOf(err)}) // texts can always be written
	c.w.WriteHeader(status)
	_, _ = c.w.Write(body) // whoever asked may be gone
}

// sendJSON answers with a document.
func (c *call) sendJSON(kind string, v any) error {
	body, err := marshal(v)
	if err != nil {
		return err
	}
	return c.send(kind, body)
}

func (c *call) send(kind string, body []byte) error {
	h := c.w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-cache")
	_, _ = c.w.Write(body) // whoever asked may be gone
	return nil
}
