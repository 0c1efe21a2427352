package server

import (
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// editForm is a form of a record on its way: what is typed, and what it was
// made from.
type editForm struct {
	ID, Revision int64 // 0: a new record
	UID          string
	In           say.System // of bare numbers where no field says their unit
	Why          string
	Typed        records.Typed

	DraftID, DraftRevision int64
	Against                int64
	Choose                 map[string]records.Side
}

// The fields of the form that are no property of the record. Each begins with
// a sign that no property's name has.
const (
	formRevision = "~revision"
	formUID      = "~uid"
	formIn       = "~in"
	formWhy      = "~why"
	formDraft    = "~draft"
	formDraftRev = "~draft_revision"
	formAgainst  = "~against"
	formChoose   = "~choose:"
	formPaste    = "~paste"
	formMap      = "~map"
)

// readEditForm reads a form that was sent.
func readEditForm(q url.Values, id int64, otherwise say.System) *editForm {
	f := &editForm{ID: id, In: otherwise, UID: q.Get(formUID), Why: strings.TrimSpace(q.Get(formWhy)), Typed: records.Typed{}, Choose: map[string]records.Side{}}
	number := func(name string) int64 {
		n, err := strconv.ParseInt(q.Get(name), 10, 64)
		if err != nil {
			return 0
		}
		return n
	}
	if id > 0 {
		f.Revision = number(formRevision)
	}
	f.DraftID, f.DraftRevision, f.Against = number(formDraft), number(formDraftRev), number(formAgainst)
	if in, ok := say.Parse(q.Get(formIn)); ok {
		f.In = in
	}
	for name, values := range q {
		if field, ok := strings.CutPrefix(name, formChoose); ok {
			if side, ok := records.ParseSide(values[0]); ok {
				f.Choose[field] = side
			}
		}
		if len(values) > 0 && !strings.HasPrefix(name, "~") && name != "do" {
			f.Typed[name] = strings.ReplaceAll(values[0], "\r\n", "\n")
		}
	}
	f.dropBegun()
	return f
}

// dropBegun takes out the rows of the ground in which nothing stands but the
// depth at which they would begin, which the form filled in by itself.
func (f *editForm) dropBegun() {
	rows := f.Typed.RowsOf("strata")
	at := func(i int, field string) string { return "strata[" + strconv.Itoa(i) + "]" + field }
	for k, i := range rows {
		if k == 0 || f.Typed[at(i, ".was")] != "" || f.Typed[at(i, ".top")] == "" || f.Typed[at(i, ".top")] != f.Typed[at(rows[k-1], ".bottom")] {
			continue
		}
		begun := true
		for name, t := range f.Typed {
			begun = begun && (!strings.HasPrefix(name, at(i, ".")) || name == at(i, ".top") || strings.TrimSpace(t) == "")
		}
		if begun {
			f.Typed[at(i, ".top")] = ""
		}
	}
}

// kept is what a draft keeps of the form: what is typed, and what a form needs
// beside it.
func (f *editForm) kept() records.Typed {
	out := maps.Clone(f.Typed)
	out[formUID], out[formIn], out[formWhy] = f.UID, f.In.String(), f.Why
	return out
}

// formOfDraft is the form as a draft kept it.
func formOfDraft(d *records.Draft, otherwise say.System) *editForm {
	f := &editForm{ID: d.WellID, Revision: d.WellRevision, In: otherwise, DraftID: d.ID, DraftRevision: d.Revision, Typed: records.Typed{}}
	if in, ok := say.Parse(d.Typed[formIn]); ok {
		f.In = in
	}
	f.UID, f.Why = d.Typed[formUID], d.Typed[formWhy]
	for name, t := range d.Typed {
		if !strings.HasPrefix(name, "~") {
			f.Typed[name] = t
		}
	}
	return f
}

// edit is the form as a use case takes it.
func (f *editForm) edit() desk.RecordEdit {
	return desk.RecordEdit{ID: f.ID, Revision: f.Revision, UID: f.UID, Typed: f.Typed, Unit: editUnit(units{f.In}), Why: f.Why,
		Against: f.Against, Choose: f.Choose, DraftID: f.DraftID, DraftRevision: f.DraftRevision}
}

// name is what the form's record is called in a list of drafts.
func (f *editForm) name() string {
	for _, n := range []string{f.Typed["number"], f.Typed["permit_number"], f.Typed["parcel"], f.Typed["coordinates_given"]} {
		if n = strings.TrimSpace(n); n != "" {
			return clipText(n, 60)
		}
	}
	if f.ID > 0 {
		return "no. " + strconv.FormatInt(f.ID, 10)
	}
	return "a record without a number"
}

// path is where the form is sent to.
func (f *editForm) path() string {
	if f.ID == 0 {
		return "/well/new"
	}
	return wellHref(f.ID) + "/edit"
}

// rows takes the rows of a list out of the form, each by the rest of its
// fields' names.
func (f *editForm) rows(list string) []map[string]string {
	indices := f.Typed.RowsOf(list)
	at := map[int]int{}
	out := make([]map[string]string, len(indices))
	for k, i := range indices {
		at[i], out[k] = k, map[string]string{}
	}
	for name, t := range f.Typed {
		rest, ok := strings.CutPrefix(name, list+"[")
		digits, field, ok2 := strings.Cut(rest, "]")
		i, err := strconv.Atoi(digits)
		if k, known := at[i]; ok && ok2 && err == nil && known {
			out[k][field] = t
			delete(f.Typed, name)
		}
	}
	return out
}

// setRows puts rows into the form, numbered anew.
func (f *editForm) setRows(list string, rows []map[string]string) {
	for i, r := range rows {
		for field, t := range r {
			f.Typed[list+"["+strconv.Itoa(i)+"]"+field] = t
		}
	}
	if !f.Typed.Has(list) {
		f.Typed[list+".rows"] = "0"
	}
}

// doRow does something to the rows of a list, 'add:strata', 'drop:strata:3',
// 'up:strata:3', and tells the number of the row to go on at.
func (f *editForm) doRow(do string) (list string, row int, ok bool) {
	what, rest, _ := strings.Cut(do, ":")
	list, number, _ := strings.Cut(rest, ":")
	if !slices.Contains(editLists(), list) {
		return "", 0, false
	}
	row, err := strconv.Atoi(number)
	if what != "add" && (err != nil || row < 0) {
		return "", 0, false
	}
	rows := f.rows(list)
	switch {
	case what == "add":
		blank := func(r map[string]string) bool {
			for field, t := range r {
				if field != ".was" && t != "" {
					return false
				}
			}
			return true
		}
		row = len(rows)
		if row == 0 || list != "strata" || !blank(rows[row-1]) {
			rows = append(rows, map[string]string{".": ""}) // something, so that there is a row
		} else {
			row-- // the empty one at the end is the one to go on in
		}
		if list == "strata" && row > 0 { // it begins where the one above it ends
			rows[row][".top"] = rows[row-1][".bottom"]
		}
	case what == "drop" && row < len(rows):
		rows = slices.Delete(rows, row, row+1)
		row = min(row, len(rows)-1)
	case what == "up" && row > 0 && row < len(rows):
		rows[row-1], rows[row] = rows[row], rows[row-1]
		row--
	}
	f.setRows(list, rows)
	return list, row, true
}
