package records_test

import (
	"math"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

// The thresholds are ours, no source.
func TestValidate(t *testing.T) {
	type (
		well  = records.Well
		depth = records.Depth
	)
	m := func(s string) records.Amount[depth] { return recordstest.Metres[depth](s) }
	ft := func(s string) records.Amount[depth] { return recordstest.Feet[depth](s) }
	date := func(s string) records.Date {
		d, err := records.ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	const refuse, warn = records.Refusal, records.Warning
	for name, c := range map[string]struct {
		change   func(w *well)
		severity records.Severity
		field    string
		says     string
	}{
		"not a number":           {func(w *well) { w.TotalDepth = records.Of(depth(math.NaN())) }, refuse, "total_depth_m", "NaN"},
		"infinite":               {func(w *well) { w.Yield = records.Of(records.Flow(math.Inf(1))) }, refuse, "yield_lps", "Inf"},
		"negative total depth":   {func(w *well) { w.TotalDepth = m("-5") }, refuse, "total_depth_m", "-5 m"},
		"negative bedrock":       {func(w *well) { w.Bedrock = m("-5") }, refuse, "depth_to_bedrock_m", "-5 m"},
		"negative yield":         {func(w *well) { w.Yield = recordstest.Gpm("-1") }, refuse, "yield_lps", `"-1" gpm`},
		"negative diameter":      {func(w *well) { w.Casing[0].Diameter = recordstest.Inches("-6") }, refuse, "casing[0].diameter_mm", "less than nothing"},
		"too deep":               {func(w *well) { w.TotalDepth = m("20000") }, refuse, "total_depth_m", "20000 m"},
		"a bound too deep":       {func(w *well) { w.Bedrock = records.Within[depth](3, 1e6) }, refuse, "depth_to_bedrock_m", "1000000 m"},
		"between backwards":      {func(w *well) { w.Bedrock = records.Within[depth](50, 40) }, refuse, "depth_to_bedrock_m", "backwards"},
		"no such qualifier":      {func(w *well) { w.Bedrock.Qualifier = 77 }, refuse, "depth_to_bedrock_m", "77"},
		"a flow in feet":         {func(w *well) { w.Yield.Given.Unit = records.Foot }, refuse, "yield_lps", "ft"},
		"a unit that is none":    {func(w *well) { w.Yield.Given.Unit = 200 }, refuse, "yield_lps", "unit"},
		"given with NUL":         {func(w *well) { w.Yield.Given.Text = "6\x00" }, refuse, "yield_given", "U+0000"},
		"given at great length":  {func(w *well) { w.TotalDepth.Given.Text = "0." + strings.Repeat("0", 400) + "1" }, refuse, "total_depth_given", "403 bytes"},
		"latitude and longitude": {func(w *well) { w.Place.Lon, w.Place.Lat = 44.25, -92.5 }, refuse, "lat", "wrong way round"},
		"off the earth":          {func(w *well) { w.Place.Lon, w.Place.Lat = 500000, 4900000 }, refuse, "lon", "not on the earth"},
		"longitude 181":          {func(w *well) { w.Place.Lon = 181 }, refuse, "lon", "not on the earth"},
		"position NaN":           {func(w *well) { w.Place.Lat = math.NaN() }, refuse, "lon", "no numbers"},
		"null island":            {func(w *well) { w.Place.Lon, w.Place.Lat = 0, 0 }, warn, "lon", "both 0"},
		"no position":            {func(w *well) { w.Place.Located = false }, warn, "coordinates_given", "no position"},
		"control character":      {func(w *well) { w.Remarks = "bell\x07" }, refuse, "remarks", "U+0007"},
		"NUL in a stratum":       {func(w *well) { w.Strata[3].Description = "gra\x00nite" }, refuse, "strata[3].description", "U+0000"},
		"delete in the owner":    {func(w *well) { w.Owner.Name = "A\x7f" }, refuse, "owner.name", "U+007F"},
		"not UTF-8":              {func(w *well) { w.Number = "A\xff" }, refuse, "number", "UTF-8"},
		"read in a wrong coding": {func(w *well) { w.Crew.Driller = "O\u0092Nobody" }, warn, "crew.driller", "encoding"},
		"a very long text":       {func(w *well) { w.Remarks = strings.Repeat("x", 65<<10) }, refuse, "remarks", "66560 bytes"},
		"a future date":          {func(w *well) { w.Completed = date("2026-11-27") }, refuse, "completed", "after today"},
		"a future year":          {func(w *well) { w.Finish.Inspected = date("2027") }, refuse, "finish.inspected", "after today"},
		"no such day":            {func(w *well) { w.Completed = records.Date{Year: 2023, Month: 2, Day: 29} }, refuse, "completed", "2023-02-29"},
		"a month without a year": {func(w *well) { w.Completed = records.Date{Month: 2} }, refuse, "completed", "no day"},
		"an early year":          {func(w *well) { w.Completed = date("1804") }, warn, "completed", "1804"},
		"completed before start": {func(w *well) { w.Started = date("2004-06-16") }, refuse, "completed", "2004-06-16"},
		"works before start": {func(w *well) {
			w.Works = []records.Work{{Kind: "drill", Started: date("2005"), Completed: date("2004")}}
		}, refuse, "works[0].completed", "2005"},
		"a stratum backwards":    {func(w *well) { w.Strata[5].Bottom = ft("90") }, refuse, "strata[5].bottom_m", "27.43 m (90 ft)"},
		"strata overlap":         {func(w *well) { w.Strata[3].Top = ft("35") }, refuse, "strata[3].top_m", "strata[2]"},
		"a stratum twice":        {func(w *well) { w.Strata = append(w.Strata, w.Strata[1]) }, refuse, "strata[6].top_m", "strata[1]"},
		"a stratum above ground": {func(w *well) { w.Strata[0].Top = ft("-2") }, refuse, "strata[0].top_m", "above ground"},
		"a bound as a top":       {func(w *well) { w.Strata[3].Top = records.Under[depth](12) }, refuse, "strata[3].top_m", "bound"},
		"a bound as a bottom":    {func(w *well) { w.Strata[2].Bottom = records.MoreThan[depth](12.192) }, refuse, "strata[2].bottom_m", "bound"},
		"a top left out":         {func(w *well) { w.Strata[3].Top = records.Amount[depth]{} }, warn, "strata[3].top_m", "no depth"},
		"a bottom left out":      {func(w *well) { w.Strata[3].Bottom = records.Amount[depth]{} }, warn, "strata[3].bottom_m", "no depth"},
		"a gap":                  {func(w *well) { w.Strata[3].Top = ft("45") }, warn, "strata[3].top_m", "not logged"},
		"the top not logged":     {func(w *well) { w.Strata = w.Strata[1:] }, warn, "strata[0].top_m", "0 m (0 ft) to 1.22 m (4 ft)"},
		"strata below the hole":  {func(w *well) { w.TotalDepth = ft("200") }, warn, "strata[5].bottom_m", "deeper than the total depth"},
		"casing below the hole":  {func(w *well) { w.Casing[0].To = ft("250") }, warn, "casing[0].to_m", "deeper than the total depth"},
		"casing backwards":       {func(w *well) { w.Casing[0].From, w.Casing[0].To = w.Casing[0].To, w.Casing[0].From }, refuse, "casing[0].to_m", "above from_m"},
		"casing twice":           {func(w *well) { w.Casing = append(w.Casing, w.Casing[0]) }, refuse, "casing[1].from_m", "casing[0]"},
		"casing in no room": {func(w *well) {
			w.Bores = []records.Bore{{From: ft("0"), To: ft("203"), Diameter: recordstest.Inches("5")}}
		}, warn, "casing[0].diameter_mm", "wider than the hole"},
		"casing of no room": {func(w *well) {
			w.Casing[0].OutsideDia, w.Casing[0].Wall = recordstest.Inches("6"), recordstest.Inches("3")
		}, warn, "casing[0].wall_mm", "no room"},
		"casing too high":         {func(w *well) { w.Casing[0].From = ft("-20") }, warn, "casing[0].from_m", "high above ground"},
		"seat above bedrock":      {func(w *well) { w.Casing[0].To = ft("20") }, warn, "casing", "casing seat"},
		"stated against strata":   {func(w *well) { w.Bedrock = ft("80") }, warn, "depth_to_bedrock_m", "against it"},
		"a bore backwards":        {func(w *well) { w.Bores = []records.Bore{{From: ft("50"), To: ft("40")}} }, refuse, "bores[0].to_m", "above from_m"},
		"a bound in a bore":       {func(w *well) { w.Bores = []records.Bore{{From: ft("0"), To: records.MoreThan[depth](3)}} }, warn, "bores[0].to_m", "bound"},
		"a rod backwards":         {func(w *well) { w.Rods = []records.Rod{{From: ft("40"), To: ft("20")}} }, refuse, "rods[0].to_m", "above from_m"},
		"grout below the casing":  {func(w *well) { w.Grout = []records.Grout{{From: ft("0"), To: ft("100")}} }, warn, "grout[0].to_m", "deeper than the casing"},
		"a screen below the hole": {func(w *well) { w.Screens = []records.Screen{{From: ft("190"), To: ft("210")}} }, warn, "screens[0].to_m", "deeper than the total depth"},
		"a level below the hole":  {func(w *well) { w.StaticLevel = ft("300") }, warn, "static_level_m", "deeper than the total depth"},
		"a pump below the hole":   {func(w *well) { w.Pump.SetDepth = ft("300") }, warn, "pump.set_depth_m", "deeper than the total depth"},
		"a strike below the hole": {func(w *well) { w.Strikes[1].Depth = ft("300") }, warn, "strikes[1].depth_m", "deeper than the total depth"},
		"a strike above ground":   {func(w *well) { w.Strikes[1].Depth = ft("-3") }, refuse, "strikes[1].depth_m", "above ground"},
		"a total that falls":      {func(w *well) { w.StrikesAs = "running_total"; w.Strikes[1].Flow = recordstest.Gpm("1") }, warn, "strikes[1].flow_lps", "falls"},
		"a huge yield":            {func(w *well) { w.Yield = recordstest.Gpm("6000") }, warn, "yield_lps", "more than 300 L/s"},
		"a very deep well":        {func(w *well) { w.TotalDepth = m("1600") }, warn, "total_depth_m", "deep for a water well"},
		"another word":            {func(w *well) { w.Purpose = "ice rink" }, warn, "purpose", "ice rink"},
		"too many rows":           {func(w *well) { w.Rods = make([]records.Rod, 10001) }, refuse, "rods", "10001"},
		"a rod number below zero": {func(w *well) { w.Rods = []records.Rod{{Number: -1}} }, refuse, "rods[0].number", "-1"},
		"ground too high":         {func(w *well) { w.Place.Elevation = recordstest.Metres[records.Height]("9500") }, refuse, "ground_elevation_m", "9500 m"},
		"net above measured": {func(w *well) {
			w.YieldTests = []records.YieldTest{{Measured: recordstest.Gpm("5"), Net: recordstest.Gpm("6")}}
		}, warn, "yield_tests[0].net_flow_lps", "more than was measured"},
	} {
		t.Run(name, func(t *testing.T) {
			w := recordstest.Plain()
			c.change(w)
			faults := w.Validate(records.ValidateOptions{Today: today, Reader: recordstest.ByClass{}})
			var found *records.Fault
			for i, f := range faults {
				if f.Message == "" || f.Mend == "" {
					t.Errorf("a fault without words: %+v", f)
				}
				if f.Field == c.field && found == nil {
					found = &faults[i]
				}
			}
			if found == nil {
				t.Fatalf("nothing said of %s: %v", c.field, faults)
			}
			if found.Severity != c.severity || !strings.Contains(found.Message, c.says) {
				t.Errorf("%v: %v; want %v saying %q", found.Severity, found, c.severity, c.says)
			}
			if c.severity == warn && records.Refuses(faults) {
				t.Errorf("refused for something else: %v", faults)
			}
		})
	}
}

func TestNothingToSay(t *testing.T) {
	for name, change := range map[string]func(w *records.Well){
		"plain":               func(*records.Well) {},
		"today":               func(w *records.Well) { w.Completed = today },
		"tomorrow, elsewhere": func(w *records.Well) { w.Completed = records.Date{Year: 2026, Month: 11, Day: 26} },
		"this year":           func(w *records.Well) { w.Completed = records.Date{Year: 2026} },
		"planned": func(w *records.Well) {
			w.Status = "planned"
			w.Started, w.Completed = records.Date{Year: 2027}, records.Date{}
		},
		"flowing":             func(w *records.Well) { w.StaticLevel = records.Of[records.Depth](-1.2) },
		"dry":                 func(w *records.Well) { w.Yield = recordstest.Gpm("dry") },
		"out of order":        func(w *records.Well) { w.Strata[0], w.Strata[5] = w.Strata[5], w.Strata[0] },
		"open at the bottom":  func(w *records.Well) { w.Strata[5].Bottom.Qualifier = records.GreaterThan },
		"rounded":             func(w *records.Well) { w.Strata[3].Top = recordstest.Metres[records.Depth]("12.2") },
		"accents, line break": func(w *records.Well) { w.Remarks = "près d’Où\n\tça 🪨" },
		"in the south":        func(w *records.Well) { w.Place.Lon, w.Place.Lat = 151.2, -33.8 },
		"a reamed hole": func(w *records.Well) {
			w.Bores = []records.Bore{
				{From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth]("203"), Diameter: recordstest.Inches("5")},
				{From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth]("51"), Diameter: recordstest.Inches("9")},
			}
		},
		"casings one in another": func(w *records.Well) {
			w.Casing = append(w.Casing, records.Casing{From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth]("60"), Material: "pvc", Diameter: recordstest.Inches("4")})
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := recordstest.Plain()
			change(w)
			if faults := w.Validate(records.ValidateOptions{Today: today, Reader: recordstest.ByClass{}}); len(faults) > 0 {
				t.Errorf("%v", faults)
			}
		})
	}
	for seed := range uint64(2000) {
		if faults := recordstest.Random(seed).Validate(records.ValidateOptions{Today: today, Reader: recordstest.ByClass{}}); records.Refuses(faults) {
			t.Fatalf("random well %d: %v", seed, faults)
		}
	}
}

func TestValidateAllocatesNothing(t *testing.T) {
	w := recordstest.Plain()
	o := records.ValidateOptions{Today: today, Reader: recordstest.ByClass{}}
	if n := testing.AllocsPerRun(1000, func() { w.Validate(o) }); n >= 1 {
		t.Errorf("%v allocations", n)
	}
}

// A record with endless faults tells so many, and none hides a refusal.
func TestFaultsAreBounded(t *testing.T) {
	w := recordstest.Plain()
	for range 5000 {
		w.YieldTests = append(w.YieldTests, records.YieldTest{Method: "guess"})
	}
	w.Rods = []records.Rod{{Number: -1}}
	faults := w.Validate(records.ValidateOptions{})
	if len(faults) != records.DefaultLimits().Faults+1 || !records.Refuses(faults) {
		t.Errorf("%d faults, refused %v", len(faults), records.Refuses(faults))
	}
}

func TestValidatorsCarryNothingOver(t *testing.T) {
	bad := recordstest.Plain()
	bad.Remarks = "\x00"
	for range 100 {
		if faults := bad.Validate(records.ValidateOptions{}); len(faults) != 1 {
			t.Fatalf("%v", faults)
		}
		if faults := recordstest.Plain().Validate(records.ValidateOptions{}); len(faults) != 0 {
			t.Fatalf("%v", faults)
		}
	}
}

func TestPlateValidate(t *testing.T) {
	p := records.Plate{Number: "1", Seen: []records.PlateSighting{{Located: true, Lon: 10, Lat: 95}}}
	faults := p.Validate(records.ValidateOptions{Today: today})
	if len(faults) != 1 || faults[0].Field != "seen[0].lat" {
		t.Errorf("%v", faults)
	}
}
