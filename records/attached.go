package records

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"time"
	"unicode"
)

// MostAttached is the largest scan, photograph or document that is kept, bytes;
// AttachedInside is the largest that is kept in the database itself. A larger
// one lies in a folder beside it. Ours, no source.
const (
	MostAttached   = 32 << 20
	AttachedInside = 1 << 20
)

// Content is what is attached to records: one file, known by the SHA-256 of its
// bytes. The same bytes are kept once, however many records name them, and stay
// when no record names them any more, since an earlier state may.
type Content struct {
	SHA256 string // in small hexadecimal digits
	Kind   string // media type, told from the bytes
	Size   int64
	At     time.Time // when it came, and by whom
	By     string
	Beside bool // it lies in the folder beside the database
}

// OpenContent is a Content to be read.
type OpenContent struct {
	Content
	io.ReadSeekCloser
}

// AttachmentView reads what is attached to records.
type AttachmentView interface {
	// Contents says which of these hashes are kept; what is not is left out.
	Contents(ctx context.Context, sha256 []string) (map[string]Content, error)
	// OpenContent opens one; it may be read after the view has ended. An Error
	// with code NotFound where it is not kept, or is no longer whole.
	OpenContent(ctx context.Context, sha256 string) (OpenContent, error)
}

// AttachmentTx keeps what is attached to records.
type AttachmentTx interface {
	AttachmentView
	// KeepContent keeps a file whole before it returns. It refuses what is no
	// image or document of a kind that KindOf knows, and what is larger than
	// MostAttached.
	KeepContent(ctx context.Context, data []byte) (Content, error)
}

// attachedKinds are the kinds that are kept and how their bytes begin: JPEG
// (ISO/IEC 10918-1, SOI and a marker), PNG (ISO/IEC 15948, 5.2), TIFF (TIFF 6.0,
// section 2), PDF (ISO 32000-1, 7.5.2); WebP is told apart (RFC 9649, 2.4).
var attachedKinds = [...]struct{ kind, begins, ending string }{
	{"image/jpeg", "\xff\xd8\xff", ".jpg"},
	{"image/png", "\x89PNG\r\n\x1a\n", ".png"},
	{"image/tiff", "II*\x00", ".tif"},
	{"image/tiff", "MM\x00*", ".tif"},
	{"application/pdf", "%PDF-", ".pdf"},
	{"image/webp", "RIFF", ".webp"},
}

// KindOf tells what a file is from its bytes, never from its name; "" where it
// is nothing that is kept.
func KindOf(data []byte) string {
	for _, k := range attachedKinds {
		if !bytes.HasPrefix(data, []byte(k.begins)) {
			continue
		}
		if k.kind == "image/webp" && (len(data) < 12 || string(data[8:12]) != "WEBP") {
			continue
		}
		return k.kind
	}
	return ""
}

// KindRefused says why a file of no kind that is kept is refused.
func KindRefused(data []byte) *Error {
	if len(data) == 0 {
		return Errorf(Invalid, "the file is empty: look whether it is the right one, and whether the scanner had finished")
	}
	return Errorf(Invalid, "the file is no JPEG, PNG, TIFF, WebP or PDF, whatever its name says: save the scan as one of these")
}

// AttachedName makes a name that a file can safely be kept under of the one that
// it came with: no folders, nothing that cannot be seen, and the ending of what
// it is.
func AttachedName(given, kind string) string {
	name := strings.ToValidUTF8(strings.ReplaceAll(given, `\`, "/"), "")
	name = path.Base(path.Clean("/" + name))
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || strings.ContainsRune(`/:*?"<>|`, r) {
			return -1
		}
		return r
	}, name)
	name = strings.Trim(strings.Join(strings.Fields(name), " "), ". ")
	var endings []string
	for _, k := range attachedKinds {
		if k.kind == kind {
			endings = append(endings, k.ending)
		}
	}
	switch kind {
	case "image/jpeg":
		endings = append(endings, ".jpeg")
	case "image/tiff":
		endings = append(endings, ".tiff")
	}
	const most = 100
	if len(endings) == 0 {
		return clip(name, most)
	}
	stem, ending := name, endings[0]
	if e := strings.ToLower(path.Ext(name)); slices.Contains(endings, e) {
		stem, ending = name[:len(name)-len(e)], name[len(name)-len(e):]
	}
	if r := []rune(stem); len(r) > most {
		stem = string(r[:most])
	}
	if stem = strings.TrimRight(stem, ". "); stem == "" {
		stem = "scan"
	}
	return stem + ending
}

// ValidSHA256 says whether a text is a hash as Content writes it.
func ValidSHA256(t string) bool {
	return len(t) == 64 && strings.Trim(t, "0123456789abcdef") == ""
}

// TooLargeAttached says that a file is too large to be kept.
func TooLargeAttached(name string) *Error {
	return Errorf(TooLarge, "%s is larger than %d MB: scan it at 300 dots to the inch or in greys, or part it", clip(fmt.Sprintf("%q", name), 80), MostAttached>>20)
}
