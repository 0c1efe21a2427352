package desk

import (
	"context"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"tallybook/records"
)

// WordsAsk is a search for words written in records.
type WordsAsk struct {
	// Text is what was typed: every word must be there, the last one may be
	// the beginning of one; words between quotation marks are a phrase.
	Text             string
	FromYear, ToYear int // of completion; 0: any
	Class            string
	Plate            bool
	Before           int64 // WordsPage.Next of the page before
	Limit            int
}

// WordsPage is a page of the records that hold the words.
type WordsPage struct {
	Hits  []WordsHit
	Next  int64 // asks for the next page; 0: there is none
	Count int64 // of all, counted up to records.MostCounted
	// Behind is how many records' latest words are not searched yet, counted
	// up to records.MostCounted.
	Behind int64
}

// WordsHit is a record that holds the words, and a passage that shows one.
type WordsHit struct {
	Well    *records.Well
	Passage []Piece
}

// Piece is a part of a passage; Hit where it is one of the words.
type Piece struct {
	Text string
	Hit  bool
}

// SearchedWords are the words of a text as they are looked for.
func SearchedWords(text string) []string {
	var out []string
	quoted := false
	for _, part := range strings.Split(text, `"`) {
		words := strings.FieldsFunc(part, notOfWord)
		if quoted && len(words) > 0 {
			out = append(out, strings.Join(words, " "))
		} else {
			out = append(out, words...)
		}
		quoted = !quoted
	}
	if n := len(out); n > 0 && !strings.HasSuffix(strings.TrimSpace(text), `"`) && len([]rune(out[n-1])) >= 3 {
		out[n-1] += "*"
	}
	return out
}

func notOfWord(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) }

// catchUp is how many records a search takes in before it answers: what was
// just written is found, and a file of thousands keeps nobody waiting.
const catchUp = 2000

// FindWords finds records by the words written in them, the latest written
// first. People's names are searched for those alone who may see them.
func (d *Desk) FindWords(ctx context.Context, actor records.Actor, ask WordsAsk) (WordsPage, error) {
	var p WordsPage
	if err := d.Permit(actor, Look); err != nil {
		return p, err
	}
	words := SearchedWords(ask.Text)
	if len(words) == 0 {
		return p, records.Errorf(records.Invalid, "type a word to look for")
	}
	if ask.Limit <= 0 {
		ask.Limit = 20
	}
	if err := d.catchUpWords(ctx); err != nil {
		return p, err
	}
	private := d.Permit(actor, SeePrivate) == nil
	err := d.store.View(ctx, func(v records.StoreView) error {
		found, err := v.FindWords(ctx, records.WordsAsked{Words: words, Private: private, FromYear: ask.FromYear, ToYear: ask.ToYear, Class: ask.Class, Plate: ask.Plate, Before: ask.Before, Limit: ask.Limit})
		if err != nil {
			return err
		}
		p.Next, p.Count = found.Next, found.Count
		for _, id := range found.IDs {
			w, err := v.Well(ctx, id)
			if err != nil {
				return err
			}
			open, secret := w.SearchText()
			if private {
				open += secret
			} else {
				blankPrivate(w)
			}
			p.Hits = append(p.Hits, WordsHit{Well: w, Passage: passageOf(open, words)})
		}
		p.Behind, err = v.WordsBehind(ctx, records.MostCounted)
		return err
	})
	return p, err
}

// catchUpWords takes in the words of what was just written. Where another
// program is writing, the search answers with what it has.
func (d *Desk) catchUpWords(ctx context.Context) error {
	behind, err := d.wordsBehind(ctx, catchUp)
	if err != nil || behind == 0 || behind == catchUp && !d.blind {
		return err // nothing, or so much that it is done in the background
	}
	_, err = d.indexWords(ctx, catchUp)
	if records.CodeOf(err) == records.Busy {
		return nil
	}
	return err
}

func (d *Desk) wordsBehind(ctx context.Context, most int64) (n int64, err error) {
	err = d.store.View(ctx, func(v records.StoreView) (err error) {
		n, err = v.WordsBehind(ctx, most)
		return err
	})
	return n, err
}

// wordsActor is who takes words in: it changes no record, so that nobody's name
// stands anywhere for it.
var wordsActor = records.Actor{Name: "index of words"}

func (d *Desk) indexWords(ctx context.Context, most int) (looked int, err error) {
	err = d.store.Update(ctx, wordsActor, func(tx records.StoreTx) (err error) {
		looked, err = tx.IndexWords(ctx, most)
		return err
	})
	return looked, err
}

// IndexWords takes in the words of all records that changed, a few at a time,
// and tells how far it is; progress may be nil.
func (d *Desk) IndexWords(ctx context.Context, actor records.Actor, progress func(looked int64)) error {
	if err := d.Permit(actor, Look); err != nil {
		return err
	}
	for total := int64(0); ; {
		n, err := d.indexWords(ctx, catchUp/2)
		if err != nil || n == 0 {
			return err
		}
		if total += int64(n); progress != nil {
			progress(total)
		}
	}
}

// keepWords takes words in while nothing else is asked of the store, until the
// context ends.
func (d *Desk) keepWords(ctx context.Context, every time.Duration) {
	defer d.done.Done()
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		for ctx.Err() == nil {
			if n, err := d.wordsBehind(ctx, 1); err != nil || n == 0 {
				break
			}
			if left, err := d.unfinished(ctx); err != nil || len(left) > 0 {
				break // a file is being taken in: it comes first
			}
			n, err := d.indexWords(ctx, catchUp/4)
			if err != nil && records.CodeOf(err) != records.Busy && ctx.Err() == nil {
				d.log.Warn("taking in words to be searched", "err", err)
			}
			if err != nil || n == 0 {
				break
			}
		}
	}
}

// passageWide is how many characters of a line are shown around a word.
const passageWide = 90

// passageOf is the first line of a text that holds one of the words, with what
// was looked for told apart.
func passageOf(text string, words []string) []Piece {
	for line := range strings.Lines(text) {
		if pieces := marked(strings.TrimSpace(line), words); pieces != nil {
			return pieces
		}
	}
	return nil
}

// marked splits a line at the words; nil where it holds none.
func marked(line string, words []string) []Piece {
	var out []Piece
	plain, hits := 0, 0
	for start := 0; start < len(line); {
		rest := line[start:]
		lead := strings.IndexFunc(rest, func(r rune) bool { return !notOfWord(r) })
		if lead < 0 {
			break
		}
		from := start + lead
		end := len(line)
		if n := strings.IndexFunc(line[from:], notOfWord); n >= 0 {
			end = from + n
		}
		if sought(line[from:end], words) {
			if from > plain {
				out = append(out, Piece{Text: line[plain:from]})
			}
			out = append(out, Piece{Text: line[from:end], Hit: true})
			plain, hits = end, hits+1
		}
		start = end
	}
	if hits == 0 {
		return nil
	}
	if plain < len(line) {
		out = append(out, Piece{Text: line[plain:]})
	}
	return shortened(out)
}

// sought says whether a word of a line is one of those looked for.
func sought(word string, words []string) bool {
	w := folded(word)
	for _, s := range words {
		begins := strings.HasSuffix(s, "*")
		for _, one := range strings.Fields(strings.TrimSuffix(s, "*")) {
			if f := folded(one); f == w || begins && strings.HasPrefix(w, f) {
				return true
			}
		}
	}
	return false
}

// folded is a word without capitals and accents, as the index compares it.
func folded(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return unicode.ToLower(r)
	}, norm.NFD.String(s))
}

// shortened cuts what stands far from the words.
func shortened(pieces []Piece) []Piece {
	for i := range pieces {
		p := &pieces[i]
		r := []rune(p.Text)
		if p.Hit || len(r) <= passageWide {
			continue
		}
		switch half := passageWide / 2; {
		case i == 0:
			p.Text = "…" + string(r[len(r)-half:])
		case i == len(pieces)-1:
			p.Text = string(r[:half]) + "…"
		default:
			p.Text = string(r[:half/2]) + " … " + string(r[len(r)-half/2:])
		}
	}
	return pieces
}
