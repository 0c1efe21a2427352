package server

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tallybook/geo/position"
	"tallybook/records/scout"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// placeView is where the hole may go: what stands near the pin, held against
// the office's own rules.
type placeView struct {
	Table    listing
	NoRules  bool
	Kinds    []choice
	Cautions []string
	Empty    bool
}

// hazardKind is the kind of hazard that a layer of the office's own holds; ok is
// false for one that a well need not keep away from.
func hazardKind(layer string) (kind string, ok bool) {
	if layer == "parcel" {
		return "property_line", true
	}
	return layer, slices.Contains(scout.HazardWords(), layer)
}

// mostLayerM is how far lines of the office's own layers are looked for.
const mostLayerM = 150

// hazardsOf gathers what was paced off from the pin, and what the office's own
// layers hold near it.
func (a *scoutAsk) hazardsOf(layers []draw.MapLayer) []scout.Hazard {
	plane := position.NewPlane(a.at)
	var out []scout.Hazard
	for _, h := range a.hazards {
		rad := h.BearingDeg * math.Pi / 180
		at := plane.FromXY(h.DistM*math.Sin(rad), h.DistM*math.Cos(rad))
		out = append(out, scout.Hazard{Kind: h.Kind, Name: "paced off " + say.Bearing(h.BearingDeg), Shape: scout.Shape{Kind: scout.Points, Parts: [][]position.LonLat{{at}}}})
	}
	for _, l := range layers {
		kind, ok := hazardKind(l.Kind)
		if !ok {
			continue
		}
		for _, line := range l.Lines {
			if !passesNear(line.Points, a.at) {
				continue
			}
			shape := scout.Shape{Kind: scout.Lines}
			switch {
			case len(line.Points) == 1:
				shape.Kind = scout.Points
			case line.Area:
				shape.Kind = scout.Areas
			}
			part := make([]position.LonLat, len(line.Points))
			for i, p := range line.Points {
				part[i] = position.LonLat{Lon: p[0], Lat: p[1]}
			}
			shape.Parts = [][]position.LonLat{part}
			out = append(out, scout.Hazard{Kind: kind, Name: line.Name, Shape: shape})
		}
	}
	return out
}

// passesNear says whether the box around a line comes within mostLayerM of a
// place, so that a county of parcels costs nothing.
func passesNear(points [][2]float64, at position.LonLat) bool {
	dLat := mostLayerM / 111_000.0
	dLon := dLat / max(math.Cos(at.Lat*math.Pi/180), 0.01)
	west, east, south, north := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range points {
		west, east = min(west, p[0]), max(east, p[0])
		south, north = min(south, p[1]), max(north, p[1])
	}
	return west-dLon <= at.Lon && at.Lon <= east+dLon && south-dLat <= at.Lat && at.Lat <= north+dLat
}

// placeViewOf holds the hazards against the rules.
func placeViewOf(a *scoutAsk, layers []draw.MapLayer, rules []scout.LocalRule, u say.System) *placeView {
	v := &placeView{NoRules: len(rules) == 0}
	for _, k := range scout.HazardWords() {
		v.Kinds = append(v.Kinds, choice{Value: k, Label: strings.ReplaceAll(k, "_", " ")})
	}
	backs, _ := scout.CheckSetbacks(a.at, 0, a.hazardsOf(layers), rules)
	v.Table = listing{Heads: heads("near the pin", "#away", "held against the rules", "")}
	seen := map[string]bool{}
	for i := range backs {
		b := &backs[i]
		paced := strings.HasPrefix(b.Hazard.Name, "paced off")
		// A road in many pieces is told once, by its nearest.
		name := b.Hazard.Kind + "\x00" + b.Hazard.Name
		if !paced && (seen[name] || b.DistanceM > mostLayerM) {
			continue
		}
		seen[name] = true
		class := ""
		if b.Verdict == scout.TooNear || b.Verdict == scout.Look {
			class = "wrong"
		}
		what := capital(strings.ReplaceAll(b.Hazard.Kind, "_", " "))
		v.Table.add(class, cell{Text: what, More: b.Hazard.Name}, cell{Text: u.Distance(b.DistanceM)}, setbackWords(b, u), a.leaveOut(b, u))
		if !slices.Contains(v.Cautions, b.Caution) {
			v.Cautions = append(v.Cautions, b.Caution)
		}
	}
	v.Empty = len(v.Table.Rows) == 0
	v.Table = v.Table.tidy()
	return v
}

// leaveOut is the link that takes back what was paced off.
func (a *scoutAsk) leaveOut(b *scout.Setback, u say.System) cell {
	for i, h := range a.hazards {
		if b.Hazard.Kind == h.Kind && b.Hazard.Name == "paced off "+say.Bearing(h.BearingDeg) && math.Abs(b.DistanceM-h.DistM) < 0.01 {
			return cell{Text: "leave out", Href: a.href("/scout", u, func(c *scoutAsk) { c.hazards = slices.Delete(c.hazards, i, i+1) }) + "#place"}
		}
	}
	return cell{}
}

func setbackWords(b *scout.Setback, u say.System) cell {
	rule := ""
	if v, ok := b.Rule.Distance.Number(); ok && v > 0 {
		rule = u.Metres(float64(v)) + " by " + b.Rule.Regulation
		if b.Rule.Year > 0 {
			rule += fmt.Sprintf(" (%d)", b.Rule.Year)
		}
	}
	switch b.Verdict {
	case scout.TooNear:
		return cell{Text: "too near by " + u.Metres(b.ShortM), More: rule, Class: "signal"}
	case scout.FarEnough:
		return cell{Text: "as far as the rule asks", More: rule}
	case scout.Doubtful:
		return cell{Text: "far enough as drawn, but not by the accuracy", More: rule, Class: "signal"}
	case scout.Look:
		return cell{Text: "go and look", More: rule, Class: "signal"}
	}
	return cell{Text: "no rule in the office's table", Class: "quiet"}
}
