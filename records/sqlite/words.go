package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"unicode"

	"tallybook/records"
)

// matchOf writes the words as an expression for the index: every word must be
// there. Only letters, digits and spaces of the words are taken, between
// quotation marks, so that nothing in them is an operator.
func matchOf(words []string) string {
	var out []string
	for _, w := range words {
		begins := strings.HasSuffix(w, "*")
		bare := strings.Join(strings.FieldsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) }), " ")
		if bare == "" {
			continue
		}
		if begins {
			bare += "*"
		}
		out = append(out, `"`+bare+`"`)
	}
	return strings.Join(out, " ")
}

// FindWords implements records.WordsView.
func (v *view) FindWords(ctx context.Context, ask records.WordsAsked) (found records.WordsFound, err error) {
	match := matchOf(ask.Words)
	if match == "" || ask.Limit <= 0 {
		return found, records.Errorf(records.Invalid, "type a word to look for")
	}
	if n, err := v.countWords(ctx, match, &ask); err != nil || n == 0 {
		return found, err
	} else {
		found.Count = n
	}
	from, args := wordsFrom(match, &ask)
	before := ""
	if ask.Before > 0 {
		before = " AND words.docid < ?"
		args = append(args, ask.Before)
	}
	last := int64(0)
	err = each(ctx, v, "SELECT d.docid, d.well_id "+from+v.staged+before+" ORDER BY words.docid DESC LIMIT ?", append(args, ask.Limit+1), func(rows *sql.Rows) error {
		var doc, id int64
		if err := rows.Scan(&doc, &id); err != nil {
			return err
		}
		if len(found.IDs) == ask.Limit {
			found.Next = last
			return nil
		}
		last = doc
		found.IDs = append(found.IDs, id)
		return nil
	})
	return found, err
}

func (v *view) countWords(ctx context.Context, match string, ask *records.WordsAsked) (n int64, err error) {
	from, args := wordsFrom(match, ask)
	_, err = v.one(ctx, "SELECT count(*) FROM (SELECT 1 "+from+v.staged+" LIMIT ?)", append(args, records.MostCounted), &n)
	return n, err
}

// wordsFrom is what is searched: a column alone, or all of the index.
func wordsFrom(match string, ask *records.WordsAsked) (from string, args []any) {
	var b strings.Builder
	column := "open"
	if ask.Private {
		column = "words"
	}
	b.WriteString("FROM words JOIN word_docs d ON d.docid = words.docid JOIN wells w ON w.id = d.well_id WHERE words." + column + " MATCH ?")
	args = []any{match}
	if ask.FromYear > 0 {
		b.WriteString(" AND w.completed >= ?")
		args = append(args, fmt.Sprintf("%04d", ask.FromYear))
	}
	if ask.ToYear > 0 {
		b.WriteString(" AND w.completed < ?")
		args = append(args, fmt.Sprintf("%04d", ask.ToYear+1))
	}
	if ask.Class != "" {
		b.WriteString(" AND EXISTS (SELECT 1 FROM strata s WHERE s.well_id = w.id AND s.class = ?)")
		args = append(args, ask.Class)
	}
	if ask.Plate {
		b.WriteString(" AND EXISTS (SELECT 1 FROM plates p WHERE p.well_id = w.id)")
	}
	return b.String(), args
}

// wordsPending are the records after the last one taken in, in the order of
// their changes.
const wordsPending = `FROM wells w, word_state s WHERE w.changed_commit >= s.commit_no AND (w.changed_commit > s.commit_no OR w.id > s.well_id)`

// WordsBehind implements records.WordsView.
func (v *view) WordsBehind(ctx context.Context, most int64) (n int64, err error) {
	_, err = v.one(ctx, "SELECT count(*) FROM (SELECT 1 "+wordsPending+" LIMIT ?)", []any{most}, &n)
	return n, err
}
