package draw_test

import (
	"strings"
	"testing"

	"tallybook/server/draw"
)

// seenMap has a well and what was seen beside it.
func seenMap(seen ...draw.MapSeen) *draw.MapData {
	return &draw.MapData{
		View: draw.View{Lon: -40, Lat: 44, MPerPixel: 2, W: 800, H: 600}, Title: "A map",
		Wells: []draw.MapWell{{ID: 1, Lon: -40, Lat: 44, Known: true, Share: 0.4, Href: "/well/1", Title: "well 1"}},
		Seen:  seen, Key: draw.MapKey{Title: "Depth to sound bedrock, ft", Words: []string{"words"}},
	}
}

// What was seen has a mark of its own, which leads to its page and is no
// well's; the legend names it only where there is any.
func TestMapSeen(t *testing.T) {
	plain, err := readMap(draw.Map(seenMap(), draw.Light, "m"), "m")
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(plain.words, "seen") || plain.parts["seen g"] != 0 {
		t.Error("a map speaks of what was seen where nothing was")
	}
	seen := []draw.MapSeen{
		{Lon: -40.002, Lat: 44.001, Kind: draw.SeenRock, Title: "seen here: <rock>", Href: "/sighting/1"},
		{Lon: -40.001, Lat: 43.999, Kind: draw.SeenNoRock, Title: "none", Href: "/sighting/2"},
		{Lon: -39.999, Lat: 43.998, Kind: draw.SeenDry, Title: "dry", Href: "/sighting/3"},
		{Lon: -39.998, Lat: 43.998, Title: "something", Href: "/sighting/4"},
	}
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		b := draw.Map(seenMap(seen...), theme, "m")
		m, err := readMap(b, "m")
		if err != nil {
			t.Fatal(err)
		}
		if m.parts["seen a"] != 4 || m.parts["wells a"] != 1 {
			t.Errorf("theme %v: %d marks and %d wells, want 4 and 1", theme, m.parts["seen a"], m.parts["wells a"])
		}
		if !strings.Contains(m.words, "seen there; no well") || !strings.Contains(m.words, "seen here: <rock>") {
			t.Errorf("theme %v: the legend or the title is missing in %q", theme, m.words)
		}
	}
}

// A mark under the legend is left out, as a well is: half a sign would tell a
// lie.
func TestMapSeenUnderTheLegend(t *testing.T) {
	d := seenMap()
	lon, lat := d.View.Position(40, 30)
	d.Seen = []draw.MapSeen{{Lon: lon, Lat: lat, Href: "/sighting/1"}}
	m, err := readMap(draw.Map(d, draw.Light, "m"), "m")
	if err != nil {
		t.Fatal(err)
	}
	if m.parts["seen a"] != 0 {
		t.Error("a mark lies under the legend")
	}
}
