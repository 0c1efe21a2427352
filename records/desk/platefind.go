package desk

import (
	"context"
	"strings"

	"tallybook/records"
)

// mostNumbers is how many answers to a number are given.
const mostNumbers = 40

// longestNumber is the longest number that is looked for, bytes.
const longestNumber = 120

// NumberRead is what a number leads to that was read in the field.
type NumberRead struct {
	// Well or Plate is the one record that it leads to; 0 where there is none
	// or there are several. A plate that is linked leads to its well.
	Well, Plate int64
	Matches     []records.Match
	More        bool // there are more matches
}

// ReadNumber finds what a number leads to: that of a plate, that of a well, or
// the public name of either. '?' stands for a digit that could not be read.
func (d *Desk) ReadNumber(ctx context.Context, actor records.Actor, text string) (*NumberRead, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, records.Errorf(records.Invalid, "type the number on the plate, with ? for each digit that cannot be read")
	}
	if len(text) > longestNumber {
		return nil, records.Errorf(records.Invalid, "that is longer than any number on a plate")
	}
	return look(ctx, d, actor, func(v records.StoreView) (*NumberRead, error) {
		out := &NumberRead{}
		name := strings.ToLower(text)
		id, err := v.WellIDByUID(ctx, name)
		if err == nil {
			out.Well = id
			return out, nil
		} else if records.CodeOf(err) != records.NotFound {
			return nil, err
		}
		if id, err = v.PlateIDByUID(ctx, name); err == nil {
			p, err := v.Plate(ctx, id)
			if err != nil {
				return nil, err
			}
			if out.Well = p.WellID; out.Well == 0 {
				out.Plate = id
			}
			return out, nil
		} else if records.CodeOf(err) != records.NotFound {
			return nil, err
		}
		matches, err := v.NumbersLike(ctx, text, mostNumbers+1)
		if err != nil {
			return nil, err
		}
		if len(matches) > mostNumbers {
			matches, out.More = matches[:mostNumbers], true
		}
		out.settle(text, matches)
		return out, nil
	})
}

// settle chooses the one record that is meant, if there is one: the one that
// has the number to the digit, or the only one that it may be.
func (n *NumberRead) settle(text string, matches []records.Match) {
	// A plate and the well that it is linked to are one answer.
	type target struct{ well, plate int64 }
	seen := map[target]bool{}
	exact := map[target]bool{}
	for _, m := range matches {
		to := target{well: m.WellID}
		if m.WellID == 0 {
			to.plate = m.PlateID
		}
		if !seen[to] {
			seen[to] = true
			n.Matches = append(n.Matches, m)
		}
		if !strings.Contains(text, "?") && sameNumber(m.Text, text) {
			exact[to] = true
		}
	}
	if len(exact) == 0 && !n.More {
		exact = seen
	}
	if len(exact) != 1 {
		return
	}
	for to := range exact {
		n.Well, n.Plate = to.well, to.plate
	}
}

// sameNumber compares as the search does: without spaces, hyphens, stops and
// the case of letters.
func sameNumber(a, b string) bool {
	return strings.EqualFold(bareNumber.Replace(a), bareNumber.Replace(b))
}

// NumbersLike is the search for numbers alone, for those who look for a number
// of which not every digit could be read.
func (d *Desk) NumbersLike(ctx context.Context, actor records.Actor, number string, limit int) ([]records.Match, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]records.Match, error) { return v.NumbersLike(ctx, number, limit) })
}
