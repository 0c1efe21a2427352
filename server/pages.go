package server

import (
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"tallybook/server/draw"
	"tallybook/server/pages"
	"tallybook/server/say"
)

// pageSet holds the parsed pages: each view with the layout and the partials.
type pageSet struct {
	byName map[string]*template.Template
}

func loadPages(a *assets) (*pageSet, error) {
	funcs := template.FuncMap{"asset": a.URL, "capital": capital}
	views, err := fs.Glob(pages.FS, "views/*.html")
	if err != nil {
		return nil, err
	}
	p := &pageSet{byName: map[string]*template.Template{}}
	for _, v := range views {
		t, err := template.New("layout.html").Funcs(funcs).Option("missingkey=error").
			ParseFS(pages.FS, "layout.html", "partials/*.html", v)
		if err != nil {
			return nil, fmt.Errorf("page %s: %w", v, err)
		}
		p.byName[strings.TrimSuffix(path.Base(v), ".html")] = t
	}
	return p, nil
}

func (p *pageSet) render(w io.Writer, name string, view any) error {
	t, ok := p.byName[name]
	if !ok {
		return fmt.Errorf("there is no page %q", name)
	}
	return t.ExecuteTemplate(w, "layout.html", view)
}

// Base is what every page knows.
type Base struct {
	Title string
	Note  string // said on every page; "" for nothing
	Units say.System
	Theme string // "light" or "dark" as chosen; "" as the device says
	Here  string // path and query, to come back to
	Pages []pageLink
	Said  *said // what was just done
}

// pageLink leads to one of the main pages.
type pageLink struct {
	Label, Href string
	On          bool
	Short       string // on a phone; "": the label
}

// mainPages are the pages that are reached from everywhere.
var mainPages = [...]pageLink{
	{Label: "Map", Href: "/"},
	{Label: "Records", Href: "/records"},
	{Label: "Jobs", Href: "/jobs"},
	{Label: "Forecasts", Href: "/forecasts"},
	{Label: "How the ground varies", Href: "/review", Short: "Ground"},
	{Label: "Office", Href: "/office"},
}

func (s *Server) base(r *http.Request, title string) Base {
	b := Base{Title: title, Note: s.note, Units: unitsOf(r), Here: r.URL.RequestURI(), Said: saidTo(r)}
	for _, p := range mainPages {
		p.On = p.Href == r.URL.Path || p.Href != "/" && under(r.URL.Path, p.Href) || p.Href == "/records" && under(r.URL.Path, recordsPaths...)
		b.Pages = append(b.Pages, p)
	}
	if t, ok := chosenTheme(r); ok {
		b.Theme = t.String()
	}
	return b
}

// under says whether an address is one of the pages or lies below one.
func under(path string, pages ...string) bool {
	for _, p := range pages {
		if path == p || strings.HasPrefix(path, p+"/") {
			return true
		}
	}
	return false
}

// unitsOf is the reader's choice: of this request, else the one kept, else
// feet and gallons.
func unitsOf(r *http.Request) say.System {
	if u, ok := say.Parse(r.URL.Query().Get("units")); ok {
		return u
	}
	if c, err := r.Cookie("units"); err == nil {
		if u, ok := say.Parse(c.Value); ok {
			return u
		}
	}
	return say.US
}

// chosenTheme is the theme that the reader chose, for this request or for
// good.
func chosenTheme(r *http.Request) (draw.Theme, bool) {
	if t, ok := draw.ParseTheme(r.URL.Query().Get("theme")); ok {
		return t, true
	}
	if c, err := r.Cookie("theme"); err == nil {
		if t, ok := draw.ParseTheme(c.Value); ok {
			return t, true
		}
	}
	return draw.Light, false
}

// themeOf is the theme to draw in: as chosen, else as the device says.
func themeOf(r *http.Request) draw.Theme {
	if t, ok := chosenTheme(r); ok {
		return t
	}
	if strings.Contains(r.Header.Get("Sec-CH-Prefers-Color-Scheme"), "dark") {
		return draw.Dark
	}
	return draw.Light
}

// keepChoice answers /choose: it keeps units or theme in a cookie and goes
// back to where the reader was.
func (s *Server) keepChoice(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	for _, name := range []string{"units", "theme"} {
		v := q.Get(name)
		if v == "" {
			continue
		}
		_, isUnit := say.Parse(v)
		_, isTheme := draw.ParseTheme(v)
		c := &http.Cookie{Name: name, Value: v, Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true}
		if name == "theme" && v == "auto" {
			c.MaxAge = -1
		} else if name == "units" && !isUnit || name == "theme" && !isTheme {
			continue
		}
		http.SetCookie(w, c)
	}
	back := q.Get("back")
	if !localPath(back) {
		back = "/"
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}
