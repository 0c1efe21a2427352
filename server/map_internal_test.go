package server

import (
	"bytes"
	"compress/gzip"
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

const place = "w=900&h=600&lon=-38.75&lat=44.25&mpp=17"

func TestMapIsTheSameForTheSameAddress(t *testing.T) {
	w := world(t, township)
	for _, q := range []string{"", "&field=yield", "&show=chance&reach=5", "&theme=dark", "&units=si", "&lines=0", "&mpp=400", "&from=1990&tray=1,2&at=44.25,-38.75", "&show=idw", "&show=kriging", "&show=kriging-error&field=yield", "&show=none"} {
		address := "/map.svg?" + place + q
		if strings.Contains(q, "mpp=") {
			address = "/map.svg?w=900&h=600&lon=-38.75&lat=44.25" + q
		}
		w.server.cache, w.server.tiles = drawings{}, groundTiles{}
		first := w.get(t, address)
		if first.Code != http.StatusOK || first.Header().Get("Content-Type") != "image/svg+xml; charset=utf-8" {
			t.Fatalf("%s: %d %s", address, first.Code, first.Header().Get("Content-Type"))
		}
		etag := first.Header().Get("ETag")
		kept := w.get(t, address)
		w.server.cache, w.server.tiles = drawings{}, groundTiles{}
		anew := w.get(t, address)
		for _, a := range []*httptest.ResponseRecorder{kept, anew} {
			if !bytes.Equal(a.Body.Bytes(), first.Body.Bytes()) || a.Header().Get("ETag") != etag || etag == "" {
				t.Errorf("%s: other bytes or another tag", address)
			}
		}
		again := w.get(t, address, "If-None-Match", `"x", `+etag)
		if again.Code != http.StatusNotModified || again.Body.Len() != 0 {
			t.Errorf("%s: %d with %d bytes, want 304 with none", address, again.Code, again.Body.Len())
		}
		if stale := w.get(t, address, "If-None-Match", `"x"`); stale.Code != http.StatusOK {
			t.Errorf("%s: %d for an old tag", address, stale.Code)
		}
	}
}

// TestPageAndDrawingAreOne: the page holds the very drawing that /map.svg
// gives for its address, drawn once.
func TestPageAndDrawingAreOne(t *testing.T) {
	w := world(t, township)
	for _, q := range []string{"", place, place + "&field=yield&from=1985"} {
		w.server.cache = drawings{}
		page := w.get(t, "/?"+q).Body.String()
		m := regexp.MustCompile(`data-query="([^"]*)"`).FindStringSubmatch(page)
		size := regexp.MustCompile(`viewBox="0 0 (\d+) (\d+)"`).FindStringSubmatch(page)
		if m == nil || size == nil {
			t.Fatal("the page holds no map")
		}
		query := html.UnescapeString(m[1])
		if !strings.Contains(query, "lon=") {
			t.Errorf("the page's drawing is asked for without a place: %s", query)
		}
		svg := w.get(t, "/map.svg?"+query+"&w="+size[1]+"&h="+size[2]).Body.String()
		if !strings.Contains(page, svg) {
			t.Errorf("%q: the page holds another drawing than /map.svg gives", q)
		}
		if n := w.server.cache.recent.Len(); n != 1 {
			t.Errorf("%q: drawn %d times", q, n)
		}
	}
}

func TestDownload(t *testing.T) {
	w := world(t, township)
	if got := w.get(t, "/map.svg?download=1&"+place).Header().Get("Content-Disposition"); got != `attachment; filename="map.svg"` {
		t.Errorf("a download is called %q", got)
	}
	if got := w.get(t, "/map.svg?"+place).Header().Get("Content-Disposition"); got != "" {
		t.Errorf("a drawing to be shown is called %q", got)
	}
}

// inlineCode is script or style within a page, which the policy refuses.
var inlineCode = regexp.MustCompile(`(?i)<script(?:\s[^>]*)?>[^<]|<style|\sstyle\s*=|\son[a-z]+\s*=\s*["']|javascript:`)

func TestPagesCarryNoInlineCode(t *testing.T) {
	w := world(t, township)
	for _, address := range []string{"/", "/?" + place, "/?at=44.25,-38.75", "/?at=44.25,-38.75&tray=1,2", "/?pick=1", "/?field=gold", "/well/1", "/well/999999", "/compare?ids=1,2", "/find?q=1", "/find?q=%3Cscript%3E", "/nothing"} {
		a := w.get(t, address)
		body := a.Body.String()
		if m := inlineCode.FindString(body); m != "" {
			t.Errorf("%s has inline code: %s", address, m)
		}
		csp := a.Header().Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy lacks %s", address, want)
			}
		}
		if strings.Contains(csp, "unsafe") {
			t.Errorf("%s: the policy is %s", address, csp)
		}
		if a.Header().Get("X-Content-Type-Options") != "nosniff" || a.Header().Get("Referrer-Policy") != "same-origin" {
			t.Errorf("%s lacks headers", address)
		}
	}
}

func TestOnlyThisMachine(t *testing.T) {
	w := world(t, township)
	for host, ok := range map[string]bool{
		"127.0.0.1": true, "127.0.0.1:8080": true, "localhost": true, "LocalHost:99": true, "[::1]": true, "[::1]:80": true, "127.9.9.9": true,
		"example.org": false, "example.org:8080": false, "localhost.example.org": false, "127.0.0.1.example.org": false, "10.0.0.1": false, "": false, "0.0.0.0": false, "[::]": false,
	} {
		r := httptest.NewRequest(http.MethodGet, "/static/x/base.css", nil)
		r.Host = host
		a := httptest.NewRecorder()
		w.handler.ServeHTTP(a, r)
		if (a.Code == http.StatusOK) != ok || !ok && a.Code != http.StatusMisdirectedRequest {
			t.Errorf("host %q: %d", host, a.Code)
		}
	}
}

func TestForeignPostsAreRefused(t *testing.T) {
	w := world(t, township)
	for _, h := range [][2]string{{"Sec-Fetch-Site", "cross-site"}, {"Origin", "http://example.org"}} {
		r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1/", strings.NewReader("a=b"))
		r.Host = "127.0.0.1"
		r.Header.Set(h[0], h[1])
		a := httptest.NewRecorder()
		w.handler.ServeHTTP(a, r)
		if a.Code != http.StatusForbidden {
			t.Errorf("a post with %s: %s is answered with %d", h[0], h[1], a.Code)
		}
	}
}

func TestAssets(t *testing.T) {
	w := world(t, township)
	page := w.get(t, "/").Body.String()
	links := regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 3 {
		t.Fatalf("the page names %d assets", len(links))
	}
	for _, l := range links {
		a := w.get(t, l[1])
		if a.Code != http.StatusOK || !strings.Contains(a.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d, %s", l[1], a.Code, a.Header().Get("Cache-Control"))
		}
		if again := w.get(t, l[1], "If-None-Match", a.Header().Get("ETag")); again.Code != http.StatusNotModified {
			t.Errorf("%s: %d for its own tag", l[1], again.Code)
		}
		kind := a.Header().Get("Content-Type")
		for ext, want := range map[string]string{".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"} {
			if strings.HasSuffix(l[1], ext) && !strings.HasPrefix(kind, want) {
				t.Errorf("%s is sent as %s", l[1], kind)
			}
		}
	}
	old := w.get(t, "/static/000000000000/map.js")
	if old.Code != http.StatusOK || strings.Contains(old.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("under another hash: %d, %s", old.Code, old.Header().Get("Cache-Control"))
	}
	for _, none := range []string{"/static/x/none.js", "/static/x/..%2Fstatic.go", "/static/x/static.go"} {
		if a := w.get(t, none); a.Code == http.StatusOK {
			t.Errorf("%s is answered", none)
		}
	}
}

// TestFirstPageIsSmall: with everything it needs, compressed.
func TestFirstPageIsSmall(t *testing.T) {
	w := world(t, township)
	total := 0
	fetch := func(address string) []byte {
		a := w.get(t, address, "Accept-Encoding", "gzip", "Cookie", "size=1440x735")
		total += a.Body.Len()
		if a.Header().Get("Content-Encoding") != "gzip" {
			return a.Body.Bytes()
		}
		z, err := gzip.NewReader(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(z)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	page := fetch("/")
	if !bytes.Contains(page, []byte(`viewBox="0 0 1440 735"`)) {
		t.Error("the first page is not of the window's size")
	}
	for _, l := range regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`).FindAllSubmatch(page, -1) {
		fetch(string(l[1]))
	}
	for _, module := range []string{"view.js", "gestures.js"} {
		fetch("/static/x/" + module)
	}
	t.Logf("%d bytes of page, %d with all it needs, compressed", len(page), total)
	if total > 150_000 {
		t.Errorf("the first page takes %d bytes", total)
	}
}

func TestSizeCookie(t *testing.T) {
	w := world(t, township)
	for cookie, want := range map[string]string{
		"1200x700": "0 0 1200 700", "99999999x1": "0 0 1000 760", "-5x-5": "0 0 1000 760", "x": "0 0 1000 760", "": "0 0 1000 760", "1e9x1e9": "0 0 1000 760",
		"60000x60000": "0 0 2600 1800", "1x1": "0 0 200 160", "700": "0 0 1000 760", "12x34x56": "0 0 1000 760", "<script>x1": "0 0 1000 760",
	} {
		a := w.get(t, "/", "Cookie", "size="+cookie)
		if a.Code != http.StatusOK || !strings.Contains(a.Body.String(), `viewBox="`+want+`"`) {
			t.Errorf("a window of %q: %d, not %s", cookie, a.Code, want)
		}
	}
	if a := w.get(t, "/?w=640&h=480", "Cookie", "size=1200x700"); !strings.Contains(a.Body.String(), `viewBox="0 0 640 480"`) {
		t.Error("the address gives way to the cookie")
	}
}

func TestUnitsAndThemeAreKept(t *testing.T) {
	w := world(t, township)
	a := w.get(t, "/choose?units=si&theme=dark&back=/%3Ffield%3Dyield")
	if a.Code != http.StatusSeeOther || a.Header().Get("Location") != "/?field=yield" {
		t.Fatalf("%d to %s", a.Code, a.Header().Get("Location"))
	}
	var cookies []string
	for _, c := range a.Result().Cookies() {
		if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" {
			t.Errorf("cookie %s", c)
		}
		cookies = append(cookies, c.Name+"="+c.Value)
	}
	page := w.get(t, "/", "Cookie", strings.Join(cookies, "; ")).Body.String()
	if !strings.Contains(page, `data-theme="dark"`) || !strings.Contains(page, "bedrock, m<") {
		t.Error("the choice was not kept")
	}
	if page := w.get(t, "/", "Cookie", "units=leagues; theme=pink").Body.String(); !strings.Contains(page, "bedrock, ft<") || strings.Contains(page, "data-theme") {
		t.Error("a choice that is none was taken")
	}
	if dark := w.get(t, "/map.svg?"+place, "Sec-CH-Prefers-Color-Scheme", `"dark"`).Body.String(); !strings.Contains(dark, "#1a1916") {
		t.Error("the device's wish is not heard")
	}
	for _, back := range []string{"//example.org", "https://example.org", `/\example.org`, "javascript:alert(1)", ""} {
		if got := w.get(t, "/choose?units=si&back="+url.QueryEscape(back)).Header().Get("Location"); got != "/" {
			t.Errorf("back to %q leads to %q", back, got)
		}
	}
	for _, none := range []string{"/choose?units=leagues", "/choose?theme=pink"} {
		if c := w.get(t, none).Result().Cookies(); len(c) != 0 {
			t.Errorf("%s is kept: %v", none, c)
		}
	}
}

// TestFormsAndLinksKeepTheState: what the reader set is set again in every
// form and link of the page.
func TestFormsAndLinksKeepTheState(t *testing.T) {
	w := world(t, township)
	page := w.get(t, "/?"+place+"&field=yield&from=1985&to=2010&use=domestic&plate=no&dmin=50&tray=3,5&at=44.25,-38.75&show=chance&reach=7&lines=0").Body.String()
	for _, want := range []string{
		`name="from" inputmode="numeric" placeholder="year" value="1985"`, `name="dmin" inputmode="decimal" value="50"`,
		`<option value="yield" selected>`, `<option value="chance" selected>`, `<option value="domestic" selected>`, `<option value="no" selected>`,
		`name="tray" value="3,5"`, `name="at" value="44.25,-38.75"`, `name="lon" value="-38.75"`, `name="mpp" value="17"`, `name="reach" inputmode="decimal" value="7"`,
		`name="lines" value="0"`, `action="/find"`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	links := 0
	for _, l := range regexp.MustCompile(`href="(/\?[^"]*)"`).FindAllStringSubmatch(page, -1) {
		u, err := url.Parse(html.UnescapeString(l[1]))
		if err != nil {
			t.Fatal(err)
		}
		q := u.Query()
		if q.Get("field") != "yield" || q.Get("show") != "chance" || q.Get("reach") != "7" || q.Get("lines") != "0" {
			t.Errorf("%s loses what is shown", l[1])
		}
		if q.Get("from") != "1985" && !strings.Contains(page, `href="`+l[1]+`">all wells again`) {
			t.Errorf("%s loses the filter", l[1])
		}
		links++
	}
	if links < 10 {
		t.Errorf("only %d links", links)
	}
}

// TestPick: without a script, a click on the picture becomes the place.
func TestPick(t *testing.T) {
	w := world(t, township)
	a := w.get(t, "/pick?"+place+"&field=yield&p.x=450&p.y=300")
	if got := a.Header().Get("Location"); a.Code != http.StatusSeeOther || !strings.Contains(got, "at=44.25%2C-38.75") || !strings.Contains(got, "field=yield") {
		t.Errorf("the middle leads to %d %s", a.Code, got)
	}
	for _, bad := range []string{"/pick", "/pick?" + place, "/pick?" + place + "&p.x=a&p.y=1", "/pick?p.x=1&p.y=1"} {
		if a := w.get(t, bad); a.Code != http.StatusBadRequest {
			t.Errorf("%s: %d", bad, a.Code)
		}
	}
}

// TestNoWellsAtAll: an empty database is a page with words, not a fault.
func TestNoWellsAtAll(t *testing.T) {
	w := world(t, wilderness)
	for address, want := range map[string]string{"/": "No wells yet", "/?at=44.25,-38.75": "no wells to go by", "/map.svg": "no well that is shown", "/map.svg?" + place + "&show=chance": "no well that is shown"} {
		if a := w.get(t, address); a.Code != http.StatusOK || !strings.Contains(a.Body.String(), want) {
			t.Errorf("%s: %d, without %q", address, a.Code, want)
		}
	}
	// A filter that leaves nothing is no fault either.
	if a := world(t, township).get(t, "/?from=2200"); a.Code != http.StatusOK || !strings.Contains(a.Body.String(), "all wells again") {
		t.Errorf("a filter that leaves nothing: %d", a.Code)
	}
}

// TestNewLinesAreShown: layers are kept, but not beyond a change.
func TestNewLinesAreShown(t *testing.T) {
	w := world(t, wilderness)
	before := w.get(t, "/map.svg?"+place).Body.String()
	line := &records.Layer{Name: "new", Kind: "road", GeoJSON: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Heron Way"},"geometry":{"type":"LineString","coordinates":[[-38.79,44.25],[-38.71,44.251]]}}]}`)}
	if err := w.desk.SaveLayer(t.Context(), desk.LocalPerson(), line); err != nil {
		t.Fatal(err)
	}
	after := w.get(t, "/map.svg?"+place).Body.String()
	if strings.Contains(before, "Heron Way") || !strings.Contains(after, "Heron Way") {
		t.Error("a new line is not shown")
	}
}
