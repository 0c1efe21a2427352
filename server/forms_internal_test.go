package server

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestSaidIsToldOnce: what was done is told on the next page and not again,
// never to a drawing's request, and leads nowhere but to this server.
func TestSaidIsToldOnce(t *testing.T) {
	s := &Server{}
	w := httptest.NewRecorder()
	if err := s.done(w, httptest.NewRequest("POST", "/jobs", nil), "/jobs", said{Text: "The job was kept.", Undo: "/jobs/1/undo"}); err != nil {
		t.Fatal(err)
	}
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/jobs" {
		t.Fatalf("answered %d to %s", w.Code, w.Header().Get("Location"))
	}
	ask := func(accept string) *http.Request {
		r := httptest.NewRequest("GET", "/jobs", nil)
		r.Header.Set("Accept", accept)
		for _, c := range w.Result().Cookies() {
			r.AddCookie(c)
		}
		return r
	}
	page := ask("text/html,application/xhtml+xml")
	got := saidTo(page)
	if got == nil || got.Text != "The job was kept." || got.Undo != "/jobs/1/undo" {
		t.Fatalf("the next page is told %+v", got)
	}
	if drawn := saidTo(ask("image/svg+xml")); drawn != nil {
		t.Errorf("a drawing is told %+v", drawn)
	}
	after := httptest.NewRecorder()
	forgetSaid(after, page)
	if c := after.Result().Cookies(); len(c) != 1 || c[0].MaxAge >= 0 {
		t.Errorf("it is not forgotten: %v", c)
	}
}

// TestSaidUndoStaysHere: an address that leads elsewhere is not offered.
func TestSaidUndoStaysHere(t *testing.T) {
	s := &Server{}
	w := httptest.NewRecorder()
	if err := s.done(w, httptest.NewRequest("POST", "/", nil), "/", said{Text: "Done.", Undo: "//elsewhere.example/"}); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("GET", "/", nil)
	r.Header.Set("Accept", "text/html")
	for _, c := range w.Result().Cookies() {
		r.AddCookie(c)
	}
	if got := saidTo(r); got == nil || got.Undo != "" {
		t.Errorf("it offers %+v", got)
	}
}

// TestFormHasALimit: a form that is too large is refused with words.
func TestFormHasALimit(t *testing.T) {
	r := httptest.NewRequest("POST", "/", strings.NewReader("a="+strings.Repeat("x", mostForm+10)))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	err := readForm(httptest.NewRecorder(), r)
	if err == nil || !strings.Contains(err.Error(), "kB") {
		t.Errorf("it was read, or refused with %v", err)
	}
}
