package draw

import (
	"testing"

	"pgregory.net/rapid"
)

func TestOccupiedAgainstNaive(t *testing.T) {
	box := rapid.Custom(func(t *rapid.T) rect {
		x, y := rapid.Float64Range(-300, 900).Draw(t, "x"), rapid.Float64Range(-300, 900).Draw(t, "y")
		return rect{x, y, x + rapid.Float64Range(0, 150).Draw(t, "w"), y + rapid.Float64Range(0, 150).Draw(t, "h")}
	})
	rapid.Check(t, func(t *rapid.T) {
		o := newOccupied()
		var taken []rect
		for _, b := range rapid.SliceOfN(box, 1, 80).Draw(t, "boxes") {
			free := true
			for _, x := range taken {
				free = free && !x.touches(b)
			}
			if got := o.free(b); got != free {
				t.Fatalf("%+v is free: %t, naive %t", b, got, free)
			}
			if free || len(taken)%3 == 0 {
				o.add(b)
				taken = append(taken, b)
			}
		}
	})
}
