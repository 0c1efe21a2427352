package records

// Qualifier says how a value is to be read. Its zero value is Missing, so
// that nobody's silence can be taken for a measured zero.
type Qualifier uint8

// The qualifiers. Missing (nobody knows), a measured zero (Exact, 0) and a
// bound (LessThan, GreaterThan, Between) look alike on paper and are kept
// apart here.
const (
	Missing Qualifier = iota
	Exact
	About
	LessThan
	GreaterThan
	Between
)

var qualifierWords = [...]string{"missing", "exact", "about", "less_than", "greater_than", "between"}

// String gives the word used in files and in the database.
func (q Qualifier) String() string {
	if int(q) < len(qualifierWords) {
		return qualifierWords[q]
	}
	return "unknown"
}

// ParseQualifier reads the words that String writes.
func ParseQualifier(s string) (Qualifier, bool) {
	for i, w := range qualifierWords {
		if w == s {
			return Qualifier(i), true
		}
	}
	return Missing, false
}

// IsBound says whether the value is a limit rather than a number.
func (q Qualifier) IsBound() bool { return q == LessThan || q == GreaterThan || q == Between }

// Given is a quantity as a person or a file gave it.
type Given struct {
	Text string // verbatim: "62' 6\"", "<1", "203.50"
	Unit Unit   // the unit that Text is in, stated or taken as the column's
	High string // the upper end of a range, where it was given apart from Text
}

// Amount is a quantity of a record: its value in the base unit of T, how it
// is to be read, and how it was given. The zero Amount is missing.
type Amount[T ~float64] struct {
	Qualifier Qualifier
	Value     T     // the value; the limit of a bound; the lower end of Between
	High      T     // the upper end, for Between alone
	Given     Given // empty when the value was not entered by anybody
}

// Known says whether there is a value or a bound at all.
func (a Amount[T]) Known() bool { return a.Qualifier != Missing }

// Number is the value where it is a number (exact or about) and not a bound.
func (a Amount[T]) Number() (T, bool) {
	if a.Qualifier == Exact || a.Qualifier == About {
		return a.Value, true
	}
	return 0, false
}

// Of makes an exact amount that nobody entered (computed, or invented for a
// demonstration).
func Of[T ~float64](v T) Amount[T] { return Amount[T]{Qualifier: Exact, Value: v} }

// Roughly makes an amount that is 'about' v.
func Roughly[T ~float64](v T) Amount[T] { return Amount[T]{Qualifier: About, Value: v} }

// MoreThan makes the bound 'greater than v'.
func MoreThan[T ~float64](v T) Amount[T] { return Amount[T]{Qualifier: GreaterThan, Value: v} }

// Under makes the bound 'less than v'.
func Under[T ~float64](v T) Amount[T] { return Amount[T]{Qualifier: LessThan, Value: v} }

// Within makes the bound 'between low and high'.
func Within[T ~float64](low, high T) Amount[T] {
	return Amount[T]{Qualifier: Between, Value: low, High: high}
}
