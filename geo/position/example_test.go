package position_test

import (
	"errors"
	"fmt"

	"tallybook/geo/position"
)

func ExampleParse() {
	for _, text := range []string{
		"43°12′N 71°30′W",
		"19N 296887 4786059",
		"43.2 N, 71.5 N",
		"-101.5, 43.2",
	} {
		reading, err := position.Parse(text)
		var problem *position.ParseError
		switch {
		case errors.As(err, &problem) && problem.Suggest != nil:
			fmt.Println("refused, proposing", problem.Suggest)
		case err != nil:
			fmt.Println("refused:", problem.Problem)
		default:
			fmt.Printf("%v (%v, to %.0f m)\n", reading.At, reading.Form, reading.PrecisionM)
		}
	}
	// Output:
	// 43.200000, -71.500000 (degrees and minutes, to 1852 m)
	// 43.199998, -71.500001 (UTM, to 1 m)
	// refused: two latitudes are given
	// refused, proposing 43.200000, -101.500000
}

func ExamplePlane() {
	site := position.LonLat{Lon: -71.5, Lat: 43.2}
	plane := position.NewPlane(site)
	x, y := plane.ToXY(position.LonLat{Lon: -71.495, Lat: 43.205})
	fmt.Printf("%.1f m east, %.1f m north\n", x, y)
	// Output:
	// 406.3 m east, 555.5 m north
}
