package server

import (
	"net/url"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/importer"
)

// FuzzColumnsForm: whatever the form of columns says, what is made of it is
// refused in words or is a mapping that comes back from its JSON as it was, and
// from the form that shows it as well.
func FuzzColumnsForm(f *testing.F) {
	for _, s := range []string{
		"s0.role=wells&s0.c0.column=A&s0.c0.holds=total+depth&s0.c0.in=ft&s0.c0.unknown=99,+N/A&s0.c0.ditto=1",
		"s0.role=wells&s0.key=A&s0.x0.column=A&s0.x0.by=,&s0.x0.into=B,+C&s0.c0.column=B&s0.c0.made=1&s0.c0.holds=longitude&s0.c0.in=NAD27",
		"s0.role=skip&s1.role=strata&s1.key=K&s1.header=3&s1.c0.column=T&s1.c0.holds=strata:+top&s1.c0.in=m",
		"s0.c0.column=D&s0.c0.holds=completed&s0.c0.in=mdy&s0.c0.rules=%7B%22pivot%22:1930%7D&s0.rules=%7B%22mend%22:%5B%22swap%22%5D%7D",
		"s0.c0.column=E&s0.c0.holds=ground+elevation&s0.c0.in=ft+NAVD+88&s0.j0.columns=A,+B&s0.j0.with=+&s0.j0.into=E",
	} {
		f.Add(s)
	}
	l := &importer.Look{Sheets: []importer.SheetLook{
		{Columns: []importer.ColumnLook{{Name: "A"}, {Name: "D"}, {Name: "E"}}},
		{Name: "Strata", Columns: []importer.ColumnLook{{Name: "K"}, {Name: "T"}}},
	}}
	f.Fuzz(func(t *testing.T, form string) {
		q, err := url.ParseQuery(form)
		if err != nil {
			return
		}
		sent := readColumns(q, l)
		if len(sent.mapping.Sheets) != len(l.Sheets) {
			t.Fatalf("%d sheets", len(sent.mapping.Sheets))
		}
		if sent.mapping.Check() != nil {
			return
		}
		back, err := importer.ReadMapping(sent.mapping.JSON())
		if err != nil {
			t.Fatalf("what is sound cannot be read: %v\n%s", err, sent.mapping.JSON())
		}
		if diff := cmp.Diff(string(sent.mapping.JSON()), string(back.JSON())); diff != "" {
			t.Errorf("it came back otherwise:\n%s", diff)
		}
		for i := range l.Sheets {
			sheetFormOf(i, &l.Sheets[i], &back.Sheets[i])
		}
	})
}
