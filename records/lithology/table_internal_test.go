package lithology

import "testing"

// TestTableAgreesWithItself lists every contradiction of the word tables at
// once; build stops at the first.
func TestTableAgreesWithItself(t *testing.T) {
	x := newLexicon()
	for _, l := range defaultWords() {
		for _, w := range l.words {
			if err := x.add(w, sense{l.kind, l.value, l.means}, layerDefault); err != nil {
				t.Error(err)
			}
		}
	}
	for i, e := range defaultEntries() {
		for _, w := range e.Nouns {
			if err := x.add(w, sense{KindMaterial, uint8(i), e.Code}, layerDefault); err != nil {
				t.Error(err)
			}
		}
		for _, w := range e.Adjectives {
			if err := x.add(w, sense{KindAdjective, uint8(i), e.Code}, layerDefault); err != nil {
				t.Error(err)
			}
		}
	}
	for _, s := range defaultSpellings() {
		if _, ok := x.words[s.plain]; !ok {
			t.Errorf("spelling of %q, which is no word", s.plain)
		}
		for _, v := range s.variants {
			if err := x.spell(s.plain, v); err != nil {
				t.Error(err)
			}
		}
	}
}
