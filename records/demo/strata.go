package demo

import (
	"math"

	"tallybook/records"
)

// interval is a stretch of ground with its words.
type interval struct {
	bottom float64
	words  string
}

// strata writes the log in drillers' words, one interval under the other.
func (m *maker) strata(w *records.Well, h hole) {
	if h.year < 1996 && m.Float64() < 0.12 {
		return // no log was kept
	}
	var list []interval
	add := func(bottom float64, words string) {
		top := 0.0
		if len(list) > 0 {
			top = list[len(list)-1].bottom
		}
		if math.Round(records.Foot.FromBase(bottom)) > math.Round(records.Foot.FromBase(top)) {
			list = append(list, interval{bottom, words})
		}
	}
	m.overburden(h, add)
	m.rock(h, add)
	top := 0.0
	for _, iv := range list {
		w.Strata = append(w.Strata, records.Stratum{Top: feet(top), Bottom: feet(iv.bottom), Description: iv.words})
		top = iv.bottom
	}
}

func (m *maker) overburden(h hole, add func(float64, string)) {
	ob := h.overburden
	if ob < 1 {
		add(ob, m.pick("topsoil", "loam", "thin soil over ledge"))
		return
	}
	if m.Float64() < 0.5 {
		add(0.3+0.3*m.Float64(), m.pick("topsoil", "loam", "sandy loam", "top soil and roots"))
	}
	fill := m.g.filling(h.x, h.y)
	if fill > 12 {
		till := max(ob-fill, 1.5)
		add(till*0.8, m.pick("brn sandy till", "hardpan", "stony hardpan", "brown till w/ cobbles"))
		add(till+fill*(0.3+0.1*m.Float64()), m.pick("blue clay", "gry silty clay", "soft gray clay"))
		add(till+fill*(0.65+0.15*m.Float64()), m.pick("fine sand", "silty sand, wet", "fn brn sand"))
		add(ob, m.pick("sand & gravel, water", "crs gravel", "gravel w/ cobbles"))
		return
	}
	switch v := m.Float64(); {
	case v < 0.07 && ob > 6:
		// A ledge over sand: the trap for whoever stops at the first rock.
		add(ob*0.4, m.pick("sand", "brown sand", "sand w/ stones"))
		add(ob*0.4+0.9+0.8*m.Float64(), m.pick("ledge", "schist ledge", "rock, thin"))
		add(ob, m.pick("sand and gravel", "brn sand", "gravelly sand"))
	case v < 0.14 && ob > 5:
		add(ob*0.7, m.pick("hardpan", "stony till"))
		add(ob, m.pick("boulders", "bldrs and gravel", "large boulders"))
	case v < 0.3 && ob > 4:
		add(ob*0.35, m.pick("brn sand", "sand", "gravelly sand"))
		add(ob, m.pick("hardpan", "gray till", "till w/ bldrs"))
	default:
		add(ob, m.pick("hardpan", "brn till", "stony hardpan", "till", "till w/ cobbles", "brown hardpan w/ bldrs"))
	}
}

func (m *maker) rock(h hole, add func(float64, string)) {
	at := h.overburden
	if m.Float64() < 0.22 && h.depth-at > 6 {
		at += 0.6 + 1.8*m.Float64()
		add(at, m.pick("rotten rock", "weathered rock", "soft weathered schist", "broken rock"))
	}
	contact := min(max(h.granite, at), h.depth)
	if contact-at > 1 {
		m.beds(h, at, contact, add, "gray schist", "rusty schist", "schist", "gry schist, hard", "mica schist")
	}
	if h.depth-contact > 1 {
		m.beds(h, contact, h.depth, add, "pink granite", "granite", "gray granite, hard", "granite w/ qtz")
	}
	add(h.depth, m.pick("bedrock", "rock", "ledge rock"))
}

// beds fills a stretch of one rock, with a soft zone where water came.
func (m *maker) beds(h hole, from, to float64, add func(float64, string), words ...string) {
	name := m.pick(words...)
	at := from
	for _, s := range h.strikes {
		if s[0]-1 > at+2 && s[0]+1 < to && m.Float64() < 0.35 {
			add(s[0]-0.8, name)
			add(s[0]+0.6, m.pick("broken rock, water", "soft rock, seam", "fractured rock, water", "mud seam"))
			at = s[0] + 0.6
			name = m.pick(words...)
		}
	}
	add(to, name)
}
