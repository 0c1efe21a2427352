package lithology

import (
	"fmt"
	"strings"
)

// sense is what a word or phrase means to the reader.
type sense struct {
	kind  Kind
	value uint8 // material index, colour, hardness … by kind
	means string
}

// The layers of meanings; a later one takes over from an earlier.
const (
	layerDefault = 1 + iota // the built-in tables
	layerOffice             // an office's own words
)

// node is a point in the tree of phrases: the words so far, and what they mean
// if they are a whole phrase.
type node struct {
	sense sense
	layer int // 0 none, else one of the layers
	kids  bool
}

// lexicon finds the meaning of words and phrases. Every distinct plain word
// has a number; spellings share the number of their plain word; a phrase is a
// path in a tree whose steps are word numbers. Immutable once built.
type lexicon struct {
	words map[string]int32
	roots []int32          // by word number: node of the one-word phrase, 0 none
	steps map[uint64]int32 // node<<32 | word number -> node
	nodes []node
	plain []string // by word number: the plain word
}

func newLexicon() *lexicon {
	return &lexicon{words: make(map[string]int32, 2048), steps: make(map[uint64]int32, 1024), nodes: make([]node, 1, 2048)}
}

func (x *lexicon) word(w string) int32 {
	id, ok := x.words[w]
	if !ok {
		id = int32(len(x.roots))
		x.words[w] = id
		x.roots = append(x.roots, 0)
		x.plain = append(x.plain, w)
	}
	return id
}

// add gives a phrase its meaning. A later layer takes over from an earlier
// one; two different meanings in one layer are an error.
func (x *lexicon) add(phrase string, s sense, layer int) error {
	plain, err := plainPhrase(phrase)
	if err != nil {
		return err
	}
	if id, ok := x.words[plain]; ok && layer == layerOffice && x.plain[id] != plain {
		// The office makes an abbreviation a word of its own: the word that
		// it stood for keeps its meaning.
		delete(x.words, plain)
	}
	at := int32(0)
	for i, w := range strings.Fields(plain) {
		id := x.word(w)
		next := x.roots[id]
		if i > 0 {
			next = x.steps[uint64(at)<<32|uint64(id)]
		}
		if next == 0 {
			next = int32(len(x.nodes))
			x.nodes = append(x.nodes, node{})
			if i == 0 {
				x.roots[id] = next
			} else {
				x.steps[uint64(at)<<32|uint64(id)] = next
				x.nodes[at].kids = true
			}
		}
		at = next
	}
	n := &x.nodes[at]
	if n.layer == layer && n.sense != s {
		return fmt.Errorf("%q is given two meanings: %s and %s", phrase, n.sense.means, s.means)
	}
	if layer >= n.layer {
		n.sense, n.layer = s, layer
	}
	return nil
}

// spell makes variant another way to write the word plain. A variant that is a
// word of its own keeps its own meaning, and that is reported as an error.
func (x *lexicon) spell(plain, variant string) error {
	if _, taken := x.words[variant]; taken {
		return fmt.Errorf("spelling %q of %q is already a word or spelling", variant, plain)
	}
	x.words[variant] = x.word(plain)
	return nil
}

// match finds the longest phrase that begins at tokens[i] and gives its number
// of tokens, 0 for none.
func (x *lexicon) match(tokens []token, i int) (sense, int) {
	s, n := x.follow(tokens, i, tokens[i].id)
	if alt := tokens[i].alt; alt >= 0 && n < 2 {
		if s2, n2 := x.follow(tokens, i, alt); n2 > n {
			return s2, n2
		}
	}
	return s, n
}

func (x *lexicon) follow(tokens []token, i int, first int32) (sense, int) {
	if first < 0 {
		return sense{}, 0
	}
	at := x.roots[first]
	var best sense
	length := 0
	for j := i; at != 0; {
		n := &x.nodes[at]
		if n.layer > 0 {
			best, length = n.sense, j-i+1
		}
		j++
		if !n.kids || j >= len(tokens) || tokens[j].breaks {
			break
		}
		next := int32(0)
		if id := tokens[j].id; id >= 0 {
			next = x.steps[uint64(at)<<32|uint64(id)]
		}
		if next == 0 && tokens[j].alt >= 0 {
			next = x.steps[uint64(at)<<32|uint64(tokens[j].alt)]
		}
		at = next
	}
	return best, length
}

// plainPhrase brings a phrase of a table or of an office to the form of the
// lexicon: lower case, single spaces, '&' as 'and', hyphens as spaces. It uses
// the scanner, so that what is stored is what will be met in a text.
func plainPhrase(phrase string) (string, error) {
	if len(phrase) > 80 {
		return "", fmt.Errorf("word %.20q… is longer than 80 bytes", phrase)
	}
	var sc scanner
	var words []string
	sc.reset(phrase)
	for sc.next() {
		if sc.special == specialMunsell || sc.special == specialQuestion {
			return "", fmt.Errorf("%q cannot be a word of the vocabulary", phrase)
		}
		words = append(words, string(sc.lower()))
	}
	if len(words) == 0 || len(words) > 6 {
		return "", fmt.Errorf("%q must have one to six words of letters", phrase)
	}
	return strings.Join(words, " "), nil
}
