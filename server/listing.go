package server

import (
	"html/template"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// cell is one value on a page: in the reader's units, and as somebody wrote
// it.
type cell struct {
	Text  string
	Given string // as written; "" where nobody wrote it down
	Href  string
	More  string // second line, quiet
	Why   string // the reason, behind a tap
	Class string // water, signal, quiet, words, strong: see record.css
}

// empty says whether there is nothing to show.
func (c cell) empty() bool { return c.Text == "" && c.More == "" && c.Why == "" }

// fact is a value with its name.
type fact struct {
	Label string
	cell
}

// facts are named values, those alone of which something is known.
type facts []fact

func (f *facts) add(label string, c cell) {
	if !c.empty() {
		*f = append(*f, fact{label, c})
	}
}

func (f *facts) text(label, t string) { f.add(label, cell{Text: t}) }

// head is the head of a column of a listing.
type head struct {
	Text   string
	Number bool // figures stand to the right
	Screen bool // holds links to act by, and is left off paper
}

// listing is a table. Columns that say nothing are left out by tidy.
type listing struct {
	Caption string
	Fold    string // folded away behind these words; "" when it stands open
	Heads   []head
	Rows    []row
	// Entries sets each row out as named values, for rows of more values
	// than a line holds.
	Entries bool
}

type row struct {
	Cells []cell
	Class string // gap, used: see record.css
}

func (l *listing) add(class string, cells ...cell) {
	l.Rows = append(l.Rows, row{cells, class})
}

// tidy leaves out the columns in which no row says anything.
func (l listing) tidy() listing {
	var keep []int
	for i := range l.Heads {
		for _, r := range l.Rows {
			if i < len(r.Cells) && !r.Cells[i].empty() {
				keep = append(keep, i)
				break
			}
		}
	}
	out := listing{Caption: l.Caption, Fold: l.Fold}
	for _, i := range keep {
		out.Heads = append(out.Heads, l.Heads[i])
	}
	for _, r := range l.Rows {
		n := row{Class: r.Class}
		for _, i := range keep {
			c := cell{}
			if i < len(r.Cells) {
				c = r.Cells[i]
			}
			n.Cells = append(n.Cells, c)
		}
		out.Rows = append(out.Rows, n)
	}
	return out
}

// heads reads column heads from words; one that begins with '#' holds
// figures, one without words holds links.
func heads(words ...string) []head {
	out := make([]head, len(words))
	for i, w := range words {
		t, number := strings.CutPrefix(w, "#")
		out[i] = head{Text: t, Number: number, Screen: w == ""}
	}
	return out
}

// part is one section of a page.
type part struct {
	ID       string
	Title    string
	Lead     string // a sentence that says the whole
	Alert    string // what is to be noticed
	Facts    facts
	Lists    []listing
	Notes    []string
	Cautions []string // for numbers that can hurt
}

// mostColumns is how many columns fit beside a part's name.
const mostColumns = 7

// list adds a table unless it is empty.
func (p *part) list(l listing) {
	if len(l.Rows) == 0 {
		return
	}
	l = l.tidy()
	l.Entries = len(l.Heads) > mostColumns
	p.Lists = append(p.Lists, l)
}

// says tells whether the part has anything to say.
func (p *part) says() bool {
	return p.Lead != "" || p.Alert != "" || len(p.Facts) > 0 || len(p.Lists) > 0 || len(p.Notes) > 0
}

// units writes the quantities of a record as cells.
type units struct{ say.System }

func (u units) depth(a records.Amount[records.Depth]) cell {
	return cell{Text: u.Depth(a), Given: asWritten(a.Given)}
}

func (u units) level(a records.Amount[records.Depth]) cell {
	return cell{Text: u.Level(a), Given: asWritten(a.Given)}
}

func (u units) length(a records.Amount[records.Length]) cell {
	return cell{Text: u.Length(a), Given: asWritten(a.Given)}
}

func (u units) height(a records.Amount[records.Height]) cell {
	return cell{Text: u.Height(a), Given: asWritten(a.Given)}
}

func (u units) diameter(a records.Amount[records.Diameter]) cell {
	return cell{Text: u.Diameter(a), Given: asWritten(a.Given)}
}

func (u units) flow(a records.Amount[records.Flow]) cell {
	return cell{Text: u.Flow(a), Given: asWritten(a.Given)}
}

// yield is what a well gives, in the colour of water unless there is none.
func (u units) yield(a records.Amount[records.Flow]) cell {
	c := cell{Text: u.Yield(a), Given: asWritten(a.Given), Class: "water"}
	if v, ok := a.Number(); ok && v == 0 {
		c.Class = ""
	}
	return c
}

func (u units) volume(a records.Amount[records.Volume]) cell {
	return cell{Text: u.Volume(a), Given: asWritten(a.Given)}
}

func (u units) minutes(a records.Amount[records.Minutes]) cell {
	return cell{Text: u.Minutes(a), Given: asWritten(a.Given)}
}

func (u units) pressure(a records.Amount[records.Pressure]) cell {
	return cell{Text: u.Pressure(a), Given: asWritten(a.Given)}
}

func (u units) power(a records.Amount[records.Power]) cell {
	return cell{Text: u.Power(a), Given: asWritten(a.Given)}
}

// span is an interval of depth: '0–62', with the unit named in the head.
func (u units) span(from, to records.Amount[records.Depth]) cell {
	a, b := u.DepthFigure(from), u.DepthFigure(to)
	c := cell{Class: "figures"}
	switch {
	case a == "" && b == "":
	case a == "":
		c.Text = "to " + b
	case b == "":
		c.Text = "from " + a
	case from.Qualifier == records.Exact && to.Qualifier == records.Exact:
		c.Text = a + "–" + b
	default:
		c.Text = a + " to " + b
	}
	ga, gb := asWritten(from.Given), asWritten(to.Given)
	switch {
	case ga != "" && gb != "":
		c.Given = ga + " to " + gb
	default:
		c.Given = ga + gb
	}
	return c
}

// spanHead is the head of a column of spans.
func (u units) spanHead() string { return "depth, " + u.LengthUnit().Symbol() }

// asWritten quotes what somebody wrote, with the unit that it was taken to be
// in where the text itself names none.
func asWritten(g records.Given) string {
	t := strings.TrimSpace(g.Text)
	if t == "" {
		return ""
	}
	if g.High != "" {
		t += " to " + g.High
	}
	t = "“" + t + "”"
	if s := g.Unit.Symbol(); s != "" && !namesUnit(g.Text) {
		t += " " + s
	}
	return t
}

// namesUnit says whether a text holds letters or the marks for feet and
// inches.
func namesUnit(t string) bool {
	for _, r := range t {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '\'' || r == '"' || r == '′' || r == '″' {
			return true
		}
	}
	return false
}

// plainWord turns a word of a closed list into one for a person. Words of
// other offices are left as they came.
func plainWord(w string) string {
	switch w {
	case "pvc":
		return "PVC"
	case "gps":
		return "GPS"
	case "unknown":
		return "not known"
	}
	return strings.ReplaceAll(w, "_", " ")
}

// yesNo says a flag in words; nothing where nobody said.
func yesNo(b *bool) string {
	switch {
	case b == nil:
		return ""
	case *b:
		return "yes"
	}
	return "no"
}

// joinWords sets a middle dot between the parts that there are.
func joinWords(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, " · ")
}

// logDrawing is a drawing on a page: inline for the screen, in two widths
// where the log is one hole's, and an image of its own for paper.
type logDrawing struct {
	DrawnFor  string // the theme it was coloured for
	Wide      template.HTML
	WideSrc   string
	Narrow    template.HTML // "": the wide one scrolls instead
	NarrowSrc string
	PrintSrc  string
	PrintAlt  string
	Class     string
}
