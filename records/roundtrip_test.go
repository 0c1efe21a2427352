package records_test

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func write(w *records.Well) []byte {
	return w.AppendProperties(nil, records.WriteOptions{Private: true})
}

// comesBack writes a record, reads it, and writes it again.
func comesBack(t interface {
	Helper()
	Fatalf(string, ...any)
}, w *records.Well) *records.Well {
	t.Helper()
	first := write(w)
	if !jsontext.Value(first).IsValid() {
		t.Fatalf("not valid JSON: %s", first)
	}
	var got records.Well
	if faults := got.ParseProperties(first); len(faults) > 0 {
		t.Fatalf("faults %v in %s", faults, first)
	}
	if second := write(&got); !bytes.Equal(first, second) {
		t.Fatalf("written again it differs:\n%s", cmp.Diff(string(first), string(second)))
	}
	return &got
}

// asWritten leaves out what a record's properties do not carry: keys, the
// position (a feature's geometry), and the digits of numbers that nobody
// entered.
func asWritten() cmp.Options {
	return cmp.Options{
		cmp.FilterPath(func(p cmp.Path) bool { return p.Last().Type() == reflect.TypeFor[records.Given]() },
			cmp.Comparer(func(a, b records.Given) bool { return a == b || a == (records.Given{}) || b == (records.Given{}) })),
		cmp.FilterPath(func(p cmp.Path) bool {
			switch p.String() {
			case "Place.Located", "Place.Lon", "Place.Lat":
				return true
			}
			return false
		}, cmp.Ignore()),
	}
}

func TestAFullRecordComesBack(t *testing.T) {
	w := recordstest.Full()
	got := comesBack(t, w)
	if diff := cmp.Diff(w, got, asWritten()); diff != "" {
		t.Errorf("came back changed (-in +out):\n%s", diff)
	}
}

// Full must hold something in every field, so that the tests that use it miss
// none.
func TestFullIsFull(t *testing.T) {
	w := recordstest.Full()
	written := string(write(w))
	for _, p := range records.Profile() {
		name := p.Name[strings.LastIndexAny(p.Name, ".")+1:]
		if p.Beside == "" && !strings.Contains(written, `"`+name+`":`) {
			t.Errorf("no %s in it", p.Name)
		}
	}
	if faults := w.Validate(records.ValidateOptions{}); len(faults) > 0 {
		t.Errorf("faults: %v", faults)
	}
}

func TestRandomRecordsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := recordstest.Random(rapid.Uint64().Draw(t, "seed"))
		got := comesBack(t, w)
		if diff := cmp.Diff(w, got, asWritten()); diff != "" {
			t.Fatalf("came back changed (-in +out):\n%s", diff)
		}
	})
}

// Any text in any text field and any number in any quantity comes back.
func TestAnyContentComesBack(t *testing.T) {
	amounts := func(t *rapid.T, label string) records.Amount[records.Depth] {
		v := rapid.Float64Range(-1e9, 1e9)
		a := records.Amount[records.Depth]{
			Qualifier: records.Qualifier(rapid.IntRange(0, int(records.Between)).Draw(t, label+" qualifier")),
			Value:     records.Depth(v.Draw(t, label)),
		}
		switch a.Qualifier {
		case records.Missing:
			return records.Amount[records.Depth]{}
		case records.Between:
			a.High = a.Value + records.Depth(rapid.Float64Range(0, 1e6).Draw(t, label+" high"))
		}
		return a
	}
	rapid.Check(t, func(t *rapid.T) {
		w := &records.Well{
			Number: rapid.String().Draw(t, "number"), Remarks: rapid.String().Draw(t, "remarks"),
			TotalDepth: amounts(t, "total"), StaticLevel: amounts(t, "static"),
			Owner: records.Person{Name: rapid.String().Draw(t, "owner")},
		}
		for range rapid.IntRange(0, 4).Draw(t, "strata") {
			w.Strata = append(w.Strata, records.Stratum{Top: amounts(t, "top"), Description: rapid.String().Draw(t, "description")})
		}
		got := comesBack(t, w)
		if diff := cmp.Diff(w, got, asWritten()); diff != "" {
			t.Fatalf("came back changed (-in +out):\n%s", diff)
		}
	})
}

// A value that was changed after it was entered is written as it is now.
func TestAStaleGivenNumberIsNotWritten(t *testing.T) {
	w := &records.Well{TotalDepth: recordstest.Metres[records.Depth]("62.10")}
	w.TotalDepth.Value = 70
	if got := string(write(w)); got != `{"total_depth_m":70}` {
		t.Errorf("wrote %s", got)
	}
}

func TestPrivatePartsAreLeftOut(t *testing.T) {
	w := recordstest.Full()
	got := string(w.AppendProperties(nil, records.WriteOptions{}))
	for _, secret := range []string{"Owner A", "Nowhere Road", "000"} {
		if strings.Contains(strings.ReplaceAll(got, "0190a1b2-c3d4-7e5f-8a6b-0123456789ab", ""), `"`+secret) {
			t.Errorf("%q is in %s", secret, got)
		}
	}
}

func TestPlatesComeBack(t *testing.T) {
	const text = `{"number":"4?17","since":"1999","stamped":{"total_depth_m":62.10,"yield_lps":0.4},"seen":[{"date":"2020-05","by":"A","lon":-72.5,"lat":44.25,"legible":"4-17","x":1}],"mark":"blue"}`
	var p records.Plate
	if faults := p.ParsePlate([]byte(text)); len(faults) > 0 {
		t.Fatalf("faults %v", faults)
	}
	if diff := cmp.Diff(text, string(p.AppendPlate(nil))); diff != "" {
		t.Errorf("(-in +out):\n%s", diff)
	}
}

func TestWhatTheModelHasNoPlaceForIsOnOneLine(t *testing.T) {
	var w records.Well
	w.ParseProperties([]byte("{\n  \"tile\": {\n    \"a\": [1, \"b\\n\"]\n  }\n}"))
	if got, want := string(write(&w)), `{"tile":{"a":[1,"b\n"]}}`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestTextThatIsNotUTF8IsWrittenReadably(t *testing.T) {
	got := write(&records.Well{Number: "A\xff1"})
	if !jsontext.Value(got).IsValid() || string(got) != "{\"number\":\"A\uFFFD1\"}" {
		t.Errorf("got %s", got)
	}
}

func TestNumbersThatJSONCannotHold(t *testing.T) {
	for v, want := range map[records.Depth]string{
		records.Depth(math.Inf(1)): "null", 1e-9: "1e-09", 1e22: "1e+22", 0.1: "0.1", -0.25: "-0.25",
	} {
		if got := string(write(&records.Well{TotalDepth: records.Of(v)})); got != `{"total_depth_m":`+want+`}` {
			t.Errorf("%v: %s", v, got)
		}
	}
}
