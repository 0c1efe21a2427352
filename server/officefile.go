package server

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// officeFile gives a document out as a file.
func (s *Server) officeFile(w http.ResponseWriter, r *http.Request) error {
	doc, err := officeDocOf(mux.Vars(r)["sheet"])
	if err != nil {
		return err
	}
	kept, err := doc.kept(r.Context(), s.desk, s.actor(r))
	if err != nil {
		return err
	}
	if kept.Revision == 0 {
		return records.Errorf(records.NotFound, "there is nothing to keep as a file yet: %s", uncapital(doc.empty))
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%d.json"`, doc.word, kept.Revision))
	h.Set("Cache-Control", "no-store")
	_, err = io.WriteString(w, kept.Text)
	return ignoreGone(err)
}

// officeRead reads a document from a file or from pasted text into the form,
// and saves nothing.
func (s *Server) officeRead(w http.ResponseWriter, r *http.Request) error {
	doc, err := officeDocOf(mux.Vars(r)["sheet"])
	if err != nil {
		return err
	}
	text, name, err := sentFile(w, r)
	if err != nil {
		return err
	}
	sent := officeSent{revision: -1}
	refuse := func(why string) error {
		sent.pasted, sent.pasteBad, sent.status = text, []string{why}, http.StatusUnprocessableEntity
		return s.officeShow(w, r, doc, sent)
	}
	if strings.TrimSpace(text) == "" {
		return refuse("There is no file and no text: choose one or paste the other.")
	}
	form, ok := doc.sheet.fill([]byte(text))
	if !ok {
		return refuse("This is no table: it is to be one JSON object between { and }, as “Keep as a file” writes it.")
	}
	_, faults, lacks := doc.check([]byte(text))
	sent.form, sent.faults, sent.lacks = form, faultsOf(nil, faults), lacks
	sent.unsaved = "Read from " + name + ". Nothing is saved yet: look it through, then save."
	if records.Refuses(faults) {
		sent.refused = "It cannot be saved as it is: what is marked below must be mended first. What the table does not know is left out when it is saved."
	}
	return s.officeShow(w, r, doc, sent)
}

// sentFile takes the text of a file, or pasted text where no file was chosen.
func sentFile(w http.ResponseWriter, r *http.Request) (text, name string, err error) {
	r.Body = http.MaxBytesReader(w, r.Body, mostForm)
	err = r.ParseMultipartForm(mostForm)
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return "", "", records.Errorf(records.TooLarge, "the file holds more than %d kB; a table is far smaller", mostForm>>10)
	case err != nil && !errors.Is(err, http.ErrNotMultipart):
		return "", "", records.WrapError(records.Invalid, err, "the form could not be read; go back and send it again")
	}
	if f, head, err := r.FormFile("file"); err == nil {
		b, err := io.ReadAll(f)
		if err = errors.Join(err, f.Close()); err != nil {
			return "", "", records.WrapError(records.Invalid, err, "the file could not be read; send it again")
		}
		if len(b) > 0 {
			return strings.ToValidUTF8(strings.TrimPrefix(string(b), "\ufeff"), "\ufffd"), "the file “" + clipText(head.Filename, 60) + "”", nil
		}
	} else if !errors.Is(err, http.ErrMissingFile) && !errors.Is(err, http.ErrNotMultipart) {
		return "", "", records.WrapError(records.Invalid, err, "the file could not be read; send it again")
	}
	return r.PostForm.Get("text"), "what was pasted", nil
}

// officeExample is a published table to copy from.
type officeExample struct {
	Index, Name, Note string
	Rows              []string
}

func officeExamples() []officeExample {
	var out []officeExample
	for i, t := range scout.ExampleRules() {
		e := officeExample{Index: strconv.Itoa(i), Name: t.Name, Note: capital(t.Note) + "."}
		for _, r := range t.Rules {
			row := strings.ReplaceAll(r.Kind, "_", " ") + ": " + say.US.Length(r.Distance)
			if r.Note != "" {
				row += " (" + r.Note + ")"
			}
			e.Rows = append(e.Rows, row+", "+r.Regulation+", "+strconv.Itoa(r.Year))
		}
		out = append(out, e)
	}
	return out
}

// copyExample adds the rows of an example to a form of rules, in the form's
// own units.
func (form *officeForm) copyExample(index string) error {
	examples := scout.ExampleRules()
	i, err := strconv.Atoi(index)
	if err != nil || i < 0 || i >= len(examples) {
		return records.Errorf(records.NotFound, "there is no example %q to copy", clipText(index, 20))
	}
	if form.rows["rules"] == 0 && form.units == 0 {
		form.units = examples[i].Units
	}
	for _, r := range examples[i].Rules {
		n := form.rows["rules"]
		if n >= mostOfficeRows {
			return records.Errorf(records.TooLarge, "a table holds at most %d rows", mostOfficeRows)
		}
		form.typed[rowKey("rules", n, "kind")] = plainWord(r.Kind)
		form.typed[rowKey("rules", n, "distance")] = sixDigits(form.units.Of(records.DimLength).FromBase(float64(r.Distance.Value)))
		form.typed[rowKey("rules", n, "regulation")] = r.Regulation
		form.typed[rowKey("rules", n, "year")] = strconv.Itoa(r.Year)
		if r.Note != "" {
			form.typed[rowKey("rules", n, "note")] = r.Note
		}
		form.rows["rules"] = n + 1
	}
	return nil
}
