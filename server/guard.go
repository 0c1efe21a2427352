package server

import (
	"net"
	"net/http"
	"strings"
)

// policy lets a page use only what this server itself sends: no inline
// script or style, nothing from elsewhere, no frame around it.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'"

// withHeaders sets what every answer carries.
func withHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Accept-CH", "Sec-CH-Prefers-Color-Scheme")
		next.ServeHTTP(w, r)
	})
}

// checkHost refuses requests whose Host is not this machine by a loopback
// name: a page elsewhere that makes its own name point here must not reach
// the records.
func checkHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.Trim(host, "[]")
		ip := net.ParseIP(host)
		if !strings.EqualFold(host, "localhost") && (ip == nil || !ip.IsLoopback()) {
			http.Error(w, "this program answers only to addresses of its own machine, such as 127.0.0.1 or localhost", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}
