package recordstest

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"tallybook/records"
)

// MessyKind is a thing that the generator of messy rows does to a row.
type MessyKind string

// What is done to rows. A row is mendable when everything that was done to it
// is: when its intended values can be told from the file and its mapping, the
// decisions among them that the file itself speaks for.
const (
	MessSwap      MessyKind = "longitude and latitude changed about"
	MessSign      MessyKind = "a sign lost"
	MessOrder     MessyKind = "a date that needs the order of the file"
	MessShortYear MessyKind = "a year of two digits"
	MessUnitText  MessyKind = "another unit, written behind the number"
	MessCode      MessyKind = "a number that stands for unknown"
	MessDitto     MessyKind = "a ditto"
	MessTwice     MessyKind = "the same row once more"
	MessComma     MessyKind = "a comma that needs the decimal sign of the file"
	MessLog       MessyKind = "a log that can be read in two ways"

	MessDate      MessyKind = "a broken date"
	MessNumber    MessyKind = "a broken number"
	MessClash     MessyKind = "a total depth in another unit than it is said to be, against the log"
	MessHalfPlace MessyKind = "one of longitude and latitude missing"
	MessCut       MessyKind = "the row cut off"
	MessJoined    MessyKind = "two rows run together"
	MessQuote     MessyKind = "a quotation mark not closed"
	MessBlank     MessyKind = "nothing but delimiters"
	MessLost      MessyKind = "a ditto below a row that cannot be read"
)

// causes are what a refusal must say, any of them, for what cannot be mended.
var causes = map[MessyKind][]string{
	MessDate:      {"date"},
	MessNumber:    {"total_depth", "yield", "depth_to_bedrock", "static_level"},
	MessClash:     {"as feet to metres"},
	MessHalfPlace: {"one of longitude and latitude"},
	MessCut:       {"where the header names", "not closed"},
	MessJoined:    {"where the header names", "follows the closing quotation mark"},
	MessQuote:     {"not closed", "where the header names"},
	MessBlank:     {"fields are empty"},
	MessLost:      {"repeats the row above"},
}

// MessyRow is one row of a messy file.
type MessyRow struct {
	Text     string        // as it stands in the file, without the end of its line
	Truth    *records.Well // what was meant; nil where it holds no whole well
	Done     []MessyKind
	Mendable bool
	LogRead  bool // whether the truth has strata that the log tells
}

// Causes are the words of which a refusal of the row must have one.
func (r *MessyRow) Causes() []string {
	var out []string
	for _, d := range r.Done {
		out = append(out, causes[d]...)
	}
	return out
}

// MessyDialect is the way in which one office wrote its file.
type MessyDialect struct {
	Name       string
	Delimiter  byte
	Depth      records.Unit // what depths without a unit are in
	Flow       records.Unit // what yields without one are in
	Comma      bool         // decimal commas
	DayFirst   bool         // 25/6/1987 instead of 6/25/1987
	ShortYears bool         // 87 beside 1987
	Serials    bool         // a spreadsheet's day numbers, from 1900
	Code       string       // a number that stands for unknown
	Lon, Lat   float64      // where its wells lie, in degrees
}

// MessyDialects are four offices that do not exist, in places where no well
// of theirs is.
func MessyDialects() []MessyDialect {
	return []MessyDialect{
		{Name: "feet and months", Delimiter: ',', Depth: records.Foot, Flow: records.GallonPerMinute, ShortYears: true, Code: "9999", Lon: -71.3, Lat: 44.2},
		{Name: "metres and commas", Delimiter: ';', Depth: records.Metre, Flow: records.LitrePerSecond, Comma: true, DayFirst: true, Code: "-99", Lon: 10.3, Lat: 59.6},
		{Name: "metres by tabs", Delimiter: '\t', Depth: records.Metre, Flow: records.LitrePerMinute, DayFirst: true, Code: "99999", Lon: 147.2, Lat: -33.4},
		{Name: "feet from a spreadsheet", Delimiter: '|', Depth: records.Foot, Flow: records.GallonPerMinute, Serials: true, Code: "-1", Lon: -104.8, Lat: 31.9},
	}
}

// MessyColumns are the names of the columns, by the field of each.
var MessyColumns = []struct{ Column, Field string }{
	{"No", "number"}, {"Owner", "owner.name"}, {"Driller", "crew.driller"}, {"X", "lon"}, {"Y", "lat"}, {"Finished", "completed"},
	{"TD", "total_depth"}, {"Rock at", "depth_to_bedrock"}, {"SWL", "static_level"}, {"Yield", "yield"}, {"Csg", "casing.to"}, {"Csg dia", "casing.diameter"},
	{"Log", "log"}, {"Notes", "remarks"}, {"Permit", "permit_number"},
}

// Messy is a file of messy rows whose intended values are known. Everything in
// it is invented. The same seed gives the same file.
//
// What it does not do, since nothing could find it: change a value into
// another that is as likely, and cut a row within its last field.
func Messy(seed uint64, rows int, d MessyDialect) (header string, out []MessyRow) {
	p := &messyPen{rng: rand.New(rand.NewPCG(seed, 20)), d: d}
	var names []string
	for _, c := range MessyColumns {
		names = append(names, c.Column)
	}
	for len(out) < rows {
		p.n++
		row := p.row()
		switch roll := p.rng.IntN(1000); {
		case roll < 4:
			row = p.cutOff(row)
		case roll < 7:
			row = p.joined(row)
		case roll < 9:
			row = p.unclosed(row)
		case roll < 11:
			row = MessyRow{Text: strings.Repeat(string(d.Delimiter), len(MessyColumns)-1), Done: []MessyKind{MessBlank}}
		}
		out = append(out, row)
		p.follow(&row)
		if row.Mendable && p.rng.IntN(100) < 2 && len(out) < rows {
			row.Done = append(append([]MessyKind(nil), row.Done...), MessTwice)
			out = append(out, row)
		}
	}
	return strings.Join(names, string(d.Delimiter)), out
}

// messyPen writes rows.
type messyPen struct {
	rng   *rand.Rand
	d     MessyDialect
	n     int
	done  []MessyKind
	above *records.Well // the well of the row above, nil where it cannot be read
	lost  bool          // the row above cannot be read
	bad   bool          // the row above has a date that cannot be read
}

// follow remembers a row for the dittos of the next one.
func (p *messyPen) follow(r *MessyRow) {
	p.lost, p.bad = false, false
	for _, d := range r.Done {
		switch d {
		case MessCut, MessJoined, MessQuote, MessLost:
			p.lost = true
		case MessDate:
			p.bad = true
		}
	}
	if r.Truth != nil {
		p.above = r.Truth
	}
	if len(r.Done) == 1 && r.Done[0] == MessBlank {
		p.lost = true // it repeats nothing
	}
}

func (p *messyPen) one(in float64) bool { return p.rng.Float64() < in }

func (p *messyPen) did(k MessyKind) { p.done = append(p.done, k) }

func pickOf[T any](p *messyPen, from ...T) T { return from[p.rng.IntN(len(from))] }

// number writes a number with so many decimals.
func (p *messyPen) number(v float64, decimals int) string {
	s := fmt.Sprintf("%.*f", decimals, v)
	if p.d.Comma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// row writes one row, with what is done to its values.
func (p *messyPen) row() MessyRow {
	p.done = nil
	w := &records.Well{Number: fmt.Sprintf("MB-%06d", p.n), PermitNumber: fmt.Sprintf("P-%06d", p.n)}
	cells := make(map[string]string)
	cells["number"], cells["permit_number"] = w.Number, w.PermitNumber
	p.people(w, cells)
	p.place(w, cells)
	p.date(w, cells)
	logged := p.depths(w, cells)
	cells["yield"], w.Yield = p.yield()
	if p.one(0.7) {
		w.Remarks = pickOf(p, "invented", "called back, twice", `said "good water"`, "gate is\nlocked; dog", "pump 1|2 hp", "see also\tnext lot", "ågren's place")
		cells["remarks"] = w.Remarks
	}
	row := MessyRow{Truth: w, Done: p.done, Mendable: true, LogRead: logged}
	var line []string
	for _, c := range MessyColumns {
		line = append(line, p.quoted(cells[c.Field]))
	}
	row.Text = strings.Join(line, string(p.d.Delimiter))
	for _, k := range p.done {
		row.Mendable = row.Mendable && causes[k] == nil
	}
	return row
}

// quoted puts a cell between quotation marks where it needs them, and
// sometimes where it does not.
func (p *messyPen) quoted(s string) string {
	if s == "" || s[0] != '"' && !strings.ContainsAny(s, "\n\r"+string(p.d.Delimiter)) && !p.one(0.1) {
		return s
	}
	return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
}

// people writes owner and driller, some as dittos.
func (p *messyPen) people(w *records.Well, cells map[string]string) {
	for _, c := range []struct {
		field, value string
		to           *string
		above        func(*records.Well) string
	}{
		{"owner.name", fmt.Sprintf("%s Invented %d", pickOf(p, "Märta", "Jo", "René", "Ann O'", "Lee"), p.rng.IntN(5000)), &w.Owner.Name, func(w *records.Well) string { return w.Owner.Name }},
		{"crew.driller", fmt.Sprintf("Nobody %d", p.rng.IntN(40)), &w.Crew.Driller, func(w *records.Well) string { return w.Crew.Driller }},
	} {
		*c.to, cells[c.field] = c.value, c.value
		if p.above != nil && p.one(0.04) {
			*c.to, cells[c.field] = c.above(p.above), p.ditto()
		}
	}
}

func (p *messyPen) ditto() string {
	if p.lost {
		p.did(MessLost)
	} else {
		p.did(MessDitto)
	}
	return pickOf(p, `"`, "do.", "ditto", "Same", "do")
}

// place writes the position.
func (p *messyPen) place(w *records.Well, cells map[string]string) {
	round := func(v float64) float64 { return float64(int64(v*1e5+0.5*sign(v))) / 1e5 }
	lon, lat := round(p.d.Lon+p.rng.Float64()*0.4-0.2), round(p.d.Lat+p.rng.Float64()*0.3-0.15)
	if p.one(0.03) {
		return // nobody knows where it is
	}
	w.Place.Located, w.Place.Lon, w.Place.Lat = true, lon, lat
	x, y := p.number(lon, 5), p.number(lat, 5)
	switch roll := p.rng.IntN(100); {
	case roll < 3:
		p.did(MessSwap)
		x, y = y, x
	case roll < 6 && p.d.Lon < 0:
		p.did(MessSign)
		x = p.number(-lon, 5)
	case roll < 6 && p.d.Lat < 0:
		p.did(MessSign)
		y = p.number(-lat, 5)
	case roll < 7:
		p.did(MessHalfPlace)
		y = ""
	case roll < 15:
		x, y = sexagesimal(lon, "E", "W"), sexagesimal(lat, "N", "S")
	}
	cells["lon"], cells["lat"] = x, y
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// sexagesimal writes degrees, minutes and seconds to a hundredth.
func sexagesimal(v float64, positive, negative string) string {
	letter := positive
	if v < 0 {
		v, letter = -v, negative
	}
	hundredths := int64(v*360000 + 0.5)
	d, m, s, h := hundredths/360000, hundredths/6000%60, hundredths/100%60, hundredths%100
	switch hundredths % 3 {
	case 0:
		return fmt.Sprintf("%s %d %02d %02d.%02d", letter, d, m, s, h)
	case 1:
		return fmt.Sprintf("%d°%02d'%02d.%02d\"%s", d, m, s, h, letter)
	}
	return fmt.Sprintf("%d %02d %02d.%02d %s", d, m, s, h, letter)
}

// cutOff cuts a row off, before its last field.
func (p *messyPen) cutOff(r MessyRow) MessyRow {
	last := strings.LastIndexByte(r.Text, p.d.Delimiter)
	at := 1 + p.rng.IntN(max(last-1, 1))
	text := r.Text[:at]
	for len(text) > 0 && text[len(text)-1] >= 0x80 { // within a letter
		text = text[:len(text)-1]
	}
	// What is cut within a quoted text would go on into the next row; what is
	// left holds no end of a line either.
	if i := strings.IndexByte(text, '\n'); i >= 0 {
		text = text[:i]
	}
	if strings.TrimSpace(text) == "" {
		text = "x"
	}
	return MessyRow{Text: text, Done: []MessyKind{MessCut}}
}

// joined runs two rows together.
func (p *messyPen) joined(r MessyRow) MessyRow {
	p.n++
	other := p.row()
	return MessyRow{Text: strings.ReplaceAll(r.Text, "\n", " ") + strings.ReplaceAll(other.Text, "\n", " "), Done: []MessyKind{MessJoined}}
}

// unclosed opens a quotation mark and does not close it.
func (p *messyPen) unclosed(r MessyRow) MessyRow {
	d := string(p.d.Delimiter)
	parts := strings.SplitN(strings.ReplaceAll(strings.ReplaceAll(r.Text, `"`, ""), "\n", " "), d, 4)
	parts[1] = `"` + parts[1]
	return MessyRow{Text: strings.Join(parts, d), Done: []MessyKind{MessQuote}}
}
