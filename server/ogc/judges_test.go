//go:build judges

package ogc_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/server/ogc"
)

// GDAL reads the service as a client (its driver OAPIF): all of a hundred
// thousand wells through pages, and by box and property so that the service
// does the picking, which the requests show.

// asked are the requests that a server got.
type asked struct {
	mu   sync.Mutex
	all  []string
	next http.Handler
}

func (a *asked) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a.mu.Lock()
	a.all = append(a.all, r.URL.RequestURI())
	a.mu.Unlock()
	a.next.ServeHTTP(w, r)
}

// take gives the requests for items since it was last asked.
func (a *asked) take() (items []url.Values) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, uri := range a.all {
		u, err := url.Parse(uri)
		if err == nil && strings.HasSuffix(u.Path, "/items") {
			items = append(items, u.Query())
		}
	}
	a.all = nil
	return items
}

const judged = 100_000

func TestGDALReadsAll(t *testing.T) {
	w := bareWorld(t)
	r := rand.New(rand.NewPCG(7, 11))
	var inBox, inUse int
	box := records.Bounds{West: -71.7, South: 44.4, East: -71.5, North: 44.6}
	for from := 0; from < judged; from += 5000 {
		var wells []*records.Well
		for i := range 5000 {
			x := recordstest.Plain()
			x.UID, x.Number, x.Strata = "", fmt.Sprintf("W%06d", from+i), nil
			x.Place.Lon, x.Place.Lat = -72+r.Float64(), 44+r.Float64()
			if i%50 == 0 {
				x.Status = "unused"
			}
			if box.Has(x.Place.Lon, x.Place.Lat) {
				inBox++
				if x.Status == "unused" {
					inUse++
				}
			}
			wells = append(wells, x)
		}
		if err := w.desk.AddAll(context.Background(), desk.LocalPerson(), wells, nil, nil); err != nil {
			t.Fatal(err)
		}
	}
	count := &asked{next: w.http.Config.Handler}
	w.http.Config.Handler = count

	all := gdalReads(t, w, "wells", "1000")
	requests := count.take()
	if len(all) != judged || len(slices.Compact(slices.Sorted(slices.Values(all)))) != judged {
		t.Errorf("GDAL reads %d features, want %d", len(all), judged)
	}
	if len(requests) < 100 || len(requests) > 110 {
		t.Errorf("%d requests for pages of 1000 of %d", len(requests), judged)
	}
	for _, c := range []struct {
		name string
		args []string
		want int
		has  map[string]string
	}{
		{"box", []string{"-spat", "-71.7", "44.4", "-71.5", "44.6"}, inBox, map[string]string{"bbox": "-71.7,44.4,-71.5,44.6"}},
		{"property", []string{"-where", "number = 'W012345'"}, 1, map[string]string{"number": "W012345"}},
		{"box and property", []string{"-spat", "-71.7", "44.4", "-71.5", "44.6", "-where", "status = 'unused'"}, inUse, map[string]string{"status": "unused", "bbox": "-71.7,44.4,-71.5,44.6"}},
	} {
		got := gdalReads(t, w, "wells", "1000", c.args...)
		requests := count.take()
		if len(got) != c.want || c.want == 0 {
			t.Errorf("%s: GDAL reads %d, want %d", c.name, len(got), c.want)
		}
		pages := 0
		for _, q := range requests {
			fits := true
			for name, value := range c.has {
				fits = fits && sameList(q.Get(name), value)
			}
			if fits {
				pages++
			}
		}
		most := c.want/1000 + 1
		if pages == 0 || pages > most+1 || len(requests) > most+4 {
			t.Errorf("%s: %d requests, %d of them for what is asked, want about %d: %v", c.name, len(requests), pages, most, requests)
		}
		t.Logf("%s: %d features by %d requests", c.name, len(got), len(requests))
	}
	// The layer as ogrinfo sees it.
	out := run(t, "ogrinfo", "-ro", "-so", "OAPIF:"+w.http.URL+ogc.Root, "wells")
	for _, want := range []string{"Geometry: Point", "Feature Count: 100000", `ID["EPSG",4326]`, "total_depth_m: Real", "number: String"} {
		if !strings.Contains(out, want) {
			t.Errorf("ogrinfo does not say %q:\n%.1500s", want, out)
		}
	}
}

// sameList says whether two lists of numbers, or texts, are the same.
func sameList(a, b string) bool {
	x, y := strings.Split(a, ","), strings.Split(b, ",")
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		var p, q float64
		_, errP := fmt.Sscan(x[i], &p)
		_, errQ := fmt.Sscan(y[i], &q)
		if errP == nil && errQ == nil && p == q || x[i] == y[i] {
			continue
		}
		return false
	}
	return true
}

// gdalReads has GDAL copy what it reads to a file, a feature a line, and gives
// the public names.
func gdalReads(t *testing.T, w *world, layer, page string, args ...string) (uids []string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "read.geojsonl")
	run(t, "ogr2ogr", append([]string{"-f", "GeoJSONSeq", file, "-oo", "PAGE_SIZE=" + page, "OAPIF:" + w.http.URL + ogc.Root, layer}, args...)...)
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var x struct{ Properties struct{ UID string } }
		if err := json.Unmarshal([]byte(strings.TrimPrefix(lines.Text(), "\x1e")), &x); err != nil {
			t.Fatal(err)
		}
		uids = append(uids, x.Properties.UID)
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return uids
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%.2000s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}
