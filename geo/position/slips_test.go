package position_test

import (
	"strings"
	"testing"

	"tallybook/geo/position"
)

func TestSlips(t *testing.T) {
	newEngland := position.Extent{West: -73.5, South: 41, East: -67, North: 47.5}
	tasmania := position.Extent{West: 144, South: -44, East: 149, North: -39}
	for _, c := range []struct {
		text string
		area position.Extent
		says []string
		at   position.LonLat // of the first
	}{
		{"43.2, -71.5", newEngland, nil, position.LonLat{}},
		{"43.2, 71.5", newEngland, []string{"longitude may lack its minus sign"}, ll(43.2, -71.5)},
		{"-71.5, 43.2", newEngland, []string{"exchanged"}, ll(43.2, -71.5)},
		{"71.5, 43.2", newEngland, []string{"exchanged and a sign wrong"}, ll(43.2, -71.5)},
		{"-43.2, 71.5", newEngland, []string{"both signs"}, ll(43.2, -71.5)},
		{"-43.2, -71.5", newEngland, []string{"latitude may have a minus sign too many"}, ll(43.2, -71.5)},
		{"42, 147", tasmania, []string{"latitude may lack its minus sign"}, ll(-42, 147)},
		{"10, 10", newEngland, nil, position.LonLat{}},
		// 43.2 N 71.5 W in zone 19 (computed check value), one zone off.
		{"18N 296887.13 4786059.23", newEngland, []string{"the zone may be 19N"}, ll(43.2, -71.5)},
		{"20N 296887.13 4786059.23", newEngland, []string{"the zone may be 19N"}, ll(43.2, -71.5)},
		{"19 south 296887.13 4786059.23", newEngland, []string{"the zone may be 19N"}, ll(43.2, -71.5)},
	} {
		r, err := position.Parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		slips := r.Slips(c.area)
		if len(slips) != len(c.says) {
			t.Errorf("%q: %v", c.text, slips)
			continue
		}
		for i, s := range slips {
			if !strings.Contains(s.What, c.says[i]) || !c.area.Contains(s.At) {
				t.Errorf("%q: slip %d is %q at %v", c.text, i, s.What, s.At)
			}
		}
		if len(slips) > 0 {
			if d, _ := position.Distance(slips[0].At, c.at); !(d <= 0.01) {
				t.Errorf("%q: first slip lies at %v", c.text, slips[0].At)
			}
		}
	}
}

func TestExtentContains(t *testing.T) {
	pacific := position.Extent{West: 170, South: -50, East: -170, North: 0}
	for _, c := range []struct {
		at   position.LonLat
		want bool
	}{
		{ll(-10, 175), true}, {ll(-10, 180), true}, {ll(-10, -180), true}, {ll(-10, -175), true}, {ll(-10, 170), true},
		{ll(-10, 0), false}, {ll(-10, 169.9), false}, {ll(-10, -169.9), false}, {ll(1, 175), false},
	} {
		if got := pacific.Contains(c.at); got != c.want {
			t.Errorf("%v: %v", c.at, got)
		}
	}
}
