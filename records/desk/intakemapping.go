package desk

import (
	"context"
	"regexp"
	"slices"
	"sort"
	"strings"

	"tallybook/records"
	"tallybook/records/importer"
)

// mappingSetting begins the names of the settings in which mappings are kept.
const mappingSetting = "mapping:"

// mostMappings bounds how many mappings an office keeps.
const mostMappings = 500

// NamedMapping is a mapping that is remembered under a name.
type NamedMapping struct {
	records.SettingValue // Name without what stands before it, Value as JSON
	Mapping              *importer.Mapping
	// Of a file that it was held against: how many of the columns that the
	// mapping gives a meaning are in it, of how many, and which are not.
	There, All int
	Missing    []string
}

// Fits says whether every column that the mapping knows is in the file.
func (m *NamedMapping) Fits() bool { return m.All > 0 && m.There == m.All }

// Mappings lists the remembered mappings; where look is not nil those first
// that fit it best.
func (d *Desk) Mappings(ctx context.Context, actor records.Actor, l *importer.Look) ([]NamedMapping, error) {
	kept, err := look(ctx, d, actor, func(v records.StoreView) ([]records.SettingValue, error) { return v.SettingsNamed(ctx, mappingSetting) })
	if err != nil {
		return nil, err
	}
	var out []NamedMapping
	for _, s := range kept {
		m, err := importer.ReadMapping([]byte(s.Value))
		if err != nil {
			d.log.Warn("a remembered mapping cannot be read", "name", s.Name, "err", err)
			continue
		}
		n := NamedMapping{SettingValue: s, Mapping: m}
		n.Name = strings.TrimPrefix(s.Name, mappingSetting)
		if l != nil {
			n.There, n.All, n.Missing = m.Fit(l)
		}
		out = append(out, n)
	}
	sort.SliceStable(out, func(i, j int) bool {
		a, b := &out[i], &out[j]
		return a.There*max(b.All, 1) > b.There*max(a.All, 1)
	})
	return out, nil
}

var mappingName = regexp.MustCompile(`^[^\x00-\x1f\x7f]{1,80}$`)

// SaveMapping remembers a mapping under a name; revision is that of the one
// that it replaces, 0 for a new name. A nil mapping forgets the name: its
// earlier values are kept all the same.
func (d *Desk) SaveMapping(ctx context.Context, actor records.Actor, name string, m *importer.Mapping, revision int64) error {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return err
	}
	if name = strings.TrimSpace(name); !mappingName.MatchString(name) {
		return &records.Error{Code: records.Invalid, Field: "name", Message: "give the mapping a name of at most 80 letters, such as: county download"}
	}
	v := records.SettingValue{Name: mappingSetting + name, Revision: revision}
	if m != nil {
		if err := m.Check(); err != nil {
			return err
		}
		named := *m
		named.Name = name
		v.Value = string(named.JSON())
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		if revision == 0 {
			all, err := tx.SettingsNamed(ctx, mappingSetting)
			if err != nil {
				return err
			}
			if len(all) >= mostMappings {
				return records.Errorf(records.TooLarge, "%d mappings are remembered, which is the most: forget one first", len(all))
			}
		}
		return tx.PutSettingValue(ctx, &v, "")
	})
}

// BringBackMapping remembers again what was last remembered under a name that
// was forgotten.
func (d *Desk) BringBackMapping(ctx context.Context, actor records.Actor, name string) error {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		full := mappingSetting + name
		now, err := tx.SettingValue(ctx, full)
		if err != nil {
			return err
		}
		if now.Revision != 0 {
			return records.Errorf(records.Conflict, "a mapping is remembered under the name %q again already", name)
		}
		revs, err := tx.SettingRevisions(ctx, full)
		if err != nil {
			return err
		}
		if len(revs) == 0 {
			return records.Errorf(records.NotFound, "no mapping was ever remembered under the name %q", name)
		}
		return tx.PutSettingValue(ctx, &records.SettingValue{Name: full, Value: revs[0].Value}, "")
	})
}

// LookAtSent looks at a file that was sent: what it is, and what its columns
// seem to mean.
func (d *Desk) LookAtSent(ctx context.Context, actor records.Actor, token string) (*importer.Look, error) {
	s, err := d.waiting(ctx, actor, token)
	if err != nil {
		return nil, err
	}
	path, err := d.sentPath(token)
	if err != nil {
		return nil, err
	}
	return importer.LookAt(path, importer.Options{Name: s.Name, Validate: d.Validation()})
}

// Tried is what a file says of a mapping before it is read.
type Tried struct {
	Notes     []string            // what is taken for granted
	Proposals []importer.Proposal // what its rows together speak for
}

// TrySent opens a file by a mapping and takes nothing in: the error says what
// does not fit.
func (d *Desk) TrySent(ctx context.Context, actor records.Actor, token string, m *importer.Mapping) (*Tried, error) {
	s, err := d.waiting(ctx, actor, token)
	if err != nil {
		return nil, err
	}
	s.Mapping = ""
	if m != nil {
		s.Mapping = string(m.JSON())
	}
	src, err := d.openSent(s)
	if err != nil {
		return nil, err
	}
	t := &Tried{}
	t.Notes, t.Proposals = saidOf(src)
	return t, src.Close()
}

// saidOf is what a source takes for granted, and what its rows together speak
// for, which is not said twice.
func saidOf(src *importer.Source) (notes []string, proposals []importer.Proposal) {
	if h := src.Habits(); h != nil {
		proposals = h.Proposals
	}
	for _, n := range src.Notes() {
		if !slices.ContainsFunc(proposals, func(p importer.Proposal) bool { return strings.HasSuffix(n, p.Why) }) {
			notes = append(notes, n)
		}
	}
	return notes, proposals
}

// Before is an intake that a file may be a later copy of.
type Before struct {
	Batch records.Batch
	Same  bool // it is that very file, to the byte
	Named bool // its name is alike but for figures
}

// CameBefore lists the intakes that a file that was sent may be a later copy
// of: the likeliest first, and of each source the latest alone.
func (d *Desk) CameBefore(ctx context.Context, actor records.Actor, s *Sent) ([]Before, error) {
	all, err := d.Intakes(ctx, actor)
	if err != nil {
		return nil, err
	}
	followed := map[int64]bool{}
	for _, b := range all {
		if b.State == "published" && b.CopyOf != 0 {
			followed[b.CopyOf] = true
		}
	}
	var out []Before
	for i := len(all) - 1; i >= 0; i-- {
		b := all[i]
		if b.State != "published" || followed[b.ID] && b.SHA256 != s.SHA256 {
			continue
		}
		out = append(out, Before{Batch: b, Same: b.SHA256 == s.SHA256, Named: nameStem(b.Source) == nameStem(s.Name)})
	}
	rank := func(b *Before) int {
		switch {
		case b.Same:
			return 0
		case b.Named:
			return 1
		}
		return 2
	}
	sort.SliceStable(out, func(i, j int) bool { return rank(&out[i]) < rank(&out[j]) })
	return out, nil
}

// mostBefore is how many earlier intakes are asked for their mapping.
const mostBefore = 6

// MappingBefore finds the mapping by which a file like this one was read when
// it was taken in: of the same columns, the one of a like name first. nil: there
// is none.
func (d *Desk) MappingBefore(ctx context.Context, actor records.Actor, s *Sent, l *importer.Look) (*importer.Mapping, *records.Batch, error) {
	before, err := d.CameBefore(ctx, actor, s)
	if err != nil {
		return nil, nil, err
	}
	stem := nameStem(strings.TrimPrefix(s.Name, refusedName))
	sort.SliceStable(before, func(i, j int) bool {
		return nameStem(before[i].Batch.Source) == stem && nameStem(before[j].Batch.Source) != stem
	})
	for i := range before[:min(len(before), mostBefore)] {
		b := &before[i].Batch
		r, err := d.IntakeReport(ctx, actor, b.ID)
		if records.CodeOf(err) == records.NotFound && err != nil {
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		if r.About.Mapping == "" {
			continue
		}
		m, err := importer.ReadMapping([]byte(r.About.Mapping))
		if err != nil {
			continue // of an earlier version
		}
		if there, all, _ := m.Fit(l); all > 0 && there == all {
			return m, b, nil
		}
	}
	return nil, nil, nil
}

// nameStem is a file's name without its ending, figures and what stands
// between words: wells-2025.csv and Wells_2026.csv are alike.
func nameStem(name string) string {
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		name = name[:i]
	}
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || strings.ContainsRune(" -_.()", r) {
			return -1
		}
		return r
	}, strings.ToLower(name))
}
