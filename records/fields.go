package records

// One description of a record serves everything that walks its properties:
// writing and reading JSON, column names, differences between revisions. Each
// part of a Well has a visit method (schema.go) that names its properties in
// order to whatever implements fields.
type fields interface {
	text(name string, p *string)
	word(name string, p *string, list words)
	flag(name string, p **bool)
	whole(name string, p *int)
	date(name string, p *Date)
	position(known *bool, lon, lat *float64) // properties lon and lat, degrees WGS 84
	amount(f *amountField, p amountRef)
	rows(name string, r rowsRef)
	group(name string, g visitable)
	private(name string, g visitable)
}

type visitable interface{ visit(fields) }

// keeper is a part of a record that keeps what the model has no place for.
type keeper interface{ kept() *[]Member }

// amountField holds the property names of one quantity: base name, one name
// per unit that is read, and those of its qualifier and of what was given.
type amountField struct {
	base      string
	dimension Dimension
	names     []string // base_suffix for each unit of the dimension
	units     []Unit
	high      string
	qualifier string
	given     string
	givenUnit string
	anySign   bool // whether the quantity may be below zero

	// nameBit of each of the names above, for the reader.
	bits                                       []uint64
	highBit, qualifierBit, givenBit, givenUBit uint64
}

// signed marks a quantity that may be below zero.
func (f *amountField) signed() *amountField {
	f.anySign = true
	return f
}

// amountOf describes the quantity called base of dimension d. The property is
// base with the base unit's suffix; the other units' suffixes are read too.
func amountOf(base string, d Dimension) *amountField {
	f := &amountField{
		base: base, dimension: d,
		qualifier: base + "_qualifier",
		given:     base + "_given",
		givenUnit: base + "_given_unit",
	}
	if d == DimNone {
		f.names, f.units = []string{base}, []Unit{NoUnit}
		f.high = base + "_high"
	} else {
		f.units = d.Units()
		for _, u := range f.units {
			f.names = append(f.names, base+"_"+u.Suffix())
		}
		f.high = base + "_high_" + d.Base().Suffix()
	}
	for _, n := range f.names {
		f.bits = append(f.bits, nameBit(n))
	}
	f.highBit, f.qualifierBit = nameBit(f.high), nameBit(f.qualifier)
	f.givenBit, f.givenUBit = nameBit(f.given), nameBit(f.givenUnit)
	return f
}

// amountRef is an Amount of any type, seen as base units.
type amountRef interface {
	load() Amount[float64]
	store(Amount[float64])
}

func (a *Amount[T]) load() Amount[float64] {
	return Amount[float64]{Qualifier: a.Qualifier, Value: float64(a.Value), High: float64(a.High), Given: a.Given}
}

func (a *Amount[T]) store(v Amount[float64]) {
	*a = Amount[T]{Qualifier: v.Qualifier, Value: T(v.Value), High: T(v.High), Given: v.Given}
}

// rowsRef is a list of parts of any type.
type rowsRef interface {
	len() int
	at(i int) visitable
	blank() visitable // a new part that is in no list
	resize(n int)
	assign(parts []visitable) // copies of these parts become the list
}

type rowList[T any, P interface {
	*T
	visitable
}] struct{ p *[]T }

func (r rowList[T, P]) len() int           { return len(*r.p) }
func (r rowList[T, P]) at(i int) visitable { return P(&(*r.p)[i]) }
func (r rowList[T, P]) blank() visitable   { return P(new(T)) }
func (r rowList[T, P]) resize(n int) {
	if n == 0 {
		*r.p = nil
		return
	}
	*r.p = make([]T, n)
}

func (r rowList[T, P]) assign(parts []visitable) {
	if len(parts) == 0 {
		*r.p = nil
		return
	}
	out := make([]T, len(parts))
	for i, p := range parts {
		out[i] = *p.(P)
	}
	*r.p = out
}

func rowsOf[T any, P interface {
	*T
	visitable
}](p *[]T) rowsRef {
	return rowList[T, P]{p}
}
