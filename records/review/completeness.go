package review

import (
	"context"
	"fmt"
	"math"
	"slices"

	"tallybook/records"
)

// thing is something that a record may hold.
type thing struct {
	name string
	has  func(d *records.Digest) bool
}

func known(v records.DigestValue) bool { return v.Qualifier != records.Missing }

func is32(v float32) bool { return v == v }

// things are what is counted, in the order in which they are shown.
var things = []thing{
	{"position", func(d *records.Digest) bool { return !math.IsNaN(d.Lon) }},
	{"position_accuracy", func(d *records.Digest) bool { return d.AccuracyM > 0 }},
	{"date", func(d *records.Digest) bool { return d.Year != 0 }},
	{"purpose", func(d *records.Digest) bool { return d.Purpose != 0 }},
	{"total_depth", func(d *records.Digest) bool { return known(d.TotalDepth) }},
	{"log_of_strata", func(d *records.Digest) bool { return d.Flags&records.HasStrata != 0 }},
	{"depth_to_bedrock", func(d *records.Digest) bool { return known(d.Bedrock) }},
	{"casing", func(d *records.Digest) bool { return is32(d.CasingM) }},
	{"water_strikes", func(d *records.Digest) bool { return is32(d.StrikesM[0]) }},
	{"yield", func(d *records.Digest) bool { return known(d.Yield) }},
	{"static_level", func(d *records.Digest) bool { return is32(d.StaticM) }},
	{"ground_elevation", func(d *records.Digest) bool { return is32(d.GroundM) }},
	{"setting", func(d *records.Digest) bool { return d.Setting != 0 }},
	{"rock_unit", func(d *records.Digest) bool { return d.Rock != 0 }},
	{"plate", func(d *records.Digest) bool { return d.Flags&records.HasPlate != 0 }},
}

// completeness counts by decade how many records hold each thing. Records
// without a date stand in a row of their own.
func completeness(_ context.Context, in *Input) (*Answer, error) {
	a := &Answer{Part: "completeness"}
	a.figure("wells", float64(len(in.Rows)))
	a.figure("wells_on_record", float64(in.Picture.Len()))
	if len(in.Rows) == 0 {
		a.TooFew = "no well is chosen"
		return a, nil
	}
	const undated = math.MinInt
	counts := map[int][]int{} // by decade: all, then each thing
	for _, r := range in.Rows {
		d := in.Filter.Digest(r)
		decade := undated
		if d.Year != 0 {
			decade = int(math.Floor(float64(d.Year)/10)) * 10
		}
		c := counts[decade]
		if c == nil {
			c = make([]int, len(things)+1)
			counts[decade] = c
		}
		c[0]++
		for i := range things {
			if things[i].has(&d) {
				c[i+1]++
			}
		}
	}
	decades := make([]int, 0, len(counts))
	for d := range counts {
		decades = append(decades, d)
	}
	slices.Sort(decades)
	if len(decades) > 0 && decades[0] == undated {
		decades = append(decades[1:], undated)
	}
	t := Table{Name: "by_decade", Columns: []string{"thing", "decade", "records", "with_it", "share"}}
	all := Table{Name: "all", Columns: []string{"thing", "records", "with_it", "share"}}
	for i := range things {
		total := 0
		for _, d := range decades {
			c := counts[d]
			word := "undated"
			if d != undated {
				word = fmt.Sprintf("%ds", d)
			}
			total += c[i+1]
			t.Add(T(things[i].name), T(word), I(c[0]), I(c[i+1]), N(float64(c[i+1])/float64(c[0])))
		}
		all.Add(T(things[i].name), I(len(in.Rows)), I(total), N(float64(total)/float64(len(in.Rows))))
	}
	a.Tables = []Table{t, all}
	return a, nil
}
