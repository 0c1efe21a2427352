package main

import (
	"context"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// mostLayerM is how far the office's own layers are looked at.
const mostLayerM = 150

// pacedOff reads what --near says, in the reader's unit unless it names one.
func pacedOff(near []string, u say.System) ([]scout.Paced, error) {
	out := make([]scout.Paced, len(near))
	for i, text := range near {
		var err error
		if out[i], err = scout.ParsePaced(text, u.LengthUnit()); err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "near", Message: "--near " + text + ": " + records.MessageOf(err)}
		}
	}
	return out, nil
}

// setbacksAt holds what was paced off, and what the office's layers hold near
// the place, against the office's rules.
func setbacksAt(ctx context.Context, d *desk.Desk, o *desk.Scouting, paced []scout.Paced) ([]scout.Setback, error) {
	var hazards []scout.Hazard
	for _, p := range paced {
		hazards = append(hazards, p.Hazard(o.At, "paced off "+say.Bearing(p.BearingDeg)))
	}
	layers, err := d.Layers(ctx, desk.LocalPerson())
	if err != nil {
		return nil, err
	}
	for _, l := range layers {
		kind, ok := scout.HazardOfLayer(l.Kind)
		if !ok {
			continue
		}
		lines, err := desk.LayerLines(l.GeoJSON)
		if err != nil {
			return nil, err
		}
		for _, line := range lines {
			if scout.PassesNear(line.Points, o.At, mostLayerM) {
				hazards = append(hazards, scout.HazardOfLine(kind, line.Name, line.Points, line.Area))
			}
		}
	}
	all, _ := scout.CheckSetbacks(o.At, 0, hazards, o.Rules)
	backs := all[:0]
	for _, b := range all {
		if b.DistanceM <= mostLayerM || strings.HasPrefix(b.Hazard.Name, "paced off") {
			backs = append(backs, b)
		}
	}
	return backs, nil
}

// scoutBack is a setback in JSON; units stand in the names.
type scoutBack struct {
	Kind       string   `json:"kind"`
	Name       string   `json:"name,omitempty"`
	DistanceM  float64  `json:"distance_m"`
	Verdict    string   `json:"verdict"` // no_rule, far_enough, too_near, doubtful, look
	RuleM      *float64 `json:"rule_m"`
	Regulation string   `json:"regulation,omitempty"`
	Year       int      `json:"year,omitempty"`
	ShortM     float64  `json:"too_near_by_m"`
	Caution    string   `json:"caution"`
}

func setbacksJSON(backs []scout.Setback) []scoutBack {
	out := []scoutBack{}
	for _, b := range backs {
		s := scoutBack{Kind: b.Hazard.Kind, Name: b.Hazard.Name, DistanceM: b.DistanceM, Verdict: b.Verdict.String(), Regulation: b.Rule.Regulation, Year: b.Rule.Year, ShortM: b.ShortM, Caution: b.Caution}
		if v, ok := b.Rule.Distance.Number(); ok {
			m := float64(v)
			s.RuleM = &m
		}
		out = append(out, s)
	}
	return out
}

// setbacksText tells of them, each caution once.
func setbacksText(p *printer, backs []scout.Setback, rules bool, u say.System) {
	if len(backs) == 0 {
		return
	}
	p.f("\nWhere it may go\n")
	told := map[string]bool{}
	for _, b := range backs {
		verdict := map[scout.Verdict]string{
			scout.NoRule: "no rule in the office's table", scout.FarEnough: "as far as the rule asks",
			scout.TooNear: "TOO NEAR by " + u.Metres(b.ShortM), scout.Doubtful: "far enough as drawn, but not by the accuracy", scout.Look: "go and look",
		}[b.Verdict]
		if v, ok := b.Rule.Distance.Number(); ok && v > 0 {
			verdict += " (" + u.Metres(float64(v)) + " by " + b.Rule.Regulation + ")"
		}
		p.f("  %s%s, %s: %s\n", strings.ReplaceAll(b.Hazard.Kind, "_", " "), noted(b.Hazard.Name), u.Distance(b.DistanceM), verdict)
	}
	for _, b := range backs {
		if !told[b.Caution] {
			told[b.Caution] = true
			p.f("  take care: %s\n", b.Caution)
		}
	}
	if !rules {
		p.f("  the office has no table of local rules yet, so nothing is held against one\n")
	}
}
