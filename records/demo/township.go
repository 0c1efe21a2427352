package demo

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"tallybook/geo/position"
	"tallybook/records"
)

// Township is everything that is invented.
type Township struct {
	Wells  []*records.Well
	Plates []Plate
	Layers []records.Layer

	ground *ground
	places []place
}

// Plate is a plate and the well that it is linked to, by its place in Wells;
// -1 where nobody has linked it yet.
type Plate struct {
	Plate *records.Plate
	Well  int
}

// Note says what the data are, for every page.
const Note = "Ninefold Township is invented: its ground, its wells and its people exist nowhere, and it lies in the open ocean."

// Make invents the township. The same seed gives the same township.
func Make(seed uint64) *Township {
	r := rand.New(rand.NewPCG(seed, 0x6e696e65666f6c64))
	m := &maker{Rand: r, g: newGround(r)}
	for range 16 {
		m.places = append(m.places, place{(r.Float64()*2 - 1) * halfM * 0.85, (r.Float64()*2 - 1) * halfM * 0.85, 180 + 420*r.Float64()})
	}
	t := &Township{ground: m.g, places: m.places}
	for n := range wellCount {
		t.Wells = append(t.Wells, m.well(n))
	}
	m.mistakes(t.Wells)
	t.Plates = m.plates(t.Wells)
	t.Layers = m.layers()
	reviewed(t.Wells, seed)
	return t
}

// mistakes puts wrong entries among the records, of the kinds that real files
// hold. Remarks do not give them away.
func (m *maker) mistakes(wells []*records.Well) {
	wrong := map[*records.Well]bool{}
	// pick gives a well not made wrong before, and one to waste when there is
	// none that fits.
	pick := func(ok func(*records.Well) bool) *records.Well {
		for _, i := range m.Perm(len(wells)) {
			if w := wells[i]; ok(w) && !wrong[w] {
				wrong[w] = true
				return w
			}
		}
		return &records.Well{}
	}
	logged := func(w *records.Well) bool { return len(w.Strata) > 2 && w.Bedrock.Known() }
	// A stated depth to bedrock with a digit too many.
	for range 3 {
		w := pick(logged)
		w.Bedrock = feet(min(float64(w.Bedrock.Value)*10, float64(w.TotalDepth.Value)-1))
	}
	// A depth written in metres in a column of feet.
	for range 2 {
		w := pick(func(w *records.Well) bool { return len(w.Strata) == 0 && w.TotalDepth.Value > 60 })
		w.TotalDepth = feet(float64(w.TotalDepth.Value) * 0.3048)
	}
	// A year mistyped: the log says one decade, the number another.
	for range 2 {
		w := pick(func(w *records.Well) bool { return w.Completed.Year > 1995 && w.Completed.Year < 2010 })
		w.Completed.Year -= 90
	}
	// A place with two digits exchanged: a few hundred metres off.
	for range 4 {
		w := pick(logged)
		w.Place.Lat += 0.009 * float64(1+m.IntN(3))
	}
	// A gap in the log that nobody noticed.
	for range 5 {
		w := pick(func(w *records.Well) bool { return len(w.Strata) > 3 })
		if len(w.Strata) > 3 {
			w.Strata = append(w.Strata[:1:1], w.Strata[2:]...)
		}
	}
	// Static level written below the pump: deeper than the hole.
	w := pick(func(w *records.Well) bool { return w.StaticLevel.Known() })
	w.StaticLevel = feet(float64(w.TotalDepth.Value) + 12)
}

// plates invents the plates: stamped from the records since 1996, some of
// them with errors of the stamp, some never linked, two fixed to each other's
// well.
func (m *maker) plates(wells []*records.Well) []Plate {
	var out []Plate
	number := 40117
	for i, w := range wells {
		if w.Completed.Year < 1996 || m.Float64() > 0.62 {
			continue
		}
		number += 1 + m.IntN(3)
		p := &records.Plate{
			Number: fmt.Sprintf("%d", number), Authority: "Ninefold Records Office (invented)", Series: "A",
			Since: records.Date{Year: w.Completed.Year},
			Stamped: records.Stamped{
				Date: w.Completed, Depth: w.TotalDepth, Yield: w.Yield, Diameter: inches(6),
			},
		}
		if len(w.Casing) > 0 {
			p.Stamped.Casing = w.Casing[0].To
		}
		at := position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}
		x, y := m.g.plane.ToXY(at)
		seen := m.g.plane.FromXY(x+6*m.NormFloat64(), y+6*m.NormFloat64())
		year := min(w.Completed.Year+m.IntN(12), lastYear)
		p.Seen = []records.PlateSighting{{
			Date: records.Date{Year: year, Month: 1 + m.IntN(12)}, By: "invented inspector",
			Located: true, Lon: math.Round(seen.Lon*1e6) / 1e6, Lat: math.Round(seen.Lat*1e6) / 1e6,
			Accuracy: records.Of(records.Length(8)), Legible: p.Number,
		}}
		linked := i
		switch v := m.Float64(); {
		case v < 0.06:
			// The stamp contradicts the record.
			p.Stamped.Depth = feet(float64(p.Stamped.Depth.Value) * (0.6 + 0.7*m.Float64()))
		case v < 0.10:
			// A digit cannot be read.
			p.Seen[0].Legible = p.Number[:3] + "?" + p.Number[4:]
		}
		if m.Float64() < 0.18 {
			linked = -1
		} else {
			p.Evidence = "number on the completion report"
		}
		out = append(out, Plate{p, linked})
	}
	swap(out)
	return out
}

// swap fixes two plates of neighbouring years to each other's well.
func swap(ps []Plate) {
	first := -1
	for i := len(ps) / 2; i < len(ps); i++ {
		if ps[i].Well < 0 {
			continue
		}
		if first < 0 {
			first = i
			continue
		}
		ps[first].Well, ps[i].Well = ps[i].Well, ps[first].Well
		return
	}
}

// feature is a line of a layer as GeoJSON.
type feature struct {
	Type       string            `json:"type"`
	Properties map[string]string `json:"properties"`
	Geometry   geometry          `json:"geometry"`
}

type geometry struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

// layers invents roads between the hamlets, streams down the valleys, and the
// township's boundary.
func (m *maker) layers() []records.Layer {
	var roads, streams []feature
	names := []string{"Quern Road", "Lower Bell Road", "Sedge Lane", "Ninefold Turnpike", "Cooper's Rise", "Old Kiln Road", "Tarn Road", "Withy Lane"}
	places := append([]place(nil), m.places...)
	sort.Slice(places, func(i, j int) bool { return places[i].x < places[j].x })
	for i, name := range names {
		a, b := places[i*2%len(places)], places[(i*2+1+i%3*2)%len(places)]
		if i < 2 { // two that cross the whole township
			a = place{-halfM, places[i].y, 0}
			b = place{halfM, places[len(places)-1-i].y, 0}
		}
		roads = append(roads, m.line(name, a.x, a.y, b.x, b.y, 170))
	}
	for i, name := range []string{"Bell Brook", "Sedge Brook", "Ninefold Stream"} {
		x := -halfM*0.75 + float64(i)*4300
		streams = append(streams, m.line(name, x, halfM, x+1600-float64(i)*900, -halfM, 620))
	}
	var ring [][2]float64
	for _, c := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}, {-1, -1}} {
		ring = append(ring, m.lonLat(c[0]*halfM, c[1]*halfM))
	}
	boundary := []feature{{Type: "Feature", Properties: map[string]string{"name": "Ninefold Township (invented)"},
		Geometry: geometry{"Polygon", [][][2]float64{ring}}}}
	return []records.Layer{
		layer("Township boundary", "boundary", boundary),
		layer("Streams", "stream", streams),
		layer("Roads", "road", roads),
	}
}

func layer(name, kind string, fs []feature) records.Layer {
	data, err := json.Marshal(struct {
		Type     string    `json:"type"`
		Features []feature `json:"features"`
	}{"FeatureCollection", fs})
	if err != nil {
		panic("demo: a layer of numbers and names cannot fail to be written: " + err.Error())
	}
	return records.Layer{Name: name, Kind: kind, GeoJSON: data}
}

func (m *maker) lonLat(x, y float64) [2]float64 {
	at := m.g.plane.FromXY(x, y)
	return [2]float64{math.Round(at.Lon*1e6) / 1e6, math.Round(at.Lat*1e6) / 1e6}
}

// line winds from one place to another.
func (m *maker) line(name string, x0, y0, x1, y1, bend float64) feature {
	var pts [][2]float64
	length := math.Hypot(x1-x0, y1-y0)
	a, b := m.Float64()*6, m.Float64()*6
	n := max(4, int(length/120))
	for i := range n + 1 {
		t := float64(i) / float64(n)
		off := bend * math.Sin(math.Pi*t) * (math.Sin(t*7+a) + 0.5*math.Sin(t*17+b))
		x := x0 + (x1-x0)*t - off*(y1-y0)/max(length, 1)
		y := y0 + (y1-y0)*t + off*(x1-x0)/max(length, 1)
		pts = append(pts, m.lonLat(x, y))
	}
	return feature{Type: "Feature", Properties: map[string]string{"name": name}, Geometry: geometry{"LineString", pts}}
}
