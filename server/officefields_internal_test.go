package server

import (
	"encoding/json"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/scout"
)

func TestPlainNumber(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"12", "12"}, {"12.50", "12.50"}, {" 12.5 ", "12.5"}, {".5", "0.5"}, {"5.", "5"}, {"007", "7"}, {"0.05", "0.05"}, {"+3", "3"}, {"-3", "-3"}, {"−3", "-3"},
		{"1,200", "1200"}, {"1,200.75", "1200.75"}, {"12 500", "12500"}, {"1,234,567", "1234567"},
		{"6 5/8", "6.625"}, {"6-5/8", "6.625"}, {"1/2", "0.5"},
		{"12,5", ""}, {"1,20", ""}, {"1,2000", ""}, {",500", ""}, {"12a", ""}, {"", ""}, {"1e3", ""}, {"--1", ""}, {"1.2.3", ""}, {"5/0", ""}, {"9/8", ""}, {"ten", ""}, {"∞", ""}, {"NaN", ""},
	} {
		got, ok := plainNumber(c.typed)
		if ok != (c.want != "") || ok && got != c.want {
			t.Errorf("%q is read as %q, %v; want %q", c.typed, got, ok, c.want)
		}
	}
}

func TestShiftPoint(t *testing.T) {
	for _, c := range []struct {
		number string
		places int
		want   string
	}{
		{"12.5", 2, "1250"}, {"12.50", 2, "1250"}, {"0.05", 2, "5"}, {"0.0500", 2, "5.00"}, {"0", 2, "0"}, {"-1.5", 2, "-150"},
		{"1250", -2, "12.50"}, {"5", -2, "0.05"}, {"5.00", -2, "0.0500"}, {"0", -2, "0.00"}, {"-1", -2, "-0.01"}, {"1e3", -2, "10.00"},
	} {
		if got := shiftPoint(c.number, c.places); got != c.want {
			t.Errorf("%s by %d is %s, want %s", c.number, c.places, got, c.want)
		}
	}
}

// Money comes back to the cent and shares to the digit, without ever being a
// binary fraction on the way.
func TestTypedFiguresComeBack(t *testing.T) {
	price, share := &officeField{path: "p", kind: asMoney}, &officeField{path: "s", kind: asPercent}
	rapid.Check(t, func(t *rapid.T) {
		cents := strconv.FormatInt(rapid.Int64Range(0, 1e13).Draw(t, "cents"), 10)
		shown := price.shown(json.RawMessage(cents))
		if raw, fault := price.raw(shown, scout.US, "USD"); fault != nil || string(raw) != cents {
			t.Fatalf("%s cents are shown as %s and read as %s (%v)", cents, shown, raw, fault)
		}
		digits := strconv.Itoa(rapid.IntRange(0, 99).Draw(t, "whole")) + rapid.StringMatching(`(\.[0-9]{1,6})?`).Draw(t, "rest")
		raw, fault := share.raw(digits, scout.US, "")
		if fault != nil || share.shown(raw) != digits {
			t.Fatalf("%s %% is stored as %s and shown as %s (%v)", digits, raw, share.shown(raw), fault)
		}
	})
}

func TestMoneyAsTyped(t *testing.T) {
	f := &officeField{path: "p", kind: asMoney}
	for _, c := range []struct{ typed, want string }{
		{"$12.50", "1250"}, {"USD 12", "1200"}, {"1,000", "100000"}, {"0", "0"}, {"12.500", "1250"}, {"-4", "-400"},
		{"12.505", ""}, {"12,50", ""}, {"a lot", ""}, {"9999999999999999", ""},
	} {
		raw, fault := f.raw(c.typed, scout.US, "USD")
		if (fault == nil) != (c.want != "") || string(raw) != c.want {
			t.Errorf("%q is read as %s (%v), want %q", c.typed, raw, fault, c.want)
		}
		if fault != nil && (fault.Mend == "" || fault.Severity != records.Refusal) {
			t.Errorf("%q: no mend in %v", c.typed, fault)
		}
	}
}

func FuzzPlainNumber(f *testing.F) {
	for _, s := range []string{"12.50", "1,200", "6 5/8", ".5", "-0", "12,5", "1 2", "00", "1/64"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		n, ok := plainNumber(typed)
		if !ok {
			return
		}
		if !records.IsJSONNumber(n) || len(n) > 60 {
			t.Fatalf("%q gives %q, which is no number of JSON", typed, n)
		}
		again, ok := plainNumber(n)
		if !ok || again != n {
			t.Fatalf("%q gives %q, which is read as %q", typed, n, again)
		}
		for _, places := range []int{2, -2} {
			if moved := shiftPoint(n, places); !records.IsJSONNumber(moved) {
				t.Fatalf("%q moved by %d is %q", n, places, moved)
			}
		}
	})
}

func TestFieldKey(t *testing.T) {
	for path, want := range map[string]string{
		"drilling[2].to_ft": "drilling.2.to", "drilling[0].cents_per_m": "drilling.0.by_length", "drilling[1]": "drilling.1", "casing[0].diameter_in": "casing.0.diameter",
		"sealing_cents_per_ft": "sealing_by_length", "sealing by length": "sealing_by_length", "dry_hole.below_gpm": "dry_hole.below", "dry_hole.below": "dry_hole.below",
		"hours[0].cents_per_hour": "hours.0.cents_per_hour", "tax.on[1]": "tax.on.1", "grout_sack_yield_l": "grout_sack_yield", "words.firm": "words.firm", "minimum": "minimum", "rules[3].distance": "rules.3.distance",
	} {
		if got := fieldKey(path); got != want {
			t.Errorf("%s is %s, want %s", path, got, want)
		}
	}
}

// The form has a field for every property of the documents: ones that hold
// each of them lose nothing in it.
func TestDocumentsGoThroughTheForm(t *testing.T) {
	r, p := scout.InventedRates(), scout.InventedPractice()
	r.ValidFrom, r.ValidTo = records.Date{Year: 2026, Month: 4, Day: 1}, records.Date{Year: 2027, Month: 3, Day: 31}
	p.Words.Licence, p.Words.Reach, p.Words.Terms = "No. 1", "by letter", "first line\nsecond line"
	for i, doc := range officeDocs() {
		var text []byte
		switch doc.word {
		case "rates":
			text = r.AppendJSON(nil)
		case "practice":
			text = p.AppendJSON(nil)
		case "rules":
			text = scout.InventedRules().AppendJSON(nil)
		case "plates":
			text = records.PlateFormat{
				Units: "si", PublicBase: "https://wells.example.org/water", Heading: "Invented office", WidthMM: 76.2, HeightMM: 50.8, HolesMM: 3.2,
				Tool: records.PlateEngraver, LineMM: 0.15, Fields: records.PlateFieldWords(),
			}.AppendJSON(nil)
		}
		form, ok := doc.sheet.fill(text)
		if !ok {
			t.Fatalf("%s: the invented one cannot be read", doc.word)
		}
		again, faults := form.document()
		canonical, wrong, _ := doc.check(again)
		if len(faults) > 0 || records.Refuses(wrong) {
			t.Errorf("%s: %v %v", doc.word, faults, wrong)
		}
		if string(canonical) != string(text) {
			t.Errorf("document %d lost something in the form:\n%s\n%s", i, text, canonical)
		}
	}
}
