package lithology

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"sync"
)

// MaxMaterials is the most materials that a vocabulary can have, Unknown
// among them. One bit each of a uint64, with the top bit left clear so that
// the set is never a negative number in a database's signed column.
const MaxMaterials = 63

// grammarVersion goes into Vocabulary.Version: raise it whenever the grammar
// in read.go or settle.go comes to read any text differently.
const grammarVersion = "1"

// Vocabulary is the table of materials and words, and reads text by it. It is
// immutable and safe for use by many goroutines.
type Vocabulary struct {
	materials []Material
	index     map[string]int
	entries   []Entry // what it was built from, for With
	extras    []Entry
	lex       *lexicon
	version   string
	is        landmarks
}

// landmarks are the indexes of the materials that the grammar speaks of.
type landmarks struct {
	rock, weathered, saprolite, boulders, cobbles   uint8
	sand, sandFine, sandCoarse, sandGravel, gravel  uint8
	cemented, quartz, pegmatite, mudSeam, waterVoid uint8
}

var defaultVocabulary = sync.OnceValues(func() (*Vocabulary, error) { return build(defaultEntries(), nil) })

// Default gives the vocabulary that comes with the program. It panics if the
// built-in table contradicts itself, which the package's tests rule out.
func Default() *Vocabulary {
	v, err := defaultVocabulary()
	if err != nil {
		panic("lithology: the built-in vocabulary is wrong: " + err.Error())
	}
	return v
}

// With gives a vocabulary that has an office's own words too. An entry whose
// code exists adds words to that material (and replaces its label, tint or
// pattern where given); another code makes a new material at the end, so the
// indexes of the others stay. An office's word takes over from a built-in one;
// two meanings for one word among the office's own, a wrong code, tint or
// pattern number, or too many materials are errors.
func (v *Vocabulary) With(extra ...Entry) (*Vocabulary, error) {
	return build(v.entries, slices.Concat(v.extras, extra))
}

// Version is a short hash of everything that decides how a text is read: the
// materials' codes, order and classes, all words, and the grammar. Values
// derived from readings are stamped with it. Labels, tints and pattern numbers
// do not count.
func (v *Vocabulary) Version() string { return v.version }

// All lists the materials in the order of their indexes. The caller may keep
// and change the slice.
func (v *Vocabulary) All() []Material { return slices.Clone(v.materials) }

// Material gives the material of a code.
func (v *Vocabulary) Material(code string) (Material, bool) {
	i, ok := v.index[code]
	if !ok {
		return Material{}, false
	}
	return v.materials[i], true
}

// Index gives the small number (0 to MaxMaterials-1) of a code, the bit that
// stands for it in Reading.Materials. It is stable while the table only grows;
// values kept by it must be stamped with Version.
func (v *Vocabulary) Index(code string) (int, bool) {
	i, ok := v.index[code]
	return i, ok
}

// Codes lists the codes whose bits are set, in the order of their indexes.
func (v *Vocabulary) Codes(set uint64) []string {
	var out []string
	for i, m := range v.materials {
		if set&(1<<i) != 0 {
			out = append(out, m.Code)
		}
	}
	return out
}

// build makes the vocabulary of the default entries and an office's extras.
func build(entries, extras []Entry) (*Vocabulary, error) {
	v := &Vocabulary{index: make(map[string]int, len(entries)), entries: entries, extras: extras, lex: newLexicon()}
	digest := sha256.New()
	note := func(parts ...string) { fmt.Fprintf(digest, "%q\n", parts) }
	note("grammar", grammarVersion)

	for _, l := range defaultWords() {
		for _, w := range l.words {
			if err := v.lex.add(w, sense{l.kind, l.value, l.means}, layerDefault); err != nil {
				return nil, err
			}
			note("word", strconv.Itoa(int(l.kind)), strconv.Itoa(int(l.value)), l.means, w)
		}
	}
	put := func(group []Entry, layer int) error {
		for _, e := range group {
			if err := v.put(e, layer); err != nil {
				return err
			}
			m := v.materials[v.index[e.Code]]
			note("material", m.Code, m.Class.String())
			note(append([]string{"nouns"}, e.Nouns...)...)
			note(append([]string{"adjectives"}, e.Adjectives...)...)
		}
		return nil
	}
	if err := put(entries, layerDefault); err != nil {
		return nil, err
	}
	// Before an office's words, so that 'blu clay' there means blue clay.
	for _, s := range defaultSpellings() {
		for _, variant := range s.variants {
			if err := v.lex.spell(s.plain, variant); err != nil {
				return nil, err
			}
			note("spelling", s.plain, variant)
		}
	}
	if err := put(extras, layerOffice); err != nil {
		return nil, err
	}
	v.version = hex.EncodeToString(digest.Sum(nil))[:12]
	return v, v.findLandmarks()
}

// put takes in one entry.
func (v *Vocabulary) put(e Entry, layer int) error {
	at, known := v.index[e.Code]
	if known && layer == layerDefault {
		return fmt.Errorf("material %q is listed twice", e.Code)
	}
	if known {
		m := v.materials[at]
		if e.Label != "" {
			m.Label = e.Label
		}
		if e.FGDC != 0 {
			m.FGDC, m.NoFGDC = e.FGDC, ""
		}
		if e.Tint != "" {
			m.Tint, m.TintDark = e.Tint, e.TintDark
		}
		if e.Class != 0 {
			m.Class = e.Class
		}
		if err := m.check(); err != nil {
			return err
		}
		v.materials[at] = m
	} else {
		if err := e.check(); err != nil {
			return err
		}
		if at = len(v.materials); at == MaxMaterials {
			return fmt.Errorf("material %q is one too many: a vocabulary holds %d", e.Code, MaxMaterials)
		}
		v.materials = append(v.materials, e.Material)
		v.index[e.Code] = at
	}
	for kind, words := range map[Kind][]string{KindMaterial: e.Nouns, KindAdjective: e.Adjectives} {
		for _, w := range words {
			if err := v.lex.add(w, sense{kind, uint8(at), e.Code}, layer); err != nil {
				return fmt.Errorf("material %q: %w", e.Code, err)
			}
		}
	}
	return nil
}

func (v *Vocabulary) findLandmarks() error {
	for code, at := range map[string]*uint8{
		"rock": &v.is.rock, "weathered_rock": &v.is.weathered, "saprolite": &v.is.saprolite,
		"boulders": &v.is.boulders, "cobbles": &v.is.cobbles, "sand": &v.is.sand,
		"sand_fine": &v.is.sandFine, "sand_coarse": &v.is.sandCoarse, "sand_gravel": &v.is.sandGravel,
		"gravel": &v.is.gravel, "cemented_gravel": &v.is.cemented, "quartz_vein": &v.is.quartz,
		"pegmatite": &v.is.pegmatite, "mud_seam": &v.is.mudSeam, "water_void": &v.is.waterVoid,
	} {
		i, ok := v.index[code]
		if !ok {
			return fmt.Errorf("the grammar needs material %q", code)
		}
		*at = uint8(i)
	}
	if v.index[Unknown] != 0 {
		return fmt.Errorf("material %q must be the first", Unknown)
	}
	return nil
}
