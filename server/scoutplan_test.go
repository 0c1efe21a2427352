package server_test

import (
	"net/url"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records/desk"
	"tallybook/server/draw"
)

// pressedAt is the address that the form of the plan sends.
func pressedAt(kind, x, y string, more ...string) string {
	q := url.Values{"at": {spot}, "in": {"us"}, "half": {"30"}, "hazard": {kind}, "spot.x": {x}, "spot.y": {y}, "paced": {""}, "towards": {"N"}}
	for i := 0; i+1 < len(more); i += 2 {
		q.Add(more[i], more[i+1])
	}
	return "/scout?" + q.Encode()
}

// What is pressed on the plan comes to stand there: a plan of 30 m to each side
// and 320 pixels has 0.1875 m to a pixel, so 80 pixels right of the middle are
// 15 m east, 49.2 ft (worked by hand).
func TestPressThePlan(t *testing.T) {
	d, h := scoutWorld(t, changed(120, nil))
	if err := d.SetInventedOffice(t.Context(), desk.LocalPerson()); err != nil {
		t.Fatal(err)
	}
	a := asked(t, h, pressedAt("septic_tank", "240", "160")).is(303)
	to := a.header.Get("Location")
	if want := "near=septic_tank%2C49.2%2C90"; !strings.Contains(to, want) || !strings.HasSuffix(to, "#place") || strings.Contains(to, "spot") {
		t.Fatalf("leads to %s, want %s", to, want)
	}
	page := asked(t, h, strings.TrimSuffix(to, "#place")).is(200).sound().says("Septic tank", "49 ft", "too near by", "Where it may go")
	if !strings.Contains(page.body, `src="/scout/site.svg?`) {
		t.Error("the page shows no plan")
	}
	for q, want := range map[string]string{
		pressedAt("building", "0", "0"):                             "how far away is the building", // a key on the picture
		pressedAt("building", "x", "9"):                             "press it again",
		pressedAt("building", "1e300", "9"):                         "press it again",
		pressedAt("", "9", "9"):                                     "what stands there",
		"/scout?at=" + spot + "&access=" + strings.Repeat("a", 401): "shorten it",
	} {
		asked(t, h, q).is(400).sound().says(want)
	}
}

// The pin moved: what was drawn stays where it stands on the ground.
func TestMoveThePin(t *testing.T) {
	_, h := scoutWorld(t, changed(120, nil))
	a := asked(t, h, pressedAt("well", "240", "160", "near", "building,49.2,90", "access", "by the lower gate")).is(303)
	u, err := url.Parse(a.header.Get("Location"))
	if err != nil {
		t.Fatal(err)
	}
	r, err := position.Parse(u.Query().Get("at"))
	if err != nil {
		t.Fatal(err)
	}
	start, _ := position.Parse(spot)
	if m, bearing := position.Distance(start.At, r.At); m < 14.9 || m > 15.1 || bearing < 89 || bearing > 91 {
		t.Errorf("the pin went %g m to %g°", m, bearing)
	}
	if near := u.Query().Get("near"); !strings.HasPrefix(near, "building,0") {
		t.Errorf("the building stands at %s from a pin that was put on it", near)
	}
	asked(t, h, u.RequestURI()).is(200).sound().says("by the lower gate")
	asked(t, h, "/scout/sheet?"+u.RawQuery).is(200).sound().says("How the rig gets in.", "by the lower gate", "Building", "a tape on the ground")
}

func TestSitePlanIsDrawn(t *testing.T) {
	_, h := scoutWorld(t, changed(60, nil))
	a := asked(t, h, "/scout/site.svg?at="+spot+"&in=us&near=septic_tank,80,NE&near=overhead_line,30,W").is(200)
	for _, w := range []string{"septic tank 80 ft", "overhead line 30 ft", "20 ft", `width="320"`} {
		if !strings.Contains(a.body, w) {
			t.Errorf("the plan does not say %q", w)
		}
	}
	if draw.SiteSize != 320 {
		t.Error("the plan is not of the size that the page shows it in")
	}
	asked(t, h, "/scout/site.svg?at=nowhere").is(400)
	dark := asked(t, h, "/scout/site.svg?at="+spot+"&theme=dark").is(200)
	if strings.Contains(dark.body, draw.Light.Colours().Paper) {
		t.Error("dark is light")
	}
}
