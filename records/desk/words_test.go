package desk_test

import (
	"slices"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

func TestSearchedWords(t *testing.T) {
	for text, want := range map[string][]string{
		"clay":               {"clay*"},
		"Blue clay":          {"Blue", "clay*"},
		`"blue clay"`:        {"blue clay"},
		`"blue clay" boul`:   {"blue clay", "boul*"},
		"ab":                 {"ab"},
		"  ":                 nil,
		`";--`:               nil,
		"O'Hara-Lane 5":      {"O", "Hara", "Lane", "5"},
		`an "open quotation`: {"an", "open quotation*"},
	} {
		if got := desk.SearchedWords(text); !slices.Equal(got, want) {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// What was just saved is found at once, with the passage; names are found by
// those alone who may see them.
func TestFindWordsInRecords(t *testing.T) {
	d, _ := newDesk(t)
	w := &records.Well{Number: "W-1", Owner: records.Person{Name: "Invented Owner"}, Remarks: strings.Repeat("nothing much here. ", 20) + "Struck a buried Ängström seam."}
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	p, err := d.FindWords(t.Context(), me, desk.WordsAsk{Text: "angst seam"})
	if err != nil || p.Count != 0 { // only the last word may be begun
		t.Errorf("%+v, %v", p, err)
	}
	p, err = d.FindWords(t.Context(), me, desk.WordsAsk{Text: "seam angst"})
	if err != nil || len(p.Hits) != 1 || p.Behind != 0 {
		t.Fatalf("%+v, %v", p, err)
	}
	var hits []string
	long := 0
	for _, piece := range p.Hits[0].Passage {
		if piece.Hit {
			hits = append(hits, piece.Text)
		}
		long += len(piece.Text)
	}
	if !slices.Equal(hits, []string{"Ängström", "seam"}) || long > 200 {
		t.Errorf("the passage marks %q in %d bytes", hits, long)
	}
	if p, err = d.FindWords(t.Context(), me, desk.WordsAsk{Text: "invented"}); err != nil || len(p.Hits) != 1 {
		t.Errorf("a name is not found: %+v, %v", p, err)
	}
	if _, err = d.FindWords(t.Context(), records.Actor{Name: "nobody"}, desk.WordsAsk{Text: "seam"}); records.CodeOf(err) != records.Forbidden {
		t.Errorf("anybody may search: %v", err)
	}
	if _, err = d.FindWords(t.Context(), me, desk.WordsAsk{Text: "--"}); records.CodeOf(err) != records.Invalid {
		t.Errorf("a search for nothing: %v", err)
	}
}
