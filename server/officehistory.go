package server

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
)

// officeEarlier is a value that was replaced.
type officeEarlier struct {
	Revision, Current int64
	Until             string // when and by whom it was replaced
	Why               string
	Changed           []string // what the next one says otherwise
	More              string
	Open              string // to look at it in the form
}

// mostOfficeChanges is how many changes are told in words of one replacement.
const mostOfficeChanges = 6

func officeTime(t time.Time) string {
	if t.IsZero() {
		return "at a time that nobody noted"
	}
	return t.UTC().Format("2 January 2006 15:04 UTC")
}

func byWhom(by string) string {
	switch by {
	case "":
		return ""
	case "outside": // another program: see records/sqlite
		return " from outside"
	}
	return " by " + by
}

// officeEarlier lists the values that were replaced, the latest first.
func (s *Server) officeEarlier(r *http.Request, doc *officeDoc, kept officeKept, back string) ([]officeEarlier, error) {
	revs, err := s.desk.SettingRevisions(r.Context(), s.actor(r), doc.setting)
	if err != nil {
		return nil, err
	}
	out := make([]officeEarlier, 0, len(revs))
	next := kept.Text
	for _, rev := range revs {
		e := officeEarlier{
			Revision: rev.Revision, Current: kept.Revision, Until: "until " + officeTime(rev.Until) + byWhom(rev.UntilBy), Why: rev.Why,
			Open: doc.path() + "?from=" + strconv.FormatInt(rev.Revision, 10) + andBack(back),
		}
		e.Changed = doc.changes(rev.Value, next)
		if n := len(e.Changed); n > mostOfficeChanges {
			e.More = "and " + count(n-mostOfficeChanges, "other change", "other changes")
			e.Changed = e.Changed[:mostOfficeChanges]
		}
		out = append(out, e)
		next = rev.Value
	}
	return out, nil
}

// officeEarlierText is an earlier value.
func (s *Server) officeEarlierText(r *http.Request, doc *officeDoc, revision int64) (string, error) {
	revs, err := s.desk.SettingRevisions(r.Context(), s.actor(r), doc.setting)
	if err != nil {
		return "", err
	}
	for _, rev := range revs {
		if rev.Revision == revision {
			return rev.Value, nil
		}
	}
	return "", records.Errorf(records.NotFound, "%s has no earlier value with the revision %d", doc.title, revision)
}

// changes says in words what a document says otherwise than the one before.
func (o *officeDoc) changes(before, after string) []string {
	if after == "" {
		return []string{"it was taken out"}
	}
	a, okA := o.sheet.fill([]byte(before))
	b, okB := o.sheet.fill([]byte(after))
	if !okA || !okB {
		return []string{"everything"}
	}
	if a.units != b.units {
		return []string{"from " + unitsWords(a.units) + " to " + unitsWords(b.units)}
	}
	var out []string
	tell := func(label, was, is string) {
		switch {
		case was == is:
		case was == "":
			out = append(out, label+": "+is)
		case is == "":
			out = append(out, label+": "+was+" taken out")
		default:
			out = append(out, label+": "+was+" → "+is)
		}
	}
	o.sheet.each(func(p *officePart, f *officeField) {
		label := f.label
		if strings.HasPrefix(f.path, "tax.") {
			label = p.title + ", " + uncapital(label)
		}
		tell(label, a.said(f, f.path), b.said(f, f.path))
	})
	o.sheet.lists(func(l *officeRows) {
		was, is := a.rowsSaid(l), b.rowsSaid(l)
		if len(was) == len(is) {
			for i := range was {
				tell(capital(l.path)+", row "+strconv.Itoa(i+1), was[i], is[i])
			}
			return
		}
		for _, t := range was {
			if !slices.Contains(is, t) {
				tell(capital(l.path), t, "")
			}
		}
		for _, t := range is {
			if !slices.Contains(was, t) {
				tell(capital(l.path), "", t)
			}
		}
	})
	return out
}

// said is a value with its unit.
func (form *officeForm) said(f *officeField, key string) string {
	switch f.kind {
	case asLines:
		return strings.Join(form.lines(f, key), ", ")
	case asFlag:
		return form.typed[key]
	case asLongWords, asWords:
		return clipText(form.typed[key], 60)
	}
	t := f.chosen(form.typed[key])
	if t == "" {
		return ""
	}
	return joinSpace(t, f.said(form.units, form.typed[currencyPath]))
}

// chosen is what was typed as the page calls it.
func (f *officeField) chosen(typed string) string {
	for _, c := range f.choices {
		if c.Word == typed && typed != "" {
			return c.Label
		}
	}
	return typed
}

// rowsSaid is each row of a list in words.
func (form *officeForm) rowsSaid(l *officeRows) []string {
	out := make([]string, form.rows[l.path])
	for i := range out {
		var parts []string
		for j := range l.fields {
			f := &l.fields[j]
			t := form.said(f, rowKey(l.path, i, f.path))
			if t != "" && (f.path == "from" || f.path == "to") {
				t = f.path + " " + t
			}
			if t != "" {
				parts = append(parts, t)
			}
		}
		out[i] = strings.Join(parts, " ")
	}
	return out
}
