package records

import (
	"slices"
	"sync"
)

// recordPaths are the fields of a record by their paths without units and rows.
type recordPaths struct {
	all         map[string]bool
	texts       map[string]bool
	textOrder   []string
	amounts     map[string]Dimension
	amountOrder []string
}

// notCorrected are texts that stay as they were written, or by which a record
// is known.
var notCorrected = map[string]bool{
	"uid": true, "strata.description": true, "coordinates_given": true, "datum": true, "strata.material": true,
	"number": true, "permit_number": true,
}

var pathsOfRecord = sync.OnceValue(func() *recordPaths {
	p := &pathLister{out: &recordPaths{all: map[string]bool{}, texts: map[string]bool{}, amounts: map[string]Dimension{}}}
	(&Well{}).visit(p)
	return p.out
})

func (p *recordPaths) textNames() []string { return slices.Clone(p.textOrder) }

// pathLister lists the fields of a record.
type pathLister struct {
	skipper
	out    *recordPaths
	prefix string
	hidden bool
}

func (p *pathLister) text(name string, _ *string) {
	path := p.prefix + name
	p.out.all[path] = true
	if !p.hidden && !notCorrected[path] && !p.out.texts[path] {
		p.out.texts[path] = true
		p.out.textOrder = append(p.out.textOrder, path)
	}
}

func (p *pathLister) word(name string, s *string, _ words) { p.text(name, s) }
func (p *pathLister) flag(name string, _ **bool)           { p.out.all[p.prefix+name] = true }
func (p *pathLister) whole(name string, _ *int)            { p.out.all[p.prefix+name] = true }
func (p *pathLister) date(name string, _ *Date)            { p.out.all[p.prefix+name] = true }

func (p *pathLister) amount(f *amountField, _ amountRef) {
	path := p.prefix + f.base
	p.out.all[path] = true
	if f.dimension != DimNone {
		p.out.amounts[path] = f.dimension
		p.out.amountOrder = append(p.out.amountOrder, path)
	}
}

func (p *pathLister) rows(name string, r rowsRef) {
	p.out.all[name] = true // whether there are any can be asked of every list
	if !typedSkips[name] {
		p.within(name, r.blank())
	}
}

func (p *pathLister) group(name string, g visitable) {
	if !typedSkips[name] {
		p.within(name, g)
	}
}

// private things are never changed for many at once.
func (p *pathLister) private(string, visitable) {}

func (p *pathLister) within(name string, g visitable) {
	outer := p.prefix
	p.prefix += name + "."
	g.visit(p)
	p.prefix = outer
}
