package server_test

import (
	"bytes"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// scanFile is a file as a form sends it.
type scanFile struct {
	name, kind string
	data       []byte
}

// attach sends files to a record as a browser does.
func (w *recordWorld) attach(id int64, note, back string, files ...scanFile) answer {
	w.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for _, f := range files {
		h := textproto.MIMEHeader{}
		h.Set("Content-Disposition", multipart.FileContentDisposition("file", f.name))
		h.Set("Content-Type", f.kind)
		p, err := m.CreatePart(h)
		if err == nil {
			_, err = p.Write(f.data)
		}
		if err != nil {
			w.t.Fatal(err)
		}
	}
	for name, value := range map[string]string{"note": note, "back": back} {
		if err := m.WriteField(name, value); err != nil {
			w.t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		w.t.Fatal(err)
	}
	r := httptest.NewRequest("POST", wellPath(id)+"/attach", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return w.sent(r)
}

var scanHref = regexp.MustCompile(`href="(/well/[0-9]+/attached/[0-9a-f]{64})"`)

// Scans are attached, seen beside the record and beside its form, given back to
// the byte, taken off with an undo, and still there for the earlier state.
func TestScansAreAttached(t *testing.T) {
	w := newRecordWorld(t)
	x := w.plateWell()
	small, large := recordstest.Scan("image/png", 3000), recordstest.Scan("image/jpeg", records.AttachedInside+9)
	w.get(wellPath(x.ID)).is(200).sound().says("Scans and papers", "Attach a scanned log")
	a := w.attach(x.ID, "the driller's log", "", scanFile{"../Log 7.png", "text/html", small}, scanFile{"back.html", "text/html", large}).is(303)
	told, undo := a.told()
	if !strings.HasPrefix(told, "2 files attached") || a.header.Get("Location") != wellPath(x.ID)+"#attached" {
		t.Errorf("told %q, sent to %s", told, a.header.Get("Location"))
	}
	page := w.get(wellPath(x.ID)).is(200).sound().says("Log 7.png", "back.html.jpg", "the driller's log", "PNG, 3 kB", "JPEG, 1 MB")
	form := w.get(wellPath(x.ID)+"/edit").is(200).sound().says("Log 7.png", "Attach before you type")
	if strings.Index(form.body, "scans while") > strings.Index(form.body, `class="eform"`) {
		t.Error("the scans do not stand before the form")
	}
	hrefs := scanHref.FindAllStringSubmatch(page.body, -1)
	if len(hrefs) < 2 {
		t.Fatalf("no links to the files: %v", hrefs)
	}
	for i, want := range []scanFile{{"Log 7.png", "image/png", small}, {"back.html.jpg", "image/jpeg", large}} {
		href := html.UnescapeString(hrefs[i][1])
		got := w.get(href).is(200)
		h := got.header
		if got.body != string(want.data) || h.Get("Content-Type") != want.kind || h.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(h.Get("Content-Security-Policy"), "default-src 'none'") ||
			!strings.Contains(h.Get("Content-Security-Policy"), "sandbox") || !strings.HasPrefix(h.Get("Content-Disposition"), "inline") || !strings.HasPrefix(h.Get("Cache-Control"), "private") {
			t.Errorf("%s: %d bytes, %v", want.name, len(got.body), h)
		}
		if d := w.get(href + "?download=1").is(200).header.Get("Content-Disposition"); !strings.HasPrefix(d, "attachment") || !strings.Contains(d, strings.ReplaceAll(want.name, " ", " ")) {
			t.Errorf("kept as %s", d)
		}
		w.get(href, "If-None-Match", h.Get("ETag")).is(304)
		w.get(href, "Range", "bytes=0-9").is(206)
		w.get(strings.Replace(href, wellPath(x.ID), wellPath(w.first), 1)).is(404) // another record's
	}
	if told, _ := w.attach(x.ID, "", wellPath(x.ID)+"/edit", scanFile{"again.png", "image/png", small}).is(303).told(); !strings.HasPrefix(told, "Attached already") {
		t.Errorf("told %q", told)
	}
	first := html.UnescapeString(hrefs[0][1])
	a = w.send(first+"/remove", nil).is(303)
	w.get(wellPath(x.ID)).saysNot("PNG, 3 kB")
	w.get(first).is(200) // an earlier state names it
	if got := w.send(undo, nil); got.code != http.StatusConflict {
		t.Errorf("an undo from before: %d", got.code)
	}
	_, back := a.told()
	w.send(back, nil).is(303)
	w.get(wellPath(x.ID)).says("Log 7.png", "PNG, 3 kB")
	w.send(first+"/remove", nil).is(303)
	w.send(first+"/remove", nil).is(404)
	check, err := w.desk.Check(t.Context(), desk.LocalPerson(), nil)
	if err != nil || !check.Sound() {
		t.Errorf("the check says %+v, %v", check.Problems, err)
	}
}

// What is no picture and no PDF by its bytes is refused, whatever it is called,
// and so is what is too large or too much; nothing is half attached.
func TestScansRefused(t *testing.T) {
	w := newRecordWorld(t)
	x := w.plateWell()
	good := scanFile{"log.pdf", "application/pdf", recordstest.Scan("application/pdf", 99)}
	for _, c := range []struct {
		name  string
		code  int
		says  string
		files []scanFile
	}{
		{"nothing", 400, "no file was chosen", nil},
		{"a page", 400, "no JPEG", []scanFile{good, {"log.png", "image/png", []byte("<html><script>alert(1)</script></html>")}}},
		{"a drawing with script", 400, "no JPEG", []scanFile{{"log.svg", "image/svg+xml", []byte(`<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`)}}},
		{"an empty one", 400, "is empty", []scanFile{{"log.png", "image/png", nil}}},
		{"too many", 413, "at most 20", func() (out []scanFile) {
			for i := range 21 {
				out = append(out, scanFile{fmt.Sprint(i, ".png"), "image/png", recordstest.Scan("image/png", 40+i)})
			}
			return out
		}()},
		{"too large", 413, "larger than 32 MB", []scanFile{{attack + ".jpg", "image/jpeg", recordstest.Scan("image/jpeg", records.MostAttached+1)}}},
	} {
		w.attach(x.ID, "", "", c.files...).is(c.code).sound().says(c.says)
	}
	sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), x.ID)
	if err != nil || len(sheet.Well.Attachments) != 0 || sheet.Well.Revision != x.Revision {
		t.Errorf("something was attached: %+v, revision %d (%v)", sheet.Well.Attachments, sheet.Well.Revision, err)
	}
	w.attach(999_999, "", "", good).is(404)
	w.attach(x.ID, attack, "//elsewhere.example/", scanFile{attack, "image/png", recordstest.Scan("image/png", 50)}, good).is(303)
	page := w.get(wellPath(x.ID)).is(200).sound().says("PDF, ", "window of its own")
	for _, m := range scanHref.FindAllStringSubmatch(page.body, -1) {
		if h := w.get(m[1]).is(200).header; h.Get("Content-Type") == "application/pdf" && (strings.Contains(h.Get("Content-Security-Policy"), "script-src") || !strings.Contains(h.Get("Content-Security-Policy"), "frame-ancestors 'none'")) {
			t.Errorf("a PDF comes with %v", h)
		}
	}
	// A record that names what never came here says so.
	w.get(wellPath(w.full.ID)).is(200).sound().says("log.jpg", "was never kept in this database")
	w.get(wellPath(w.hostile.ID)).is(200).sound()
}

// Those who may not see people see no scans: owners' names stand on them. The
// files of records that are given out without people do not name them either.
func TestScansArePrivate(t *testing.T) {
	w := newRecordWorld(t)
	x := w.plateWell()
	w.attach(x.ID, "", "", scanFile{"Invented Owner's log.png", "image/png", recordstest.Scan("image/png", 50)}).is(303)
	if a := w.get(wellPath(x.ID) + ".geojson").is(200); strings.Contains(a.body, "Invented Owner") {
		t.Error("the file of the record names what is attached")
	}
	sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), x.ID)
	if err != nil {
		t.Fatal(err)
	}
	stranger := records.Actor{ID: 9, Name: "stranger"}
	sha := sheet.Well.Attachments[0].SHA256
	if _, err := w.desk.Attachments(t.Context(), stranger, x.ID); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger lists them: %v", err)
	}
	if _, _, err := w.desk.OpenAttachment(t.Context(), stranger, x.ID, sha); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger opens one: %v", err)
	}
	if _, _, _, err := w.desk.Attach(t.Context(), stranger, x.ID, nil); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger attaches: %v", err)
	}
	if _, _, err := w.desk.Detach(t.Context(), stranger, x.ID, sha); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger takes one off: %v", err)
	}
}
