package server

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// attachedView is what is attached to a record, as a page shows it, with the
// form that attaches more. The partial "attachments" shows it.
type attachedView struct {
	Action string
	Back   string
	Items  []attachedItem
	Most   string // how large one may be
	Edit   bool   // more may be attached
	Beside bool   // it stands beside a form and is looked at while one types
}

// attachedItem is one file.
type attachedItem struct {
	ID, Name, About string
	Note            string
	Href, Download  string
	Picture         bool // a browser shows it
	Missing         bool
	Remove          string
	SHA256          string
}

// attachedWords says the kinds in words.
var attachedWords = map[string]string{
	"image/jpeg": "JPEG", "image/png": "PNG", "image/tiff": "TIFF", "image/webp": "WebP", "application/pdf": "PDF",
}

// attachedTo is what a page shows of a record's files; nil for those who may not
// see them: owners' names stand on scanned logs.
func (s *Server) attachedTo(r *http.Request, wellID int64, back string, beside bool) (*attachedView, error) {
	actor := s.actor(r)
	if wellID == 0 || s.desk.PermitAttached(actor) != nil {
		return nil, nil
	}
	list, err := s.desk.Attachments(r.Context(), actor, wellID)
	if err != nil {
		return nil, err
	}
	v := &attachedView{Action: wellHref(wellID) + "/attach", Back: back, Most: fmt.Sprintf("%d MB", records.MostAttached>>20), Beside: beside, Edit: s.desk.Permit(actor, desk.Edit) == nil}
	for i, a := range list {
		href := wellHref(wellID) + "/attached/" + url.PathEscape(a.SHA256)
		it := attachedItem{
			ID: "scan-" + strconv.Itoa(i+1), Name: orElse(a.Name, "without a name"), SHA256: a.SHA256,
			Note: joinWords(a.Note, strings.Join(extraWords(a.Extra), " · ")), Missing: !a.Here,
		}
		if a.Here {
			it.Href, it.Download = href, href+"?download=1"
			it.Picture = a.Content.Kind == "image/jpeg" || a.Content.Kind == "image/png" || a.Content.Kind == "image/webp"
			it.About = attachedWords[a.Content.Kind] + ", " + sizeOf(a.Content.Size) + ", " + joinHeld(a.Content.At.UTC().Format("2 January 2006"), byWords(a.Content.By))
			if a.Content.Kind == "image/tiff" {
				it.Href = "" // no browser shows it
			}
		}
		if v.Edit {
			it.Remove = href + "/remove"
		}
		v.Items = append(v.Items, it)
	}
	return v, nil
}

// sizeOf says how large a file is, in thousands of bytes where it has as many.
func sizeOf(n int64) string {
	if n < 1000 {
		return count(int(n), "byte", "bytes")
	}
	if n < 999_500 {
		return say.SI.Figure(float64(n)/1e3, 0) + " kB"
	}
	return say.SI.Figure(float64(n)/1e6, 1) + " MB"
}

// The policies for what somebody attached. A picture may do nothing at all. A
// PDF is shown by the browser's own reader, which a sandbox would keep from
// working; it is given nothing to load, and no page to be set into.
const (
	picturePolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self'; sandbox; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	paperPolicy   = "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

// attachedFile answers /well/{id}/attached/{sha}. What it is was told by its
// bytes when it was kept, and is one of a few kinds that no browser runs.
func (s *Server) attachedFile(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	a, c, err := s.desk.OpenAttachment(r.Context(), s.actor(r), id, mux.Vars(r)["sha"])
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", c.Kind)
	h.Set("Content-Security-Policy", picturePolicy)
	how := "inline"
	switch {
	case c.Kind == "application/pdf":
		h.Set("Content-Security-Policy", paperPolicy)
	case c.Kind == "image/tiff":
		how = "attachment"
	case attachedWords[c.Kind] == "": // kept by a later version of the program
		h.Set("Content-Type", "application/octet-stream")
		how = "attachment"
	}
	if r.URL.Query().Get("download") != "" {
		how = "attachment"
	}
	h.Set("Content-Disposition", mime.FormatMediaType(how, map[string]string{"filename": records.AttachedName(a.Name, c.Kind)}))
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+c.SHA256+`"`)
	h.Set("No-Gzip-Compression", "1") // these kinds are small as they are, and parts of them are asked for
	http.ServeContent(w, r, "", c.At, c)
	return c.Close()
}

// mostAttachedAtOnce is how many files one form brings, and mostAttachedForm how
// many bytes.
const (
	mostAttachedAtOnce = 20
	mostAttachedForm   = 3*records.MostAttached + 1<<20
)

// attach answers POST /well/{id}/attach.
func (s *Server) attach(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	files, back, err := sentScans(w, r)
	if err != nil {
		return err
	}
	before, after, added, err := s.desk.Attach(r.Context(), s.actor(r), id, files)
	if err != nil {
		return err
	}
	back = orElse(back, wellHref(id)+"#attached")
	if added == 0 {
		return s.done(w, r, back, said{Text: "Attached already: nothing was changed."})
	}
	return s.done(w, r, back, said{Text: count(added, "file", "files") + " attached.", Undo: attachUndoHref(id, before, after, back)})
}

func attachUndoHref(id, before, after int64, back string) string {
	q := url.Values{"revision": {strconv.FormatInt(before, 10)}, "current": {strconv.FormatInt(after, 10)}, "back": {back}}
	return wellHref(id) + "/attach/undo?" + q.Encode()
}

// sentScans takes the files of a form, each whole.
func sentScans(w http.ResponseWriter, r *http.Request) (files []desk.AttachFile, back string, err error) {
	r.Body = http.MaxBytesReader(w, r.Body, mostAttachedForm)
	err = r.ParseMultipartForm(1 << 20)
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return nil, "", records.Errorf(records.TooLarge, "the files hold more than %d MB together; send them a few at a time", mostAttachedForm>>20)
	case err != nil:
		return nil, "", records.WrapError(records.Invalid, err, "the form could not be read; go back and send it again")
	}
	defer func() { err = errors.Join(err, r.MultipartForm.RemoveAll()) }()
	heads := r.MultipartForm.File["file"]
	if len(heads) > mostAttachedAtOnce {
		return nil, "", records.Errorf(records.TooLarge, "%d files are too many at once; send at most %d", len(heads), mostAttachedAtOnce)
	}
	note := clipText(strings.TrimSpace(r.FormValue("note")), 500)
	for _, head := range heads {
		if head.Size == 0 && head.Filename == "" {
			continue
		}
		if head.Size > records.MostAttached {
			return nil, "", records.TooLargeAttached(head.Filename)
		}
		f, err := head.Open()
		if err != nil {
			return nil, "", err
		}
		data, err := io.ReadAll(f)
		if err = errors.Join(err, f.Close()); err != nil {
			return nil, "", records.WrapError(records.Invalid, err, "%s could not be read; send it again", clipText(head.Filename, 60))
		}
		files = append(files, desk.AttachFile{Name: head.Filename, Note: note, Data: data})
	}
	if len(files) == 0 {
		return nil, "", records.Errorf(records.Invalid, "no file was chosen: go back and choose one")
	}
	if back = r.FormValue("back"); !localPath(back) {
		back = ""
	}
	return files, back, nil
}

// detach answers POST /well/{id}/attached/{sha}/remove.
func (s *Server) detach(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	before, after, err := s.desk.Detach(r.Context(), s.actor(r), id, mux.Vars(r)["sha"])
	if err != nil {
		return err
	}
	back := r.PostForm.Get("back")
	if !localPath(back) {
		back = wellHref(id) + "#attached"
	}
	return s.done(w, r, back, said{Text: "Taken off the record; earlier states of it still have it.", Undo: attachUndoHref(id, before, after, back)})
}

// attachUndo sets the record back to what it was before a file was attached or
// taken off, as long as nobody changed it since.
func (s *Server) attachUndo(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	revision, errA := strconv.ParseInt(q.Get("revision"), 10, 64)
	current, errB := strconv.ParseInt(q.Get("current"), 10, 64)
	if errA != nil || errB != nil || revision <= 0 || current <= 0 {
		return records.Errorf(records.Invalid, "the address does not say which state is to be set again; open %s", wellHref(id))
	}
	if err := s.desk.Restore(r.Context(), s.actor(r), id, revision, current); err != nil {
		return err
	}
	back := q.Get("back")
	if !localPath(back) {
		back = wellHref(id) + "#attached"
	}
	return s.done(w, r, back, said{Text: "Undone: the record names the files that it named before.", Undo: attachUndoHref(id, current, current+1, back)})
}
