package server

import (
	"math"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/figuring"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// loadView is what to take along.
type loadView struct {
	Table    listing
	Notes    []string
	Cautions []string
}

// loadViewOf sets the load for the middle beside that for the 80 % end.
func loadViewOf(s *desk.Scouting, u say.System) (*loadView, error) {
	if s.Hole == nil {
		return nil, nil
	}
	spare, _ := s.Practice.Spares.Number()
	spares := scout.Spares{Rods: int(spare), Sticks: int(spare)}
	l, err := scout.LoadOutOf(s.Hole, &s.Rates, spares)
	if err != nil {
		return nil, err
	}
	v := &loadView{Cautions: l.Upper.Cautions}
	v.Table = listing{Heads: heads("to load", "#for the middle", "#to be safe", "why")}
	used := map[string]bool{}
	middle := map[string]figuring.Line{}
	for _, line := range l.Middle.Lines {
		middle[line.Item] = line
	}
	for _, line := range append(append([]figuring.Line(nil), l.Upper.Lines...), l.Middle.Lines...) {
		if used[line.Item] {
			continue
		}
		used[line.Item] = true
		first := ""
		if m, ok := middle[line.Item]; ok {
			first = lineQuantity(&m, u)
		}
		v.Table.add("", cell{Text: capital(line.Item)}, cell{Text: first}, cell{Text: lineQuantity(&line, u)}, cell{Text: line.Why})
	}
	if len(v.Table.Rows) == 0 {
		return nil, nil
	}
	v.Notes = append(v.Notes, "To be safe: only one hole in ten wants more of it. Each line is worked by itself.")
	if l.Upper.AtLimit {
		v.Notes = append(v.Notes, "The records know no end to the depth: rods are counted for the greatest depth asked for.")
	}
	return v, nil
}

func lineQuantity(l *figuring.Line, u say.System) string {
	switch l.Unit {
	case records.NoUnit:
		return u.Figure(l.Quantity, 0)
	case records.Metre:
		return u.Metres(l.Quantity)
	case records.Litre:
		return volumeWords(records.Volume(math.Round(l.Quantity)), u)
	}
	return quantityWords(l.Quantity, l.Unit, u)
}
