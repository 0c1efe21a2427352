package records

import "context"

// WordsAsked is a search for words written in records.
type WordsAsked struct {
	// Words are looked for all together, each of letters and digits. One that
	// ends in '*' stands for every word that begins so; one that holds spaces
	// is a phrase.
	Words []string
	// Private lets the search see people's names too.
	Private bool
	// FromYear and ToYear are years of completion; 0: any.
	FromYear, ToYear int
	// Class is the word of a class of ground that the record's strata must
	// hold; "": any.
	Class string
	// Plate wants records with a plate alone.
	Plate bool
	// Before is WordsFound.Next of the page before; 0 begins.
	Before int64
	Limit  int
}

// WordsFound is one page of what was found, the latest written first.
type WordsFound struct {
	IDs []int64
	// Next is what the next page is asked with; 0: there is none.
	Next int64
	// Count is how many records match, counted up to MostCounted.
	Count int64
}

// MostCounted is as far as matches are counted.
const MostCounted = 10_000

// WordsView searches what is written in records.
type WordsView interface {
	// FindWords finds records by words; an Error with code Invalid where no
	// word is asked for.
	FindWords(ctx context.Context, ask WordsAsked) (WordsFound, error)
	// WordsBehind counts the records whose latest words are not searched yet,
	// up to most.
	WordsBehind(ctx context.Context, most int64) (int64, error)
}

// WordsTx takes in what is to be searched.
type WordsTx interface {
	// IndexWords takes in the words of at most so many records that changed
	// since they were last taken in, and tells how many it looked at; 0: all is
	// searched. It is no change of any record.
	IndexWords(ctx context.Context, most int) (looked int, err error)
}
