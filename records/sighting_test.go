package records_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

var sightingDay = records.Date{Year: 2026, Month: 11, Day: 25}

// What each kind says of the ground; worked by hand from the model's words:
// eight feet are 2.4384 m.
func TestEvidenceOfSightings(t *testing.T) {
	type depth = records.Depth
	ft := recordstest.Feet[depth]
	none, noFlow := records.Amount[depth]{}, records.Amount[records.Flow]{}
	bare := func(a records.Amount[depth]) records.Amount[depth] { a.Given = records.Given{}; return a }
	for name, c := range map[string]struct {
		s       records.Sighting
		bedrock records.Amount[depth]
		yield   records.Amount[records.Flow]
	}{
		"a ledge":                      {records.Sighting{Kind: records.SawLedge}, records.Of(depth(0)), noFlow},
		"a ledge in a cut":             {records.Sighting{Kind: records.SawLedge, Depth: ft("6")}, records.Of(depth(1.8288)), noFlow},
		"a ledge, its depth stated":    {records.Sighting{Kind: records.SawLedge, Bedrock: ft("~3")}, records.Roughly(depth(0.9144)), noFlow},
		"refusal":                      {records.Sighting{Kind: records.SawRefusal, Depth: ft("8")}, records.Roughly(depth(2.4384)), noFlow},
		"no refusal":                   {records.Sighting{Kind: records.SawNoRefusal, Depth: ft("8")}, records.MoreThan(depth(2.4384)), noFlow},
		"no refusal, about":            {records.Sighting{Kind: records.SawNoRefusal, Depth: ft("~8")}, records.MoreThan(depth(2.4384)), noFlow},
		"no refusal, no depth":         {records.Sighting{Kind: records.SawNoRefusal}, none, noFlow},
		"a dry hole":                   {records.Sighting{Kind: records.SawDryHole, Depth: ft("400")}, none, records.Roughly(records.Flow(0))},
		"a dry hole, its rock known":   {records.Sighting{Kind: records.SawDryHole, Bedrock: ft("10")}, records.Of(depth(3.048)), records.Roughly(records.Flow(0))},
		"next to nothing":              {records.Sighting{Kind: records.SawDryHole, Yield: records.Under(records.Flow(0.03))}, none, records.Under(records.Flow(0.03))},
		"other":                        {records.Sighting{Kind: records.SawOther, Bedrock: ft("10"), Yield: recordstest.Gpm("0")}, records.Of(depth(3.048)), records.Of(records.Flow(0))},
		"other, nothing stated":        {records.Sighting{Kind: records.SawOther, Depth: ft("10")}, none, noFlow},
		"a yield of what is no hole":   {records.Sighting{Kind: records.SawLedge, Yield: recordstest.Gpm("5")}, records.Of(depth(0)), noFlow},
		"refusal known within a range": {records.Sighting{Kind: records.SawRefusal, Depth: records.Within(depth(2), depth(3))}, records.Within(depth(2), depth(3)), noFlow},
	} {
		t.Run(name, func(t *testing.T) {
			bedrock, yield := c.s.Evidence()
			yield.Given = records.Given{}
			if diff := cmp.Diff(c.bedrock, bare(bedrock)); diff != "" {
				t.Errorf("bedrock:\n%s", diff)
			}
			if diff := cmp.Diff(c.yield, yield); diff != "" {
				t.Errorf("yield:\n%s", diff)
			}
		})
	}
}

func TestSightingDigest(t *testing.T) {
	s := recordstest.FullSighting()
	s.ID, s.Revision = 7, 3
	d := s.Digest()
	if d.ID != -7 || d.Revision != 3 || d.Key != records.KeyOf(s.UID) || d.Lon != s.Lon || d.Lat != s.Lat || d.AccuracyM != 25 || d.Year != float32(s.Date.DecimalYear()) {
		t.Errorf("%+v", d)
	}
	if d.Bedrock != (records.DigestValue{Value: 2.4384, Qualifier: records.About}) || d.Yield.Qualifier != records.Missing || d.TotalDepth.Qualifier != records.Missing {
		t.Errorf("bedrock %v, yield %v, total depth %v", d.Bedrock, d.Yield, d.TotalDepth)
	}
	if d := (&records.Sighting{}).Digest(); !math.IsNaN(d.Lon) || !math.IsNaN(d.Lat) || d.AccuracyM != 0 || d.Year != 0 {
		t.Errorf("an empty one: %+v", d)
	}
}

// The thresholds are ours, no source.
func TestValidateSighting(t *testing.T) {
	if faults := recordstest.FullSighting().Validate(records.ValidateOptions{Today: sightingDay}); len(faults) > 0 {
		t.Fatalf("a sound sighting has faults: %v", faults)
	}
	type sighting = records.Sighting
	ft := recordstest.Feet[records.Depth]
	const refuse, warn = records.Refusal, records.Warning
	for name, c := range map[string]struct {
		change   func(s *sighting)
		severity records.Severity
		field    string
		says     string
	}{
		"no position":              {func(s *sighting) { s.Located = false }, refuse, "lon", "no position"},
		"the wrong way round":      {func(s *sighting) { s.Lon, s.Lat = 44, -92 }, refuse, "lat", "wrong way round"},
		"not on the earth":         {func(s *sighting) { s.Lon = 500 }, refuse, "lon", "not on the earth"},
		"no kind":                  {func(s *sighting) { s.Kind = "" }, refuse, "kind", `""`},
		"another kind":             {func(s *sighting) { s.Kind = "hunch" }, refuse, "kind", `"hunch"`},
		"tomorrow's":               {func(s *sighting) { s.Date = records.Date{Year: 2027} }, refuse, "date", "after today"},
		"above ground":             {func(s *sighting) { s.Depth = ft("-3") }, refuse, "depth_m", "above ground"},
		"refusal nowhere":          {func(s *sighting) { s.Depth = records.Amount[records.Depth]{} }, refuse, "depth_m", "missing"},
		"refusal at 8+":            {func(s *sighting) { s.Depth = ft("8+") }, refuse, "depth_m", "no rock was met"},
		"refusal, rock deeper":     {func(s *sighting) { s.Bedrock = ft("8+") }, refuse, "depth_to_bedrock_m", "no rock was met"},
		"a ledge deeper than":      {func(s *sighting) { s.Kind, s.Bedrock = records.SawLedge, ft(">8") }, refuse, "depth_to_bedrock_m", "no rock was met"},
		"no refusal, no depth":     {func(s *sighting) { s.Kind, s.Depth = records.SawNoRefusal, records.Amount[records.Depth]{} }, refuse, "depth_m", "missing"},
		"no refusal, depth bound":  {func(s *sighting) { s.Kind, s.Depth = records.SawNoRefusal, ft("<8") }, refuse, "depth_m", "missing"},
		"no refusal and rock":      {func(s *sighting) { s.Kind, s.Bedrock = records.SawNoRefusal, ft("8") }, refuse, "depth_to_bedrock_m", "no refusal was met"},
		"a dry hole with water":    {func(s *sighting) { s.Kind, s.Yield = records.SawDryHole, recordstest.Gpm("5") }, refuse, "yield_lps", "no dry hole"},
		"a yield of a pit":         {func(s *sighting) { s.Yield = recordstest.Gpm("5") }, warn, "yield_lps", "no hole"},
		"other, nothing said":      {func(s *sighting) { s.Kind = records.SawOther }, warn, "kind", "nothing"},
		"a way of locating":        {func(s *sighting) { s.Method = "dowsing" }, warn, "located_by", "dowsing"},
		"an accuracy that is none": {func(s *sighting) { s.Accuracy = recordstest.Metres[records.Length]("2000000") }, refuse, "accuracy_m", "2000000"},
		"a control character":      {func(s *sighting) { s.Note = "\x07" }, refuse, "note", "U+0007"},
		"in the witness too":       {func(s *sighting) { s.By = "\x07" }, refuse, "seen.by", "U+0007"},
	} {
		t.Run(name, func(t *testing.T) {
			s := recordstest.FullSighting()
			c.change(s)
			faults := s.Validate(records.ValidateOptions{Today: sightingDay})
			if !slices.ContainsFunc(faults, func(f records.Fault) bool {
				return f.Severity == c.severity && f.Field == c.field && strings.Contains(f.Message, c.says) && f.Mend != ""
			}) {
				t.Errorf("got %v, want a fault of %s saying %q", faults, c.field, c.says)
			}
			if records.Refuses(faults) != (c.severity == refuse) {
				t.Errorf("refused: %v (%v)", records.Refuses(faults), faults)
			}
		})
	}
	if faults := (&sighting{}).Validate(records.ValidateOptions{Limits: &records.Limits{}}); !records.Refuses(faults) {
		t.Errorf("an empty one is admitted where no faults are listed: %v", faults)
	}
}

func TestSightingRoundTrip(t *testing.T) {
	want := recordstest.FullSighting()
	want.Extra = []records.Member{{Name: "photo", JSON: `{"n":[1,2.50]}`}}
	doc := want.AppendSighting(nil, records.WriteOptions{Private: true})
	var got records.Sighting
	if faults := got.ParseSighting(doc); len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(want, &got); diff != "" {
		t.Errorf("as written and read:\n%s", diff)
	}
	if again := got.AppendSighting(nil, records.WriteOptions{Private: true}); string(again) != string(doc) {
		t.Errorf("written again:\n%s\n%s", doc, again)
	}
	if open := string(want.AppendSighting(nil, records.WriteOptions{})); strings.Contains(open, want.By) || strings.Contains(open, "seen") {
		t.Errorf("who saw it is given away: %s", open)
	}
	if changes := records.DiffSightings(want, &got); len(changes) > 0 {
		t.Errorf("differences: %v", changes)
	}
	got.By, got.Depth = "Somebody Else", recordstest.Feet[records.Depth]("9")
	changes := records.DiffSightings(want, &got)
	if len(changes) != 2 || changes[0].Field != "depth_m" || changes[0].Private || changes[1].Field != "seen.by" || !changes[1].Private {
		t.Errorf("differences: %+v", changes)
	}
	if changes := records.DiffSightings(nil, want); len(changes) < 8 {
		t.Errorf("against nothing: %+v", changes)
	}
}

func FuzzParseSighting(f *testing.F) {
	f.Add(recordstest.FullSighting().AppendSighting(nil, records.WriteOptions{Private: true}))
	f.Add([]byte(`{"kind":"ledge","lon":"x","lat":[],"depth_ft":"8+","seen":{"by":1}}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if !jsontext.Value(raw).IsValid() {
			return
		}
		var s records.Sighting
		faults := s.ParseSighting(raw)
		if records.Refuses(faults) || records.Refuses(s.Validate(records.ValidateOptions{})) {
			return
		}
		doc := s.AppendSighting(nil, records.WriteOptions{Private: true})
		var back records.Sighting
		if faults := back.ParseSighting(doc); records.Refuses(faults) {
			t.Fatalf("%s is written and not read: %v", doc, faults)
		}
		if again := back.AppendSighting(nil, records.WriteOptions{Private: true}); string(again) != string(doc) {
			t.Fatalf("%s becomes %s", doc, again)
		}
		d := s.Digest()
		if d.Bedrock.Value < 0 || d.Yield.Value < 0 || math.IsNaN(d.Lon) || !d.Bedrock.Qualifier.IsBound() && d.Bedrock.High != 0 {
			t.Fatalf("%s gives %+v", doc, d)
		}
	})
}
