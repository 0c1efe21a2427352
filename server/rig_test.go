package server_test

import (
	"fmt"
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
)

const rigAt = "/rig?at=44.25,-38.75&in=us"

// ringOf is wells alike around 44.25,-38.75: rock at 10 m, cased to 15 m, 100 m
// deep, with 30 L/min from 80 m in the first few of them.
func ringOf(wells, met int) []*records.Well {
	var out []*records.Well
	for i := range wells {
		a := 2 * math.Pi * float64(i) / float64(wells)
		w := &records.Well{Number: fmt.Sprintf("R-%d", i), TotalDepth: records.Of(records.Depth(100)), Bedrock: records.Of(records.Depth(10)), Yield: records.Of(records.Flow(0))}
		w.Place = records.Place{Located: true, Lon: -38.75 + 0.004*math.Sin(a), Lat: 44.25 + 0.003*math.Cos(a)}
		w.Casing = []records.Casing{{From: records.Of(records.Depth(0)), To: records.Of(records.Depth(15))}}
		if i < met {
			w.Yield = records.Of(records.Flow(0.5))
			w.Strikes = []records.Strike{{Depth: records.Of(records.Depth(80)), Flow: records.Of(records.Flow(0.5))}}
		}
		out = append(out, w)
	}
	return out
}

// In every state the page beside the drill says what it knows and why it says
// no more.
func TestRigStates(t *testing.T) {
	for _, c := range []struct {
		name    string
		wells   []*records.Well
		ask     string
		want    []string
		wantNot []string
	}{
		{"before any depth", ringOf(16, 4), "", []string{"Depth now, ft", "Work it out"}, []string{"in 20", "Next rod"}},
		{"no wells", nil, "&depth=200", []string{"take some in first"}, []string{"in 20"}},
		{"an answer", ringOf(16, 4), "&depth=200", []string{"that the next 100 ft bring it to 5 gpm", "standard error", "next 50 ft, to 250 ft", "Next rod to 220 ft", "Two rods to 240 ft", "A rod back to 180 ft",
			"No price", "Stores", "Stop, and fracture it later", "some gain nothing", "Stop, and set a tank", "The chance by depth", "An open hole", "Stand clear of turning rods", "Overhead lines"}, []string{"cannot tell The"}},
		{"too few holes", ringOf(5, 1), "&depth=200", []string{"The records cannot tell", "effective holes nearby", "it takes 8"}, []string{"that the next 100 ft bring", "The chance by depth"}},
		{"deeper than all", ringOf(16, 4), "&depth=400", []string{"The records cannot tell"}, []string{"that the next 100 ft bring"}},
		{"met", ringOf(16, 4), "&depth=200&yield=6", []string{"The need is met", "gives 6 gpm; 5 gpm is needed"}, []string{"bring it to", "fracture it later"}},
		{"above everybody's casing", ringOf(16, 4), "&depth=20", []string{"cased deeper than this", "Ask again below the casing"}, nil},
		{"no rock, casing enough", ringOf(16, 4), "&depth=26&casing=60", []string{"0 in 20 that 60 ft of casing runs out, with no bedrock down to 26 ft", "It reaches bedrock down to 60 ft"}, nil},
		{"no rock, casing short", ringOf(16, 4), "&depth=26&casing=30", []string{"20 in 20 that 30 ft of casing runs out"}, nil},
		{"no rock where nobody went so deep", ringOf(16, 4), "&depth=150&casing=200", []string{"Casing enough? The records cannot tell"}, nil},
		{"rock met, casing held against it", ringOf(16, 4), "&depth=120&rock=40&casing=30", []string{"It is short by 10 ft", "asks for 40 ft; 30 ft are at hand"}, nil},
		{"nothing said but the place", changed(30, func(w *records.Well) { *w = records.Well{Number: w.Number, Place: w.Place} }), "&depth=200", []string{"The records cannot tell", "No well nearby says anything of water or depth"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, h := scoutWorld(t, c.wells)
			for _, address := range []string{rigAt + c.ask, rigAt + c.ask + "&units=si", rigAt + c.ask + "&theme=dark"} {
				code, page := getPage(t, h, address)
				a := answer{t, address, code, page, nil}
				a.is(200).sound().saysNot("NaN", "Inf", "%!")
				if address == rigAt+c.ask {
					a.says(c.want...).saysNot(c.wantNot...)
				}
			}
		})
	}
}

// Far from every well the page says so above its answer.
func TestRigFarAway(t *testing.T) {
	_, h := scoutWorld(t, ringOf(16, 4))
	code, page := getPage(t, h, "/rig?at=44.5,-38.75&in=us&depth=200")
	answer{t, "far away", code, page, nil}.is(200).sound().says("No well stands within 4 km")
}

// What cannot be read stands in its field as it was typed, with what is wrong
// beside it, and nothing is answered.
func TestRigFaults(t *testing.T) {
	_, h := scoutWorld(t, ringOf(16, 4))
	code, page := getPage(t, h, rigAt+"&depth=abc&yield=1/2&casing=-3&people=x&rock="+strings.Repeat("9", 30))
	a := answer{t, "faults", code, page, nil}
	a.is(200).sound().says("abc cannot be read as a number; write one from 0 to 9843 ft", "-3 is out of range", "x is no number of people").saysNot("in 20")
	for _, kept := range []string{`value="abc"`, `value="1/2"`, `value="-3"`, `value="x"`} {
		if !strings.Contains(page, kept) {
			t.Errorf("what was typed is gone: %s", kept)
		}
	}
	for _, ask := range []string{"&depth=", "&depth=200&need=0", "&depth=100&rock=120"} {
		_, page := getPage(t, h, rigAt+ask)
		if !strings.Contains(page, `class="fault"`) || strings.Contains(page, "in 20") {
			t.Errorf("%s: no fault is told, or an answer is", ask)
		}
	}
	if code, _ := getPage(t, h, "/rig?depth=100"); code != http.StatusBadRequest {
		t.Errorf("no place: %d", code)
	}
	code, page = getPage(t, h, rigAt+"&depth="+"%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
	answer{t, "attack", code, page, nil}.is(200).sound()
}

// The question stands in the address whatever the reader's units: links carry
// it on, and a depth in feet stays the same depth in metres.
func TestRigKeepsTheQuestion(t *testing.T) {
	d, h := scoutWorld(t, ringOf(16, 4))
	_, page := getPage(t, h, "/rig?at=44.25,-38.75&in=us&depth=200&yield=1&need=3&casing=80&rock=33&people=6&units=si")
	for _, want := range []string{`name="in" value="si"`, `name="depth" inputmode="decimal" autocomplete="off" value="61"`, `value="24.4"`, "depth=67.056", "need=11.356", "people=6", "casing=24.384", "rock=10.058"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page in metres does not hold %s", want)
		}
	}
	setPractice(t, d, `{"units":"us","rod_ft":25}`)
	_, page = getPage(t, h, rigAt+"&depth=200")
	answer{t, "rods", 200, page, nil}.says("Next rod to 225 ft").saysNot("A rod is taken as")
	scout := regexp.MustCompile(`href="(/scout\?[^"]+)"`).FindStringSubmatch(page)
	if scout == nil {
		t.Fatal("no way back to scouting")
	}
	code, page := getPage(t, h, strings.ReplaceAll(scout[1], "&amp;", "&"))
	if code != 200 || !strings.Contains(page, `href="/rig?at=44.25%2C-38.75&amp;in=us"`) {
		t.Errorf("from there there is no way to the rig: %d", code)
	}
}

func setPractice(t *testing.T, d *desk.Desk, text string) {
	t.Helper()
	v := records.SettingValue{Name: desk.SettingPractice, Value: text}
	if err := d.SaveSetting(t.Context(), desk.LocalPerson(), &v, ""); err != nil {
		t.Fatal(err)
	}
}
