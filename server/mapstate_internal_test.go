package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/server/say"
)

// addresses are states of the map as readers make them.
var addresses = []string{
	"", "lon=-38.75&lat=44.25&mpp=17", "field=yield", "field=total_depth&show=chance&reach=200", "show=skill&lines=0", "show=idw", "show=kriging", "show=kriging-error", "show=none", "show=range",
	"from=1990&to=2005", "use=domestic", "plate=yes", "plate=no&dmin=100&dmax=300", "ymin=1.5&ymax=20", "at=44.25,-38.75",
	"tray=1,2,3", "tray=3,1&at=44.2512,-38.7411&lon=-38.75&lat=44.25&mpp=4.5&field=yield&from=1980&lines=0",
	"lon=179.999999&lat=-85&mpp=0.02", "lon=-180&lat=85&mpp=60000", "at=-0.000001,0.000001",
}

func TestAddressRoundTrip(t *testing.T) {
	s := world(t, township).server
	for _, u := range []say.System{say.US, say.SI} {
		for _, a := range addresses {
			q, err := url.ParseQuery(a)
			if err != nil {
				t.Fatal(err)
			}
			checkRoundTrip(t, s, q, u)
		}
	}
}

// checkRoundTrip: an address read and written again is stable and means the
// same.
func checkRoundTrip(t *testing.T, s *Server, q url.Values, u say.System) {
	t.Helper()
	first, err := s.parseMapState(q, u)
	if err != nil {
		t.Fatalf("%s: %v", q.Encode(), err)
	}
	once := first.query()
	second, err := s.parseMapState(once, u)
	if err != nil {
		t.Fatalf("%s came back as %s: %v", q.Encode(), once.Encode(), err)
	}
	if twice := second.query(); twice.Encode() != once.Encode() {
		t.Fatalf("%s, then %s", once.Encode(), twice.Encode())
	}
	if first.filter.Key() != second.filter.Key() || first.field != second.field || first.surface != second.surface || first.contours != second.contours || first.placed != second.placed || joinIDs(first.tray) != joinIDs(second.tray) {
		t.Fatalf("%s means something else than %s", q.Encode(), once.Encode())
	}
	if (first.at == nil) != (second.at == nil) {
		t.Fatalf("%s lost the place asked about", q.Encode())
	}
	// A link of the page keeps all but what it changes.
	if got := first.href(nil); got != "/" && got != "/?"+once.Encode() {
		t.Fatalf("%s leads to %s", once.Encode(), got)
	}
	away, err := url.Parse(first.href(func(n *mapState) { n.tray = nil }))
	if err != nil {
		t.Fatal(err)
	}
	want := url.Values{}
	for k, v := range once {
		if k != "tray" {
			want[k] = v
		}
	}
	if away.Query().Encode() != want.Encode() {
		t.Fatalf("without the tray %s became %s", once.Encode(), away.RawQuery)
	}
}

// badAddresses are parts that cannot be read, with a word that the answer must
// say.
var badAddresses = map[string]string{
	"field=gold": "gold", "show=heat": "heat", "lon=east": "lon", "lat=NaN": "lat", "mpp=Inf": "mpp", "w=wide": "w=wide", "h=1e999": "h=",
	"from=before": "from", "to=x": "to=x", "dmin=deep": "dmin", "dmax=-": "dmax", "ymin=lots": "ymin", "ymax=%3F": "ymax", "use=dancing": "dancing",
	"met=cheese": "cheese", "plate=perhaps": "perhaps", "reach=high": "reach", "at=nowhere": "", "tray=a": "a", "tray=-1": "-1", "tray=0": "0",
	"tray=99999999999999999999": "99999", "tray=1,2,3,4,5,6,7,8,9": "8",
}

func TestBadAddresses(t *testing.T) {
	w := world(t, township)
	for bad, word := range badAddresses {
		for _, path := range []string{"/?", "/map.svg?"} {
			a := w.get(t, path+bad)
			want := http.StatusBadRequest
			if strings.HasPrefix(bad, "tray=1,2") {
				want = http.StatusRequestEntityTooLarge
			}
			if a.Code != want {
				t.Errorf("%s%s: %d, want %d", path, bad, a.Code, want)
			}
			if !strings.Contains(a.Body.String(), word) || !strings.Contains(a.Body.String(), "<h1") {
				t.Errorf("%s%s: the page does not say what is wrong", path, bad)
			}
		}
	}
}

// FuzzMapQuery: whatever stands in an address, it is read, or refused in words
// that are for the reader; what is read comes back.
func FuzzMapQuery(f *testing.F) {
	for _, a := range addresses {
		f.Add(a)
	}
	for a := range badAddresses {
		f.Add(a)
	}
	f.Add("lon=1e308&lat=-1e308&mpp=1e-308&w=0&h=-5&reach=-0&from=-0&at=90,180")
	w, err := township()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, raw string) {
		q, err := url.ParseQuery(raw)
		if err != nil {
			return
		}
		st, err := w.server.parseMapState(q, say.US)
		if err != nil {
			if c := records.CodeOf(err); c != records.Invalid && c != records.TooLarge {
				t.Fatalf("%q: %s: %v", raw, c, err)
			}
			return
		}
		v := st.view
		if !(v.W >= 200 && v.W <= mostW && v.H >= 160 && v.H <= mostH) || v.MPerPixel < 0 || v.MPerPixel > mostMpp || len(st.tray) > mostTray {
			t.Fatalf("%q: %+v", raw, v)
		}
		checkRoundTrip(t, w.server, q, say.US)
	})
}
