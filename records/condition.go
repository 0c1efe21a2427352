package records

// Condition is what is asked of a feature of a FeatureCollection. Its logic is
// that of SQL with three values: where a value is missing, a comparison is
// neither true nor false, and a feature is picked where the whole is true.
//
// A store makes its own query of a condition, with the values bound to it and
// never written into it. The kinds are those below and no others.
type Condition interface{ condition() }

// The kinds of condition. CondAll of none is true, CondAny of none is false.
type (
	CondAll []Condition
	CondAny []Condition
	CondNot struct{ Of Condition }
	// CondUnknown is true where a condition is neither true nor false; it is
	// never unknown itself.
	CondUnknown struct{ Of Condition }
	// CondCompare compares two numbers or two texts; Op is one of = <> < > <= >=.
	// Texts are compared by their bytes.
	CondCompare struct {
		Op          string
		Left, Right Expression
	}
	// CondMissing is true where there is no value; it is never unknown.
	CondMissing struct{ Of Expression }
	// CondLike compares a text with a pattern, in which % stands for any
	// letters and _ for one; a backslash takes the meaning from the sign behind
	// it. Capitals matter.
	CondLike struct{ Of, Pattern Expression }
	// CondIn is true where the value is one of a list.
	CondIn struct {
		Of   Expression
		List []Expression
	}
	// CondBox is true where the feature's position lies in the box, its border
	// included, and unknown where it has none.
	CondBox struct{ Box Bounds }
	// CondShape is true where Has says so of the feature's position, degrees on
	// WGS 84, and unknown where it has none. Box holds every position of which
	// Has may be true: it is what an index is asked.
	CondShape struct {
		Box Bounds
		Has func(lon, lat float64) bool
	}
	// CondTime is true where what a date or time says of when lies, at least in
	// part, between From and To, both included: dates (2004, 2004-06,
	// 2004-06-15) or times (2004-06-15T10:00:00Z); "" leaves an end open. A
	// date that knows only its year is that whole year.
	CondTime struct {
		Field    string
		From, To string
	}
)

func (CondUnknown) condition() {}
func (CondAll) condition()     {}
func (CondAny) condition()     {}
func (CondNot) condition()     {}
func (CondCompare) condition() {}
func (CondMissing) condition() {}
func (CondLike) condition()    {}
func (CondIn) condition()      {}
func (CondBox) condition()     {}
func (CondShape) condition()   {}
func (CondTime) condition()    {}

// Expression is a value in a condition.
type Expression interface{ expression() }

// The kinds of expression.
type (
	// ExprField is the value of a field of the collection, by its name. The
	// feature's own name is the field "id".
	ExprField string
	// ExprValue is a value: a string, float64, int64, bool or nil.
	ExprValue struct{ Value any }
	// ExprWhen is the first or the last day of what a date says, of a time its
	// day or its moment: texts that are in order as 2004-06-15 and as
	// 2004-06-15T10:00:00.000000Z are.
	ExprWhen struct {
		Field  string
		Last   bool
		Moment bool // of a time; dates know days alone
	}
	// ExprIn is the number of a field in another unit than the base unit that it
	// is kept in, to six decimals, so that 203 ft is 203 again.
	ExprIn struct {
		Field string
		Unit  Unit
	}
	// ExprSum is a sum of numbers; Op is one of + - * / % ^ and d, which divides
	// and drops what is behind the point, as % has what is left. What is no
	// number (1/0, 0^-1) is missing.
	ExprSum struct {
		Op          byte
		Left, Right Expression
	}
	// ExprFold is a text without what tells its letters apart: capitals as
	// small letters (Case), letters without their accents (Accents).
	ExprFold struct {
		Of            Expression
		Case, Accents bool
	}
)

func (ExprField) expression() {}
func (ExprValue) expression() {}
func (ExprWhen) expression()  {}
func (ExprIn) expression()    {}
func (ExprSum) expression()   {}
func (ExprFold) expression()  {}

// And joins conditions, leaving out those that are nil; nil where none is left.
func And(conditions ...Condition) Condition {
	var all CondAll
	for _, c := range conditions {
		if c != nil {
			all = append(all, c)
		}
	}
	switch len(all) {
	case 0:
		return nil
	case 1:
		return all[0]
	}
	return all
}
