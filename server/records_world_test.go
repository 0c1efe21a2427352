package server_test

import (
	"context"
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
	"tallybook/server"
)

// attack is text that would break out of a page that did not escape it.
const attack = `"><script>alert(1)</script><img src=x onerror=alert(1)>'`

// recordWorld is a real database with a full record, an empty one, a hostile
// one, and some of the invented township, behind a server.
type recordWorld struct {
	t                    *testing.T
	desk                 *desk.Desk
	handler              http.Handler
	full, empty, hostile *records.Well
	linked, loose        *records.Plate // plates
	first                int64          // the first well of the township
}

func newRecordWorld(t *testing.T) *recordWorld {
	t.Helper()
	ctx := t.Context()
	vocabulary := lithology.Default()
	now := func() time.Time { return time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC) }
	store, err := sqlite.Open(ctx, sqlite.Options{Path: filepath.Join(t.TempDir(), "world.db"), Create: true, Reader: vocabulary, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(ctx, desk.Options{Store: store, Vocabulary: vocabulary, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	w := &recordWorld{t: t, desk: d, full: recordstest.Full(), empty: &records.Well{}, hostile: hostileWell()}
	for _, x := range []*records.Well{w.full, w.empty, w.hostile} {
		w.save(x, "")
	}
	w.full.Owner.Name, w.full.Strata[1].Description = "Owner B", "blue clay"
	w.save(w.full, "the driller called")
	w.hostile.Remarks = attack + attack
	w.save(w.hostile, attack)
	w.linked = &records.Plate{Number: "4?17", WellID: w.full.ID, Evidence: "number on the report", LinkedBy: "clerk", LinkedAt: time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC),
		Stamped: records.Stamped{Depth: recordstest.Feet[records.Depth]("230"), Yield: recordstest.Gpm("6"), Driller: attack}}
	w.loose = &records.Plate{Number: attack, Authority: attack, Seen: []records.PlateSighting{{Located: true, Lon: -38.75, Lat: 44.25, Legible: attack, Note: attack, By: attack}}}
	for _, p := range []*records.Plate{w.linked, w.loose} {
		if err := d.SavePlate(ctx, desk.LocalPerson(), p, ""); err != nil {
			t.Fatal(err)
		}
	}
	town := demo.Make(9)
	if err := d.AddAll(ctx, desk.LocalPerson(), town.Wells[:40], nil, town.Layers); err != nil {
		t.Fatal(err)
	}
	w.first = town.Wells[0].ID
	s, err := server.New(server.Options{Desk: d})
	if err != nil {
		t.Fatal(err)
	}
	w.handler = s.Handler()
	return w
}

func (w *recordWorld) save(x *records.Well, why string) {
	w.t.Helper()
	if _, err := w.desk.Save(context.Background(), desk.LocalPerson(), x, why); err != nil {
		w.t.Fatal(err)
	}
}

// hostileWell has the attack in every text that a record holds.
func hostileWell() *records.Well {
	w := recordstest.Full()
	w.UID = ""
	for _, p := range []*string{
		&w.Number, &w.PermitNumber, &w.Status, &w.Purpose, &w.Setting, &w.Rock, &w.LandUse, &w.StopReason, &w.YieldMethod, &w.Remarks,
		&w.Place.Given, &w.Place.Datum, &w.Place.Method, &w.Place.VertDatum, &w.Place.Parcel, &w.Place.Address, &w.Place.AccessNotes,
		&w.Owner.Name, &w.Owner.Address, &w.Owner.Telephone, &w.Crew.Driller, &w.Crew.Firm, &w.Crew.Licence, &w.Crew.Rig, &w.Crew.Helper,
		&w.Shifts[0].Note, &w.Works[0].Kind, &w.Works[0].Firm, &w.Works[0].Report, &w.Works[0].Note, &w.Bores[0].Method,
		&w.Casing[0].Material, &w.Casing[0].Schedule, &w.Casing[0].Joint, &w.Screens[0].Material, &w.Grout[0].Material, &w.Grout[0].Method, &w.Grout[0].Witnessed,
		&w.Strata[0].Description, &w.Strata[0].Material, &w.Strata[0].Color, &w.Strata[0].Water, &w.Strikes[0].Note,
		&w.StaticLevels[0].From, &w.StaticLevels[0].Method, &w.YieldTests[0].Note, &w.Quality[0].Kind, &w.Quality[0].Unit, &w.Quality[0].Lab,
		&w.Treatments[0].Kind, &w.Treatments[0].Product, &w.Rods[0].Remark, &w.Finish.Cap, &w.Finish.Result, &w.Pump.Type,
		&w.Attachments[0].Name, &w.Attachments[0].Kind, &w.Attachments[0].SHA256, &w.Provenance.Note, &w.TotalDepth.Given.Text,
	} {
		*p = attack
	}
	w.TotalDepth.Given.Text = "203" // a quantity is held to what was given
	w.Extra = []records.Member{{Name: attack, JSON: `"</script><script>alert(1)</script>"`}}
	return w
}

// answer is what the server said.
type answer struct {
	t      *testing.T
	path   string
	code   int
	body   string
	header http.Header
}

func (w *recordWorld) get(path string, header ...string) answer {
	w.t.Helper()
	r := httptest.NewRequest("GET", path, nil)
	r.Host = "127.0.0.1"
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	rec := httptest.NewRecorder()
	w.handler.ServeHTTP(rec, r)
	body, err := io.ReadAll(rec.Body)
	if err != nil {
		w.t.Fatal(err)
	}
	return answer{w.t, path, rec.Code, string(body), rec.Header()}
}

func (a answer) is(code int) answer {
	a.t.Helper()
	if a.code != code {
		a.t.Errorf("GET %s: %d, want %d\n%.300s", a.path, a.code, code, a.body)
	}
	return a
}

// says holds the text of the page, without tags, against words.
func (a answer) says(words ...string) answer {
	a.t.Helper()
	text := plainText(a.body)
	for _, w := range words {
		if !strings.Contains(text, w) {
			a.t.Errorf("GET %s does not say %q", a.path, w)
		}
	}
	return a
}

func (a answer) saysNot(words ...string) answer {
	a.t.Helper()
	text := plainText(a.body)
	for _, w := range words {
		if strings.Contains(text, w) {
			a.t.Errorf("GET %s says %q", a.path, w)
		}
	}
	return a
}

var (
	tags   = regexp.MustCompile(`<[^>]*>`)
	spaces = regexp.MustCompile(`\s+`)
)

func plainText(page string) string {
	return spaces.ReplaceAllString(html.UnescapeString(tags.ReplaceAllString(page, " ")), " ")
}

var (
	inlineScript = regexp.MustCompile(`(?i)<script(?:\s+(?:type="module"|src="/static/[^"]+"))*\s*>[^<]|<script(?:\s+type="module")?\s*>|\son[a-z]+\s*=\s*["']|javascript:`)
	inlineStyle  = regexp.MustCompile(`(?i)<style|<[^>]+\sstyle\s*=`)
	ids          = regexp.MustCompile(`\sid="([^"]*)"`)
	uses         = regexp.MustCompile(`url\(#([^)]+)\)|\shref="#([^"]+)"|aria-labelledby="([^"]+)"|\sfor="([^"]+)"`)
	localLinks   = regexp.MustCompile(`(?:href|src|data-drawing)="(/[^"]*)"`)
)

// sound holds what is true of every page: nothing inline that the policy
// forbids, no id twice, nothing that points at an id that is not there.
func (a answer) sound() answer {
	a.t.Helper()
	if m := inlineScript.FindString(a.body); m != "" {
		a.t.Errorf("GET %s has script inline: %q", a.path, m)
	}
	if m := inlineStyle.FindString(a.body); m != "" {
		a.t.Errorf("GET %s has style inline: %q", a.path, m)
	}
	if strings.Contains(a.body, "<script>alert") || strings.Contains(a.body, "<img src=x") {
		a.t.Errorf("GET %s does not escape what a record holds", a.path)
	}
	if strings.Contains(a.body, "ZgotmplZ") {
		a.t.Errorf("GET %s: a value was refused by the template", a.path)
	}
	have := map[string]bool{}
	for _, m := range ids.FindAllStringSubmatch(a.body, -1) {
		if have[m[1]] {
			a.t.Errorf("GET %s has the id %q twice", a.path, m[1])
		}
		have[m[1]] = true
	}
	for _, m := range uses.FindAllStringSubmatch(a.body, -1) {
		for _, id := range strings.Fields(strings.Join(m[1:], " ")) {
			if !have[id] {
				a.t.Errorf("GET %s points at #%s, which is not there", a.path, id)
			}
		}
	}
	return a
}
