package plates_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/plates"
)

// TestOddValues: whatever stands in records and on plates, probabilities are
// probabilities and reasons are words.
func TestOddValues(t *testing.T) {
	number := rapid.OneOf(rapid.Just(0.0), rapid.Just(1e300), rapid.Just(-5.0), rapid.Float64Range(0, 300), rapid.Just(math.NaN()), rapid.Just(math.Inf(1)))
	text := rapid.OneOf(rapid.Just(""), rapid.Just("?"), rapid.Just("????"), rapid.StringN(0, 60, 200), rapid.StringMatching(`[0-9?]{1,6}`))
	qualifier := rapid.Custom(func(t *rapid.T) records.Qualifier { return records.Qualifier(rapid.IntRange(0, 5).Draw(t, "q")) })
	date := rapid.Custom(func(t *rapid.T) records.Date {
		return records.Date{Year: rapid.IntRange(-1, 10_001).Draw(t, "year"), Month: rapid.IntRange(0, 12).Draw(t, "month"), Day: rapid.IntRange(0, 31).Draw(t, "day")}
	})
	value := rapid.Custom(func(t *rapid.T) records.DigestValue {
		return records.DigestValue{Value: number.Draw(t, "value"), High: number.Draw(t, "high"), Qualifier: qualifier.Draw(t, "qualifier")}
	})
	rapid.Check(t, func(t *rapid.T) {
		var source list
		for i := range rapid.IntRange(0, 8).Draw(t, "records") {
			c := records.Compared{ID: int64(i + 1), Lon: math.NaN(), Lat: math.NaN(), Number: text.Draw(t, "number"), Permit: text.Draw(t, "permit"),
				Completed: date.Draw(t, "completed"), OtherDate: date.Draw(t, "other"), Depth: value.Draw(t, "depth"), OtherDepth: value.Draw(t, "other depth"),
				Casing: value.Draw(t, "casing"), Yield: value.Draw(t, "yield"), Diameter: value.Draw(t, "diameter"),
				Driller: text.Draw(t, "driller"), Owner: text.Draw(t, "owner")}
			if rapid.Bool().Draw(t, "located") {
				c.Lon, c.Lat = rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.SampledFrom([]float64{-90, 0, 45, 90}).Draw(t, "lat")
				c.AccuracyM = rapid.SampledFrom([]float32{0, 5, 1e6}).Draw(t, "accuracy")
			}
			source = append(source, c)
		}
		var ps []*records.Plate
		for i := range rapid.IntRange(1, 4).Draw(t, "plates") {
			depth := value.Draw(t, "stamped depth")
			p := &records.Plate{ID: int64(i + 1), Number: text.Draw(t, "stamped number")}
			p.Stamped.Date, p.Stamped.Driller = date.Draw(t, "stamped date"), text.Draw(t, "stamped driller")
			p.Stamped.Depth = records.Amount[records.Depth]{Qualifier: depth.Qualifier, Value: records.Depth(depth.Value), High: records.Depth(depth.High)}
			if rapid.Bool().Draw(t, "seen") {
				p.Seen = []records.PlateSighting{{Located: true, Lon: 180, Lat: rapid.Float64Range(-90, 90).Draw(t, "seen lat"), Legible: text.Draw(t, "legible")}}
			}
			ps = append(ps, p)
		}
		r, err := plates.Match(t.Context(), ps, source, plates.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range r.Plates {
			all := m.Others
			if m.Best != nil {
				all = append(all, *m.Best)
			}
			for _, s := range all {
				if !(s.Probability >= 0 && s.Probability <= 1) || math.IsNaN(s.Weight) || len(s.Fields) == 0 {
					t.Fatalf("plate %d, well %d: probability %v, weight %v, %d reasons", m.PlateID, s.WellID, s.Probability, s.Weight, len(s.Fields))
				}
			}
		}
		d, err := plates.Duplicates(t.Context(), source, plates.Options{Owners: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range d.Pairs {
			if !(p.Probability >= 0 && p.Probability <= 1) || p.LeftID >= p.RightID {
				t.Fatalf("%d and %d: %v", p.LeftID, p.RightID, p.Probability)
			}
		}
	})
}
