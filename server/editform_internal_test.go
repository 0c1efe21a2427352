package server

import (
	"maps"
	"net/url"
	"slices"
	"testing"

	"tallybook/records"
	"tallybook/server/say"
)

// Whatever a form says, reading it and doing something to its rows loses no
// other field, and the rows that are moved hold what they held.
func FuzzEditForm(f *testing.F) {
	f.Add("strata[0].top=0&strata[0].bottom=12&strata[1].description=a%0D%0Ab&strata[3].was=1", "drop:strata:1")
	f.Add("rods[5].from=1&rods[2].to=x&~draft=-4&~choose:number=both", "up:rods:1")
	f.Add("strata.rows=9&strata[00].top=1&strata[1e3].top=2&strata[-1].top=3&strata[7]=&number=1", "add:strata")
	f.Add("~in=si&strata[999999].top=1", "up:strata:999999999999")
	f.Fuzz(func(t *testing.T, body, do string) {
		q, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		form := readEditForm(q, 3, say.US)
		before := maps.Clone(form.Typed)
		list, row, ok := form.doRow(do)
		if !ok {
			if !maps.Equal(before, form.Typed) {
				t.Fatalf("%q did nothing and changed the form", do)
			}
			return
		}
		rows := before.RowsOf(list)
		after := form.Typed.RowsOf(list)
		for i, n := range after {
			if i != n {
				t.Fatalf("rows are numbered %v", after)
			}
		}
		if d := len(after) - len(rows); d < -1 || d > 1 || row >= len(after) && len(after) > 0 && row != 0 && d != 0 {
			t.Fatalf("%q made %d rows of %d and goes on at %d", do, len(after), len(rows), row)
		}
		outside := func(all records.Typed) map[string]string {
			out := map[string]string{}
			for name, v := range all {
				if len(name) <= len(list) || name[:len(list)+1] != list+"[" {
					out[name] = v
				}
			}
			delete(out, list+".rows")
			return out
		}
		if !maps.Equal(outside(before), outside(form.Typed)) {
			t.Fatalf("%q changed what is outside the list", do)
		}
		if do[:2] == "up" {
			values := func(all records.Typed) []string {
				var out []string
				for _, i := range all.RowsOf(list) {
					for name, v := range all {
						if field, ok := cutRow(name, list, i); ok {
							out = append(out, field+"="+v)
						}
					}
				}
				slices.Sort(out)
				return out
			}
			if !slices.Equal(values(before), values(form.Typed)) {
				t.Fatalf("%q lost something: %v, then %v", do, values(before), values(form.Typed))
			}
		}
		// A draft gives the form back.
		again := formOfDraft(&records.Draft{WellID: 3, Typed: form.kept()}, say.SI)
		if !maps.Equal(again.Typed, form.Typed) || again.UID != form.UID || again.In != form.In || again.Why != form.Why {
			t.Fatalf("came back from a draft as %v", again)
		}
	})
}

func cutRow(name, list string, i int) (string, bool) {
	for _, r := range (records.Typed{name: ""}).RowsOf(list) {
		if r == i {
			return name[len(list):][len("[]")+len(trimFloat(float64(i), 0)):], true
		}
	}
	return "", false
}

// Cells of a spreadsheet never panic, and every row of them is a stratum or is
// told of.
func FuzzPastedCells(f *testing.F) {
	f.Add("0\t12\tclay\n12\t40\thardpan")
	f.Add("from\tto\twords\n\t12\tclay\n0\t0\t0\t0\n>300\t\tx")
	f.Fuzz(func(t *testing.T, text string) {
		cells := pastedCells(text)
		strata, told := cellStrata(cells, records.Foot)
		if len(strata) > len(cells) || len(strata) < len(cells)-1 && told == "" {
			t.Fatalf("%d rows of cells made %d strata, and it is told: %q", len(cells), len(strata), told)
		}
		for _, s := range strata {
			if !s.Bottom.Known() {
				t.Fatalf("a row without a depth: %+v", s)
			}
		}
	})
}
