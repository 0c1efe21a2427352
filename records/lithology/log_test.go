package lithology_test

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/lithology"
)

// wrote puts a log into one line: top-bottom words, in the unit of the case.
func wrote(l *lithology.Log, unit records.Unit) string {
	number := func(a records.Amount[records.Depth]) string {
		if !a.Known() {
			return "?"
		}
		s := strconv.FormatFloat(math.Round(unit.FromBase(float64(a.Value))*1e4)/1e4, 'f', -1, 64)
		switch a.Qualifier {
		case records.About:
			return "~" + s
		case records.GreaterThan:
			return ">" + s
		}
		return s
	}
	var parts []string
	for _, in := range l.Intervals {
		parts = append(parts, number(in.Top)+"-"+number(in.Bottom)+" "+l.Words(in))
	}
	for _, w := range l.Water {
		if !w.Plain {
			continue
		}
		s := "water " + number(w.Depth)
		if w.Depth.Qualifier == records.Between {
			s += ".." + strconv.FormatFloat(math.Round(unit.FromBase(float64(w.Depth.High))*1e4)/1e4, 'f', -1, 64)
		}
		if w.Flow.Known() {
			s += fmt.Sprintf(" %.3g gpm", records.GallonPerMinute.FromBase(float64(w.Flow.Value)))
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, " | ")
}

// The lines are of our own making, in the ways that drillers write (common
// practice, no source); the readings were worked by hand.
func TestReadLog(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"0-12 brn clay w/ cobbles; 12-40 hardpan; 40-305 gry gneiss, soft @ 88", "0-12 brn clay w/ cobbles | 12-40 hardpan | 40-305 gry gneiss, soft @ 88"},
		{"0' - 12' brown clay, 12' - 40' hardpan", "0-12 brown clay | 12-40 hardpan"},
		{"0 to 12 brown clay. 12 to 40 hardpan. 40 to 305 gneiss", "0-12 brown clay | 12-40 hardpan | 40-305 gneiss"},
		{"0-12 clay 12-40 hardpan 40-305 gneiss", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"0 to 12 clay and 12 to 40 hardpan and 40 to 305 gneiss", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"0'-5' fill / 5'-22' till / 22'-405' schist", "0-5 fill | 5-22 till | 22-405 schist"},
		{"0\t12\tclay\n12\t40\thardpan\n40\t305\tgneiss", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"0-12ft.brn clay,12-40ft.hardpan", "0-12 brn clay | 12-40 hardpan"},
		{"0-12brn clay 12-40hardpan", "0-12 brn clay | 12-40 hardpan"},
		{"from 0' to 12' of brown clay, from 12' to 40' of till", "0-12 brown clay | 12-40 till"},
		{"0-12 brn. clay, 12-40 gr. sand & gravel. 40-100 granite.", "0-12 brn. clay | 12-40 gr. sand & gravel | 40-100 granite"},
		{"Driller's log: 0-12 topsoil and clay, 12-40 till", "0-12 topsoil and clay | 12-40 till"},
		{"1) 0-5 topsoil 2) 5-20 clay 3) 20-100 shale", "0-5 topsoil | 5-20 clay | 20-100 shale"},
		{"(0-12) clay (12-40) hardpan", "0-12 clay | 12-40 hardpan"},
		{"0-10 (topsoil), 10-30 (sand)", "0-10 topsoil | 10-30 sand"},
		{"0..12 clay, 12..40 sand", "0-12 clay | 12-40 sand"},
		{"O-12 clay, 12-40 hardpan", "0-12 clay | 12-40 hardpan"},
		{"surface to 12 clay, 12 to 40 hardpan", "0-12 clay | 12-40 hardpan"},
		{"overburden 0-15, ledge 15-TD", "0-15 overburden | 15-? ledge"},
		{"overburden 0-15, ledge 15-TD, TD 200", "0-15 overburden | 15-200 ledge"},
		{"0-15 OB, 15+ ledge", "0-15 OB | 15-? ledge"},
		{"0-18: till, 18-: granite", "0-18 till | 18-? granite"},
		{"0-12'6\" clay; 12'6\"-40' hardpan", "0-12.5 clay | 12.5-40 hardpan"},
		{"0-12½ clay; 12 1/2-40 gravel", "0-12.5 clay | 12.5-40 gravel"},
		{"0-6\" topsoil; 6\"-4' clay; 4'-22' sand", "0-0.5 topsoil | 0.5-4 clay | 4-22 sand"},
		{"0-1,200 granite; 1,200-1,400 gneiss", "0-1200 granite | 1200-1400 gneiss"},
		{"0-~12 clay; 12-40 hardpan", "0-~12 clay | 12-40 hardpan"},
		{"0-12 m clay; 12-40 m till", "0-39.3701 clay | 39.3701-131.2336 till"},
		{"0-12 m sand; 12-40 c sand", "0-12 m sand | 12-40 c sand"},
		{"40-305 gneiss; 12-40 hardpan; 0-12 clay", "40-305 gneiss | 12-40 hardpan | 0-12 clay"},
		{"0-12 clay; 13-40 hardpan", "0-12 clay | 13-40 hardpan"},

		// Words before the depths.
		{"clay 0-12, hardpan 12-40, gneiss 40-305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"clay, brown 0-12; hardpan with boulders, grey 12-40; gneiss 40-305, soft @ 88", "0-12 clay, brown | 12-40 hardpan with boulders, grey | 40-305 gneiss; soft @ 88"},
		{"overburden: 0-34 ft\nbedrock: 34-260 ft", "0-34 overburden | 34-260 bedrock"},
		{"clay (0-12), hardpan (12-40)", "0-12 clay | 12-40 hardpan"},
		{"Topsoil (2') / Clay (2'-14') / Sand (14'-20')", "0-2 Topsoil | 2-14 Clay | 14-20 Sand"},
		{"topsoil to 2; 2-14 clay; 14-20 sand", "0-2 topsoil | 2-14 clay | 14-20 sand"},

		// Figures that are no depths, and zones within a stratum.
		{"0-12 clay with 2-4\" cobbles; 12-40 hardpan, 5-7 gpm", "0-12 clay with 2-4\" cobbles | 12-40 hardpan, 5-7 gpm"},
		{"40-305 gneiss, fractures 88-92, 150-155 soft", "40-305 gneiss, fractures 88-92, 150-155 soft"},
		{"0-305 gneiss; 88-92 fractured; 150-155 frac; 200-210 soft", "0-305 gneiss; 88-92 fractured; 150-155 frac; 200-210 soft"},
		{"casing 0-40; 0-12 clay; 12-40 hardpan", "0-12 clay | 12-40 hardpan"},
		{"0-20 6\" steel casing, 0-12 clay, 12-60 rock", "0-12 clay | 12-60 rock"},
		{"drilled 0-305. 0-12 clay, 12-305 gneiss", "0-12 clay | 12-305 gneiss"},
		{"6/12/87: 0-12 clay; 12-40 hardpan", "0-12 clay | 12-40 hardpan"},

		{"0 12 clay 12 40 hardpan 40 305 gneiss", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"0-3 loam, 3-9 c. sand, 9-15 m. sand, 15-22 f. sand", "0-3 loam | 3-9 c. sand | 9-15 m. sand | 15-22 f. sand"},
		{"6-1/4\" hole 0-200; 0-18 clay, 18-200 granite", "0-18 clay | 18-200 granite"},
		{"0 - 8 fill 8 - 20 clay 20 - 60 shale TD 60 csg 22", "0-8 fill | 8-20 clay | 20-60 shale"},
		{"0-8 FILL\n8-20 CLAY\n20-60 SHALE\nSWL 18\nYIELD 12 GPM\nCASING 22 FT 6 IN STEEL", "0-8 FILL | 8-20 CLAY | 20-60 SHALE"},
		{"Till\t0\t17\nGranite\t17\t325", "0-17 Till | 17-325 Granite"},
		{"40' overburden; granite 40-305", "0-40 overburden | 40-305 granite"},
		{"0-40 hardpan, gneiss below", "0-40 hardpan | 40-? gneiss"},

		// One depth a stratum.
		{"8' fill, clay to 20', shale to 60'", "0-8 fill | 8-20 clay | 20-60 shale"},
		{"brown clay and boulders to 22 feet, sandstone, water bearing, to 120 feet", "0-22 brown clay and boulders | 22-120 sandstone, water bearing"},
		{"clay 12, hardpan 40, gneiss 305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"clay to 12, hardpan to 40, gneiss to 305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"to 12 clay, to 40 hardpan, to 305 gneiss", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"Clay to 12'. Then hardpan to 40'. Ledge at 40. Gneiss to 305 TD", "0-12 Clay | 12-40 hardpan | 40-305 Gneiss"},
		{"Clay.....12 Hardpan.....40 Gneiss.....305", "0-12 Clay | 12-40 Hardpan | 40-305 Gneiss"},
		{"0-12 clay; hardpan to 40; gneiss to 305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"clay to 20 ft, then gravel to 35 ft, then bedrock", "0-20 clay | 20-35 gravel | 35-? bedrock"},
		{"0 clay, 12 hardpan, 40 gneiss, TD 305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"clay at 0, hardpan at 12, gneiss at 40", "0-12 clay | 12-40 hardpan | 40-? gneiss"},
		{"12 ft of clay, 28 ft of hardpan, 265 ft of gneiss", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"12' clay, 28' hardpan, 265' gneiss, TD 305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"first 12 ft clay, next 28 ft hardpan, rest gneiss, TD 305", "0-12 clay | 12-40 hardpan | 40-305 gneiss"},
		{"10' of clay then 20' of gravel then ledge to 200'", "0-10 clay | 10-30 gravel | 30-200 ledge"},
		{"15ft overburden, then granite to 220", "0-15 overburden | 15-220 granite"},

		{"SAND 9 FT THICK, CLAY 6 FT THICK, GRAVEL 4 FT THICK", "0-9 SAND | 9-15 CLAY | 15-19 GRAVEL"},
		{"first 9 feet sand, next 6 feet clay, last 4 feet gravel", "0-9 sand | 9-15 clay | 15-19 gravel"},
		{"0-1 ft 6 in topsoil, 1 ft 6 in - 12 ft clay", "0-1.5 topsoil | 1.5-12 clay"},
		{"0-3 fill; 3-12 clay; 12-60 shale; plugged 0-60 with bentonite", "0-3 fill | 3-12 clay | 12-60 shale"},
		{"0-17 till (17-325 granite)", "0-17 till | 17-325 granite"},
		{"G.L.-3 fill; 3-12 clay; 12-60 T.D. shale", "0-3 fill | 3-12 clay | 12-60 shale"},

		// Water.
		{"soil&clay 0-12,ledge 12-305,wtr 210,290", "0-12 soil&clay | 12-305 ledge | water 210 | water 290"},
		{"0-12' OB (clay/cobbles) 12'-205' granite. WBZ 88' (2gpm)", "0-12 OB (clay/cobbles) | 12-205 granite | water 88 2 gpm"},
		{"0-12 clay, 12-305 gneiss.  5 gpm at 210, 3 gpm at 265, total 8 gpm.", "0-12 clay | 12-305 gneiss | water 210 5 gpm | water 265 3 gpm"},
		{"0-18 CLAY 18-200 GRANITE DEPTH TO WATER 22 GPM 6", "0-18 CLAY | 18-200 GRANITE DEPTH TO WATER 22 GPM 6"},
		{"0-40 hardpan; 40-305 gneiss; wtr @ 88 2 gpm, 5 gpm @ 210", "0-40 hardpan | 40-305 gneiss | water 88 2 gpm | water 210 5 gpm"},
		{"0-40 hardpan; 40-305 gneiss; water level 22; no water at 80; water 210", "0-40 hardpan | 40-305 gneiss | water 210"},
		{"OB 0-15', ledge 15'-200', wtr 180' @ 3gpm", "0-15 OB | 15-200 ledge | water 180 3 gpm"},
		{"0-8 dirt, 8-205 granite frac @ 122 (1/2 gpm) & 187 (3 gpm)", "0-8 dirt | 8-205 granite frac @ 122 (1/2 gpm) & 187 (3 gpm) | water 122 0.5 gpm | water 187 3 gpm"},
		{"0-300 gneiss; water @ 88, 210 and 290", "0-300 gneiss | water 88 | water 210 | water 290"},
		{"0-40 sand; 40-246 gravel; water 210-215 5 gpm", "0-40 sand | 40-246 gravel | water 210..215 5 gpm"},
	} {
		l := lithology.ReadLog(c.text, records.Foot)
		if got := wrote(l, records.Foot); got != c.want || l.Refused() {
			t.Errorf("%q\n got %s (%s %v)\nwant %s", c.text, got, l.Sure(), l.Doubts.Reasons(), c.want)
		}
	}
	l := lithology.ReadLog("0–3.7 m: clay / 3.7–12.2 m: hardpan / 12.2–93: gneiss", records.NoUnit)
	if got := wrote(l, records.Metre); got != "0-3.7 clay | 3.7-12.2 hardpan | 12.2-93 gneiss" || l.Refused() {
		t.Errorf("got %s %v", got, l.Doubts.Reasons())
	}
	l = lithology.ReadLog("depths in metres: 0-3,7 clay; 3,7-10 gravel", records.Foot)
	if got := wrote(l, records.Metre); got != "0-3.7 clay | 3.7-10 gravel" || l.Refused() {
		t.Errorf("got %s %v", got, l.Doubts.Reasons())
	}
}

// A log that can be read in two ways, or not at all, gives no strata.
func TestReadLogRefuses(t *testing.T) {
	for text, why := range map[string]lithology.LogDoubt{
		"12' clay, 28' hardpan, 265' gneiss":                                  lithology.LogAmbiguous,
		"12 clay; 40 hardpan; 305 gneiss":                                     lithology.LogAmbiguous,
		"clay 10, gravel 5, granite 200":                                      lithology.LogAmbiguous,
		"0-12 clay; 10-40 hardpan; 40-305 gneiss":                             lithology.LogOverlap,
		"12-0 clay; 12-40 hardpan":                                            lithology.LogBackwards,
		"0-12 clay; 12-40 hardpan; TD 30":                                     lithology.LogPastTotal,
		"0-12m clay; 12-40 hardpan":                                           lithology.LogTwoUnits,
		"Soil to 3 feet, clay from 3 to 22, then gravel to 31 with water":     lithology.LogPartUnread,
		"0-22 gravel 22-60 sand, fine 60-72 clay, water bearing gravel 72-80": lithology.LogNoWords,
		"0-40 sand, water 50-60":                                              lithology.LogPartUnread,
		strings.Repeat("0-12 clay; ", 3000):                                   lithology.LogTooLong,
		"0-l2 clay; 12-40 hardpan":                                            lithology.LogPartUnread,
		"0-12 clay; 12-4O hardpan; 40-305 gneiss":                             lithology.LogBackwards,
		"0-12 clay 12-40 hardpan 40-30 gneiss":                                lithology.LogBackwards,
		"0-100 lime, cavity 62-64, lime 100-150 w/ water 140":                 lithology.LogPartUnread,
		"clay from surface to 15; blue clay from there to 38; sand 38-44":     lithology.LogPartUnread,
		"0-30 casing 0-18 clay 18-200 granite":                                lithology.LogOverlap,
		"permit 1234, section 12, lot 5":                                      0,
		"gneiss all the way":                                                  0,
		"No log":                                                              0,
		"":                                                                    0,
		"0/12 clay, 12/40 hardpan":                                            0,
		"water at 35":                                                         0,
		"rock at 15, TD 200":                                                  0,
	} {
		l := lithology.ReadLog(text, records.Foot)
		if !l.Refused() || why != 0 && !l.Doubts.Has(why) || len(l.Strata(lithology.Default())) > 0 {
			t.Errorf("%.60q: %s, %v, want a refusal with %v", text, wrote(l, records.Foot), l.Doubts.Reasons(), why.Reasons())
		}
	}
	if l := lithology.ReadLog("0-12 clay; 12-40 hardpan", records.NoUnit); !l.Refused() || !l.Doubts.Has(lithology.LogNoUnit) {
		t.Errorf("depths without a unit were read: %v", l.Doubts.Reasons())
	}
	if l := lithology.ReadLog("0-12' clay; 12-40 hardpan", records.NoUnit); l.Refused() {
		t.Errorf("one unit throughout was refused: %v", l.Doubts.Reasons())
	}
}

// The total depth of the hole tells thicknesses from depths.
func TestReadLogOfTotal(t *testing.T) {
	total := records.Of(records.Depth(records.Foot.ToBase(305)))
	v := lithology.Default()
	if got := wrote(v.ReadLogOf("clay 12, hardpan 28, gneiss 265", records.Foot, total), records.Foot); got != "0-12 clay | 12-40 hardpan | 40-305 gneiss" {
		t.Error(got)
	}
	if got := wrote(v.ReadLogOf("12 clay; 40 hardpan; 305 gneiss", records.Foot, total), records.Foot); got != "0-12 clay | 12-40 hardpan | 40-305 gneiss" {
		t.Error(got)
	}
}

func TestLogStrata(t *testing.T) {
	v := lithology.Default()
	l := v.ReadLog("0-12 clay, 12-40 same, 40-60 gravel; water 45 5 gpm; water level 22", records.Foot)
	s := l.Strata(v)
	if len(s) != 3 || s[1].Description != "same" || s[1].Material != "clay" || s[0].Material != "" || s[2].Bottom.Given != (records.Given{Text: "60", Unit: records.Foot}) {
		t.Errorf("%+v", s)
	}
	if w := l.Strikes(); len(w) != 1 || w[0].Depth.Given.Text != "45" || w[0].Note != "water 45 5 gpm" {
		t.Errorf("%+v", w)
	}
}

func FuzzReadLog(f *testing.F) {
	for _, s := range []string{
		"0-12 brn clay w/ cobbles; 12-40 hardpan; 40-305 gry gneiss, soft @ 88", "clay 12, hardpan 40, gneiss 305", "0\t12\tclay\n12 40 sand", "O-12 clay (wet 8-12) 12'6\"-40½ gr. sand & 2-4\" stones",
		"12 ft of clay then 3' of sand, rest rock TD 99", "0–3,7 m clay / 3.7–12 till", "wtr @ 88, 210 (5 gpm) and 290; <1/2 gpm at 12", "1) 0-5 a 2) 5-9 b", "40+ x", "0-0", "-", "@", "\xff0-1\xff", "0-9999999999999999999 x", "..0..1", "''\"",
	} {
		f.Add(s, uint8(0))
		f.Add(s, uint8(1))
	}
	f.Fuzz(func(t *testing.T, text string, u uint8) {
		unit := []records.Unit{records.NoUnit, records.Foot, records.Metre}[u%3]
		l := lithology.ReadLog(text, unit)
		if l.Text != text || !reflect.DeepEqual(l, lithology.ReadLog(text, unit)) {
			t.Fatal("not deterministic, or the text was changed")
		}
		in := func(start, end int) bool { return start >= 0 && start <= end && end <= len(text) }
		last := 0
		for _, i := range l.Intervals {
			if !in(i.Start, i.End) || !in(i.WordsStart, i.WordsEnd) || !in(i.AlsoStart, i.AlsoEnd) || i.Start < last {
				t.Fatalf("%q: spans of %+v after %d", text, i, last)
			}
			last = i.Start
			if i.Bottom.Known() && !(i.Bottom.Value > i.Top.Value) && !l.Refused() || i.Top.Value < 0 || math.IsInf(float64(i.Bottom.Value), 0) || math.IsNaN(float64(i.Bottom.Value)) {
				t.Fatalf("%q: depths of %+v", text, i)
			}
		}
		for _, w := range l.Water {
			if !in(w.Start, w.End) || !w.Depth.Known() {
				t.Fatalf("%q: water %+v", text, w)
			}
		}
		for _, r := range l.Remarks {
			if !in(r.Start, r.End) {
				t.Fatalf("%q: remark %+v", text, r)
			}
		}
		for _, r := range l.Unread {
			if !in(r.Start, r.End) {
				t.Fatalf("%q: unread %+v", text, r)
			}
		}
		// What becomes of it is a log that goes down, without ground twice.
		bottom := records.Depth(-1)
		for _, s := range l.Strata(lithology.Default()) {
			if s.Top.Value < bottom-0.03 {
				t.Fatalf("%q: ground twice at %v", text, s.Top)
			}
			if s.Bottom.Known() {
				bottom = s.Bottom.Value
			}
			if a, err := records.ParseAmount(s.Bottom.Given.Text, records.DimLength, s.Bottom.Given.Unit); err == nil && a.Known() && math.Abs(a.Value-float64(s.Bottom.Value)) > 1e-9*(1+a.Value) {
				t.Fatalf("%q: %q is given for %v m", text, s.Bottom.Given.Text, s.Bottom.Value)
			}
		}
	})
}
