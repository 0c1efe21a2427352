package ogc

import (
	"encoding/json"
	"math"
	"testing"
	"time"
	"unicode/utf8"

	"tallybook/records"
)

func FuzzBox(f *testing.F) {
	for _, s := range []string{"-72,44,-71,45", "179,-1,-179,1", "1,2,3,4,5,6", "-200,0,200,90", "1e308,0,1e309,1", " 1 , 2 , 3 , 4 ", ",,,", "0x1p4,0,20,1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var a ask
		err := a.readBox(s)
		if err == nil {
			err = a.settle(&records.FeatureCollections()[0])
		}
		if err != nil {
			if records.CodeOf(err) != records.Invalid || len(a.where) != 0 {
				t.Fatalf("%q: %v, %v", s, err, a.where)
			}
			return
		}
		box, ok := a.where[0].(records.CondBox)
		if !ok {
			return // beyond the earth
		}
		b := box.Box
		if math.IsNaN(b.West+b.East+b.South+b.North) || b.South > b.North || b.West <= b.East && (b.West < -180 || b.East > 180) {
			t.Fatalf("%q gives the box %+v", s, b)
		}
	})
}

func FuzzTime(f *testing.F) {
	for _, s := range []string{"2004-06-15", "../..", "/", "2000-01-01T/..", "2004-06-15T10:00:00Z/2004-06-15T10:00:00+02:00", "2004", "9999-12-31T23:59:60Z", "0000", "/2004-02-29"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var a ask
		if err := a.readTime(s); err != nil {
			if records.CodeOf(err) != records.Invalid {
				t.Fatalf("%q: %v", s, err)
			}
			return
		}
		c := a.where[0].(records.CondTime)
		for _, end := range []string{c.From, c.To} {
			if end == "" {
				continue
			}
			again, ok := readMoment(end)
			if !ok || again != end {
				t.Fatalf("%q: %q reads back as %q", s, end, again)
			}
		}
		if c.From != "" && c.To != "" && startOf(c.From).After(startOf(c.To)) {
			t.Fatalf("%q ends before it begins", s)
		}
	})
}

func FuzzKey(f *testing.F) {
	f.Add("1")
	f.Add("12.34")
	f.Add("007.")
	f.Add("-1")
	f.Fuzz(func(t *testing.T, s string) {
		if k, ok := parseKey(s); ok {
			if again, ok := parseKey(keyText(k)); !ok || again != k || k.Record < 0 || k.Part < 0 {
				t.Fatalf("%q: %+v, again %+v", s, k, again)
			}
		}
	})
}

// FuzzFeature: what is written is JSON and reads back as the same.
func FuzzFeature(f *testing.F) {
	f.Add("a\"b\\\n\x00", "é\u2028\xff", 0.1, -7.0)
	f.Add("", "</script>", math.Inf(1), 1e-300)
	c := &records.FeatureCollection{Fields: []records.FeatureField{{Name: "a"}, {Name: "b", Type: records.FieldNumber}, {Name: "c"}}}
	f.Fuzz(func(t *testing.T, id, text string, v, lon float64) {
		x := &records.Feature{ID: id, Located: true, Lon: lon, Lat: v, Values: []any{text, v, nil}}
		out, err := newWriter(c, refSystem{}).append(nil, x, []link{{Href: text}})
		if err != nil {
			t.Fatal(err)
		}
		var back struct {
			ID         string
			Geometry   struct{ Coordinates [2]*float64 }
			Properties map[string]any
		}
		if err := json.Unmarshal(out, &back); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		if utf8.ValidString(id) && back.ID != id || utf8.ValidString(text) && back.Properties["a"] != text {
			t.Fatalf("%q, %q read back as %q, %q", id, text, back.ID, back.Properties["a"])
		}
		finite := !math.IsInf(v, 0) && !math.IsNaN(v)
		if got, ok := back.Properties["b"].(float64); ok != finite || finite && got != v {
			t.Fatalf("%v reads back as %v", v, back.Properties["b"])
		}
		if _, there := back.Properties["c"]; !there || len(back.Properties) != 3 {
			t.Fatalf("properties %v", back.Properties)
		}
	})
}

func TestAcceptPart(t *testing.T) {
	for s, want := range map[string]struct {
		kind string
		q    float64
	}{" Text/HTML;q=0.5": {"text/html", 0.5}, "*/*": {"*/*", 1}, "a/b; version=1; q=0": {"a/b", 0}, "a/b;q=7": {"a/b", 1}, "": {"", 1}} {
		if kind, q := acceptPart(s); kind != want.kind || q != want.q {
			t.Errorf("%q: %s %v", s, kind, q)
		}
	}
}

func TestCacheIsBounded(t *testing.T) {
	var c pageCache
	for i := range 100 {
		c.put(&keptPage{key: string(rune('A' + i)), body: make([]byte, 2<<20)})
	}
	if c.bytes > mostKept || c.recent.Len() != len(c.byKey) || c.recent.Len() < 20 {
		t.Errorf("%d bytes in %d pages (%d by key)", c.bytes, c.recent.Len(), len(c.byKey))
	}
	c.put(&keptPage{key: "too large", body: make([]byte, mostKept/3)})
	if _, ok := c.get("too large"); ok {
		t.Error("a page as large as a third of the cache is kept")
	}
	var l latest[int]
	for i := range 5000 {
		l.put(time.Duration(i).String(), 1, i)
	}
	if len(l.value) > mostNames+1 {
		t.Errorf("%d things are kept", len(l.value))
	}
	if _, ok := l.get(time.Duration(4999).String(), 2); ok {
		t.Error("what was counted at another commit is given")
	}
}
