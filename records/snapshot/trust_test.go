package snapshot_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/snapshot"
)

// marked is a picture of wells at one place that differ in their marks and
// picks; each says 10 m to bedrock, 0.5 L/s and 60 m.
func marked(t *testing.T, wells ...func(*records.Digest)) (*snapshot.Snapshot, *memory) {
	t.Helper()
	m := newMemory()
	m.change(func() {
		for i, change := range wells {
			d := records.Digest{Lon: -71 + float64(i)/1000, Lat: 44, Year: 1999,
				Bedrock:    records.DigestValue{Value: 10, Qualifier: records.Exact},
				TotalDepth: records.DigestValue{Value: 60, Qualifier: records.Exact},
				Yield:      records.DigestValue{Value: 0.5, Qualifier: records.Exact},
			}
			if change != nil {
				change(&d)
			}
			m.put(d)
		}
	})
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	return s, m
}

func mark(f records.DigestFlags) func(*records.Digest) {
	return func(d *records.Digest) { d.Flags |= f }
}

func pickedAt(set string, v float64) func(*records.Digest) {
	return func(d *records.Digest) {
		d.Own = append(d.Own, records.DigestPick{Set: set, Depth: records.DigestValue{Value: v, Qualifier: records.Exact}})
		d.Flags |= records.HasOwnBedrock | records.StrataUnreliable
	}
}

func TestMarkedIsLeftOut(t *testing.T) {
	s, m := marked(t, nil, mark(records.StrataUnreliable), mark(records.YieldUnreliable), mark(records.PositionUnreliable), mark(records.AnyUnreliable), pickedAt("a", 12))
	trusted := snapshot.Filter{}
	all := snapshot.Filter{Trust: records.Trust{Marked: true}}
	bySet := snapshot.Filter{Trust: records.Trust{Picks: "a"}}
	check := func(when string) {
		t.Helper()
		p := s.Picture()
		for _, c := range []struct {
			name              string
			field             snapshot.Field
			filter            snapshot.Filter
			used, left, picks int
		}{
			{"bedrock", snapshot.Bedrock, trusted, 2, 4, 0},
			{"yield", snapshot.Yield, trusted, 3, 3, 0},
			{"total depth", snapshot.TotalDepth, trusted, 4, 2, 0},
			{"bedrock, all", snapshot.Bedrock, all, 6, 0, 0},
			{"bedrock by the set", snapshot.Bedrock, bySet, 3, 3, 1},
			{"yield by the set", snapshot.Yield, bySet, 3, 3, 0},
		} {
			sel, err := p.Select(c.field, &c.filter)
			if err != nil {
				t.Fatal(err)
			}
			if len(sel.Rows) != c.used || sel.LeftOut != c.left || sel.Picked != c.picks || p.LeftOut(&c.filter, c.field) != c.left {
				t.Errorf("%s, %s: %d used, %d left out (counted alone: %d), %d picked; want %d, %d, %d", when, c.name,
					len(sel.Rows), sel.LeftOut, p.LeftOut(&c.filter, c.field), sel.Picked, c.used, c.left, c.picks)
			}
		}
		row, _ := p.ByID(6)
		if v := bySet.Value(row, snapshot.Bedrock); v.Value != 12 {
			t.Errorf("%s: bedrock as picked is %g, want 12", when, v.Value)
		}
		if v := all.Value(row, snapshot.Bedrock); v.Value != 10 {
			t.Errorf("%s: bedrock as the log says is %g, want 10", when, v.Value)
		}
		if diff := cmp.Diff(map[string]int{"a": 1}, p.PickSets()); diff != "" || p.Marked() != 5 {
			t.Errorf("%s: %d marked, sets %s", when, p.Marked(), diff)
		}
	}
	check("opened")
	m.change(func() { // as an overlay
		for id := int64(1); id <= 6; id++ {
			m.put(m.wells[id])
		}
	})
	refresh(t, s, m)
	check("laid over")
	s.SetFoldAt(1)
	m.change(func() { m.put(m.wells[2]); m.put(m.wells[6]) })
	refresh(t, s, m)
	s.Settle()
	check("made anew")
}

func TestFilterKeyKnowsWhoseWordCounts(t *testing.T) {
	keys := map[string]bool{}
	for _, f := range []snapshot.Filter{{}, {Trust: records.Trust{Marked: true}}, {Trust: records.Trust{Picks: "a"}}, {Trust: records.Trust{Picks: "a", Marked: true}}} {
		if keys[f.Key()] {
			t.Errorf("%+v shares its key with another", f)
		}
		keys[f.Key()] = true
	}
	if f := (snapshot.Filter{Trust: records.Trust{Picks: "a"}}); f.IsZero() {
		t.Error("a filter by own picks is not the zero filter")
	}
}

// A well counts once however many fields it is left out of; the elevation of
// bedrock is left out with its depth; a well whose position is marked stands at
// no known distance.
func TestLeftOutOfAny(t *testing.T) {
	s, _ := marked(t, nil, mark(records.StrataUnreliable), mark(records.YieldUnreliable), mark(records.PositionUnreliable), mark(records.AnyUnreliable))
	p, f := s.Picture(), snapshot.Filter{}
	if n := p.LeftOut(&f, snapshot.Fields()...); n != 4 {
		t.Errorf("%d wells left out of any field, want 4", n)
	}
	if n := p.LeftOut(&f, snapshot.BedrockElevation); n != 3 {
		t.Errorf("%d wells left out of the elevation of bedrock, want 3", n)
	}
	for filter, want := range map[*snapshot.Filter]int{nil: 3, &f: 3, {Trust: records.Trust{Marked: true}}: 5} {
		n := 0
		p.Each(func(r snapshot.Row) bool {
			if filter.Placed(r) {
				n++
			}
			return true
		})
		if n != want {
			t.Errorf("%+v: %d wells stand where their records say, want %d", filter, n, want)
		}
	}
}
