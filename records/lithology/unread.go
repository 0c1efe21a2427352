package lithology

import "strings"

// UnreadWords lists the words of a description that the vocabulary does not
// have, in lower case and in order, repeated as often as they stand there.
// Counted over all descriptions they tell an office which words to add.
func (v *Vocabulary) UnreadWords(text string) []string {
	var room [maxTokens]token
	tokens, _ := v.tokens(text, room[:0])
	var out []string
	for i := 0; i < len(tokens); {
		t := tokens[i]
		if t.special == specialQuestion || t.special == specialMunsell {
			i++
			continue
		}
		_, n := v.lex.match(tokens, i)
		if n == 0 {
			out = append(out, lowered(text[t.start:t.end]))
		}
		i += max(n, 1)
	}
	return out
}

// lowered gives a word as the scanner sees it; one too long for the scanner is
// cut.
func lowered(word string) string {
	var sc scanner
	sc.reset(word)
	if sc.next() && sc.n > 0 {
		return string(sc.lower())
	}
	return strings.ToValidUTF8(word[:min(len(word), maxWordBytes)], "")
}
