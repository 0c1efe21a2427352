package predict_test

import (
	"context"
	"fmt"
	"math"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// Depths to bedrock, invented, falling to the east: a site in the middle.
func ExampleCalibrate() {
	projection := position.NewTransverseMercator(10, 0.9996, 500000, 0, position.WGS84())
	row := func(i int) predict.Observation {
		east, north := float64(i%20), float64(i/20)
		at := position.LonLat{Lon: 10 + 0.002*east, Lat: 50 + 0.0013*north}
		o := predict.Observation{At: at, Value: 5 + east, Year: math.NaN(), Key: uint64(i + 1)}
		if i%9 == 0 { // these holes stopped short of bedrock
			o.Value, o.Bound = o.Value-2, predict.GreaterThan
		}
		o.XM, o.YM = projection.Forward(at)
		return o
	}
	obs, err := predict.NewObservations(400, row, projection, predict.ObservationOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	model, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	estimate, err := model.At(predict.At(10.0211, 50.0122), predict.LeaveOut{})
	if err != nil {
		fmt.Println(err)
		return
	}
	best := estimate.Best()
	fmt.Printf("about %.0f m; %v\n", best.Median(), estimate.Skill.Verdict)
	fmt.Printf("%d wells voted, %d of all that were used say a limit\n", estimate.Basis.Voters, estimate.Basis.Bounds)
	// Output:
	// about 16 m; the neighbours tell
	// 32 wells voted, 12 of all that were used say a limit
}
