package records_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"tallybook/records"
)

// The kinds are told by the bytes that the standards named in the code begin a
// file with; JPEG and PNG as Go's own encoders write them.
func TestKindOf(t *testing.T) {
	picture := image.NewGray(image.Rect(0, 0, 3, 2))
	var j, p bytes.Buffer
	if jpeg.Encode(&j, picture, nil) != nil || png.Encode(&p, picture) != nil {
		t.Fatal("no pictures")
	}
	for _, c := range []struct{ data, want string }{
		{j.String(), "image/jpeg"}, {p.String(), "image/png"}, {"II*\x00\x08\x00\x00\x00", "image/tiff"}, {"MM\x00*\x00\x00\x00\x08", "image/tiff"},
		{"%PDF-1.4\n%", "application/pdf"}, {"RIFF\x24\x00\x00\x00WEBPVP8 ", "image/webp"},
		{"", ""}, {"RIFF\x24\x00\x00\x00WAVEfmt ", ""}, {"RIFF", ""}, {"<svg xmlns='http://www.w3.org/2000/svg'/>", ""}, {"<!doctype html>", ""}, {" %PDF-1.4", ""}, {"GIF89a", ""}, {"PK\x03\x04", ""}, {"\x7fELF", ""}, {"II+\x00", ""},
	} {
		if got := records.KindOf([]byte(c.data)); got != c.want {
			t.Errorf("%.12q is %q, want %q", c.data, got, c.want)
		}
	}
}

func TestAttachedName(t *testing.T) {
	for _, c := range []struct{ given, kind, want string }{
		{"log.jpg", "image/jpeg", "log.jpg"}, {"log.JPEG", "image/jpeg", "log.JPEG"}, {"log.html", "image/jpeg", "log.html.jpg"}, {"log", "application/pdf", "log.pdf"},
		{"../../etc/passwd", "image/png", "passwd.png"}, {`C:\scans\Well 7.tif`, "image/tiff", "Well 7.tif"}, {"", "image/webp", "scan.webp"}, {"...", "image/png", "scan.png"},
		{"a\nb\u202egnp.exe", "image/png", "abgnp.exe.png"}, {"Ведомость 7.pdf", "application/pdf", "Ведомость 7.pdf"}, {strings.Repeat("x", 300) + ".pdf", "application/pdf", strings.Repeat("x", 100) + ".pdf"},
		{`a"<b>.png`, "image/png", "ab.png"},
	} {
		if got := records.AttachedName(c.given, c.kind); got != c.want {
			t.Errorf("%q of %s is named %q, want %q", c.given, c.kind, got, c.want)
		}
	}
}

// FuzzAttachedName: whatever a name was, what comes out can stand in a header
// and in a folder, and ends as what it is.
func FuzzAttachedName(f *testing.F) {
	for _, s := range []string{"a.pdf", "..\\..", "\x00", ".pdf", "a/b.PDF ", "\u202efdp.exe"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, given string) {
		name := records.AttachedName(given, "application/pdf")
		if !utf8.ValidString(name) || !strings.HasSuffix(strings.ToLower(name), ".pdf") || len([]rune(name)) > 104 || strings.ContainsAny(name, "/\\:\"<>|\r\n") || strings.HasPrefix(name, ".") {
			t.Fatalf("%q is named %q", given, name)
		}
		if strings.ContainsFunc(name, unicode.IsControl) {
			t.Fatalf("%q is named %q", given, name)
		}
		if again := records.AttachedName(name, "application/pdf"); again != name {
			t.Fatalf("%q, then %q", name, again)
		}
	})
}
