package exchange_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

var update = flag.Bool("update", false, "write the generated part of PROFILE.md")

// The list of properties in PROFILE.md is what the records themselves say.
func TestProfileIsInStep(t *testing.T) {
	const file = "PROFILE.md"
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(raw), " -update` -->\n")
	_, tail, ok2 := strings.Cut(rest, "<!-- end -->")
	if !ok || !ok2 {
		t.Fatal("the marks around the properties are gone")
	}
	want := head + " -update` -->\n" + profileTables() + "<!-- end -->" + tail
	if *update {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(raw), want); diff != "" {
		t.Errorf("PROFILE.md is out of step (-is +should be); go test -run Profile -update:\n%s", diff)
	}
}

func profileTables() string {
	var b strings.Builder
	b.WriteString("\n")
	propertyTable(&b, records.Profile())
	b.WriteString("\n## Properties of a plate\n\nIn the list `plates`.\n\n")
	propertyTable(&b, records.PlateProfile())
	b.WriteString("\n")
	return b.String()
}

func propertyTable(b *strings.Builder, properties []records.Property) {
	b.WriteString("| property | holds | also read as, words |\n|---|---|---|\n")
	for _, p := range properties {
		if p.Beside != "" {
			continue
		}
		holds, also := p.Type, ""
		switch {
		case p.Quantity != nil:
			holds = "quantity"
			if p.Unit != "" {
				holds += ", " + p.Unit
			}
			if p.Quantity.Signed {
				holds += ", may be negative"
			}
			var names []string
			for _, n := range p.Quantity.Names[1:] {
				_, last, nested := cutLast(n, ".")
				if !nested {
					last = n
				}
				names = append(names, "`"+last+"`")
			}
			also = strings.Join(names, " ")
		case p.Unit != "":
			holds += ", " + p.Unit
		case len(p.Words) > 0:
			holds = "word"
			also = strings.Join(p.Words, ", ")
		}
		if p.Private {
			holds += "; *private*"
		}
		fmt.Fprintf(b, "| `%s` | %s | %s |\n", p.Name, holds, also)
	}
}

func cutLast(s, sep string) (before, after string, ok bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}
