package server

import (
	"net/url"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Whose word counts is part of an address: marked=in takes in what is marked
// unreliable, picks=NAME goes by the own picks of that set where it has one.
const (
	trustMarked = "marked"
	trustPicks  = "picks"
)

// trustOf reads it.
func trustOf(q url.Values) (records.Trust, error) {
	t := records.Trust{Picks: q.Get(trustPicks)}
	switch m := q.Get(trustMarked); m {
	case "", "out":
	case "in":
		t.Marked = true
	default:
		return t, records.Errorf(records.Invalid, "marked=%s is neither in nor out", clipText(m, 20))
	}
	if len(t.Picks) > 200 {
		return t, records.Errorf(records.Invalid, "picks=%s is no name of a set of picks", clipText(t.Picks, 40))
	}
	return t, nil
}

// setTrust writes it into an address.
func setTrust(q url.Values, t records.Trust) {
	if t.Marked {
		q.Set(trustMarked, "in")
	}
	if t.Picks != "" {
		q.Set(trustPicks, t.Picks)
	}
}

// trustView tells on a page what was left out and by whose picks it goes, with
// the way to have it otherwise. The zero view says nothing.
type trustView struct {
	LeftOut string // '3 logs left out, marked unreliable'
	Taken   string // '3 logs taken in although they are marked unreliable'
	Switch  string // the page the other way round
	Picked  string // 'bedrock as picked in “a” in 4 logs'
}

// Says tells whether there is anything to say.
func (v trustView) Says() bool { return v != trustView{} }

// trustViewOf says what the trust of a filter does to the fields that a page
// shows; href is the page with another trust.
func trustViewOf(p *snapshot.Picture, filter *snapshot.Filter, fields []snapshot.Field, href func(records.Trust) string) trustView {
	var v trustView
	out := *filter
	out.Marked = false
	n := p.LeftOut(&out, fields...)
	t := filter.Trust
	switch {
	case n == 0:
	case t.Marked:
		v.Taken = leftOutWords(n, true)
		t.Marked = false
		v.Switch = href(t)
	default:
		v.LeftOut = leftOutWords(n, false)
		t.Marked = true
		v.Switch = href(t)
	}
	if filter.Picks != "" {
		v.Picked = "bedrock as picked in “" + clipText(filter.Picks, 60) + "” in " + count(p.PickSets()[filter.Picks], "log", "logs") + ", as the logs say in the others"
	}
	return v
}

func leftOutWords(n int, taken bool) string {
	if taken {
		return count(n, "log", "logs") + " taken in although marked unreliable"
	}
	return count(n, "log", "logs") + " left out, marked unreliable"
}

// trustChoices are the entries of the controls of a filter: the sets of picks
// that there are, none where there is no set.
func trustChoices(p *snapshot.Picture, t records.Trust) (picks, marked []choice) {
	names := p.PickSetNames()
	if len(names) > 0 || t.Picks != "" {
		picks = append(picks, choice{"", "as the logs say", t.Picks == ""})
		known := t.Picks == ""
		for _, n := range names {
			known = known || n == t.Picks
			picks = append(picks, choice{n, "as picked in “" + clipText(n, 60) + "”", n == t.Picks})
		}
		if !known {
			picks = append(picks, choice{t.Picks, "as picked in “" + clipText(t.Picks, 60) + "”, a set that nobody has", true})
		}
	}
	if p.Marked() > 0 || t.Marked {
		marked = []choice{{"out", "left out", !t.Marked}, {"in", "taken in", t.Marked}}
	}
	return picks, marked
}

// trustView is what the map says of it.
func (m *mapState) trustView(p *snapshot.Picture) trustView {
	return trustViewOf(p, &m.filter, []snapshot.Field{m.field}, func(t records.Trust) string {
		return m.href(func(n *mapState) { n.filter.Trust = t })
	})
}

// scoutHref is the scouting page of a place, going by the same word.
func scoutHref(at position.LonLat, t records.Trust) string {
	q := url.Values{"at": {latLon(at)}}
	setTrust(q, t)
	return "/scout?" + q.Encode()
}

// trustLine says it in one line, for paper.
func trustLine(p *snapshot.Picture, filter *snapshot.Filter, fields []snapshot.Field) string {
	v := trustViewOf(p, filter, fields, func(records.Trust) string { return "" })
	return joinWords(v.LeftOut, v.Taken, v.Picked)
}
