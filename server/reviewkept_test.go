package server_test

import (
	"encoding/json"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records/desk"
	"tallybook/records/review"
)

// send posts a form and gives where it leads.
func send(t *testing.T, h http.Handler, address string, form url.Values) (int, string) {
	t.Helper()
	r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1"+address, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code, w.Header().Get("Location")
}

func TestReviewKeptAndRepeated(t *testing.T) {
	d, h := scoutWorld(t, changed(300, nil))
	code, to := send(t, h, "/review/keep?field=yield&from=1985&units=si", url.Values{"title": {"North <b>half</b>"}, "author": {"A. Consultant"}, "note": {attack}})
	if code != http.StatusSeeOther || to != "/review/1" {
		t.Fatalf("%d %s", code, to)
	}
	code, page := getPage(t, h, to)
	if code != http.StatusOK {
		t.Fatalf("%d %s", code, page)
	}
	for _, want := range []string{"North &lt;b&gt;half", "A. Consultant", "The records are the same as then.", `action="/review/1/withdraw"`, "drilled in 1985 or later", "tallybook review --db FILE --settings review-1.json"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Contains(page, "<script>alert") {
		t.Error("a note got through as markup")
	}
	for _, l := range regexp.MustCompile(`href="(/review/1/[a-z]+\.(?:svg|csv)[^"]*)"`).FindAllStringSubmatch(page, -1) {
		if code, body := getPage(t, h, html.UnescapeString(l[1])); code != http.StatusOK || len(body) < 20 {
			t.Errorf("%s: %d", l[1], code)
		}
	}
	code, report := getPage(t, h, "/review/1/report")
	if code != http.StatusOK || !strings.Contains(report, "To repeat it") || strings.Contains(report, "<form class=\"keep") {
		t.Errorf("the report: %d", code)
	}
	// The file of it holds all, and reads again.
	code, text := getPage(t, h, "/review/1.json")
	doc, err := review.Parse([]byte(text))
	if code != http.StatusOK || err != nil || doc.Settings.Units != "si" || *doc.Settings.DrilledFrom != 1985 || len(doc.Answers) < len(reviewNames) || doc.Note != attack {
		t.Errorf("the file: %d %v", code, err)
	}
	if _, again := getPage(t, h, "/review/1?again=1"); !strings.Contains(again, "Worked again: every number is the same.") {
		t.Error("worked again it is not the same")
	}
	// Records change: what differs is said, and the kept numbers stay.
	more := changed(302, nil)[300:]
	if err := d.AddAll(t.Context(), desk.LocalPerson(), more, nil, nil); err != nil {
		t.Fatal(err)
	}
	_, changedPage := getPage(t, h, "/review/1?again=1")
	for _, want := range []string{"The data have changed since: ", "have another answer now", "What do the records hold?"} {
		if !strings.Contains(changedPage, want) {
			t.Errorf("after a change the page lacks %q", want)
		}
	}
	if _, text2 := getPage(t, h, "/review/1.json"); text2 != text {
		t.Error("the kept review changed")
	}
}

func TestReviewWithdrawn(t *testing.T) {
	_, h := scoutWorld(t, changed(40, nil))
	if code, to := send(t, h, "/review/keep", url.Values{"title": {"Forty"}}); to != "/review/1" {
		t.Fatalf("%d %s", code, to)
	}
	if code, _ := send(t, h, "/review/1/withdraw", url.Values{"revision": {"0"}, "why": {"the wrong county"}}); code != http.StatusSeeOther {
		t.Fatalf("withdrawn: %d", code)
	}
	if _, page := getPage(t, h, "/review/1"); !strings.Contains(page, "Withdrawn 25 November 2026") || !strings.Contains(page, "the wrong county") {
		t.Error("the page does not say that it is withdrawn")
	}
	if _, page := getPage(t, h, "/review"); !strings.Contains(page, `class="withdrawn"`) {
		t.Error("the list does not")
	}
	if code, _ := send(t, h, "/review/1/withdraw", url.Values{"revision": {"0"}}); code != http.StatusConflict {
		t.Errorf("from a stale page: %d", code)
	}
	if code, _ := send(t, h, "/review/1/undo?revision=1", nil); code != http.StatusSeeOther {
		t.Errorf("undone: %d", code)
	}
	if _, page := getPage(t, h, "/review/1"); strings.Contains(page, "the wrong county") {
		t.Error("it is still withdrawn")
	}
	for address, want := range map[string]int{
		"/review/keep?from=soon":  http.StatusBadRequest,
		"/review/keep":            http.StatusBadRequest, // no title
		"/review/9/withdraw":      http.StatusBadRequest,
		"/review/1/undo?revision": http.StatusBadRequest,
	} {
		if code, _ := send(t, h, address, url.Values{}); code != want {
			t.Errorf("%s: %d, want %d", address, code, want)
		}
	}
	for _, address := range []string{"/review/9", "/review/9.json", "/review/9/report", "/review/1/nothing.csv", "/review/99999999999999999999"} {
		if code, _ := getPage(t, h, address); code != http.StatusNotFound {
			t.Errorf("%s: %d", address, code)
		}
	}
	var file map[string]json.RawMessage
	if _, text := getPage(t, h, "/review/1.json"); json.Unmarshal([]byte(text), &file) != nil || file["settings"] == nil {
		t.Error("the file of it is no JSON")
	}
}
