package plates

import (
	"fmt"
	"math"
	"strconv"

	"tallybook/records"
	"tallybook/records/linkage"
)

// Explain fills in the reasons of a suggestion, where Match has not: it does
// so itself for a few thousand plates, and for more it would take more memory
// than there is use for.
func (r *Result) Explain(s *Suggestion) {
	if s.Fields == nil {
		s.Fields = r.FieldsIn(s, r.m.o.Feet)
	}
}

// ExplainAll fills in the reasons of all that is told of a plate.
func (r *Result) ExplainAll(p *PlateMatch) {
	if p.Best != nil {
		r.Explain(p.Best)
	}
	for i := range p.Others {
		r.Explain(&p.Others[i])
	}
}

// Explain fills in the reasons of a pair, where Duplicates has not.
func (p *Pairs) Explain(pair *Pair) {
	if pair.Fields == nil {
		pair.Fields = p.FieldsIn(pair, p.m.o.Feet)
	}
}

// FieldsIn gives the reasons of a suggestion in feet, inches and gallons a
// minute, or in metres, millimetres and litres a second.
func (r *Result) FieldsIn(s *Suggestion, feet bool) []FieldReason {
	return r.m.explain(r.Model, s.left, s.right, feet)
}

// FieldsIn gives the reasons of a pair, likewise.
func (p *Pairs) FieldsIn(pair *Pair, feet bool) []FieldReason {
	return p.m.explain(p.Model, pair.left, pair.right, feet)
}

// explain compares a pair once more and puts it in words. The weights add up
// to the pair's.
func (m *matcher) explain(model *linkage.Model, left, right int32, feet bool) []FieldReason {
	var roomL, r side
	l := m.left(left, &roomL)
	m.f.side(right, &r)
	j := newJudge(m.f, m.owners)
	j.begin(l)
	var which chosen
	p := j.pattern(l, &r, &which)
	var rare leftRarity
	own := int32(-1)
	if m.twins {
		own = left
	}
	m.r.left(l, own, m.b.grid, m.b.numbers, j.leftKeys, &rare)
	parts := model.Parts(p, nil)
	out := make([]FieldReason, 0, len(model.Fields))
	for field := range model.Fields {
		if model.Fields[field].Silent {
			continue
		}
		f := FieldReason{Name: fieldNames[field], Agreement: Missing}
		f.Left, f.Right = m.told(field, l, &r, &which, feet)
		if level := p.Level(field); level != missing {
			f.Agreement, f.Level = agreements[field][level], model.Fields[field].Levels[level]
			f.Weight = parts[field] + m.r.adjustOne(m.f, l, &r, &rare, p, &which, field)
		}
		f.Words = f.sentence(m.twins)
		out = append(out, f)
	}
	return out
}

// sentence is a reason in words.
func (f *FieldReason) sentence(twins bool) string {
	left, right := "the plate", "the record"
	if twins {
		left, right = "the one", "the other"
	}
	switch {
	case f.Agreement != Missing:
	case f.Left == "" && f.Right == "":
		return f.Name + ": neither says"
	case f.Left == "":
		return fmt.Sprintf("%s: %s does not say, %s says %s", f.Name, left, right, f.Right)
	case f.Right == "":
		return fmt.Sprintf("%s: %s says %s, %s does not say", f.Name, left, f.Left, right)
	default:
		return fmt.Sprintf("%s %s against %s: cannot be compared", f.Name, f.Left, f.Right)
	}
	says := "says little"
	switch {
	case f.Weight >= 0.05:
		says = fmt.Sprintf("speaks for it %.1f", f.Weight)
	case f.Weight <= -0.05:
		says = fmt.Sprintf("speaks against it %.1f", -f.Weight)
	}
	if f.Name == fieldNames[fieldPlace] {
		return fmt.Sprintf("place %s, %s: %s, %s", f.Left, f.Right, f.Level, says)
	}
	if f.Left == f.Right {
		return fmt.Sprintf("%s %s on both: %s", f.Name, f.Left, says)
	}
	return fmt.Sprintf("%s %s against %s: %s, %s", f.Name, f.Left, f.Right, f.Level, says)
}

// told gives what a field says on both sides. Of a place it tells how far the
// two lie apart, and how good they are.
func (m *matcher) told(field int, l, r *side, which *chosen, feet bool) (left, right string) {
	i, j := which.left[field], which.right[field]
	both := func(which int) (string, string) {
		return lengthText(l.values[which], feet), lengthText(r.values[which], feet)
	}
	switch field {
	case fieldPlace:
		if len(l.spots) == 0 || len(r.spots) == 0 {
			return placeText(l.spots), placeText(r.spots)
		}
		a, b := &l.spots[i], &r.spots[j]
		return distanceText(apartM(a, b), feet) + " apart", "good to " + distanceText(jointM(a, b), feet)
	case fieldNumber:
		return firstOr(l.numbers[:], i), firstOr(r.numbers[:], j)
	case fieldDate:
		return dateText(l.dates, i), dateText(r.dates, j)
	case fieldDepth:
		return lengthText(l.values[max(i, valueDepth)], feet), lengthText(r.values[max(j, valueDepth)], feet)
	case fieldCasing:
		return both(valueCasing)
	case fieldPump:
		return both(valuePump)
	case fieldStatic:
		return both(valueStatic)
	case fieldDiameter:
		return diameterText(l, i, feet), diameterText(r, j, feet)
	case fieldYield:
		return flowText(l.values[valueYield], feet), flowText(r.values[valueYield], feet)
	case fieldDriller:
		return m.nameText(l, i), m.nameText(r, j)
	case fieldOwner:
		return m.f.owners.text[l.owner], m.f.owners.text[r.owner]
	}
	return "", ""
}

func placeText(s []spot) string {
	if len(s) == 0 {
		return ""
	}
	return "a position"
}

func firstOr(all []string, i int) string {
	if all[i] != "" {
		return all[i]
	}
	for _, s := range all {
		if s != "" {
			return s
		}
	}
	return ""
}

func dateText(all [2]day, i int) string {
	if all[i] == 0 {
		i = 0
	}
	if all[i] == 0 {
		i = 1
	}
	return all[i].date().String()
}

func (m *matcher) nameText(s *side, i int) string {
	if s.names[i] == 0 {
		for k, id := range s.names {
			if id != 0 {
				i = k
				break
			}
		}
	}
	return m.f.crews.text[s.names[i]]
}

func diameterText(s *side, i int, feet bool) string {
	if i == 0 {
		i = valueDiameter
	}
	if s.values[i].Qualifier == records.Missing {
		i = valueOtherDiameter
	}
	if feet {
		return amountText(s.values[i], 25.4, 3, "in")
	}
	return amountText(s.values[i], 1, 0, "mm")
}

func lengthText(v records.DigestValue, feet bool) string {
	if feet {
		return amountText(v, metresPerFoot, 1, "ft")
	}
	return amountText(v, 1, 1, "m")
}

func flowText(v records.DigestValue, feet bool) string {
	if feet {
		return amountText(v, gpm, 2, "gpm")
	}
	return amountText(v, 1, 3, "L/s")
}

func distanceText(m float64, feet bool) string {
	unit, v := "m", m
	if feet {
		unit, v = "ft", m/metresPerFoot
	}
	switch {
	case v >= 9999.5 && feet:
		return strconv.FormatFloat(m/metresPerFoot/5280, 'f', 1, 64) + " mi"
	case v >= 9999.5:
		return strconv.FormatFloat(m/1000, 'f', 1, 64) + " km"
	}
	return strconv.FormatFloat(math.Round(v), 'f', 0, 64) + " " + unit
}

// amountText writes an amount in a unit of which one is so many base units,
// with at most so many decimals.
func amountText(v records.DigestValue, unit float64, decimals int, symbol string) string {
	number := func(x float64) string {
		scale := math.Pow(10, float64(decimals))
		x = math.Round(x/unit*scale) / scale
		return strconv.FormatFloat(x+0, 'f', -1, 64)
	}
	switch v.Qualifier {
	case records.Missing:
		return ""
	case records.About:
		return "~" + number(v.Value) + " " + symbol
	case records.LessThan:
		return "<" + number(v.Value) + " " + symbol
	case records.GreaterThan:
		return ">" + number(v.Value) + " " + symbol
	case records.Between:
		return number(v.Value) + " to " + number(v.High) + " " + symbol
	}
	return number(v.Value) + " " + symbol
}
