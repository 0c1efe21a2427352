package importer

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"

	"tallybook/records"
)

// Source is a stream of rows. It is read by one goroutine; Done may be called
// by any.
type Source struct {
	name    string
	format  Format
	framing framing
	header  []byte // of a table, as it stood
	notes   []string
	rows    splitter
	names   names
	read    *countingReader
	ctx     context.Context // of the reading that is under way
	digest  string          // of a source that is not read as one stream
	headers map[string][]byte
	size    int64
	closer  io.Closer
	ended   error
	habits  *Habits
}

// Habits are the ways of the source that its own rows show, nil where they
// were not looked for: in a source that was not opened as a file, and in
// GeoJSON.
func (s *Source) Habits() *Habits { return s.habits }

// Open opens the file of a source, and those that Options.With names. The
// caller closes it.
func Open(path string, o Options) (*Source, error) {
	f, err := os.Open(path)
	if err != nil {
		if os.IsNotExist(err) {
			return nil, records.WrapError(records.NotFound, err, "there is no file %s", path)
		}
		return nil, records.WrapError(records.Invalid, err, "%s cannot be opened", path)
	}
	if o.Name == "" {
		o.Name = filepath.Base(path)
	}
	size := int64(0)
	if info, err := f.Stat(); err == nil {
		if info.IsDir() {
			f.Close()
			return nil, records.Errorf(records.Invalid, "%s is a folder; name a file in it", path)
		}
		size = info.Size()
	}
	s, err := openFile(f, path, size, &o)
	if err != nil {
		f.Close()
		return nil, err
	}
	return s, nil
}

// openFile opens a workbook, or a table of which a well takes several rows,
// by its parts, and anything else as a stream.
func openFile(f *os.File, path string, size int64, o *Options) (*Source, error) {
	if is, err := isArchive(f); err != nil {
		return nil, readError(o.Name, err)
	} else if is && (o.Format == Auto || o.Format == XLSX) {
		return openBook(f, size, o)
	}
	if o.Format == XLSX {
		return nil, records.Errorf(records.Invalid, "%s is no workbook (.xlsx)", o.Name)
	}
	if len(o.With) > 0 || o.Mapping.severalRows() {
		return openFiles(f, path, o)
	}
	s, err := NewSource(f, *o)
	if err != nil {
		return nil, err
	}
	s.size, s.closer = size, f
	if t, ok := s.rows.(*table); ok {
		h, err := survey(path, *o)
		if err != nil {
			f.Close()
			return nil, err
		}
		t.plan.settleHabits(h)
		s.habits = h
		for _, q := range h.Proposals {
			s.notes = append(s.notes, "proposed: "+q.Why)
		}
	}
	return s, nil
}

// NewSource begins to read a source from r and tells what it is. An error says
// what the source is instead, or which option does not fit it.
func NewSource(r io.Reader, o Options) (*Source, error) {
	if o.Name == "" {
		o.Name = "the source"
	}
	switch o.Encoding {
	case "", UTF8, Windows1252:
	default:
		return nil, records.Errorf(records.Invalid, "encoding %q is not read; use %s or %s", o.Encoding, UTF8, Windows1252)
	}
	s, w, err := openText(r, &o)
	if err != nil {
		return nil, err
	}
	if err := s.tellFormat(w, &o); err != nil {
		return nil, err
	}
	return s, nil
}

// openText begins to read a source of text, behind its mark of byte order.
func openText(r io.Reader, o *Options) (*Source, *window, error) {
	s := &Source{name: o.Name, read: &countingReader{r: r, digest: sha256.New()}, names: newNames()}
	w := newWindow(s.read)
	for len(w.rest()) < 512 && w.more() {
	}
	if err := w.failed(); err != nil {
		return nil, nil, readError(o.Name, err)
	}
	if err := otherKind(o.Name, w.rest()); err != nil {
		return nil, nil, err
	}
	if bigEndian, is := utf16Order(w.rest()); is {
		w = newWindow(utf16Reader(io.MultiReader(strings.NewReader(string(w.rest())), s.read), bigEndian))
		w.more()
		s.notes = append(s.notes, "the file is in UTF-16; it was read as the same text in UTF-8, and bytes are counted there")
	} else if err := notText(o.Name, w.rest()); err != nil {
		return nil, nil, err
	}
	if strings.HasPrefix(string(w.rest()[:min(3, len(w.rest()))]), string(utf8BOM)) {
		w.take(len(utf8BOM))
		w.lineStart = w.offset()
	}
	return s, w, nil
}

// settleFormat tells what the source is where the options leave it open, with
// its first byte that is no space and whether it looks like a feature a line.
func (s *Source) settleFormat(w *window, o *Options) (first byte, lines bool) {
	s.format = o.Format
	if b := strings.TrimLeft(string(w.rest()[:min(len(w.rest()), 4096)]), " \t\r\n"); b != "" {
		first = b[0]
	}
	lower := strings.ToLower(o.Name)
	strayLines := first != '{' && first != '[' && s.format != CSV && featureLineIn(w)
	if s.format == Auto {
		s.format = CSV
		if strayLines || first == '{' || first == '[' || first == recordSeparator || hasAnySuffix(lower, ".geojson", ".json", ".geojsonl", ".ndjson", ".jsonl", ".geojsons") {
			s.format = GeoJSON
		}
	}
	return first, strayLines || hasAnySuffix(lower, ".geojsonl", ".ndjson", ".jsonl", ".geojsons")
}

func (s *Source) tellFormat(w *window, o *Options) error {
	first, lines := s.settleFormat(w, o)
	if s.format == CSV {
		sheet, err := o.sheetMapping("", true)
		if err != nil {
			return err
		}
		t, err := openTable(w, o, sheet, tableUse{role: Wells})
		if err != nil {
			return err
		}
		s.rows, s.header, s.notes = t, t.headerRaw, append(s.notes, t.notes...)
		return nil
	}
	return s.openGeoJSON(w, o, first, lines)
}

// featureLineIn says whether a line near the beginning is a feature, so that a
// file of features a line is known even when its first line is broken.
func featureLineIn(w *window) bool {
	for len(w.rest()) < windowSize && w.more() {
	}
	for line := range bytes.SplitSeq(w.rest(), newline) {
		if line = bytes.TrimSpace(line); len(line) > 0 && line[0] == '{' && bytes.Contains(line, []byte(`"Feature"`)) {
			if _, whole := nesting(line); whole {
				return true
			}
		}
	}
	return false
}

func (s *Source) openGeoJSON(w *window, o *Options, first byte, namedLines bool) error {
	if len(o.Columns) > 0 || len(o.Units) > 0 || o.Delimiter != 0 {
		return records.Errorf(records.Invalid, "columns, units and a delimiter are asked for as if %s were a table, and it is GeoJSON; leave them out", o.Name)
	}
	mapped, err := newFeatureMap(o)
	if err != nil {
		return err
	}
	f := features{w: w, limits: o.limits()}
	f.decoder = &featureDecoder{source: o.Name, encoding: o.Encoding, limits: f.limits, validate: o.Validate, mapped: mapped}
	if first != recordSeparator && !(namedLines && first != '{') {
		w.space()
		switch first {
		case '{':
			s.framing, err = tellFraming(w, f.limits.hold())
		case 0:
			err = w.syntaxError("the file holds nothing", "look for the file that was meant")
		case '[':
			err = w.syntaxError("the file is a bare list, not GeoJSON", `write the features in a "FeatureCollection", or one feature a line`)
		default:
			err = w.syntaxError("the file begins with "+quote(clip(string(w.rest()[:min(12, len(w.rest()))])))+" and is not GeoJSON", `GeoJSON begins with {`)
		}
		if err != nil {
			return err
		}
	}
	switch {
	case first == recordSeparator:
		s.framing = framedSequence
		s.rows = &lines{features: f, separator: recordSeparator}
	case s.framing == framedCollection:
		s.rows = &collection{features: f}
	case s.framing == framedValues:
		s.rows = &values{f}
	default:
		s.framing = framedLines
		s.rows = &lines{features: f, separator: '\n'}
	}
	return nil
}

func hasAnySuffix(s string, suffixes ...string) bool {
	for _, x := range suffixes {
		if strings.HasSuffix(s, x) {
			return true
		}
	}
	return false
}

// Format is what the source was told to be.
func (s *Source) Format() Format { return s.format }

// Layout says in words how the rows stand in the source.
func (s *Source) Layout() string {
	if j, ok := s.rows.(*joined); ok {
		return j.layout()
	}
	if s.format == CSV {
		return "a table with one well a row"
	}
	return s.framing.String()
}

// Notes say what was taken for granted of the source as a whole.
func (s *Source) Notes() []string { return s.notes }

// Done tells how many bytes of the source have been read, and how many there
// are (0 where that is not known).
func (s *Source) Done() (bytesRead, size int64) { return s.read.n.Load(), s.size }

// SHA256 is the digest of the source's bytes in hexadecimal, once Next or
// Pipeline has reached the end; "" before.
func (s *Source) SHA256() string {
	if !errors.Is(s.ended, io.EOF) {
		return ""
	}
	if s.digest != "" {
		return s.digest
	}
	return hex.EncodeToString(s.read.digest.Sum(nil))
}

// Close closes the file that Open opened.
func (s *Source) Close() error {
	var err error
	if j, ok := s.rows.(*joined); ok {
		err = j.close()
	}
	if s.closer != nil {
		err = errors.Join(err, s.closer.Close())
	}
	return err
}

// Next reads the next row; io.EOF follows the last one. After another error no
// further row can be read: the source is broken off or cannot be understood
// from there on. Pipeline does the same on several goroutines.
func (s *Source) Next(ctx context.Context) (*Row, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	row := &Row{}
	s.ctx = ctx
	if err := s.split(row); err != nil {
		return nil, err
	}
	s.rows.decode(row)
	s.names.settle(row)
	return row, nil
}

// Tables counts the rows of each table of a source of several, as far as it
// has been read; nil for a source of one.
func (s *Source) Tables() []PartTally {
	j, ok := s.rows.(*joined)
	if !ok {
		return nil
	}
	return append([]PartTally(nil), j.tally...)
}

// firstSheet is the name of the table whose rows are the wells.
func (s *Source) firstSheet() string {
	if j, ok := s.rows.(*joined); ok {
		return j.main.name
	}
	return ""
}

// split cuts the next row, and goes on giving the error that ended reading.
func (s *Source) split(row *Row) error {
	if s.ended == nil {
		s.ended = s.rows.split(row)
	}
	return s.ended
}

// countingReader counts and digests what is read.
type countingReader struct {
	r      io.Reader
	n      atomic.Int64
	digest hash.Hash
}

func (c *countingReader) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n.Add(int64(n))
	c.digest.Write(p[:n]) // never fails
	return n, err
}
