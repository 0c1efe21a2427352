package cql2

import "fmt"

// sum reads sums by their rank: + and -, then * / % DIV, then ^.
func (p *parser) sum() (Expr, *Error) {
	return p.ranked(p.product, func(t token) bool { return t.kind == sign && (t.upper == "+" || t.upper == "-") })
}

func (p *parser) product() (Expr, *Error) {
	return p.ranked(p.power, func(t token) bool {
		return t.kind == sign && (t.upper == "*" || t.upper == "/" || t.upper == "%") || t.kind == name && t.upper == "DIV"
	})
}

// ranked reads operations of one rank, the left one first.
func (p *parser) ranked(read func() (Expr, *Error), isOp func(token) bool) (Expr, *Error) {
	at := Pos(p.peek().at)
	left, err := read()
	if err != nil {
		return nil, err
	}
	for isOp(p.peek()) {
		op := p.take().upper
		right, err := read()
		if err != nil {
			return nil, err
		}
		if err := p.part(); err != nil {
			return nil, err
		}
		left = &Sum{at, op, left, right}
	}
	return left, nil
}

func (p *parser) power() (Expr, *Error) {
	at := Pos(p.peek().at)
	left, err := p.signed()
	if err != nil || !p.takeSign("^") {
		return left, err
	}
	right, err := p.signed()
	if err != nil {
		return nil, err
	}
	if p.isSign("^") {
		return nil, p.wrong(p.peek(), "write brackets", "one ^ follows another")
	}
	return &Sum{at, "^", left, right}, nil
}

// signed reads a value with or without a minus; that of a number is part of
// it.
func (p *parser) signed() (Expr, *Error) {
	t := p.peek()
	if p.takeSign("+") && p.peek().kind != number {
		return nil, p.wrong(t, "", "a plus without a number")
	}
	if !p.takeSign("-") {
		return p.value()
	}
	if n := p.peek(); n.kind == number {
		p.next++
		return &Number{Pos(t.at), -n.value}, p.part()
	}
	if err := p.deeper(); err != nil {
		return nil, err
	}
	defer p.shallower()
	x, err := p.value()
	if err != nil {
		return nil, err
	}
	return &Minus{Pos(t.at), x}, nil
}

func (p *parser) value() (Expr, *Error) {
	if err := p.part(); err != nil {
		return nil, err
	}
	t := p.take()
	at := Pos(t.at)
	switch t.kind {
	case number:
		return &Number{at, t.value}, nil
	case text:
		return &Text{at, t.text}, nil
	case quoted:
		return &Property{at, t.text}, nil
	case name:
		return p.word(t)
	}
	if t.kind != sign || t.upper != "(" {
		return nil, p.wrong(t, "", "a value or a field's name is missing")
	}
	if err := p.deeper(); err != nil {
		return nil, err
	}
	defer p.shallower()
	x, err := p.or()
	if err != nil {
		return nil, err
	}
	return x, p.needSign(")", fmt.Sprintf("for the bracket at character %d", wrongAt(p.text, t.at, "", "").At))
}

// word reads what begins with a word: a function, a geometry, a time, TRUE or
// FALSE, or a field.
func (p *parser) word(t token) (Expr, *Error) {
	at := Pos(t.at)
	switch t.upper {
	case "TRUE", "FALSE":
		return &Bool{at, t.upper == "TRUE"}, nil
	case "AND", "OR", "NOT", "LIKE", "BETWEEN", "IN", "IS", "NULL", "DIV":
		return nil, p.wrong(t, "a field of that name stands in double quotes", "a value is missing before %s", t.upper)
	}
	if shape, ok, err := p.shape(t); ok || err != nil {
		return shape, err
	}
	if !p.isSign("(") {
		return &Property{at, t.text}, nil
	}
	if err := p.deeper(); err != nil {
		return nil, err
	}
	defer p.shallower()
	p.next++
	switch {
	case t.upper == "DATE", t.upper == "TIMESTAMP":
		return p.moment(t)
	case t.upper == "INTERVAL":
		return p.interval(t)
	case t.upper == "CASEI", t.upper == "ACCENTI":
		x, err := p.sum()
		if err != nil {
			return nil, err
		}
		return &Fold{at, t.upper, x}, p.needSign(")", "after "+t.upper)
	case spatialOps[t.upper], temporalOps[t.upper]:
		left, right, err := p.two(t.upper)
		if err != nil {
			return nil, err
		}
		if spatialOps[t.upper] {
			return &Spatial{at, t.upper, left, right}, nil
		}
		return &Temporal{at, t.upper, left, right}, nil
	}
	return nil, p.wrong(t, "there are CASEI, ACCENTI, the S_ and T_ predicates, DATE, TIMESTAMP, INTERVAL, BBOX and the geometries", "there is no function %s", clip(t.text))
}

func (p *parser) two(op string) (left, right Expr, err *Error) {
	if left, err = p.sum(); err != nil {
		return nil, nil, err
	}
	if err = p.needSign(",", "between the two things that "+op+" compares"); err != nil {
		return nil, nil, err
	}
	if right, err = p.sum(); err != nil {
		return nil, nil, err
	}
	return left, right, p.needSign(")", "after "+op)
}
