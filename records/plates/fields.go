package plates

import "tallybook/records/linkage"

// The fields, in the order of their bits in a pattern.
const (
	fieldStanding  = iota // silent: how far apart, whatever the accuracy
	fieldPrecision        // silent: how good the two positions are together
	fieldPlace
	fieldNumber
	fieldDate
	fieldDriller
	fieldDepth
	fieldCasing
	fieldPump
	fieldStatic
	fieldDiameter
	fieldYield
	fieldOwner
	fieldCount
)

// Levels of the silent field: wells of one street, of one neighbourhood, of one
// ground (our own, no source).
const (
	standingNext = iota
	standingStreet
	standingAround
	standingGround
	standingFar
)

var standingM = [...]float64{standingNext: 100, standingStreet: 200, standingAround: 400, standingGround: 1000}

var fieldNames = [fieldCount]string{"standing", "precision", "place", "number", "date", "driller", "depth", "casing", "pump", "static", "diameter", "yield", "owner"}

var lengthLevels = []string{"the same", "within what is rounded", "close", "one digit off", "as if in the other unit", "another"}

// agreements sort the levels of each field into agreeing, near and differing.
var agreements = [fieldCount][]string{
	fieldPlace:    {Agrees, Near, Near, Differs, Differs},
	fieldNumber:   {Agrees, Near, Near, Near, Differs},
	fieldDate:     {Agrees, Agrees, Agrees, Near, Near, Near, Differs},
	fieldDepth:    {Agrees, Near, Near, Near, Near, Differs},
	fieldCasing:   {Agrees, Near, Near, Near, Near, Differs},
	fieldPump:     {Agrees, Near, Near, Near, Near, Differs},
	fieldStatic:   {Agrees, Near, Near, Near, Near, Differs},
	fieldDiameter: {Agrees, Near, Differs},
	fieldYield:    {Agrees, Near, Near, Near, Near, Near, Differs},
	fieldDriller:  {Agrees, Near, Differs},
	fieldOwner:    {Agrees, Near, Differs},
}

// fieldsOf lists what is compared and what depends on what: see the package's
// own words.
func fieldsOf() []linkage.Field {
	follows := []int{0, 0, 0, 2, 1, 2}
	return []linkage.Field{
		fieldStanding:  {Name: "standing", Silent: true, Levels: []string{"to 100 m", "to 200 m", "to 400 m", "to 1000 m", "apart"}, Classes: []int{1, 2, 3, 4, 0}, Sum: true},
		fieldPrecision: {Name: "precision", Silent: true, Levels: []string{"to 15 m", "to 40 m", "to 120 m", "worse"}, Classes: []int{0, 1, 2, 3}},
		fieldPlace: {Name: "place", Levels: []string{"within their accuracy", "within twice their accuracy", "within four times their accuracy", "within ten times their accuracy", "far apart"},
			GivenM: []int{fieldPrecision}, GivenU: []int{fieldPrecision}},
		fieldNumber: {Name: "number", Levels: []string{"the same", "fits what was read", "one digit misread or two exchanged", "one digit off", "another"},
			GivenU: []int{fieldStanding}, Classes: []int{1, 1, 1, 1, 0}},
		fieldDate: {Name: "date", Levels: []string{"the same day", "the same month, as far as said", "the same year, as far as said", "within some weeks", "as if miswritten", "within a year", "another"},
			GivenU: []int{fieldStanding, fieldNumber}, Classes: []int{1, 1, 0, 1, 0, 0, 0}},
		fieldDriller:  {Name: "driller", Levels: []string{"the same", "nearly the same", "another"}, GivenU: []int{fieldStanding, fieldDate}},
		fieldDepth:    {Name: "depth", Levels: lengthLevels, GivenU: []int{fieldStanding}, Classes: follows, MissingClass: 2},
		fieldCasing:   {Name: "casing", Levels: lengthLevels, GivenM: []int{fieldDepth}, GivenU: []int{fieldStanding, fieldDepth}},
		fieldPump:     {Name: "pump", Levels: lengthLevels, GivenM: []int{fieldDepth}, GivenU: []int{fieldDepth}},
		fieldStatic:   {Name: "static", Levels: lengthLevels, GivenM: []int{fieldDepth}, GivenU: []int{fieldStanding, fieldDepth}},
		fieldDiameter: {Name: "diameter", Levels: []string{"the same", "nearly the same", "another"}},
		fieldYield:    {Name: "yield", Levels: []string{"the same", "nearly the same", "fits the bound", "within twofold", "one digit off", "as if in another unit", "another"}},
		fieldOwner:    {Name: "owner", Levels: []string{"the same", "nearly the same", "another"}, GivenU: []int{fieldStanding}},
	}
}

// What the tables start from: how often a plate that is the well's own agrees
// so far, and how often that of another does. They are judgement (common
// practice, no source), count for few pairs, and are soon outweighed by the
// office's own.
var startM = [fieldCount][]float64{
	fieldStanding:  {0.9, 0.05, 0.03, 0.01, 0.01},
	fieldPrecision: {0.25, 0.25, 0.25, 0.25},
	fieldPlace:     {0.70, 0.20, 0.06, 0.02, 0.02},
	fieldNumber:    {0.70, 0.05, 0.04, 0.03, 0.18},
	fieldDate:      {0.62, 0.08, 0.06, 0.10, 0.05, 0.05, 0.04},
	fieldDepth:     {0.72, 0.08, 0.06, 0.04, 0.03, 0.07},
	fieldCasing:    {0.66, 0.14, 0.07, 0.03, 0.03, 0.07},
	fieldPump:      {0.60, 0.12, 0.08, 0.03, 0.03, 0.14},
	fieldStatic:    {0.50, 0.18, 0.16, 0.03, 0.03, 0.10},
	fieldDiameter:  {0.84, 0.12, 0.04},
	fieldYield:     {0.60, 0.12, 0.06, 0.08, 0.02, 0.03, 0.09},
	fieldDriller:   {0.72, 0.18, 0.10},
	fieldOwner:     {0.55, 0.20, 0.25},
}

var startU = [fieldCount][]float64{
	fieldStanding:  {0.0002, 0.0005, 0.001, 0.003, 0.9953},
	fieldPrecision: {0.25, 0.25, 0.25, 0.25},
	fieldPlace:     {0.00005, 0.0002, 0.0006, 0.003, 0.99615},
	fieldNumber:    {0.00002, 0.00005, 0.0002, 0.001, 0.99873},
	fieldDate:      {0.0002, 0.002, 0.02, 0.008, 0.004, 0.03, 0.9358},
	fieldDepth:     {0.006, 0.02, 0.08, 0.03, 0.01, 0.854},
	fieldCasing:    {0.03, 0.08, 0.14, 0.04, 0.01, 0.70},
	fieldPump:      {0.01, 0.03, 0.09, 0.03, 0.01, 0.83},
	fieldStatic:    {0.03, 0.09, 0.25, 0.03, 0.02, 0.58},
	fieldDiameter:  {0.60, 0.15, 0.25},
	fieldYield:     {0.07, 0.10, 0.05, 0.20, 0.03, 0.02, 0.53},
	fieldDriller:   {0.05, 0.03, 0.92},
	fieldOwner:     {0.0005, 0.003, 0.9965},
}

// A casing or a pump whose depth was written in the other unit mostly was too.
var startUnit = []float64{0.10, 0.04, 0.04, 0.02, 0.70, 0.10}

// startPlates is where learning starts for plates; fields without owner.
func startPlates() *linkage.Model {
	m := startModel(fieldOwner)
	m.Share = 0.85
	return m
}

// startRecords is where learning starts for records of one well. Two of them
// mostly bear different numbers, and agree better in what was copied.
func startRecords(owners bool) *linkage.Model {
	n := fieldOwner
	if owners {
		n = fieldCount
	}
	m := startModel(n)
	for _, row := range m.M[fieldNumber] {
		copy(row, []float64{0.45, 0.01, 0.03, 0.03, 0.48})
	}
	m.Share = 0.02
	return m
}

func startModel(fields int) *linkage.Model {
	m := &linkage.Model{Fields: fieldsOf()[:fields]}
	for i := range m.Fields {
		yes, no := linkage.Table{}, linkage.Table{}
		for g := range m.RowsM(i) {
			row := startM[i]
			if g == 1 && i != fieldPlace { // what depends on the depth: its class 1
				row = startUnit
			}
			yes = append(yes, append([]float64(nil), row...))
		}
		for range m.RowsU(i) {
			no = append(no, append([]float64(nil), startU[i]...))
		}
		m.M, m.U = append(m.M, yes), append(m.U, no)
	}
	return m
}
