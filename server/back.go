package server

import (
	"net/http"
	"net/url"
	"strings"
)

// localPath says whether an address that came with a request leads to a page
// of this server and nowhere else. Browsers drop tabs and line breaks from
// addresses and take backslashes for slashes, so that "/\t/elsewhere" leads
// elsewhere: any such character makes it no path of ours.
func localPath(address string) bool {
	if len(address) > 4000 || !strings.HasPrefix(address, "/") || strings.HasPrefix(address, "//") {
		return false
	}
	for _, c := range []byte(address) {
		if c < 0x20 || c == 0x7f || c == '\\' {
			return false
		}
	}
	u, err := url.Parse(address)
	return err == nil && u.Scheme == "" && u.Host == "" && u.User == nil
}

// backOf is where the reader came from, "" where the address says nothing
// that can be trusted.
func backOf(r *http.Request) string {
	if b := r.URL.Query().Get("back"); localPath(b) {
		return b
	}
	return ""
}
