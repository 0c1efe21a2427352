package records_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tallybook/records"
)

func TestErrorsSpeakToPeopleAndToTheLog(t *testing.T) {
	cause := errors.New("disk on fire")
	err := fmt.Errorf("writing: %w", records.WrapError(records.Busy, cause, "the store is busy, try again in %d s", 5))
	if records.CodeOf(err) != records.Busy || !errors.Is(err, cause) {
		t.Errorf("code %v, cause lost: %v", records.CodeOf(err), err)
	}
	if got := records.MessageOf(err); got != "the store is busy, try again in 5 s" {
		t.Errorf("message %q", got)
	}
	if !strings.Contains(err.Error(), "disk on fire") {
		t.Errorf("the log says %q", err)
	}
	field := &records.Error{Code: records.Invalid, Message: "is less than nothing", Field: "yield_lps"}
	if got := records.MessageOf(field); got != "yield_lps: is less than nothing" || field.Error() != got {
		t.Errorf("message %q, error %q", got, field.Error())
	}
	for _, err := range []error{cause, records.WrapError(records.Internal, cause, "secret"), nil} {
		if got := records.MessageOf(err); strings.Contains(got, "fire") || strings.Contains(got, "secret") || got == "" {
			t.Errorf("a person is told %q", got)
		}
	}
}

func TestFaultsBecomeAnError(t *testing.T) {
	warning := records.Fault{Severity: records.Warning, Field: "a", Message: "is odd", Mend: "look"}
	refusal := records.Fault{Severity: records.Refusal, Field: "b", Message: "is wrong", Mend: "mend it"}
	if err := records.FaultError([]records.Fault{warning}); err != nil {
		t.Errorf("a warning refuses: %v", err)
	}
	err := records.FaultError([]records.Fault{warning, refusal})
	if records.CodeOf(err) != records.Invalid || records.MessageOf(err) != "b: is wrong (mend it)" {
		t.Errorf("%v", err)
	}
	if warning.String() != "a: is odd (look)" || warning.Severity.String() != "warning" || refusal.Severity.String() != "refused" {
		t.Errorf("%v %v %v", warning, warning.Severity, refusal.Severity)
	}
	if got := (records.Fault{Message: "alone"}).String(); got != "alone" {
		t.Errorf("%q", got)
	}
}

// A list handed out is the caller's own.
func TestWordListsCannotBeSpoilt(t *testing.T) {
	for name, list := range map[string]func() []string{
		"status": records.StatusWords, "purpose": records.PurposeWords, "setting": records.SettingWords, "stop": records.StopWords,
		"work": records.WorkWords, "drill": records.DrillWords, "casing": records.CasingWords, "grout": records.GroutWords,
		"strike": records.StrikeWords, "yield": records.YieldMethodWords, "treatment": records.TreatmentWords,
		"located": records.LocatedWords, "source": records.SourceWords,
	} {
		words := list()
		seen := map[string]bool{}
		for i, w := range words {
			if w == "" || seen[w] || strings.ToLower(w) != w || strings.ContainsAny(w, " -") {
				t.Errorf("%s: word %q", name, w)
			}
			seen[w] = true
			words[i] = "spoilt"
		}
		if len(words) == 0 || list()[0] == "spoilt" {
			t.Errorf("%s can be spoilt", name)
		}
		if got := records.WordIndex(list(), list()[1]); got != 2 {
			t.Errorf("%s: the second word has index %d", name, got)
		}
	}
	if records.WordIndex(records.StatusWords(), "no such") != 0 {
		t.Error("a word that is not there has an index")
	}
}

func TestNamesOfSmallThings(t *testing.T) {
	for q := range records.Between + 1 {
		if got, ok := records.ParseQualifier(q.String()); !ok || got != q {
			t.Errorf("qualifier %v came back as %v", q, got)
		}
	}
	if _, ok := records.ParseQualifier("maybe"); ok || records.Qualifier(99).String() != "unknown" {
		t.Error("a qualifier that does not exist has a name")
	}
	for c := range records.ClassVoid + 1 {
		b, err := c.MarshalText()
		var back records.Class
		if err != nil || back.UnmarshalText(b) != nil || back != c {
			t.Errorf("class %v came back as %v", c, back)
		}
	}
	var c records.Class
	if c.UnmarshalText([]byte("cheese")) == nil || records.Class(99).String() == "" {
		t.Error("a class that does not exist is read")
	}
	seen := map[string]bool{}
	for s := range records.FromSeat + 1 {
		if s.String() == "" || seen[s.String()] {
			t.Errorf("source %d has the word %q", s, s)
		}
		seen[s.String()] = true
	}
	if records.PickSource(99).String() != "nothing" {
		t.Error("a source that does not exist has a name")
	}
}
