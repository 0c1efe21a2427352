package draw_test

import (
	"math"
	"strings"

	"tallybook/records"
	"tallybook/records/lithology"
	"tallybook/server/draw"
)

func testVocab() *lithology.Vocabulary { return lithology.Default() }

func ft(v float64) records.Amount[records.Depth] {
	return records.Of(records.Depth(records.Foot.ToBase(v)))
}

func aboutFt(v float64) records.Amount[records.Depth] {
	return records.Roughly(records.Depth(records.Foot.ToBase(v)))
}

func gpm(v float64) records.Amount[records.Flow] {
	return records.Of(records.Flow(records.GallonPerMinute.ToBase(v)))
}

func in(v float64) records.Amount[records.Diameter] {
	return records.Of(records.Diameter(v * 25.4))
}

func stratum(top, bottom float64, words string) records.Stratum {
	return records.Stratum{Top: ft(top), Bottom: ft(bottom), Description: words}
}

func pickFt(v float64) records.Pick {
	return records.Pick{Depth: ft(v), Source: records.FromStrata, Why: "the rock below it goes on to the bottom"}
}

func yes() *bool { b := true; return &b }

// invented gives wells that nobody drilled, each with something that is hard
// to draw.
func invented() map[string]*records.Well {
	schist := &records.Well{
		UID: "w-schist", Number: "HT-0731", Purpose: "domestic", Completed: records.Date{Year: 2011, Month: 6, Day: 3},
		TotalDepth: ft(385), StaticLevel: ft(24), Yield: gpm(1.5), StrikesAs: "running_total",
		Strata: []records.Stratum{
			stratum(0, 12, "brown sand, some gravel"), stratum(12, 16, "ledge (not bedrock)"),
			{Top: ft(16), Bottom: aboutFt(58), Description: "grey stony clay, tight, wet from 40", Water: "wet"},
			{Top: aboutFt(58), Bottom: ft(200), Description: "schist, rusty seams"},
			stratum(200, 214, "soft zone, broken rock"), stratum(214, 385, "granite, hard, pink and black"),
		},
		Bores:   []records.Bore{{From: ft(0), To: ft(80), Diameter: in(10)}, {From: ft(80), To: ft(385), Diameter: in(6)}},
		Casing:  []records.Casing{{From: ft(-1.5), To: ft(80), Diameter: in(6.625), Material: "steel", DriveShoe: yes()}},
		Grout:   []records.Grout{{From: ft(0), To: ft(80), Material: "neat_cement"}},
		Strikes: []records.Strike{{Depth: ft(207), Flow: gpm(1)}, {Depth: ft(340), Flow: gpm(1.5)}},
		Pump:    records.Pump{SetDepth: ft(360)},
		Place:   records.Place{Elevation: records.Of(records.Height(212.4)), VertDatum: "NAVD 88"},
	}
	for i, minutes := range []float64{4, 5, 9, 14, 16, 15, 18, 17, 19, 16, 9, 15, 21, 24, 23, 22, 25, 21, 24} {
		from := float64(i) * 20
		schist.Rods = append(schist.Rods, records.Rod{Number: i + 1, From: ft(from), To: ft(math.Min(from+20, 385)),
			Time: records.Of(records.Minutes(minutes))})
	}

	deep := &records.Well{
		UID: "w-deep", Number: "HT-1502", Purpose: "public_supply", Completed: records.Date{Year: 2019},
		TotalDepth: ft(1500), StaticLevel: ft(212), Yield: records.Under(records.Flow(records.GallonPerMinute.ToBase(1))), StrikesAs: "gain",
		Strata: []records.Stratum{
			stratum(0, 0.5, "black loam"), stratum(0.5, 1, "sand"), stratum(1, 96, "boulders & clay, hard going, set temporary casing twice"),
			stratum(96, 640, "granite"), stratum(640, 640.5, "mud seam"), stratum(640.5, 1180, "granite, grey, very hard"),
			stratum(1180, 1181, "quartz vein, water"), stratum(1181, 1500, "gneiss, hard"),
		},
		Casing: []records.Casing{
			{From: ft(-2), To: ft(40), Diameter: in(12), Material: "steel"},
			{From: ft(-2), To: ft(130), Diameter: in(8), Material: "steel", DriveShoe: yes()},
		},
		Bores:   []records.Bore{{From: ft(130), To: ft(700), Diameter: in(8)}, {From: ft(700), To: ft(1500), Diameter: in(6)}},
		Grout:   []records.Grout{{From: ft(0), To: ft(40), Material: "neat_cement"}, {From: ft(0), To: ft(130), Material: "bentonite_slurry"}},
		Strikes: []records.Strike{{Depth: ft(640), Flow: gpm(0.25)}, {Depth: ft(1180.5), Flow: records.Under(records.Flow(records.GallonPerMinute.ToBase(1)))}},
		Place:   records.Place{Elevation: records.Of(records.Height(251)), VertDatum: "NAVD 88"},
	}

	seams := &records.Well{UID: "w-seams", Number: "HT-0040", Purpose: "domestic", Completed: records.Date{Year: 1987},
		TotalDepth: ft(160), StaticLevel: records.Roughly(records.Depth(9)), Yield: gpm(40)}
	kinds := []string{"blue clay", "fine sand", "brown clay", "gravel", "hardpan", "sand and gravel, water", "till", "silt"}
	at := 0.0
	for i := range 40 {
		thick := []float64{0.5, 1, 2, 0.5, 3, 1.5, 5, 0.5}[i%8]
		if i >= 32 {
			kinds = []string{"rotten rock", "slate", "limestone with streaks of shale", "shale", "sandstone", "slate", "limestone", "dolomite"}
			thick *= 4
		}
		seams.Strata = append(seams.Strata, stratum(at, at+thick, kinds[i%8]))
		at += thick
	}
	seams.Screens = []records.Screen{{From: ft(38), To: ft(48), Slot: in(0.02), Material: "stainless"}}
	seams.Casing = []records.Casing{{From: ft(-1), To: ft(38), Material: "pvc", Diameter: in(5)}}

	wordy := &records.Well{UID: "w-wordy", Number: "HT-0555", Purpose: "domestic", Completed: records.Date{Year: 1996},
		TotalDepth: ft(120), StaticLevel: ft(-3), Yield: records.Roughly(records.Flow(records.GallonPerMinute.ToBase(12.3))),
		Strata: []records.Stratum{
			stratum(0, 30, strings.Repeat("clay with stones, some as big as a bushel basket, drilled around the worst of them; ", 12)),
			stratum(30, 45, strings.Repeat("x", 1000)), stratum(52, 90, "<b>lime</b> & \"cavernous\" شق ماء 💧💧 water lost ½ in \u202eevil"),
			stratum(90, 94, "void, bit dropped"), stratum(94, 120, "limestone"),
		},
		Casing:  []records.Casing{{From: ft(-2), To: ft(56), Diameter: in(6), Material: "steel"}},
		Strikes: []records.Strike{{Depth: aboutFt(92), Flow: records.MoreThan(records.Flow(records.GallonPerMinute.ToBase(50)))}, {Depth: ft(110)}},
		Place:   records.Place{Elevation: records.Of(records.Height(188)), VertDatum: "NAVD 88"},
	}

	dry := &records.Well{UID: "w-dry", Number: "HT-0866", Purpose: "domestic", Completed: records.Date{Year: 2019},
		TotalDepth: ft(300), Yield: gpm(0), StopReason: "dry",
		Strata: []records.Stratum{stratum(0, 28, "silty sand"), stratum(52, 300, "granite")},
		Casing: []records.Casing{{From: ft(0), To: ft(70), Diameter: in(6), Material: "steel"}},
		Grout:  []records.Grout{{From: ft(0), To: ft(300), Material: "neat_cement"}},
	}

	overburden := &records.Well{UID: "w-overburden", Number: "HT-0098", Purpose: "stock", Completed: records.Date{Year: 1979},
		TotalDepth: ft(100), StaticLevel: ft(18), Yield: gpm(40),
		Strata: []records.Stratum{stratum(0, 30, "till"), stratum(30, 88, "sand"), stratum(88, 100, "coarse gravel, water"),
			{Description: "boulder somewhere"}},
		Casing:  []records.Casing{{From: ft(-2), To: ft(92), Diameter: in(6), Material: "steel", DriveShoe: yes()}},
		Strikes: []records.Strike{{Depth: ft(90), Flow: gpm(40)}},
		Place:   records.Place{Elevation: records.Of(records.Height(196)), VertDatum: "NAVD 88"},
	}

	empty := &records.Well{UID: "w-empty", Number: "HT-0003", TotalDepth: ft(210), Yield: gpm(5), StaticLevel: ft(30), Completed: records.Date{Year: 1964}}
	nothing := &records.Well{UID: "w-nothing", Number: ""}
	return map[string]*records.Well{"schist": schist, "deep": deep, "seams": seams, "wordy": wordy, "dry": dry,
		"overburden": overburden, "empty": empty, "nothing": nothing}
}

// picksOf gives the picks of an invented well.
func picksOf(name string) records.Picks {
	d := func(v float64) records.Depth { return records.Depth(records.Foot.ToBase(v)) }
	switch name {
	case "schist":
		return records.Picks{FirstRock: pickFt(12), Bedrock: records.Pick{Depth: aboutFt(58), Why: "the contact is about"}}
	case "deep":
		return records.Picks{FirstRock: pickFt(96), Bedrock: pickFt(96)}
	case "seams":
		p := pickFt(63)
		p.Why = "Strata say 60 ft, stated 63 ft: stated is used, since the casing seat agrees."
		p.Source = records.FromStated
		return records.Picks{FirstRock: pickFt(58), Bedrock: p, Disagree: true, ByStrata: pickFt(58), ByStated: p,
			BySeat: records.Pick{Depth: records.Under(d(38)), Source: records.FromSeat, Why: "the hole stands open below the casing seat"}}
	case "wordy":
		return records.Picks{FirstRock: pickFt(52), Bedrock: records.Pick{Depth: records.Within(d(45), d(52)), Why: "not logged at the contact"}}
	case "dry":
		return records.Picks{FirstRock: pickFt(52), Bedrock: records.Pick{Depth: records.Within(d(28), d(52)), Why: "not logged at the contact"}}
	case "overburden":
		return records.Picks{Bedrock: records.Pick{Depth: records.MoreThan(d(100)), Why: "the log ends in unconsolidated ground"}}
	}
	return records.Picks{}
}

func inventedColumns() map[string]draw.ColumnData {
	out := map[string]draw.ColumnData{}
	for name, w := range invented() {
		out[name] = draw.ColumnOf(w, picksOf(name), testVocab())
	}
	return out
}

// inventedLine gives wells along a line, whose picks can be joined.
func inventedLine() []draw.ColumnData {
	all := inventedColumns()
	return []draw.ColumnData{all["seams"], all["schist"], all["deep"]}
}

// inventedRow gives n of the invented wells by their distance from a site.
func inventedRow(n int) []draw.ColumnData {
	all := inventedColumns()
	var out []draw.ColumnData
	for i, name := range []string{"overburden", "schist", "dry", "wordy", "deep", "seams", "empty", "nothing"}[:n] {
		d := all[name]
		d.HasPlace, d.DistanceM, d.BearingDeg = true, 195*float64(i+1)*float64(i+1)/2, float64(i)*77
		out = append(out, d)
	}
	return out
}
