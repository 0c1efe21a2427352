package records_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

func TestPropertiesComeBackAsTheyCame(t *testing.T) {
	for name, text := range map[string]string{
		"digits":     `{"number":"A-1","total_depth_m":62.10,"yield_lps":0.50}`,
		"bound":      `{"total_depth_m":100,"yield_lps":0.06,"yield_qualifier":"less_than"}`,
		"foreign":    `{"number":"A-1","tile":{"a":[1,2.50,"x"]},"n":1e5}`,
		"strata":     `{"strata":[{"top_m":0,"bottom_m":12.0,"description":"brn \"clay\" w/ cobbles","lab":7},{"top_m":12.0,"bottom_m":40}]}`,
		"given":      `{"total_depth_m":61.8744,"total_depth_given":"203'","total_depth_given_unit":"ft"}`,
		"between":    `{"yield_lps":0.1,"yield_high_lps":0.2,"yield_qualifier":"between"}`,
		"unicode":    `{"number":"Ä-1","remarks":"🪨 \u2028"}`,
		"empty":      `{}`,
		"private":    `{"owner":{"name":"Nobody","telephone":"0"},"site":{"address":"1 Nowhere"}}`,
		"year alone": `{"completed":"1987"}`,
	} {
		t.Run(name, func(t *testing.T) {
			var w records.Well
			if faults := w.ParseProperties([]byte(text)); len(faults) > 0 {
				t.Fatalf("faults: %v", faults)
			}
			got := string(w.AppendProperties(nil, records.WriteOptions{Private: true}))
			want := text
			if name == "unicode" {
				want = "{\"number\":\"Ä-1\",\"remarks\":\"🪨 \u2028\"}"
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("came back changed (-in +out):\n%s", diff)
			}
		})
	}
}
