package ogc_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
	"tallybook/server"
	"tallybook/server/ogc"
)

// world is a real database behind the whole server, over real HTTP.
type world struct {
	t     testing.TB
	desk  *desk.Desk
	store records.Store
	http  *httptest.Server
	wells []*records.Well
}

// Of the invented wells: how many there are, how many of them have a place,
// and how many a date.
const (
	wellsHere = 57
	placed    = 56
	dated     = 50
)

// secret are private things that are never to be read here.
const secret = "Never Shown"

func newWorld(t testing.TB) *world {
	t.Helper()
	w := bareWorld(t)
	ctx := context.Background()
	for i := range wellsHere {
		x := recordstest.Plain()
		x.UID, x.Number = "", fmt.Sprintf("N%02d", i)
		x.Owner.Name, x.Owner.Address, x.Owner.Telephone, x.Place.Address = secret, secret, secret, secret
		x.Place.Lon, x.Place.Lat = -72-float64(i)/100, 44+float64(i)/200
		switch {
		case i == 0:
			x.Place.Lon = 179.5
		case i == 1:
			x.Place.Lon = -179.5
		case i == 2:
			x.Place.Located = false
			x.Bedrock = records.Within[records.Depth](3, 5)
		case i < 10:
			x.Completed = records.Date{}
		default:
			x.Completed = records.Date{Year: 1950 + i, Month: 6, Day: 15}
		}
		w.wells = append(w.wells, x)
	}
	if err := w.desk.AddAll(ctx, desk.LocalPerson(), w.wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	p := &records.Plate{Number: "P-1", WellID: w.wells[20].ID, LinkedBy: secret, Evidence: secret, Seen: []records.PlateSighting{{By: secret}}}
	if err := w.desk.SavePlate(ctx, desk.LocalPerson(), p, ""); err != nil {
		t.Fatal(err)
	}
	w.keepForecast(ctx)
	return w
}

func bareWorld(t testing.TB) *world {
	t.Helper()
	vocabulary := lithology.Default()
	store, err := sqlite.Open(context.Background(), sqlite.Options{Path: filepath.Join(t.TempDir(), "world.db"), Create: true, Reader: vocabulary})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(context.Background(), desk.Options{Store: store, Vocabulary: vocabulary})
	if err != nil {
		t.Fatal(err)
	}
	s, err := server.New(server.Options{Desk: d, Note: "All of it is invented."})
	if err != nil {
		t.Fatal(err)
	}
	w := &world{t: t, desk: d, store: store, http: httptest.NewServer(s.Handler())}
	t.Cleanup(func() {
		w.http.Close()
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return w
}

func (w *world) keepForecast(ctx context.Context) {
	w.t.Helper()
	var samples []predict.Sample
	for v := range 9 {
		samples = append(samples, predict.Sample{Value: float64(v + 1), Weight: 1})
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		w.t.Fatal(err)
	}
	q, err := desk.Expect("yield", "L/s", &d, nil)
	if err != nil {
		w.t.Fatal(err)
	}
	f := &records.Forecast{Lon: -72, Lat: 44, Label: secret, DataCommit: 1, Expected: []records.ForecastQuantity{q}}
	if err := w.desk.KeepForecast(ctx, desk.LocalPerson(), f); err != nil {
		w.t.Fatal(err)
	}
}

// said is an answer.
type said struct {
	path   string
	status int
	body   []byte
	header http.Header
}

// ask asks for an address below the service's root, or a whole one; headers are
// names and values in turn.
func (w *world) ask(method, path string, headers ...string) *said {
	w.t.Helper()
	href := path
	if !strings.HasPrefix(path, "http") {
		href = w.http.URL + ogc.Root + path
	}
	r, err := http.NewRequest(method, href, nil)
	if err != nil {
		w.t.Fatal(err)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	client := http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{DisableCompression: true, DisableKeepAlives: true}}
	resp, err := client.Do(r)
	if err != nil {
		w.t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		w.t.Fatal(err)
	}
	return &said{path, resp.StatusCode, body, resp.Header}
}

// get asks and wants a status.
func (w *world) get(path string, status int, headers ...string) *said {
	w.t.Helper()
	s := w.ask("GET", path, headers...)
	if s.status != status {
		w.t.Fatalf("GET %s: %d, want %d: %.300s", path, s.status, status, s.body)
	}
	return s
}

func (s *said) read(t testing.TB, v any) {
	t.Helper()
	if err := json.Unmarshal(s.body, v); err != nil {
		t.Fatalf("%s: %v: %.200s", s.path, err, s.body)
	}
}

// kind is the media type without its parameters.
func (s *said) kind() string {
	k, _, _ := strings.Cut(s.header.Get("Content-Type"), ";")
	return k
}

type link struct{ Href, Rel, Type, Title string }

type links []link

// to gives the links of a relation.
func (l links) to(rel string) (out links) {
	for _, one := range l {
		if one.Rel == rel {
			out = append(out, one)
		}
	}
	return out
}

// page is a page of features as a client reads it.
type page struct {
	Type           string
	NumberMatched  *int
	NumberReturned int
	TimeStamp      string
	Links          links
	Features       []struct {
		Type       string
		ID         string
		Geometry   *struct{ Coordinates []float64 }
		Properties map[string]any
	}
}

func (w *world) page(path string) *page {
	w.t.Helper()
	var p page
	w.get(path, 200).read(w.t, &p)
	return &p
}

// numbers are the well numbers of a page.
func (p *page) numbers() string {
	var out []string
	for _, f := range p.Features {
		out = append(out, fmt.Sprint(f.Properties["number"]))
	}
	return strings.Join(out, " ")
}

// ids are the public names of a page.
func (p *page) ids() (out []string) {
	for _, f := range p.Features {
		out = append(out, f.ID)
	}
	return out
}
