package server

import (
	"fmt"
	"math"
	"slices"
	"strings"

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
	Plan     *planView
	Access   string
}

// mostLayerM is how far lines of the office's own layers are looked for.
const mostLayerM = 150

// hazardsOf gathers what was paced off from the pin, and what the office's own
// layers hold near it.
func (a *scoutAsk) hazardsOf(layers []draw.MapLayer) []scout.Hazard {
	var out []scout.Hazard
	for _, h := range a.hazards {
		out = append(out, h.Hazard(a.at, "paced off "+say.Bearing(h.BearingDeg)))
	}
	for _, l := range layers {
		kind, ok := scout.HazardOfLayer(l.Kind)
		if !ok {
			continue
		}
		for _, line := range l.Lines {
			if !scout.PassesNear(line.Points, a.at, mostLayerM) {
				continue
			}
			out = append(out, scout.HazardOfLine(kind, line.Name, line.Points, line.Area))
		}
	}
	return out
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
