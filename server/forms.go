package server

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"time"

	"tallybook/records"
)

// mostForm is the largest form that is read, bytes.
const mostForm = 1 << 20

// readForm reads a form that was sent, with a limit on its size.
func readForm(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, mostForm)
	err := r.ParseForm()
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return records.Errorf(records.TooLarge, "the form holds more than %d kB; shorten what was written and send it again", mostForm>>10)
	case err != nil:
		return records.WrapError(records.Invalid, err, "the form could not be read; go back and send it again")
	}
	return nil
}

// said is what a page tells once about what was just done, with the way to
// undo it.
type said struct {
	Text string
	Undo string // address that a form is sent to; "": it cannot be undone here
}

const saidCookie = "said"

// done sends the reader on after a form did its work, so that reload does not
// do it again, and tells what was done on the next page.
func (s *Server) done(w http.ResponseWriter, r *http.Request, to string, what said) error {
	b, err := json.Marshal(what)
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{
		Name: saidCookie, Value: base64.RawURLEncoding.EncodeToString(b), Path: "/", MaxAge: int((2 * time.Minute).Seconds()),
		SameSite: http.SameSiteStrictMode, HttpOnly: true,
	})
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// saidTo is what was just done, for the page that the reader asks for now;
// nil for nothing.
func saidTo(r *http.Request) *said {
	c, err := r.Cookie(saidCookie)
	if err != nil || !wantsPage(r) {
		return nil
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil {
		return nil
	}
	what := &said{}
	if json.Unmarshal(b, what) != nil || what.Text == "" {
		return nil
	}
	if !localPath(what.Undo) {
		what.Undo = ""
	}
	return what
}

// wantsPage says whether somebody will read the answer as a page, and it is
// not a drawing or a script that asks.
func wantsPage(r *http.Request) bool {
	return (r.Method == http.MethodGet) && strings.Contains(r.Header.Get("Accept"), "text/html")
}

// forgetSaid takes back what was told, once a page tells it.
func forgetSaid(w http.ResponseWriter, r *http.Request) {
	if saidTo(r) != nil {
		http.SetCookie(w, &http.Cookie{Name: saidCookie, Path: "/", MaxAge: -1, SameSite: http.SameSiteStrictMode, HttpOnly: true})
	}
}
