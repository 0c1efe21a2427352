package server

import (
	"fmt"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// wellSub says in a line what a record is of.
func wellSub(w *records.Well) string {
	purpose := plainWord(w.Purpose)
	if w.Purpose == "unknown" || w.Purpose == "none" {
		purpose = ""
	}
	if purpose != "" {
		purpose += " well"
	}
	done := ""
	switch {
	case !w.Completed.IsZero():
		done = "completed " + say.Date(w.Completed)
	case !w.Started.IsZero():
		done = "begun " + say.Date(w.Started)
	default:
		done = "no date"
	}
	permit := ""
	if w.PermitNumber != "" && w.Number != "" {
		permit = "permit " + w.PermitNumber
	}
	return joinWords(purpose, plainWord(w.Status), done, permit)
}

// essentials are what is asked of a well first.
func essentials(u units, s *desk.Sheet) []fact {
	w := s.Well
	orNot := func(c cell) cell {
		if c.Text == "" {
			return cell{Text: "not recorded", Class: "quiet"}
		}
		return c
	}
	bedrock := cell{Text: u.Depth(s.Picks.Bedrock.Depth)}
	if bedrock.Text == "" {
		bedrock = cell{Text: "cannot be told", Class: "quiet"}
	}
	static := u.level(w.StaticLevel)
	if v, ok := w.StaticLevel.Number(); ok && v < 0 {
		static.Text = "flows"
	}
	casing := cell{}
	if seat, ok := w.CasingSeat(); ok {
		casing.Text = u.Metres(float64(seat))
		if len(w.Casing) == 1 {
			casing.More = joinHeld(u.Diameter(w.Casing[0].Diameter), plainWord(w.Casing[0].Material))
		}
	}
	return []fact{
		{"total depth", orNot(u.depth(w.TotalDepth))},
		{"sound bedrock at", bedrock},
		{"yield", orNot(u.yield(w.Yield))},
		{"static level", orNot(static)},
		{"casing to", orNot(casing)},
	}
}

func joinHeld(parts ...string) string {
	out := ""
	for _, p := range parts {
		if p == "" || p == "not known" {
			continue
		}
		if out != "" {
			out += " "
		}
		out += p
	}
	return out
}

// wellAlerts are what a reader must see before trusting the figures.
func wellAlerts(s *desk.Sheet) []alert {
	var out []alert
	if t := markedWords(s.Well); t != "" {
		out = append(out, alert{t, "#own"})
	}
	if s.Picks.Disagree {
		out = append(out, alert{"What the record says of bedrock does not agree with itself", "#bedrock"})
	}
	refused := 0
	for _, f := range s.Faults {
		if f.Severity == records.Refusal {
			refused++
		}
	}
	doubts := len(s.Faults) - refused
	if s.Picks.Disagree && doubts == 1 {
		doubts = 0 // it is the same, told above
	}
	switch {
	case refused > 0:
		out = append(out, alert{count(refused, "thing in this record is wrong", "things in this record are wrong") + " and must be mended", "#doubts"})
	case doubts > 0:
		out = append(out, alert{count(doubts, "thing in this record is doubtful", "things in this record are doubtful"), "#doubts"})
	}
	return out
}

// doubtsPart lists what is doubtful in a record, in plain words with mends.
func doubtsPart(faults []records.Fault) part {
	p := part{ID: "doubts", Title: "To be looked at"}
	l := listing{Heads: heads("where", "what was found", "what to do")}
	for _, f := range faults {
		class := ""
		if f.Severity == records.Refusal {
			class = "wrong"
		}
		l.add(class, cell{Text: capital(fieldWords(f.Field))}, cell{Text: capital(f.Message) + "."}, cell{Text: capital(f.Mend), Class: "quiet"})
	}
	p.list(l)
	return p
}

// nearPart lists the nearest wells.
func nearPart(u units, near []neighbour) part {
	p := part{ID: "near", Title: "Nearest wells"}
	p.list(nearListing(u, near))
	return p
}

func nearListing(u units, near []neighbour) listing {
	l := listing{Heads: heads("well", "where", "#depth", "#sound bedrock", "#yield", "#year")}
	for _, n := range near {
		d := n.Digest()
		year := ""
		if d.Year > 0 {
			year = fmt.Sprint(int(d.Year))
		}
		l.add("", cell{Text: n.Name, Href: wellHref(n.ID())},
			cell{Text: u.Distance(n.DistanceM) + " " + say.Bearing(n.BearingDeg), Class: "figures"},
			cell{Text: u.Depth(digestDepth(d.TotalDepth))}, cell{Text: u.Depth(digestDepth(d.Bedrock))},
			u.yield(digestFlow(d.Yield)), cell{Text: year})
	}
	return l
}

func digestDepth(v records.DigestValue) records.Amount[records.Depth] {
	return records.Amount[records.Depth]{Qualifier: v.Qualifier, Value: records.Depth(v.Value), High: records.Depth(v.High)}
}

func digestFlow(v records.DigestValue) records.Amount[records.Flow] {
	return records.Amount[records.Flow]{Qualifier: v.Qualifier, Value: records.Flow(v.Value), High: records.Flow(v.High)}
}
