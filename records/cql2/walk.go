package cql2

// parts are what an expression is made of, in the order of the text.
func parts(x Expr) []Expr {
	switch x := x.(type) {
	case *And:
		return x.Args
	case *Or:
		return x.Args
	case *Not:
		return []Expr{x.Arg}
	case *Compare:
		return []Expr{x.Left, x.Right}
	case *Like:
		return []Expr{x.Value, x.Pattern}
	case *Between:
		return []Expr{x.Value, x.Low, x.High}
	case *In:
		return append([]Expr{x.Value}, x.List...)
	case *IsNull:
		return []Expr{x.Value}
	case *Spatial:
		return []Expr{x.Left, x.Right}
	case *Temporal:
		return []Expr{x.Left, x.Right}
	case *Interval:
		return []Expr{x.From, x.To}
	case *Fold:
		return []Expr{x.Value}
	case *Sum:
		return []Expr{x.Left, x.Right}
	case *Minus:
		return []Expr{x.Value}
	}
	return nil
}

// Walk calls fn for a filter and all that it is made of.
func Walk(x Expr, fn func(Expr)) {
	fn(x)
	for _, p := range parts(x) {
		Walk(p, fn)
	}
}

// depth is how many things stand in each other.
func depth(x Expr) int {
	most := 0
	for _, p := range parts(x) {
		most = max(most, depth(p))
	}
	return most + 1
}
