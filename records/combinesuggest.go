package records

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// suggest says whose word is likely the better, with the reason; nothing where
// nothing speaks for either. All are ours: common sense, no source.
func (m *Matter) suggest() {
	last := len(m.leavesA) - 1
	switch a, b := &m.leavesA[0], &m.leavesB[0]; {
	case m.Name == "place":
		m.suggestPlace(a.position, b.position)
	case m.List:
		m.suggestList(&m.leavesA[last], &m.leavesB[last])
	case a.day != nil:
		m.suggestDay(*a.day, *b.day)
	case a.amount != nil:
		m.suggestAmount(a.amount.load(), b.amount.load())
	case a.text != nil && last == 0:
		m.suggestText(*a.text, *b.text)
	}
}

func (m *Matter) prefer(side Word, reason string) { m.Suggested, m.Reason = side, reason }

// suggestPlace prefers a position to none, and the better one of two.
func (m *Matter) suggestPlace(a, b *Place) {
	x, okA := a.Accuracy.Number()
	y, okB := b.Accuracy.Number()
	better := func(n, than Length) string { return fmt.Sprintf("good to %.0f m against %.0f m", n, than) }
	switch {
	case a.Located && !b.Located:
		m.prefer(FirstWord, "the other has no position")
	case b.Located && !a.Located:
		m.prefer(SecondWord, "the other has no position")
	case okA && okB && x < y:
		m.prefer(FirstWord, better(x, y))
	case okA && okB && y < x:
		m.prefer(SecondWord, better(y, x))
	case okA && !okB:
		m.prefer(FirstWord, "of the other nobody says how good it is")
	case okB && !okA:
		m.prefer(SecondWord, "of the other nobody says how good it is")
	}
}

// apartRows are lists of things that happened one after another: those of both
// records can stand together.
var apartRows = []string{"shifts", "works", "static_levels", "yield_tests", "quality", "treatments", "attachments", "own_picks", "unreliable"}

func (m *Matter) suggestList(a, b *leaf) {
	holds := func(all, some []string) bool {
		return !slices.ContainsFunc(some, func(row string) bool { return !slices.Contains(all, row) })
	}
	rows := func(more, less int) string { return fmt.Sprintf("it says more: %d rows against %d", more, less) }
	na, nb := len(a.rowWords), len(b.rowWords)
	switch {
	case na > nb && holds(a.rowWords, b.rowWords):
		m.prefer(FirstWord, "it has every row of the other, and more")
	case nb > na && holds(b.rowWords, a.rowWords):
		m.prefer(SecondWord, "it has every row of the other, and more")
	case m.CanJoin && slices.Contains(apartRows, m.Name):
		m.prefer(BothWords, "what was done or measured at different times stands together")
	case na > nb:
		m.prefer(FirstWord, rows(na, nb))
	case nb > na:
		m.prefer(SecondWord, rows(nb, na))
	}
}

// suggestDay prefers the date that says the day of the month or year that the
// other says.
func (m *Matter) suggestDay(a, b Date) {
	switch {
	case strings.HasPrefix(a.String(), b.String()):
		m.prefer(FirstWord, "it is the fuller date")
	case strings.HasPrefix(b.String(), a.String()):
		m.prefer(SecondWord, "it is the fuller date")
	}
}

// sameFigure is how near two figures of one quantity are where they differ by
// rounding alone, as a part of the greater. Ours, no source.
const sameFigure = 0.005

func (m *Matter) suggestAmount(a, b Amount[float64]) {
	near := math.Abs(a.Value-b.Value) <= sameFigure*math.Max(math.Abs(a.Value), math.Abs(b.Value))
	exactA, exactB := a.Qualifier == Exact, b.Qualifier == Exact
	switch {
	case exactA && !exactB && within(a.Value, b):
		m.prefer(FirstWord, "it is a figure, and the other says nothing against it")
	case exactB && !exactA && within(b.Value, a):
		m.prefer(SecondWord, "it is a figure, and the other says nothing against it")
	case near && exactA && exactB && a.Given.Text != "" && b.Given.Text == "":
		m.prefer(FirstWord, "the same but for rounding, and as somebody wrote it")
	case near && exactA && exactB && b.Given.Text != "" && a.Given.Text == "":
		m.prefer(SecondWord, "the same but for rounding, and as somebody wrote it")
	case near && exactA && exactB:
		m.prefer(FirstWord, "the same but for rounding")
	}
}

// within says whether a figure is one that an estimate or a bound allows.
func within(v float64, a Amount[float64]) bool {
	switch a.Qualifier {
	case LessThan:
		return v < a.Value
	case GreaterThan:
		return v > a.Value
	case Between:
		return v >= a.Value && v <= a.High
	case About:
		return math.Abs(v-a.Value) <= 0.1*math.Abs(a.Value)
	}
	return false
}

func (m *Matter) suggestText(a, b string) {
	x, y := foldText(a), foldText(b)
	switch {
	case x == y:
		m.prefer(FirstWord, "the same but for capitals, spaces or signs")
	case y != "" && strings.Contains(x, y):
		m.prefer(FirstWord, "it says all that the other says, and more")
	case x != "" && strings.Contains(y, x):
		m.prefer(SecondWord, "it says all that the other says, and more")
	case m.CanJoin:
		m.prefer(BothWords, "one can stand under the other")
	}
}

// foldText is a text in small letters, its words parted by single spaces,
// without signs.
func foldText(t string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(t), func(r rune) bool {
		return strings.ContainsRune(" \t\r\n.,;:-–/'\"()", r)
	}), " ")
}
