//go:build judges

package main

import (
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"
)

var tags = regexp.MustCompile(`<[^>]*>|\s+`)

// eventually waits until a page says something; a server looks for what others
// wrote every second.
func eventually(t *testing.T, url string, want ...string) string {
	t.Helper()
	var body string
	for range 100 {
		_, body = get(t, url)
		missing := ""
		for _, w := range want {
			if !strings.Contains(body, w) {
				missing = w
			}
		}
		if missing == "" {
			return body
		}
		time.Sleep(100 * time.Millisecond)
	}
	_, text, _ := strings.Cut(body, "<main")
	t.Errorf("%s never says %q:\n%.1500s", url, want, tags.ReplaceAllString(text, " "))
	return body
}

// post sends an empty form as a page of the server's own does.
func post(t *testing.T, url string) (int, string) {
	t.Helper()
	resp, err := (&http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}).Post(url, "application/x-www-form-urlencoded", strings.NewReader(""))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(b)
}

// The sqlite3 shell, GDAL and QGIS edit the database of a running server: each
// edit becomes a state in the record's history with its old and new values, is
// on the map within seconds, and is undone from the history.
func TestJudgesEditWhileTheServerRuns(t *testing.T) {
	db := copied(t, 12)
	s := serveIt(t, "serve", "--db", db, "--addr", "127.0.0.1:0")
	url := strings.TrimSuffix(s.url, "/")
	column := func(query string) string { t.Helper(); return judge(t, "sqlite3", db, query) }

	// The shell: many rows in one transaction, and something that is no value.
	far := column("SELECT hex(geom) FROM wells WHERE id = 12")
	column("PRAGMA busy_timeout = 5000; BEGIN; UPDATE wells SET yield_lps = 2.5 WHERE id BETWEEN 5 AND 9; UPDATE wells SET geom = x'" + far + "', total_depth_m = 'deep' WHERE id = 2; COMMIT;")
	for id := 5; id <= 9; id++ {
		eventually(t, fmt.Sprintf("%s/well/%d/history", url, id), "edited by another program", "from outside", "changed: yield")
	}
	eventually(t, url+"/well/2/history", "Written by another program and not used", "“deep”", "is not a number")
	eventually(t, url+"/well/2", "Another program wrote", "#doubts", "196.9 ft") // it has kept its 60 m
	eventually(t, url+"/well/2.geojson", `"coordinates":[-39.868,44]`)
	// The map at its new place, and no longer at the old.
	at := func(lon string) string { return url + "/map.svg?lon=" + lon + "&lat=44.0&mpp=1&w=400&h=300" }
	eventually(t, at("-39.868"), "W-1<", "W-11<")
	if _, svg := get(t, at("-39.988")); strings.Contains(svg, "W-1<") {
		t.Error("the map still has the well at its old place")
	}

	// GDAL appends a table and updates a row.
	judge(t, "ogr2ogr", "-append", "-update", db, file(t, "new.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point","coordinates":[-39.9,44.02]},"properties":{"number":"G-1","total_depth_m":33.5}}]}`), "-nln", "wells")
	eventually(t, url+"/find?q=G-1", "G-1")
	judge(t, "ogrinfo", db, "-dialect", "sqlite", "-sql", "UPDATE wells SET status = 'unused' WHERE number = 'G-1'")
	eventually(t, url+"/well/13/history", "changed: status", "edited by another program")

	// QGIS: an edit session with a change of a value and of a place, a new well
	// and one that goes.
	said := python(t, `
layer = QgsVectorLayer("dbname='%s' table=\"wells\" (geom)" % sys.argv[1], 'wells', 'spatialite')
layer.startEditing()
fields = layer.fields()
layer.changeAttributeValue(3, fields.indexOf('yield_lps'), 1.25)
layer.changeGeometry(3, QgsGeometry.fromPointXY(QgsPointXY(-39.95, 44.03)))
new = QgsFeature(fields)
new['number'] = 'Q-1'
new['total_depth_m'] = 44.5
new.setGeometry(QgsGeometry.fromPointXY(QgsPointXY(-39.96, 44.04)))
layer.addFeature(new)
layer.deleteFeature(4)
print(json.dumps({'committed': layer.commitChanges(), 'errors': layer.commitErrors(), 'count': layer.featureCount()}))
`, db)
	if said["committed"] != true || said["count"] != 13.0 {
		t.Fatalf("QGIS: %v", said)
	}
	eventually(t, url+"/well/3/history", "edited by another program", "changed: yield", "changed: longitude, latitude")
	eventually(t, url+"/well/3.geojson", `"coordinates":[-39.95,44.03]`, `"yield_lps":1.25`)
	eventually(t, url+"/find?q=Q-1", "Q-1")
	eventually(t, url+"/well/4/history", "removed by another program", "Bring it back")

	// Undone from the history, and the GIS sees it.
	for _, form := range []string{"/well/2/history/restore?key=2&revision=1&current=2", "/well/4/history/restore?key=4&revision=1&current=0"} {
		if code, body := post(t, url+form); code != http.StatusSeeOther {
			t.Errorf("%s answers %d: %.300s", form, code, body)
		}
	}
	eventually(t, url+"/well/2.geojson", `"coordinates":[-39.988`)
	if got := column("SELECT total_depth_m, revision FROM wells WHERE id = 2"); got != "60.0|3" {
		t.Errorf("undone, the layer has %s", got)
	}
	eventually(t, url+"/well/4", "W-3")
	// Put aside from its page.
	if code, _ := post(t, url+"/well/2/outside/1/aside"); code != http.StatusSeeOther {
		t.Errorf("putting aside answers %d", code)
	}
	eventually(t, url+"/well/2/history", "put aside", "Open again")
	if code, said := s.end(); code != exitOK && code != exitInterrupted {
		t.Errorf("the server ends with %d: %s", code, said)
	}
	must(t, "check", "--db", db)
	if got := judge(t, "spatialite", "-silent", "-batch", db, "SELECT CheckSpatialMetaData(), CheckSpatialIndex('wells','geom');"); got != "3|1" {
		t.Errorf("metadata and index: %s, want 3|1", got)
	}
}
