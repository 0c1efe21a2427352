package server

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// sourcePart says where the record came from and what was kept beside it.
func sourcePart(w *records.Well, copies []desk.WellCopy) part {
	p := part{ID: "source", Title: "Source"}
	pr := &w.Provenance
	from := cell{Text: sourceWords(pr)}
	if pr.Batch > 0 {
		from.Href = intakePath(pr.Batch)
	}
	p.Facts.add("came from", from)
	for _, c := range copies {
		p.Facts.add("a later copy, intake "+strconv.FormatInt(c.Batch, 10), copyCell(c))
	}
	p.Facts.text("note", pr.Note)
	if pr.SourceID != "" {
		p.Facts.add("its identifier there", cell{Text: pr.SourceID, Class: "words"})
	}
	p.Facts.text("remarks", w.Remarks)
	p.Facts.add("public name", cell{Text: w.UID, Href: "/well/" + w.UID})
	p.Facts.text("revision", strconv.FormatInt(w.Revision, 10))
	l := listing{Caption: "Kept as it came", Fold: count(len(w.Extra), "property", "properties") + " of the file that no field here holds, kept as they came", Heads: heads("property", "value")}
	for _, m := range w.Extra {
		l.add("", cell{Text: m.Name}, cell{Text: clipText(m.JSON, 1000), Class: "words"})
	}
	p.list(l)
	return p
}

// copyCell says what a later copy of its source says of a record.
func copyCell(c desk.WellCopy) cell {
	out := cell{Text: "says nothing that was not here", Href: intakePath(c.Batch)}
	switch {
	case c.Gone:
		out.Text, out.Href = "has it no longer", intakePath(c.Batch)+"?copy=gone#copy"
	case c.Wrote > 0:
		out.Text = fmt.Sprintf("changed it, as revision %d", c.Wrote)
	}
	if c.Open > 0 {
		out.More, out.Href = count(c.Open, "property is", "properties are")+" said differently by the office", intakePath(c.Batch)+"?copy=clashes#copy"
	}
	return out
}

func sourceWords(p *records.Provenance) string {
	t := plainWord(p.Source)
	switch p.Source {
	case "own_log":
		t = "the office's own log"
	case "plate_only":
		t = "known from its plate alone"
	case "batch":
		t = "a file taken in"
	case "demo":
		t = "invented for demonstration"
	case "":
		t = "not recorded"
	}
	if p.Batch > 0 {
		t += fmt.Sprintf(", intake %d", p.Batch)
		if p.Row > 0 {
			t += fmt.Sprintf(", row %d", p.Row)
		}
	}
	return t
}

// mostChanges is how many changes of one revision are listed.
const mostChanges = 80

// historyPart lists the revisions, the latest first, with what each changed.
func historyPart(w *records.Well, revisions []records.Revision, private bool) part {
	p := part{ID: "history", Title: "Revisions"}
	if len(revisions) == 0 {
		p.Lead = "As it was first written: nobody has changed it."
		p.Facts.add("another record of this well", cell{Text: "merge it with this one", Href: historyPath(w.ID)})
		return p
	}
	p.Lead = "Changed " + times(len(revisions)) + ". Each line is what a change replaced."
	p.Facts.add("all states", cell{Text: "set two side by side, restore one", Href: historyPath(w.ID)})
	after := w
	for i := range revisions {
		r := &revisions[i]
		l := listing{Heads: heads("what", "was", "is")}
		changes := visible(records.Diff(r.Image, after), private)
		for j, c := range changes {
			if j == mostChanges {
				l.add("", cell{Text: fmt.Sprintf("and %d more", len(changes)-j)})
				break
			}
			class := ""
			if c.Private {
				class = "private" // left off paper
			}
			l.add(class, cell{Text: capital(fieldWords(c.Field))}, changeCell(c.Was), changeCell(c.Is))
		}
		l.Fold = joinWords(fmt.Sprintf("revision %d, until %s", r.Revision, r.Until.UTC().Format("2 January 2006 15:04 UTC")), byWords(r.By), orElse(r.Why, "no reason given"), count(len(changes), "change", "changes"))
		if len(changes) == 0 {
			l.add("", cell{Text: "nothing that is shown here changed"})
		}
		p.list(l)
		after = r.Image
	}
	return p
}

func visible(changes []records.Change, private bool) []records.Change {
	var out []records.Change
	for _, c := range changes {
		if private || !c.Private {
			out = append(out, c)
		}
	}
	return out
}

// givenBeside is how records.Diff writes what a quantity was given as.
var givenBeside = regexp.MustCompile(`^(.*) \(given as ("(?:[^"\\]|\\.)*")( \S+)?\)$`)

// changeCell writes one side of a change. Of a quantity, what was written
// comes first: that is what a person typed.
func changeCell(t string) cell {
	if t == "" {
		return cell{Text: "nothing", Class: "quiet"}
	}
	if m := givenBeside.FindStringSubmatch(t); m != nil {
		if given, err := strconv.Unquote(m[2]); err == nil {
			if namesUnit(given) {
				m[3] = ""
			}
			return cell{Text: clipText("“"+given+"”"+m[3], 300), More: m[1]}
		}
	}
	return cell{Text: clipText(t, 600)}
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return grouped(n) + " times"
}

// oneOf is what one row of a list is called.
var oneOf = map[string]string{
	"bores": "hole", "casing": "casing", "screens": "screen", "grout": "grout", "strata": "stratum", "strikes": "water strike",
	"static_levels": "level", "yield_tests": "yield test", "quality": "result", "treatments": "treatment", "rods": "rod",
	"own_picks": "own pick", "unreliable": "mark", "works": "work", "shifts": "shift", "attachments": "file", "seen": "sighting", "plates": "plate",
}

// fieldNames are properties whose names alone would puzzle a reader.
var fieldNames = map[string]string{
	"coordinates_given": "position", "lon": "longitude", "lat": "latitude", "depth_to_bedrock_m": "stated depth to bedrock",
	"yields": "counts for yield", "uid": "public name",
}

// fieldWords puts the path of a property in words: strata[2].bottom_m becomes
// 'stratum 3, bottom'.
func fieldWords(path string) string {
	if path == "" {
		return "the record"
	}
	var out []string
	for _, step := range strings.Split(path, ".") {
		name, index, isRow := strings.Cut(step, "[")
		if isRow {
			word, ok := oneOf[name]
			if !ok {
				word = strings.ReplaceAll(name, "_", " ")
			}
			if n, err := strconv.Atoi(strings.TrimSuffix(index, "]")); err == nil {
				word += " " + strconv.Itoa(n+1)
			}
			out = append(out, word)
			continue
		}
		if word, ok := fieldNames[name]; ok {
			out = append(out, word)
			continue
		}
		out = append(out, strings.ReplaceAll(withoutUnit(name), "_", " "))
	}
	return strings.Join(out, ", ")
}

// withoutUnit takes the unit off the end of a property's name.
func withoutUnit(name string) string {
	at := strings.LastIndexByte(name, '_')
	if at <= 0 {
		return name
	}
	switch name[at+1:] {
	case "m", "mm", "lps", "l", "min", "kpa", "kw", "kg", "ft", "in", "gpm", "gal":
		return name[:at]
	}
	return name
}
