package desk_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"tallybook/records/desk"
	"tallybook/records/review"
)

// TestSpatialPartsInAnotherOrder: the same wells taken in the other way round
// give the same numbers, to the last digit.
func TestSpatialPartsInAnotherOrder(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(features(350)), "\n")
	back := slices.Clone(lines)
	slices.Reverse(back)
	parts := []string{"structure", "directions", "crowding", "methods"}
	answers := func(lines []string) map[string]string {
		d, _ := newDesk(t)
		mustTakeIn(t, d, strings.Join(lines, "\n")+"\n")
		out := map[string]string{}
		for _, p := range parts {
			for _, field := range []string{"depth_to_bedrock", "yield"} {
				set := &review.Settings{Quantity: field}
				set.Defaults()
				a, err := d.ReviewPart(t.Context(), me, set, p, 2*time.Minute)
				if err != nil || a == nil {
					t.Fatal(p, a, err)
				}
				text, err := json.Marshal(a)
				if err != nil {
					t.Fatal(err)
				}
				out[p+" of "+field] = string(text)
			}
		}
		return out
	}
	first, second := answers(lines), answers(back)
	for name, text := range first {
		if second[name] != text {
			t.Errorf("%s: in another order\n%s\nis\n%s", name, text, second[name])
		}
	}
	if !strings.Contains(first["structure of depth_to_bedrock"], `"semivariance_m2"`) || !strings.Contains(first["methods of depth_to_bedrock"], `"kriging"`) {
		t.Errorf("nothing was compared: %v", first)
	}
	if n := len(desk.MethodNames()); n != len(desk.UsualMethods()) {
		t.Errorf("%d names of %d methods", n, len(desk.UsualMethods()))
	}
}
