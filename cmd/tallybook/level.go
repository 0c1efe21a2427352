package main

import (
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// tryLevels tries depth against elevation of bedrock; nil where there is nothing
// to try.
func tryLevels(c *console, d *desk.Desk, f snapshot.Field, filter *snapshot.Filter, by predict.By) (*predict.LevelTrial, error) {
	if f != snapshot.Bedrock {
		return nil, nil
	}
	t, err := d.TryLevels(c.ctx, desk.LocalPerson(), filter, by)
	if code := records.CodeOf(err); err != nil && (code == records.NotFound || code == records.Invalid) {
		return nil, nil // no ground is known, or that of a few wells
	}
	return &t, err
}

// levelTable prints what came of it.
func (cmd *scoreCommand) levelTable(c *console, t *predict.LevelTrial) error {
	unit := cmd.unit(snapshot.Bedrock)
	per := unit.FromBase(1)
	p := &printer{w: c.out}
	p.f("\nbedrock by depth or by elevation, %s, on the %s whose ground is known\n", unit.Symbol(), counted(int64(t.Tested), "well"))
	p.table([][]string{{"way", "MAE", "CRPS"},
		{"as depth", cell(number(t.Depth.MAE), "%.2f", per), cell(number(t.Depth.CRPS), "%.2f", per)},
		{"as elevation, off the ground", cell(number(t.Level.MAE), "%.2f", per), cell(number(t.Level.CRPS), "%.2f", per)}})
	d := t.Difference
	better := "depth"
	if d.Mean < 0 {
		better = "elevation"
	}
	luck := ""
	if !d.Tells() {
		luck = "; the range holds zero, so that it may be luck"
	}
	p.f("CRPS as elevation above that as depth: %+.2f (%+.2f to %+.2f in nine of ten): %s does better%s.\n", d.Mean*per, d.Low*per, d.High*per, better, luck)
	return p.err
}

// scoreLevels is the same as JSON, metres.
type scoreLevels struct {
	Tested         int             `json:"tested"`
	DepthMAE       *float64        `json:"depth_mae"`
	DepthCRPS      *float64        `json:"depth_crps"`
	ElevationMAE   *float64        `json:"elevation_mae"`
	ElevationCRPS  *float64        `json:"elevation_crps"`
	CRPSDifference scoreDifference `json:"crps_difference"` // of the elevation above the depth
}

func levelsJSON(t *predict.LevelTrial) *scoreLevels {
	return &scoreLevels{Tested: t.Tested, DepthMAE: number(t.Depth.MAE), DepthCRPS: number(t.Depth.CRPS), ElevationMAE: number(t.Level.MAE), ElevationCRPS: number(t.Level.CRPS),
		CRPSDifference: scoreDifference{number(t.Difference.Mean), number(t.Difference.Low), number(t.Difference.High)}}
}

// levelWords says how a surface of bedrock came about.
func levelWords(p *printer, l *desk.BedrockLevel, f snapshot.Field, asked desk.LevelWay) {
	t := &l.Trial
	byLevel := l.ByLevel
	switch asked {
	case desk.ByDepth:
		byLevel = false
	case desk.ByLevel:
		byLevel = true
	}
	way := "as depth"
	switch {
	case byLevel && f == snapshot.Bedrock:
		way = "as elevation, taken off the ground"
	case byLevel:
		way = "as elevation"
	case f != snapshot.Bedrock:
		way = "as depth, taken off the ground"
	}
	p.f("interpolated %s", way)
	if asked == desk.ByDepth || asked == desk.ByLevel {
		p.f(", as asked")
	}
	p.f(" (ground known from %d records and for %d wells from a grid; %d wells left out without one)\n", l.Recorded, l.Derived, l.Without)
	switch {
	case l.NoGrid:
		p.f("no elevation grid is in use, so that there is no ground to take a depth off between the wells\n")
	case t.Tested > 0:
		p.f("on %s, hidden with all on their spot: CRPS %.2f m as depth, %.2f m as elevation; the difference is %+.2f m (%+.2f to %+.2f in nine of ten draws)\n",
			counted(int64(t.Tested), "well"), t.Depth.CRPS, t.Level.CRPS, t.Difference.Mean, t.Difference.Low, t.Difference.High)
	}
}
