package exchange_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/exchange"
	"tallybook/records/recordstest"
)

// A washed record, written with all that it holds, is what the record itself
// comes to where nothing private is asked for.
func TestWashedIsWhatTheWritersLeaveOut(t *testing.T) {
	full := recordstest.Full()
	full.Extra = append(full.Extra,
		records.Member{Name: "OwnerPhone", JSON: `"555 0100"`}, records.Member{Name: "aquifer", JSON: `"till"`},
		records.Member{Name: "@feature", JSON: `{"members":{"contact":"Nobody Invented","note":1},"geometry":{"q":2}}`})
	full.Crew.Extra = append(full.Crew.Extra, records.Member{Name: "crew_email", JSON: `"nobody@example.invalid"`})
	washed := full.Copy()
	washed.Plates = full.Plates
	full.Attachments = nil // who may see scans is decided ahead of the writers
	want := string(exchange.AppendFeature(nil, full, exchange.Options{}))
	if n := exchange.Wash(washed); n != 3 {
		t.Errorf("%d properties taken out, want 3", n)
	}
	got := string(exchange.AppendFeature(nil, washed, exchange.Options{Private: true}))
	if got != want {
		t.Errorf("washed:\n%s\nleft out by the writer:\n%s", got, want)
	}
	for _, word := range []string{"555 0100", "Nobody Invented", "nobody@example"} {
		if strings.Contains(got, word) {
			t.Errorf("%q is still there", word)
		}
	}
	if !strings.Contains(got, `"aquifer"`) || !strings.Contains(got, `"note":1`) {
		t.Errorf("too much was taken out: %s", got)
	}
}
