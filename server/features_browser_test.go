//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// The pages of the features service on a phone and on a wide window, light and
// dark, with hostile records among theirs: as TestOfficePagesInABrowser looks.
func TestFeaturesPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	for _, width := range []int64{390, 1280} {
		for _, theme := range []string{"light", "dark"} {
			for _, path := range []string{"", "/collections", "/collections/wells", "/collections/wells/items", "/collections/wells/items/" + w.hostile.UID, "/collections/strata/items", "/collections/plates/items", "/collections/forecasts/items", "/conformance", "/api", "/collections/wells/items?limit=0"} {
				join := "?"
				if strings.Contains(path, "?") {
					join = "&"
				}
				if err := act(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+"/ogc"+path+join+"f=html&theme="+theme)); err != nil {
					t.Fatal(err)
				}
				m := evaluate[measured](t, ctx, measure)
				at := fmt.Sprintf("%s at %d px, %s", path, width, theme)
				if m.Wide > float64(width) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
				for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": m.Pale} {
					if len(found) > 0 {
						t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 6)])
					}
				}
				keepShot(t, ctx, fmt.Sprintf("features%s-%d-%s", strings.NewReplacer("/", "_", "?", "_", w.hostile.UID, "one").Replace(path), width, theme))
			}
		}
	}
	for _, line := range said() {
		if !strings.Contains(line, "400") { // the page that says what is wrong
			t.Errorf("the console said: %s", line)
		}
	}
}
