package server

import (
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// scoutAsk is the question of a scouting page, all of it in the address: the
// place, what the water is for, how much is needed, and how the hole is made.
// Numbers in the address are in the units that it names itself (in=us or
// in=si), so that a link means the same to everybody.
type scoutAsk struct {
	at      position.LonLat
	use     string
	people  int
	needLps float64
	holeMM  float64 // diameter of the hole through rock
	pipeMM  float64 // outside diameter of the casing
	mostM   float64 // never deeper; 0: as the office says
	stopM   float64 // stop and call at this depth; 0: none
	above   float64 // a sum that the reader asks about, in whole units; 0: none
	tankL   float64
	hazards []scout.Paced
	access  string // how the rig gets in, as somebody noted it
	trust   records.Trust
}

// Starting values of the question: a flow that several authorities ask of a
// house, and the commonest pipe of a domestic rock well (common practice, no
// source). The reader changes them in the sentence at the head.
const (
	startNeedGPM = 5.0
	startHoleIn  = 6.0
	startPipeIn  = 6.625
	startPeople  = 4
	mostHazards  = 24
	mostSum      = 1e9
)

// parseScoutAsk reads the question; what cannot be read is an error that names
// the part at fault.
func parseScoutAsk(q url.Values, reader say.System) (*scoutAsk, error) {
	u := reader
	if given, ok := say.Parse(q.Get("in")); ok {
		u = given
	}
	a := &scoutAsk{use: q.Get("use"), people: startPeople}
	r, err := position.Parse(q.Get("at"))
	if err != nil {
		return nil, &records.Error{Code: records.Invalid, Field: "at", Message: "the place to scout: " + err.Error()}
	}
	a.at = r.At
	for _, part := range []struct {
		name, words string // as the address and as the page say it
		unit        records.Unit
		start, most float64 // base units
		into        *float64
	}{
		{"need", "the flow needed", u.FlowUnit(), records.GallonPerMinute.ToBase(startNeedGPM), 1000, &a.needLps},
		{"hole", "the diameter of the hole", u.DiameterUnit(), records.InchDiameter.ToBase(startHoleIn), 2000, &a.holeMM},
		{"pipe", "the outside diameter of the casing", u.DiameterUnit(), records.InchDiameter.ToBase(startPipeIn), 2000, &a.pipeMM},
		{"most", "the greatest depth", u.LengthUnit(), 0, 3000, &a.mostM},
		{"stop", "the depth to stop and call at", u.LengthUnit(), 0, 3000, &a.stopM},
		{"tank", "the tank", u.VolumeUnit(), 0, 1e6, &a.tankL},
	} {
		*part.into = part.start
		v, ok, err := numberOf(q, part.name)
		if err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		base := part.unit.ToBase(asWas(q, part.name, v))
		if base < 0 || base > part.most {
			return nil, records.Errorf(records.Invalid, "%s (%s=%s) is out of range: it may be from 0 to %s %s", part.words, part.name, clipText(q.Get(part.name), 40), trimFloat(part.unit.FromBase(part.most), 0), part.unit.Symbol())
		}
		*part.into = base
	}
	if a.above, _, err = numberOf(q, "above"); err != nil {
		return nil, err
	}
	if a.above < 0 || a.above > mostSum {
		return nil, records.Errorf(records.Invalid, "above=%s is no sum of money that is asked about", clipText(q.Get("above"), 40))
	}
	if t := q.Get("people"); t != "" {
		if a.people, err = strconv.Atoi(t); err != nil || a.people < 0 || a.people > 100000 {
			return nil, records.Errorf(records.Invalid, "people=%s is no number of people; write a whole number such as 4", clipText(t, 40))
		}
	}
	if a.trust, err = trustOf(q); err != nil {
		return nil, err
	}
	a.access = strings.TrimSpace(q.Get("access"))
	if utf8.RuneCountInString(a.access) > mostAccess {
		return nil, records.Errorf(records.Invalid, "the note on how the rig gets in is longer than %d characters; shorten it", mostAccess)
	}
	if err := a.readHazards(q["near"], u); err != nil {
		return nil, err
	}
	return a, a.readAdded(q, u)
}

// mostAccess is how long the note on access may be, characters: it stands in an
// address.
const mostAccess = 400

// readAdded reads what the forms of the page add: something paced off, or the
// place where the plan was pressed.
func (a *scoutAsk) readAdded(q url.Values, u say.System) error {
	pressed, err := a.readPressed(q)
	if err != nil || pressed || !q.Has("hazard") {
		return err
	}
	if q.Get("paced") == "" {
		return records.Errorf(records.Invalid, "how far away is the %s? Write a distance in %s, or press the plan where it stands", strings.ReplaceAll(clipText(q.Get("hazard"), 40), "_", " "), u.LengthUnit().Symbol())
	}
	return a.readHazards([]string{q.Get("hazard") + "," + q.Get("paced") + "," + q.Get("towards")}, u)
}

// added says whether an address comes from a form that adds something, so that
// the page has an address that says it plainly.
func added(q url.Values) bool { return q.Has("hazard") }

// exactDecimals are so many that a figure turned into other units and back is
// the same: what is needed stands on the edge of what wells give, and a need of
// 5 gpm that came back as 5.001 would count every well of 5 gpm as short.
const exactDecimals = 12

// shownDecimals are those of a figure in the fields of a question.
func shownDecimals(name string) int {
	switch name {
	case "need", "yield":
		return 2
	case "hole", "pipe":
		return 3
	case "tank":
		return 0
	}
	return 1
}

// wasName is the hidden field beside one that shows a figure rounded.
func wasName(name string) string { return "was-" + name }

// asWas is a figure of a form, or where it stands as the form showed it, the one
// that was rounded to show it.
func asWas(q url.Values, name string, v float64) float64 {
	d := shownDecimals(name)
	if was, ok, err := numberOf(q, wasName(name)); err == nil && ok && trimFloat(was, d) == trimFloat(v, d+6) {
		return was
	}
	return v
}

// readHazards reads what stands near the pin: kind,distance,direction.
func (a *scoutAsk) readHazards(given []string, u say.System) error {
	for _, t := range given {
		if len(a.hazards) == mostHazards {
			return records.Errorf(records.Invalid, "near=%s: at most %d things are held against the rules", clipText(t, 40), mostHazards)
		}
		h, err := scout.ParsePaced(t, u.LengthUnit())
		if err != nil {
			return records.Errorf(records.Invalid, "near=%s: %s", clipText(t, 40), records.MessageOf(err))
		}
		a.hazards = append(a.hazards, h)
	}
	return nil
}

// query is the question as an address says it, in the units u.
func (a *scoutAsk) query(u say.System) url.Values {
	q := url.Values{"at": {latLon(a.at)}, "in": {u.String()}}
	set := func(name string, unit records.Unit, base, start float64) {
		if math.Abs(base-start) > 1e-9 {
			q.Set(name, trimFloat(unit.FromBase(base), exactDecimals))
		}
	}
	set("need", u.FlowUnit(), a.needLps, records.GallonPerMinute.ToBase(startNeedGPM))
	set("hole", u.DiameterUnit(), a.holeMM, records.InchDiameter.ToBase(startHoleIn))
	set("pipe", u.DiameterUnit(), a.pipeMM, records.InchDiameter.ToBase(startPipeIn))
	set("most", u.LengthUnit(), a.mostM, 0)
	set("stop", u.LengthUnit(), a.stopM, 0)
	set("tank", u.VolumeUnit(), a.tankL, 0)
	if a.above > 0 {
		q.Set("above", trimFloat(a.above, 2))
	}
	if a.use != "" {
		q.Set("use", a.use)
	}
	if a.people != startPeople {
		q.Set("people", strconv.Itoa(a.people))
	}
	for _, h := range a.hazards {
		q.Add("near", h.Kind+","+trimFloat(u.LengthUnit().FromBase(h.DistM), 1)+","+trimFloat(h.BearingDeg, 1))
	}
	if a.access != "" {
		q.Set("access", a.access)
	}
	setTrust(q, a.trust)
	return q
}

// href is the address of a page that answers the question.
func (a *scoutAsk) href(path string, u say.System, change func(*scoutAsk)) string {
	c := *a
	c.hazards = slices.Clone(a.hazards)
	if change != nil {
		change(&c)
	}
	return path + "?" + c.query(u).Encode()
}

// ask is the question as the desk is asked it.
func (a *scoutAsk) ask() desk.ScoutAsk {
	q := desk.ScoutAsk{
		At: a.at, Need: records.Flow(a.needLps), Hole: records.Diameter(a.holeMM), Casing: records.Diameter(a.pipeMM),
		MaxDepth: records.Depth(a.mostM), CallDepth: records.Depth(a.stopM), Shape: "two-peaks", Tank: records.Volume(a.tankL),
	}
	q.Filter.Trust = a.trust
	q.Daily = records.Volume(float64(a.people) * litresAPerson)
	return q
}

// litresAPerson is the water used by one person in a day: 300 L (Domestic
// Wells, Groundwater Project 2022, Box 1, after Dieter and Maupin 2017).
const litresAPerson = 300.0
