package importer

import (
	"fmt"
	"strings"

	"tallybook/records"
	"tallybook/records/lithology"
)

// LogProperty is the name under which a free-text log is kept whole with its
// record, in Well.Extra.
const LogProperty = "log_as_written"

// LogAsWritten is the free-text log that a record came with, "" for none.
func LogAsWritten(w *records.Well) string { return keptText(w, LogProperty) }

// keptText is a text that is kept among what the model has no place for.
func keptText(w *records.Well, name string) string {
	for _, m := range w.Extra {
		if m.Name == name && strings.HasPrefix(m.JSON, `"`) {
			return unquote([]byte(m.JSON))
		}
	}
	return ""
}

// readLog makes strata and strikes of a row's free-text log. The text itself
// is kept whole with the record, whatever was made of it. A log that can be
// read in two ways, or not at all, gives none and is warned of.
func (p *plan) readLog(row *Row, cells []string) {
	if p.logColumn < 0 {
		return
	}
	text := cells[p.logColumn]
	if strings.TrimSpace(text) == "" {
		return
	}
	w := row.Well
	w.Extra = append(w.Extra, records.Member{Name: LogProperty, JSON: quote(text)})
	field := fmt.Sprintf("column %q", p.columns[p.logColumn].name)
	v := p.vocabulary
	l := v.ReadLogOf(text, p.logUnit, w.TotalDepth)
	if l.Refused() {
		row.warn(field, "the log is kept as it stands and gave no strata: "+whyUnread(l), "type its strata in, or write it as 0-12 clay; 12-40 hardpan")
		return
	}
	if !p.depthsAgree(row, l, field) {
		return
	}
	if len(w.Strata) > 0 {
		row.warn(field, "the log is kept as it stands and gave no strata, since the row has strata of its own", "nothing to do")
		return
	}
	w.Strata = l.Strata(v)
	if len(w.Strikes) == 0 {
		w.Strikes = l.Strikes()
	}
	if l.Sure() == "look" {
		row.warn(field, "the log should be looked at: "+strings.Join(l.Doubts.Reasons(), "; "), "compare its strata with the text")
	}
}

func whyUnread(l *lithology.Log) string {
	if reasons := l.Doubts.Reasons(); len(reasons) > 0 {
		return strings.Join(reasons, "; ")
	}
	if len(l.Unread) > 0 {
		return l.Unread[0].Why
	}
	return "no depths with grounds were found in it"
}

// feetInMetre is how many times a depth in feet is larger than the same in
// metres.
const feetInMetre = 1 / 0.3048

// depthsAgree refuses a row whose log goes as many times deeper, or less deep,
// than its total depth as a metre has feet: one of the two is in another unit
// than it is said to be.
func (p *plan) depthsAgree(row *Row, l *lithology.Log, field string) bool {
	total, ok := row.Well.TotalDepth.Number()
	deepest := 0.0
	for _, in := range l.Intervals {
		deepest = max(deepest, float64(in.Bottom.Value))
	}
	if !ok || total <= 0 || deepest <= 0 {
		return true
	}
	const near = 0.012 // rounding of whole metres and feet in a hole of fifty metres
	ratio := deepest / float64(total)
	if abs(ratio*0.3048-1) > near && abs(ratio/0.3048-1) > near {
		return true
	}
	given := row.Well.TotalDepth.Given
	row.refuse(p.withColumn("total_depth"), fmt.Sprintf("the total depth (%s %s) and the log (down to %s m) are as one to the other as feet to metres: one of them is in another unit than it is said to be",
		clip(given.Text), given.Unit.Symbol(), shortDegrees(float64(int(deepest*10+0.5))/10)), "write the unit behind the number that is wrong")
	_ = field
	return false
}
