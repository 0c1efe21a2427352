package lithology_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/lithology"
)

// Common practice, no source; the weathering grades are those of the ISRM
// table (I fresh to VI residual soil).
func TestAttributes(t *testing.T) {
	type want struct {
		colours    string
		shade      lithology.Shade
		munsell    string
		hardness   lithology.Hardness
		weathering lithology.Weathering
	}
	for text, w := range map[string]want{
		"gry cly":                          {colours: "gray"},
		"lt brn snd":                       {colours: "brown", shade: lithology.Light},
		"dark bluish grey shale":           {colours: "gray and blue", shade: lithology.Dark},
		"red & yellow clay":                {colours: "yellow and red"},
		"rusty schist":                     {colours: "rust"},
		"iron-stained quartz":              {colours: "rust"},
		"slate gray clay":                  {colours: "gray"},
		"coal black shale":                 {colours: "black"},
		"multi-colored clay":               {colours: "mottled"},
		"clay, 10YR 4/3, stiff":            {munsell: "10YR 4/3", hardness: lithology.Hard},
		"2.5yr5/6 silt":                    {munsell: "2.5yr5/6"},
		"5GY 4/1 sand":                     {munsell: "5GY 4/1"},
		"till N 4/ dense":                  {munsell: "N 4/", hardness: lithology.Hard},
		"10 ft 4/3 clay":                   {},
		"very hard granite":                {hardness: lithology.VeryHard},
		"v. soft clay":                     {hardness: lithology.VerySoft},
		"med hard shale":                   {hardness: lithology.MediumHard},
		"not hard clay":                    {},
		"soft clay, hard boulders":         {hardness: lithology.Soft},
		"fresh granite":                    {weathering: lithology.Fresh},
		"unweathered gneiss":               {weathering: lithology.Fresh},
		"gneiss, not weathered":            {weathering: lithology.Fresh},
		"slightly weathered schist":        {weathering: lithology.SlightlyWeathered},
		"schist, mod. weathered":           {weathering: lithology.ModeratelyWeathered},
		"highly weathered schist":          {weathering: lithology.HighlyWeathered},
		"completely weathered schist":      {weathering: lithology.CompletelyWeathered},
		"rotten schist":                    {weathering: lithology.CompletelyWeathered},
		"residual clay":                    {weathering: lithology.ResidualSoil},
		"weathered schist":                 {weathering: lithology.WeatheredUnstated},
		"saprolite":                        {weathering: lithology.CompletelyWeathered},
		"gray hard granite, weathered":     {colours: "gray", hardness: lithology.Hard, weathering: lithology.WeatheredUnstated},
		"limestone with weathered streaks": {},
	} {
		r := lithology.Default().Read(text)
		got := want{r.Colours.String(), r.Shade, r.Munsell, r.Hardness, r.Weathering}
		if d := cmp.Diff(w, got, cmp.AllowUnexported(want{})); d != "" {
			t.Errorf("%q: %s%s", text, d, r.Explain())
		}
	}
}

func TestAsAboveAndNotLogged(t *testing.T) {
	v := lithology.Default()
	for text, want := range map[string][2]bool{
		"same": {true, false}, "Same as above, harder": {true, false}, "ditto": {true, false},
		"no sample": {false, true}, "not logged": {false, true}, "Unknown": {false, true},
		"clay": {false, false},
	} {
		r := v.Read(text)
		if got := [2]bool{r.AsAbove, r.NotLogged}; got != want {
			t.Errorf("%q: as above, not logged = %v, want %v", text, got, want)
		}
	}
}

func TestExplain(t *testing.T) {
	got := lithology.Default().Read("brn sandy cly, no rock?").Explain()
	for _, part := range []string{"Read as clay with sand; class soil.", "“brn” is colour (brown)", "“sandy” adds some sand", "“cly” names clay", "“rock” is said not to be there (rock)"} {
		if !strings.Contains(got, part) {
			t.Errorf("%q lacks %q", got, part)
		}
	}
}

func TestUnreadWordsAreCounted(t *testing.T) {
	if got := lithology.Default().Read("blorp clay fnord").Unread; got != 2 {
		t.Errorf("unread = %d, want 2", got)
	}
}

func TestLongTextIsBounded(t *testing.T) {
	v := lithology.Default()
	for name, text := range map[string]string{
		"words":  strings.Repeat("clay and ", 1<<17),
		"letter": strings.Repeat("x", 1<<20),
		"breaks": strings.Repeat("sand,", 1<<18),
		"spaces": strings.Repeat(" ", 1<<20),
	} {
		allocs := testing.AllocsPerRun(3, func() { v.Read(text) })
		r := v.Read(text)
		if !r.Doubts.Has(lithology.DoubtTruncated) || len(r.Words) > 128 || allocs > 12 {
			t.Errorf("%s: doubts %b, %d words, %v allocations", name, r.Doubts, len(r.Words), allocs)
		}
	}
}

// checkReading holds for the reading of any text.
func checkReading(t *testing.T, v *lithology.Vocabulary, r lithology.Reading) {
	t.Helper()
	m, ok := v.Material(r.Material)
	if !ok {
		t.Fatalf("%q: material %q is not in the vocabulary", r.Text, r.Material)
	}
	if r.Class != m.Class && !r.Uncertain() {
		t.Errorf("%q: class %s of %s, and no doubt said", r.Text, r.Class, r.Material)
	}
	bits := uint64(0)
	for _, c := range append([]string{r.Material}, r.Secondary...) {
		i, ok := v.Index(c)
		if !ok || bits&(1<<i) != 0 {
			t.Errorf("%q: %q unknown or twice among %q, %q", r.Text, c, r.Material, r.Secondary)
		}
		bits |= 1 << i
	}
	if r.Material == lithology.Unknown && len(r.Secondary) > 0 {
		bits &^= 1
	}
	if bits != r.Materials {
		t.Errorf("%q: set %b, want %b", r.Text, r.Materials, bits)
	}
	at := 0
	for _, w := range r.Words {
		if w.Start < at || w.End <= w.Start || w.End > len(r.Text) {
			t.Fatalf("%q: span %d to %d after %d", r.Text, w.Start, w.End, at)
		}
		at = w.End
	}
	if len(r.Words) > 128 || len(r.Secondary) > 12 || r.Unread > 128 {
		t.Errorf("%q: not bounded: %d words, %d secondary, %d unread", r.Text, len(r.Words), len(r.Secondary), r.Unread)
	}
}

func TestPhraseReadingsHold(t *testing.T) {
	v := lithology.Default()
	for line := range strings.Lines(phrases) {
		text, _, _ := strings.Cut(line, "|")
		checkReading(t, v, v.Read(text))
	}
}

func FuzzRead(f *testing.F) {
	for line := range strings.Lines(phrases) {
		text, _, _ := strings.Cut(line, "|")
		f.Add(strings.TrimSpace(text))
	}
	f.Add("10YR 4/3 \xff\xfe clay – ½ “gneiß” Ünder\x00")
	f.Add(strings.Repeat("no not with and w/o 5GY 4/ ", 300))
	v := lithology.Default()
	f.Fuzz(func(t *testing.T, text string) {
		r := v.Read(text)
		checkReading(t, v, r)
		if d := cmp.Diff(r, v.Read(text)); d != "" {
			t.Errorf("two readings of %q differ: %s", text, d)
		}
		if got := v.UnreadWords(text); len(got) != r.Unread {
			t.Errorf("%q: %d words not read, %d listed", text, r.Unread, len(got))
		}
		if r.Explain() == "" {
			t.Error("no explanation")
		}
	})
}

var (
	sink  lithology.Reading
	words []string
)

func BenchmarkRead(b *testing.B) {
	v := lithology.Default()
	for _, c := range []struct{ name, text string }{
		{"40 bytes", "hard gray sandy clay with some boulders"},
		{"one word", "granite"},
		{"abbreviated", "lt gry ls w/ sh strks, wb, brkn"},
		{"240 bytes", strings.Repeat("hard gray sandy clay with some boulders, ", 6)},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				sink = v.Read(c.text)
			}
		})
	}
	// The yardstick: what it costs only to cut the same text into words.
	b.Run("40 bytes cut into words only", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			words = strings.Fields(strings.ToLower("Hard gray sandy clay with some boulders"))
		}
	})
	b.Run("remembered", func(b *testing.B) {
		r := v.NewReader(1000)
		b.ReportAllocs()
		for b.Loop() {
			sink = r.Read("hard gray sandy clay with some boulders")
		}
	})
}

func TestUnreadWords(t *testing.T) {
	v := lithology.Default()
	for text, want := range map[string][]string{
		"blorp clay, Fnord's? 10YR 4/3": {"blorp", "fnords"},
		"gray clay":                     nil,
		"":                              nil,
	} {
		got := v.UnreadWords(text)
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%q: %s", text, d)
		}
		if r := v.Read(text); r.Unread != len(got) {
			t.Errorf("%q: Unread is %d, %d words listed", text, r.Unread, len(got))
		}
	}
}
