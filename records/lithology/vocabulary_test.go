package lithology_test

import (
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/lithology"
)

// fgdcNames are the names that FGDC-STD-013-2006 (also USGS Techniques and
// Methods 11-A2), section 37, gives to the patterns used here. Numbers and
// names after secondary copies that agree, not read in the standard
// itself.
var fgdcNames = map[int]string{
	601: "Gravel or conglomerate (1st option)",
	602: "Gravel or conglomerate (2nd option)",
	603: "Crossbedded gravel or conglomerate",
	607: "Massive sand or sandstone",
	608: "Bedded sand or sandstone",
	616: "Silt, siltstone, or shaly silt",
	619: "Sandy or silty shale",
	620: "Clay or clay shale",
	623: "Calcareous shale or marl",
	626: "Chalk",
	627: "Limestone",
	642: "Dolostone or dolomite",
	649: "Bedded chert (1st option)",
	657: "Peat",
	658: "Coal",
	662: "Bentonite",
	667: "Gypsum",
	668: "Salt",
	681: "Till or diamicton (1st option)",
	684: "Loess (1st option)",
	701: "Metamorphism",
	702: "Quartzite",
	703: "Slate",
	705: "Schist",
	708: "Gneiss",
	710: "Soapstone, talc, or serpentinite",
	711: "Tuffaceous rock",
	717: "Basaltic flows",
	719: "Granite (2nd option)",
	721: "Igneous rock (1st option)",
	722: "Igneous rock (2nd option)",
	723: "Igneous rock (3rd option)",
	724: "Igneous rock (4th option)",
	729: "Porphyritic rock (1st option)",
	732: "Quartz",
}

// nameOf is a word of the standard's name that must suit the material.
var nameOf = map[string]string{
	"peat": "Peat", "clay": "Clay", "silt": "Silt", "sand": "sand", "sand_fine": "sand",
	"sand_coarse": "sand", "sand_gravel": "Gravel", "gravel": "Gravel", "till": "Till",
	"loess": "Loess", "marl": "marl", "bentonite": "Bentonite", "cemented_gravel": "conglomerate",
	"limestone": "Limestone", "dolomite": "dolomite", "chalk": "Chalk", "chert": "chert",
	"sandstone": "sandstone", "siltstone": "siltstone", "shale": "shale", "claystone": "Clay",
	"conglomerate": "conglomerate", "coal": "Coal", "gypsum": "Gypsum", "salt": "Salt",
	"granite": "Granite", "pegmatite": "Porphyritic", "diorite": "Igneous", "gabbro": "Igneous",
	"basalt": "Basaltic", "andesite": "Igneous", "rhyolite": "Igneous", "tuff": "Tuffaceous",
	"gneiss": "Gneiss", "schist": "Schist", "phyllite": "Metamorphism", "slate": "Slate",
	"quartzite": "Quartzite", "serpentinite": "serpentinite", "quartz_vein": "Quartz",
}

func TestPatternNumbers(t *testing.T) {
	for _, m := range lithology.Default().All() {
		word, want := nameOf[m.Code]
		switch {
		case m.FGDC == 0 && want:
			t.Errorf("%s has no number, but the standard has %q", m.Code, word)
		case m.FGDC == 0 && !strings.Contains(m.NoFGDC, "defined by this project"):
			t.Errorf("%s: the reason does not say that the pattern is ours: %q", m.Code, m.NoFGDC)
		case m.FGDC != 0 && !strings.Contains(fgdcNames[m.FGDC], word):
			t.Errorf("%s has %d, which is %q", m.Code, m.FGDC, fgdcNames[m.FGDC])
		case m.FGDC != 0 && !want:
			t.Errorf("%s has %d; say here which name of the standard that is", m.Code, m.FGDC)
		}
	}
	// The standard has none of these, so a number would be made up.
	for _, code := range []string{"weathered_rock", "saprolite", "boulders", "fill", "topsoil", "marble", "amphibolite"} {
		if m, ok := lithology.Default().Material(code); !ok || m.FGDC != 0 {
			t.Errorf("%s: number %d, the standard has none", code, m.FGDC)
		}
	}
}

func TestIndexFitsASignedBitSet(t *testing.T) {
	v := lithology.Default()
	all := v.All()
	if len(all) < 50 || len(all) > lithology.MaxMaterials {
		t.Fatalf("%d materials", len(all))
	}
	var set uint64
	for i, m := range all {
		got, ok := v.Index(m.Code)
		if !ok || got != i {
			t.Errorf("Index(%q) = %d, %v, want %d", m.Code, got, ok, i)
		}
		set |= 1 << got
	}
	if int64(set) < 0 {
		t.Error("the set of all materials is negative as a signed number")
	}
	if got := v.Codes(set); len(got) != len(all) || got[0] != lithology.Unknown {
		t.Errorf("Codes of all = %q", got)
	}
	if _, ok := v.Index("no_such"); ok {
		t.Error("Index of a code that is not there")
	}
}

func TestEveryNounReadsAsItsMaterial(t *testing.T) {
	// A material's label, or what stands before the first comma or 'or' of it,
	// is a fair description and must read as that material.
	v := lithology.Default()
	for _, m := range v.All()[1:] {
		name, _, _ := strings.Cut(m.Label, ",")
		if got := v.Read(name); got.Material != m.Code {
			t.Errorf("%q reads as %s, want %s", name, got.Material, m.Code)
		}
	}
}

func TestWith(t *testing.T) {
	v := lithology.Default()
	own, err := v.With(
		lithology.Entry{Material: lithology.Material{Code: "till"}, Nouns: []string{"Blue-Clay", "pinnacle"}},
		lithology.Entry{Material: lithology.Material{Code: "ironstone", Label: "Ironstone", Class: records.ClassRock, NoFGDC: "ours, defined by this project", Tint: "#aa5533"}, Nouns: []string{"iron stone", "ironstone"}},
	)
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{"blue clay": "till", "stiff blue clay": "till", "red clay": "clay", "pinnacles": "till", "iron-stone": "ironstone"} {
		if got := own.Read(text).Material; got != want {
			t.Errorf("%q reads as %s, want %s", text, got, want)
		}
	}
	if got := v.Read("blue clay").Material; got != "clay" {
		t.Errorf("the original vocabulary was changed: blue clay reads as %s", got)
	}
	if own.Version() == v.Version() {
		t.Error("an office's words do not change the version")
	}
	again, err := own.With(lithology.Entry{Material: lithology.Material{Code: "sand"}, Nouns: []string{"sugar"}})
	if err != nil || again.Read("sugar").Material != "sand" || again.Read("pinnacle").Material != "till" {
		t.Errorf("words are not kept when more are added: %v", err)
	}
	for _, m := range v.All() {
		i, _ := v.Index(m.Code)
		if j, _ := again.Index(m.Code); i != j {
			t.Errorf("%s moved from %d to %d", m.Code, i, j)
		}
	}
}

func TestWithKeepsAbbreviations(t *testing.T) {
	own, err := lithology.Default().With(
		lithology.Entry{Material: lithology.Material{Code: "marl"}, Nouns: []string{"blu cly"}},
		lithology.Entry{Material: lithology.Material{Code: "till"}, Nouns: []string{"ts"}},
	)
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"blue clay": "marl", "blu clay": "marl", "cly": "clay", // the phrase is one with its spellings
		"ts": "till", "topsoil": "topsoil", "top soil": "topsoil", // an abbreviation taken over
	} {
		if got := own.Read(text).Material; got != want {
			t.Errorf("%q reads as %s, want %s", text, got, want)
		}
	}
	if !own.Read("blu shale").Colours.Has(lithology.Blue) {
		t.Error("blu is no longer blue")
	}
}

// What an office adds reads as it said, and moves nothing else.
func TestWithChangesNothingElse(t *testing.T) {
	v := lithology.Default()
	word := rapid.StringMatching(`q[a-z]{2,9}`)
	rapid.Check(t, func(t *rapid.T) {
		noun := strings.Join(rapid.SliceOfN(word, 1, 3).Draw(t, "noun"), " ")
		code := rapid.SampledFrom(v.All()).Draw(t, "material").Code
		if len(v.UnreadWords(noun)) != len(strings.Fields(noun)) {
			t.Skip("uses a word that has a meaning")
		}
		own, err := v.With(lithology.Entry{Material: lithology.Material{Code: code}, Nouns: []string{noun}})
		if err != nil {
			t.Fatal(err)
		}
		if got := own.Read(strings.ToUpper(noun) + ".").Material; got != code {
			t.Fatalf("%q reads as %s, want %s", noun, got, code)
		}
		for line := range strings.Lines(phrases) {
			text, _, _ := strings.Cut(line, "|")
			was, is := v.Read(text), own.Read(text)
			if !reflect.DeepEqual(was, is) {
				t.Fatalf("%q reads differently: %s", text, cmp.Diff(was, is))
			}
		}
	})
}

func TestWithRefuses(t *testing.T) {
	good := lithology.Material{Code: "ironstone", Label: "Ironstone", Class: records.ClassRock, NoFGDC: "none", Tint: "#aa5533"}
	change := func(f func(*lithology.Entry)) []lithology.Entry {
		e := lithology.Entry{Material: good, Nouns: []string{"ironstone"}}
		f(&e)
		return []lithology.Entry{e}
	}
	var many []lithology.Entry
	for _, c := range "abcdefghijklmnopqrst" {
		e := lithology.Entry{Material: good}
		e.Code = "own_" + string(c)
		many = append(many, e)
	}
	for name, extra := range map[string][]lithology.Entry{
		"code":        change(func(e *lithology.Entry) { e.Code = "Iron Stone" }),
		"no label":    change(func(e *lithology.Entry) { e.Label = " " }),
		"number":      change(func(e *lithology.Entry) { e.FGDC, e.NoFGDC = 900, "" }),
		"no reason":   change(func(e *lithology.Entry) { e.NoFGDC = "" }),
		"two reasons": change(func(e *lithology.Entry) { e.FGDC = 607 }),
		"tint":        change(func(e *lithology.Entry) { e.Tint = "red" }),
		"markup":      change(func(e *lithology.Entry) { e.Tint = `#"><a>` }),
		"dark tint":   change(func(e *lithology.Entry) { e.TintDark = "#12" }),
		"class":       change(func(e *lithology.Entry) { e.Class = 9 }),
		"no letters":  change(func(e *lithology.Entry) { e.Nouns = []string{"12"} }),
		"long word":   change(func(e *lithology.Entry) { e.Nouns = []string{strings.Repeat("x", 100)} }),
		"too many":    many,
		"two meanings": {
			{Material: lithology.Material{Code: "sand"}, Nouns: []string{"sugar"}},
			{Material: lithology.Material{Code: "salt"}, Nouns: []string{"sugar"}},
		},
	} {
		if v, err := lithology.Default().With(extra...); err == nil {
			t.Errorf("%s: no error", name)
		} else if v != nil {
			t.Errorf("%s: a vocabulary beside an error", name)
		}
	}
}

func TestReaderGivesTheSame(t *testing.T) {
	v := lithology.Default()
	r := v.NewReader(4)
	texts := []string{"clay", "sand", "clay", "gravel", "till", "granite", "clay", "shale", "sand", strings.Repeat("clay, ", 100)}
	for range 3 {
		for _, text := range texts {
			if d := cmp.Diff(v.Read(text), r.Read(text)); d != "" {
				t.Fatalf("%q: %s", text, d)
			}
		}
	}
}
