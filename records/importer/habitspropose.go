package importer

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tallybook/records"
)

// conclude makes proposals of what was counted.
func (h *Habits) conclude(p *plan, delimiter byte) {
	h.Area = areaOf(h.place.pairs)
	h.concludeUnits(p)
	for i := range p.columns {
		c, k := &p.columns[i], &h.columns[i]
		switch {
		case c.kind == dateField && c.mapped:
			h.concludeDates(c, k)
		case c.kind == quantityField && c.mapped:
			h.concludeNumbers(c, k, delimiter)
			h.concludeNamed(c, k)
		}
	}
	h.concludePlaces(p)
}

func (h *Habits) propose(p Proposal) { h.Proposals = append(h.Proposals, p) }

// of says how many rows were looked at.
func (h *Habits) of() string {
	if h.Whole {
		return "of this file"
	}
	return fmt.Sprintf("of the first %d rows", h.Rows)
}

func (h *Habits) concludeDates(c *column, k *columnHabits) {
	if c.order == orderUnknown && k.twoWays > 0 {
		order, proof, fits := "", k.monthFirst, "month first"
		switch {
		case k.monthFirst > 0 && k.dayFirst == 0:
			order = "mdy"
		case k.dayFirst > 0 && k.monthFirst == 0:
			order, proof, fits = "dmy", k.dayFirst, "day first"
		}
		if order != "" {
			h.propose(Proposal{Kind: "order", Column: c.name, Rows: k.twoWays, value: order,
				Why: fmt.Sprintf("every date of column %q %s fits %s, and %d prove it (%s)", c.name, h.of(), fits, proof, order)})
		}
	}
	if c.pivot == 0 && k.shortYears > 0 {
		h.propose(Proposal{Kind: "pivot", Column: c.name, Rows: k.shortYears, value: strconv.Itoa(usualPivot),
			Why: fmt.Sprintf("%d dates of column %q have a year of two digits; if none is older than 1930, decide that 30 to 99 are 19.. and 00 to 29 are 20..", k.shortYears, c.name)})
	}
	if c.serials == 0 && 20*k.serial >= k.filled && k.serial > 0 { // else they are slips
		h.propose(Proposal{Kind: "serials", Column: c.name, Rows: k.serial, value: "1900",
			Why: fmt.Sprintf("%d texts of column %q look like a spreadsheet's day numbers; most spreadsheets count from 1900, some from 1904", k.serial, c.name)})
	}
}

// concludeNamed proposes the unit that is written behind numbers for those
// without, where nobody said one. Where one is said, people write another
// behind a number because it is another.
func (h *Habits) concludeNamed(c *column, k *columnHabits) {
	most := records.NoUnit
	for u, n := range k.named {
		if n > k.named[most] || n == k.named[most] && u < most {
			most = u
		}
	}
	n, same := k.named[most], k.named[c.unit]
	if most == records.NoUnit || most == c.unit || n < namedRows || n < 3*same {
		return
	}
	h.propose(Proposal{Kind: "unit", Column: c.name, Rows: k.filled - n, value: most.Symbol(),
		Why: fmt.Sprintf("%d texts of column %q have %s written behind the number and %d have %s, in which numbers alone are read: those may be %s too", n, c.name, most.Symbol(), same, c.unit.Symbol(), most.Symbol())})
}

// namedRows is how many texts must name a unit before it is proposed. Ours, no
// source.
const namedRows = 5

// concludeNumbers proposes decimal signs and codes for unknown: a number that
// recurs and lies beyond all others.
func (h *Habits) concludeNumbers(c *column, k *columnHabits, delimiter byte) {
	if c.decimal == "" && k.either > 0 && (k.commas > 0 || delimiter == ';') != (k.points > 0) {
		value, why := "point", fmt.Sprintf("%d of its numbers have a decimal point", k.points)
		if k.points == 0 {
			value, why = "comma", fmt.Sprintf("%d of its numbers have a decimal comma", k.commas)
		}
		h.propose(Proposal{Kind: "decimal", Column: c.name, Rows: k.either, value: value,
			Why: fmt.Sprintf("%d numbers of column %q could have a decimal comma or thousands parted by one; %s", k.either, c.name, why)})
	}
	low, high := 0.0, 0.0
	for i, v := range k.values {
		if i == 0 {
			low, high = v, v
		}
		low, high = min(low, v), max(high, v)
	}
	var codes []string
	for code := range k.codes {
		codes = append(codes, code)
	}
	slices.Sort(codes)
	for _, code := range codes {
		v, err := strconv.ParseFloat(code, 64)
		n := k.codes[code]
		zeroDepth := v == 0 && (c.field == "total_depth" || c.field == "casing.diameter" || c.field == "completed_depth")
		beyond := v < 0 && low >= 0 || v > 1.5*high
		if err != nil || len(k.values) < 10 || n < 3 || c.unknown[code] || !zeroDepth && !beyond {
			continue
		}
		h.propose(Proposal{Kind: "unknown", Column: c.name, Rows: n, value: code,
			Why: fmt.Sprintf("%s stands %d times in column %q, and all other numbers there lie from %s to %s: it may stand for unknown", code, n, c.name, shortDegrees(low), shortDegrees(high))})
	}
}

// concludePlaces proposes to mend swapped pairs and lost signs.
func (h *Habits) concludePlaces(p *plan) {
	if h.Area == nil || p.statedArea {
		return
	}
	counts := make(map[string]int64)
	for _, q := range h.place.pairs {
		if h.Area.contains(q[0], q[1]) {
			continue
		}
		if v, ok := h.Area.meant(q[0], q[1]); ok {
			for _, need := range v.needs() {
				counts[need]++
			}
		}
	}
	var mends, parts []string
	rows := int64(0)
	for _, m := range []struct{ kind, words string }{{mendSwap, "have longitude and latitude in each other's place"}, {mendSign, "have lost a sign"}} {
		if n := counts[m.kind]; n > 0 {
			mends = append(mends, m.kind)
			parts = append(parts, fmt.Sprintf("%d rows seem to %s", n, m.words))
			rows += n
		}
	}
	if len(mends) > 0 {
		h.propose(Proposal{Kind: "position", Rows: rows, mends: mends, area: h.Area,
			Why: strings.Join(parts, ", ") + ": mended so they would lie with the others, in " + h.Area.String()})
	}
}

// unitShare is the share of rows that must contradict a unit before another
// is proposed, and unitLeft what may still contradict that one. Ours, no
// source.
const (
	unitShare = 0.2
	unitLeft  = 0.02
	unitRows  = 20
)

// concludeUnits proposes another unit for a column of depths that is plainly not
// in the one that was said: where the parts of many holes are deeper than the
// holes, and would not be if one of the two were in feet instead of metres.
func (h *Habits) concludeUnits(p *plan) {
	total := slices.IndexFunc(p.depthColumns, func(i int) bool { return p.columns[i].field == "total_depth" })
	if total < 0 {
		return
	}
	t := &p.columns[p.depthColumns[total]]
	for k, i := range p.depthColumns {
		c := &p.columns[i]
		if k == total {
			continue
		}
		n, asSaid, partFeet, wholeMetres := 0, 0, 0, 0
		for _, line := range h.depths {
			part, whole := line[k], line[total]
			if part <= 0 || whole <= 0 {
				continue
			}
			n++
			count := func(bad bool, to *int) {
				if bad {
					*to++
				}
			}
			const slack = 1.02
			count(part > whole*slack, &asSaid)
			count(part*0.3048 > whole*slack, &partFeet)
			count(part > whole*feetInMetre*slack, &wholeMetres)
		}
		if n < unitRows || float64(asSaid) < unitShare*float64(n) {
			continue
		}
		switch {
		case c.unit == records.Metre && float64(partFeet) <= unitLeft*float64(n):
			h.proposeUnit(c, records.Foot, asSaid, n, t)
		case t.unit == records.Foot && float64(wholeMetres) <= unitLeft*float64(n):
			if !slices.ContainsFunc(h.Proposals, func(q Proposal) bool { return q.Kind == "unit" && q.Column == t.name }) {
				h.proposeUnit(t, records.Metre, asSaid, n, c)
			}
		}
	}
}

func (h *Habits) proposeUnit(c *column, u records.Unit, against, of int, beside *column) {
	h.propose(Proposal{Kind: "unit", Column: c.name, Rows: int64(of), value: u.Symbol(),
		Why: fmt.Sprintf("column %q is said to be in %s, and in %d of %d rows it does not go with column %q; in %s it would", c.name, c.unit.Symbol(), against, of, beside.name, u.Symbol())})
}
