package plates

import (
	"context"

	"tallybook/records"
	"tallybook/records/linkage"
)

// Source streams what is compared of every record; a records.StoreView is one.
type Source interface {
	Compared(ctx context.Context, fn func([]records.Compared) error) error
}

// Options say how to match. The zero Options are sound.
type Options struct {
	Feet    bool // words in feet, inches and gallons a minute; otherwise metres, millimetres and litres a second
	Owners  bool // compare owners' names, and tell them in reasons: for those who may see them
	Runners int  // how many others are told beside the likeliest; 0: 3
	// Taken says of records that they are not to be offered: those that have
	// their plate. nil: all may be.
	Taken func(wellID int64) bool
	// Refused says of pairs that somebody has decided against them. nil: none.
	Refused func(left, right int64) bool
	// Precision is the share of links that is to be right at the default
	// threshold; 0: 0.995.
	Precision float64
	// Progress is told how many of how many have been compared. nil: nobody.
	Progress func(done, of int)
}

// The words of FieldReason.Agreement.
const (
	Agrees  = "agrees"
	Near    = "near"
	Differs = "differs"
	Missing = "missing"
)

// FieldReason is what one field says of a pair.
type FieldReason struct {
	Name        string  // place, number, date, depth, casing, pump, static, diameter, yield, driller, owner
	Left, Right string  // as compared, with units; "" where it is not said
	Agreement   string  // agrees, near, differs, missing
	Level       string  // how far, more exactly: 'one digit misread'
	Weight      float64 // log2 of how many times likelier it is so for the same hole than for another; 0: missing
	Words       string  // all of it as a sentence
}

// Suggestion is a record that a plate may belong to.
type Suggestion struct {
	PlateID, WellID int64
	Revision        int64   // of the record as it was compared
	Probability     float64 // that they belong together, all other records, plates and 'none' considered
	Weight          float64 // log2 of the evidence alone
	Fields          []FieldReason

	left, right int32
	adjust      float64
}

// PlateMatch is what was found for one plate.
type PlateMatch struct {
	PlateID int64
	// Best is the record that is the plate's when every plate and every record
	// has at most one partner; nil where none is likelier than having none.
	Best *Suggestion
	// Others are the likeliest beside it, the likeliest first: an entry of
	// another plate's best may be among them.
	Others []Suggestion
	// None is the probability that the plate's record is not in the file.
	None float64
}

// Result is what Match found.
type Result struct {
	Plates []PlateMatch // in the order of the plates given
	// Threshold is the default: from this probability on, the expected share
	// of wrong links is small enough to offer them all at once. Above 1: none is.
	Threshold float64
	Model     *linkage.Model
	Learned   Learned

	m *matcher
}

// Learned tells what a model stands on.
type Learned struct {
	Records  int     // compared against
	Matched  float64 // pairs that the learner took to belong together
	Started  float64 // pairs that the starting values count for: more than Matched, and they rule
	Steps    int
	Settled  bool
	Compared int64 // pairs that were looked at
}

// At tells what linking every plate from a probability on would bring.
func (r *Result) At(threshold float64) linkage.Expected {
	return linkage.At(r.probabilities(), threshold)
}

func (r *Result) probabilities() []float64 {
	ps := make([]float64, 0, len(r.Plates))
	for i := range r.Plates {
		if b := r.Plates[i].Best; b != nil {
			ps = append(ps, b.Probability)
		}
	}
	return ps
}

// Pair is two records that may be of one well.
type Pair struct {
	LeftID, RightID             int64 // LeftID is the lower
	LeftRevision, RightRevision int64
	Probability                 float64
	Weight                      float64
	Fields                      []FieldReason

	left, right int32
	adjust      float64
}

// Pairs is what Duplicates found: those likelier than one in a hundred, the
// likeliest first.
type Pairs struct {
	Pairs     []Pair
	Threshold float64 // the default, as in Result
	Model     *linkage.Model
	Learned   Learned

	m *matcher
}

// At tells what taking every pair from a probability on for one well would
// bring.
func (p *Pairs) At(threshold float64) linkage.Expected {
	return linkage.At(p.probabilities(), threshold)
}

func (p *Pairs) probabilities() []float64 {
	ps := make([]float64, len(p.Pairs))
	for i := range p.Pairs {
		ps[i] = p.Pairs[i].Probability
	}
	return ps
}
