package cql2

import (
	"slices"
	"strconv"
)

// Parse reads a filter. What is wrong with it is an *Error.
func Parse(s string) (Expr, error) {
	tokens, err := lex(s)
	if err != nil {
		return nil, err
	}
	if tokens[0].kind == end {
		return nil, &Error{Problem: "it is empty", Mend: "say what is sought, such as yield_lps >= 0.2, or leave the filter out"}
	}
	p := &parser{text: s, tokens: tokens}
	x, err := p.or()
	if err != nil {
		return nil, err
	}
	if t := p.peek(); t.kind != end {
		return nil, p.wrong(t, "join two conditions with AND or OR", "the filter was at its end here")
	}
	if depth(x) > MaxDepth { // sums grow to the left without a bracket
		return nil, &Error{Problem: "more than " + strconv.Itoa(MaxDepth) + " things stand in each other", Mend: "ask for less at a time"}
	}
	return x, nil
}

type parser struct {
	text   string
	tokens []token
	next   int
	depth  int
	parts  int
}

func (p *parser) peek() token { return p.tokens[p.next] }

func (p *parser) take() token {
	t := p.tokens[p.next]
	if t.kind != end {
		p.next++
	}
	return t
}

func (p *parser) wrong(t token, mend, problem string, args ...any) *Error {
	return wrongAt(p.text, t.at, mend, problem, args...)
}

// isWord says whether a keyword comes next.
func (p *parser) isWord(word string) bool {
	t := p.peek()
	return t.kind == name && t.upper == word
}

func (p *parser) takeWord(word string) bool {
	if p.isWord(word) {
		p.next++
		return true
	}
	return false
}

func (p *parser) isSign(s string) bool {
	t := p.peek()
	return t.kind == sign && t.upper == s
}

func (p *parser) takeSign(s string) bool {
	if p.isSign(s) {
		p.next++
		return true
	}
	return false
}

func (p *parser) needSign(s, where string) *Error {
	if !p.takeSign(s) {
		return p.wrong(p.peek(), "", "%q is missing %s", s, where)
	}
	return nil
}

// deeper counts what stands in what; shallower undoes it.
func (p *parser) deeper() *Error {
	p.depth++
	if p.depth > MaxDepth {
		return p.wrong(p.peek(), "write it with fewer brackets", "more than %d things stand in each other", MaxDepth)
	}
	return nil
}

func (p *parser) shallower() { p.depth-- }

// part counts a name, a value or what joins them.
func (p *parser) part() *Error {
	p.parts++
	if p.parts > MaxParts {
		return p.wrong(p.peek(), "ask for less at a time", "the filter has more than %d parts", MaxParts)
	}
	return nil
}

func (p *parser) or() (Expr, *Error) {
	args, at, err := p.joined("OR", p.and)
	if err != nil || len(args) == 1 {
		return first(args), err
	}
	return &Or{at, args}, nil
}

func (p *parser) and() (Expr, *Error) {
	args, at, err := p.joined("AND", p.not)
	if err != nil || len(args) == 1 {
		return first(args), err
	}
	return &And{at, args}, nil
}

func first(args []Expr) Expr {
	if len(args) == 0 {
		return nil
	}
	return args[0]
}

func (p *parser) joined(word string, read func() (Expr, *Error)) ([]Expr, Pos, *Error) {
	at := Pos(p.peek().at)
	var args []Expr
	for {
		x, err := read()
		if err != nil {
			return nil, at, err
		}
		args = append(args, x)
		if !p.takeWord(word) {
			return args, at, nil
		}
		if err := p.part(); err != nil {
			return nil, at, err
		}
	}
}

func (p *parser) not() (Expr, *Error) {
	t := p.peek()
	if !p.isWord("NOT") {
		return p.predicate()
	}
	p.next++
	if err := p.deeper(); err != nil {
		return nil, err
	}
	defer p.shallower()
	x, err := p.not()
	if err != nil {
		return nil, err
	}
	return &Not{Pos(t.at), x}, nil
}

var comparisons = []string{"=", "<>", "<", ">", "<=", ">="}

// predicate reads a value and what is said of it; a predicate in brackets or
// by a function comes back from value.
func (p *parser) predicate() (Expr, *Error) {
	at := Pos(p.peek().at)
	left, err := p.sum()
	if err != nil {
		return nil, err
	}
	x, err := p.said(at, left)
	if err != nil {
		return nil, err
	}
	if t := p.peek(); t.kind == sign && slices.Contains(comparisons, t.upper) {
		return nil, p.wrong(t, "join two comparisons with AND", "one comparison follows another")
	}
	return x, nil
}

func (p *parser) said(at Pos, left Expr) (Expr, *Error) {
	if err := p.part(); err != nil {
		return nil, err
	}
	t := p.peek()
	if t.kind == sign && slices.Contains(comparisons, t.upper) {
		p.next++
		right, err := p.sum()
		if err != nil {
			return nil, err
		}
		return &Compare{at, t.upper, left, right}, nil
	}
	if p.takeWord("IS") {
		turned := p.takeWord("NOT")
		if !p.takeWord("NULL") {
			return nil, p.wrong(p.peek(), "", "IS goes with NULL or NOT NULL")
		}
		return turn(at, turned, &IsNull{at, left}), nil
	}
	turned := p.takeWord("NOT")
	var x Expr
	var err *Error
	switch {
	case p.takeWord("LIKE"):
		x, err = p.like(at, left)
	case p.takeWord("BETWEEN"):
		x, err = p.between(at, left)
	case p.takeWord("IN"):
		x, err = p.in(at, left)
	case turned:
		return nil, p.wrong(p.peek(), "", "NOT after a value goes with LIKE, BETWEEN or IN")
	default:
		return left, nil
	}
	if err != nil {
		return nil, err
	}
	return turn(at, turned, x), nil
}

func turn(at Pos, turned bool, x Expr) Expr {
	if turned {
		return &Not{at, x}
	}
	return x
}

func (p *parser) like(at Pos, left Expr) (Expr, *Error) {
	pattern, err := p.sum()
	if err != nil {
		return nil, err
	}
	return &Like{at, left, pattern}, nil
}

func (p *parser) between(at Pos, left Expr) (Expr, *Error) {
	low, err := p.sum()
	if err != nil {
		return nil, err
	}
	if !p.takeWord("AND") {
		return nil, p.wrong(p.peek(), "write BETWEEN 1 AND 2", "AND is missing after BETWEEN")
	}
	high, err := p.sum()
	if err != nil {
		return nil, err
	}
	return &Between{at, left, low, high}, nil
}

func (p *parser) in(at Pos, left Expr) (Expr, *Error) {
	if err := p.needSign("(", "after IN"); err != nil {
		return nil, err
	}
	var list []Expr
	for {
		x, err := p.sum()
		if err != nil {
			return nil, err
		}
		list = append(list, x)
		if p.takeSign(")") {
			return &In{at, left, list}, nil
		}
		if err := p.needSign(",", "in the list after IN"); err != nil {
			return nil, err
		}
	}
}
