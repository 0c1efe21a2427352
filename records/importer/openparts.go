package importer

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tallybook/records"
)

// isArchive says whether a file begins like a ZIP archive. What is no ordinary
// file, such as a pipe, is read as a stream and not tried.
func isArchive(f *os.File) (bool, error) {
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		return false, err
	}
	var head [len(zipSign)]byte
	n, err := f.ReadAt(head[:], 0)
	if n == len(head) {
		err = nil
	}
	if err == io.EOF { //nolint:errorlint // ReadAt gives it bare
		err = nil
	}
	return string(head[:n]) == zipSign, err
}

// severalRows says whether a mapping has a well's rows joined by a key.
func (m *Mapping) severalRows() bool {
	if m == nil {
		return false
	}
	return slices.ContainsFunc(m.Sheets, func(s SheetMapping) bool { return s.Role != Wells && s.Role != Skip }) && m.SheetFor("", true).parts()
}

func (s *SheetMapping) parts() bool { return s != nil && s.Role != Wells && s.Role != Skip }

// opening is a table that is to be read.
type opening struct {
	name    string
	mapping *SheetMapping
	use     tableUse
	part    func(o *Options, m *SheetMapping, use tableUse) (*tablePart, error)
}

// openBook opens the sheets of a workbook.
func openBook(f *os.File, size int64, o *Options) (*Source, error) {
	b, err := openWorkbook(o.Name, f, size)
	if err != nil {
		return nil, err
	}
	if len(o.With) > 0 {
		return nil, records.Errorf(records.Invalid, "%s is a workbook, whose sheets are joined; tables in files of their own go with a table in a file", o.Name)
	}
	sheets := b.sheets
	if o.Sheet != "" {
		one, err := b.sheet(o.Sheet)
		if err != nil {
			return nil, err
		}
		sheets = []bookSheet{one}
	}
	notes, m := []string(nil), o.Mapping
	if m == nil {
		l := &Look{Name: o.Name}
		if err := l.book(b, o); err != nil {
			return nil, err
		}
		m = l.roles()
		notes = append(notes, l.words()...)
	}
	var all []opening
	for _, s := range sheets {
		sm := m.SheetFor(s.name, len(sheets) == 1)
		if sm == nil || sm.Role == Skip {
			if sm == nil {
				notes = append(notes, fmt.Sprintf("sheet %q is not named in the mapping and not read", s.name))
			}
			continue
		}
		all = append(all, opening{s.name, sm, tableUse{role: sm.Role, key: sm.Key}, func(o *Options, m *SheetMapping, use tableUse) (*tablePart, error) {
			return tableSheet(b, s, o, m, use)
		}})
	}
	for i := range m.Sheets {
		if sm := &m.Sheets[i]; o.Sheet == "" && sm.Role != Skip && !slices.ContainsFunc(all, func(a opening) bool { return a.mapping == sm }) {
			notes = append(notes, fmt.Sprintf("the mapping's sheet %q is not in the workbook", sm.Sheet))
		}
	}
	s, err := openParts(all, o, o.Mapping != nil)
	if err != nil {
		return nil, err
	}
	s.format, s.closer, s.notes = XLSX, f, append(notes, s.notes...)
	s.digest, err = digestOf(f)
	return s, err
}

// openFiles opens a table and those that go with it.
func openFiles(f *os.File, path string, o *Options) (*Source, error) {
	files := append([]Beside{{Path: path}}, o.With...)
	m := o.Mapping
	var notes []string
	if m == nil {
		l, err := LookAt(path, *o)
		if err != nil {
			return nil, err
		}
		m = l.roles()
		notes = l.words()
	}
	var all []opening
	for i, file := range files {
		sm := m.SheetFor(file.Sheet, i == 0)
		if sm == nil || sm.Role == Skip {
			return nil, records.Errorf(records.Invalid, "the mapping says nothing of %s (%s); name it as the mapping does", file.Path, file.Sheet)
		}
		name := file.Sheet
		all = append(all, opening{name, sm, tableUse{role: sm.Role, key: sm.Key}, func(o *Options, m *SheetMapping, use tableUse) (*tablePart, error) {
			return tableFile(file.Path, name, o, m, use)
		}})
	}
	s, err := openParts(all, o, o.Mapping != nil)
	if err != nil {
		return nil, err
	}
	s.format, s.closer, s.notes = CSV, f, append(notes, s.notes...)
	var digests []string
	for _, file := range files {
		d, err := digestFile(file.Path)
		if err != nil {
			return nil, err
		}
		digests = append(digests, d)
	}
	s.digest = digests[0]
	if len(digests) > 1 { // of the digests, in the order in which the files were named
		sum := sha256.Sum256([]byte(strings.Join(digests, "\n")))
		s.digest = hex.EncodeToString(sum[:])
	}
	return s, nil
}

// openParts settles the tables of a source and joins them. mapped says whether
// a mapping names their columns.
func openParts(all []opening, o *Options, mapped bool) (*Source, error) {
	slices.SortStableFunc(all, func(a, b opening) int { // the wells first
		switch {
		case a.use.role == Wells && b.use.role != Wells:
			return -1
		case b.use.role == Wells && a.use.role != Wells:
			return 1
		}
		return 0
	})
	if len(all) == 0 || all[0].use.role != Wells && len(all) > 1 {
		var names []string
		for _, a := range all {
			names = append(names, a.name)
		}
		return nil, noWells(names)
	}
	s := &Source{name: o.Name, read: &countingReader{digest: sha256.New()}, names: newNames(), headers: make(map[string][]byte)}
	var parts []*tablePart
	for i, a := range all {
		use := a.use
		use.apart = i > 0
		sm := a.mapping
		if !mapped {
			sm = nil
		}
		inner := *o
		if i > 0 { // --col and --unit are of the wells
			inner.Columns, inner.Units = nil, nil
		}
		p, err := a.part(&inner, sm, use)
		if err != nil {
			return nil, err
		}
		p.mapping = a.mapping
		if p.key, err = p.keyColumn(len(all) > 1); err != nil {
			return nil, err
		}
		parts = append(parts, p)
		s.headers[p.name] = p.header
		for _, n := range p.notes {
			if p.name != "" {
				n = fmt.Sprintf("sheet %q: %s", p.name, n)
			}
			s.notes = append(s.notes, n)
		}
		s.size += p.size
		if err := s.surveyPart(p, i == 0); err != nil {
			return nil, err
		}
	}
	self := parts[0].plan.role != Wells
	if len(parts) > 1 || self {
		s.size += parts[0].size // it is read twice
	}
	limits := o.limits()
	j := newJoined(parts, self, o, &featureDecoder{source: o.Name, encoding: o.Encoding, limits: limits, validate: o.Validate})
	j.counted = func(n int64) { s.read.n.Add(n) }
	j.context = func() context.Context {
		if s.ctx == nil {
			return context.Background()
		}
		return s.ctx
	}
	j.note = func(n string) { s.notes = append(s.notes, n) }
	s.rows, s.header = j, parts[0].header
	return s, nil
}

// surveyPart adds what the rows of a table show to the source's habits.
func (s *Source) surveyPart(p *tablePart, first bool) error {
	h, err := surveyPart(p)
	if err != nil {
		return err
	}
	p.plan.settleHabits(h)
	if first {
		s.habits = h
	} else {
		s.habits.Proposals = append(s.habits.Proposals, h.Proposals...)
	}
	for _, q := range h.Proposals {
		s.notes = append(s.notes, "proposed: "+q.Why)
	}
	return nil
}

// keyColumn finds the column of the key; -1 where none is needed.
func (p *tablePart) keyColumn(needed bool) (int, error) {
	if p.mapping.Key == "" {
		if needed || p.plan.role != Wells {
			return -1, records.Errorf(records.Invalid, `%s: no column is said to tell which well a row belongs to; give it in a mapping as "key"`, p.mapping.title())
		}
		return -1, nil
	}
	i, err := p.plan.find(p.mapping.Key)
	if err == nil && i >= p.plan.inFile {
		err = records.Errorf(records.Invalid, "%s: the key %q is made of other columns; a column of the file is needed", p.mapping.title(), p.mapping.Key)
	}
	if err != nil && !needed && p.plan.role == Wells {
		return -1, nil // it joins nothing here
	}
	return i, err
}

// layout says in words how the wells stand in the source.
func (j *joined) layout() string {
	switch {
	case j.self:
		return fmt.Sprintf("a table of %s with the well's columns on every row", j.main.plan.role)
	case len(j.sides) == 0:
		return "a sheet with one well a row"
	}
	var roles []string
	for _, s := range j.sides {
		roles = append(roles, string(s.plan.role))
	}
	return "wells, one a row, with their " + strings.Join(roles, ", ") + " in tables of their own"
}

// digestOf is the digest of a file's bytes, and goes back to its beginning.
func digestOf(f *os.File) (string, error) {
	h := sha256.New()
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return "", readError(filepath.Base(f.Name()), err)
	}
	if _, err := io.Copy(h, f); err != nil {
		return "", readError(filepath.Base(f.Name()), err)
	}
	_, err := f.Seek(0, io.SeekStart)
	return hex.EncodeToString(h.Sum(nil)), err
}

func digestFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", records.WrapError(records.NotFound, err, "%s cannot be opened", path)
	}
	defer f.Close()
	return digestOf(f)
}
