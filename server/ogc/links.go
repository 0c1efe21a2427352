package ogc

import "net/url"

// link leads to something that belongs to a document (RFC 8288, as the
// standard writes it).
type link struct {
	Href  string `json:"href"`
	Rel   string `json:"rel"`
	Type  string `json:"type,omitempty"`
	Title string `json:"title,omitempty"`
}

// selfLinks are the links of a document to itself and to its other form.
func (c *call) selfLinks(path, kind string) []link {
	asked := c.href(path)
	if q := canonical(c.r.URL.Query(), "f", "units", "theme"); q != "" {
		asked += "?" + q
	}
	return []link{
		{withQuery(asked, "f", "json"), "self", kind, "This document"},
		{withQuery(asked, "f", "html"), "alternate", typeHTML, "This document as a page"},
	}
}

// withQuery is an address with a parameter set, all others kept.
func withQuery(href, name, value string) string {
	u, err := url.Parse(href)
	if err != nil {
		return href
	}
	q := u.Query()
	q.Set(name, value)
	u.RawQuery = q.Encode()
	return u.String()
}

// turned is the address of another page of the same features: every parameter
// is kept but those that say where the page begins.
func (c *call) turned(path, name, key string) string {
	q := c.r.URL.Query()
	for _, n := range append([]string{"after", "before"}, pageChoices...) {
		q.Del(n)
	}
	if name != "" {
		q.Set(name, key)
	}
	href := c.href(path)
	if e := q.Encode(); e != "" {
		href += "?" + e
	}
	return href
}
