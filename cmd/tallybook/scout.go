package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
	"tallybook/server/say"
)

type scoutCommand struct {
	dbFlag
	holeFlags
	trustFlags
	Near  []string `sep:"none" placeholder:"KIND,DISTANCE,DIRECTION" help:"What stands near the spot, such as septic_tank,80ft,NE: held against the office's own rules. Repeat for more."`
	At    string   `required:"" placeholder:"POSITION" help:"The place: decimal degrees, degrees-minutes-seconds, or UTM with its zone."`
	JSON  bool     `name:"json" help:"Answer as JSON, in SI units."`
	Units string   `enum:"us,si" default:"us" help:"Units of the text: us or si."`
}

// Help teaches the command.
func (scoutCommand) Help() string {
	return `Estimates depth to sound bedrock, yield and total depth from the wells around
the place, each with its range, what it stands on, and whether the neighbours
tell more than the area does. Then the hole that is asked for: drilled in each
of the records that speak for the place until it gives what is needed, priced by
the office's rates, with what to load and whether it carries a day; and what
stands near the spot, held against the office's own rules.

Examples:
  tallybook scout --db county.db --at 44.25,-38.75 --need 3gpm --most 400ft
  tallybook scout --db county.db --at "44 30 15 N 71 12 40 W"
  tallybook scout --db county.db --at 44.25,-38.75 --near septic_tank,80ft,NE \
      --near overhead_line,15m,W
  tallybook scout --db county.db --at 44.25,-38.75 --json`
}

// Run estimates one place.
func (cmd *scoutCommand) Run(c *console) error {
	at, err := readPosition(cmd.At)
	if err != nil {
		return err
	}
	ask, err := cmd.ask()
	if err != nil {
		return err
	}
	units, _ := say.Parse(cmd.Units)
	paced, err := pacedOff(cmd.Near, units)
	if err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{picture: true})
	if err != nil {
		return err
	}
	ask.At = at
	if ask.Filter.Trust, err = cmd.trust(d); err != nil {
		return closeAfter(d, err)
	}
	leftOut(c, d.Picture(), &ask.Filter, snapshot.Fields()...)
	o, err := d.Scouting(c.ctx, desk.LocalPerson(), ask)
	if err != nil {
		return closeAfter(d, err)
	}
	backs, err := setbacksAt(c.ctx, d, o, paced)
	if err != nil {
		return closeAfter(d, err)
	}
	if cmd.JSON {
		err = scoutJSON(c.out, o, backs)
	} else {
		err = scoutText(c.out, o, backs, units)
	}
	return closeAfter(d, err)
}

func readPosition(text string) (position.LonLat, error) {
	r, err := position.Parse(text)
	if err != nil {
		return position.LonLat{}, &records.Error{Code: records.Invalid, Field: "position", Message: err.Error()}
	}
	return r.At, nil
}

// scoutAnswer is the JSON of a scouted place; units stand in the names.
type scoutAnswer struct {
	Lon          float64       `json:"lon"`
	Lat          float64       `json:"lat"`
	WellsWithinM float64       `json:"within_m"`
	Wells        int           `json:"wells_within"`
	Nearest      []scoutWell   `json:"nearest"`
	Fields       []scoutAmount `json:"fields"`
	Hole         *scoutHole    `json:"hole"`
	Setbacks     []scoutBack   `json:"setbacks"`
	Caution      string        `json:"caution"`
}

type scoutWell struct {
	ID         int64   `json:"id"`
	DistanceM  float64 `json:"distance_m"`
	BearingDeg float64 `json:"bearing_deg"`
}

type scoutAmount struct {
	Field      string     `json:"field"`
	Unit       string     `json:"unit"`
	Median     *float64   `json:"median"`
	Low        *float64   `json:"low"`
	High       *float64   `json:"high"`
	MoreThan   *float64   `json:"upper_tail_beyond,omitempty"`
	Dots       []*float64 `json:"equally_likely"`
	Verdict    string     `json:"neighbours"`
	Skill      *float64   `json:"skill"`
	SkillSE    *float64   `json:"skill_standard_error"`
	Voters     int        `json:"voters"`
	Wells      int        `json:"wells"`
	Bounds     int        `json:"bounds_used"`
	NearestM   *float64   `json:"nearest_m"`
	FarFromAny bool       `json:"beyond_4_km"`
	FewWells   bool       `json:"fewer_than_100_wells"`
	FirstYear  *float64   `json:"first_year"`
	LastYear   *float64   `json:"last_year"`
	Coverage80 *float64   `json:"measured_coverage_of_80_percent_range"`
}

const caution = "Estimates from records, not a promise. Local code and a licensed driller decide. Call before you dig: buried and overhead lines."

// number is nil where JSON has no number for it.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func unitName(f snapshot.Field) string {
	if f == snapshot.Yield {
		return "L/s"
	}
	return "m"
}

func scoutJSON(w io.Writer, o *desk.Scouting, backs []scout.Setback) error {
	a := scoutAnswer{Lon: o.At.Lon, Lat: o.At.Lat, WellsWithinM: o.WithinM, Wells: o.Around, Caution: caution}
	for _, n := range o.Nearest {
		a.Nearest = append(a.Nearest, scoutWell{n.ID(), n.DistanceM, n.BearingDeg})
	}
	for i := range o.Fields {
		f := &o.Fields[i]
		best := f.Best()
		r := best.Range80()
		s := scoutAmount{
			Field: f.Field.String(), Unit: unitName(f.Field), Median: number(best.Median()), Low: number(r.Low), High: number(r.High),
			Verdict: f.Skill.Verdict.String(), Skill: number(f.Skill.Skill), SkillSE: number(f.Skill.SE),
			Voters: f.Basis.Voters, Wells: f.Basis.Wells, Bounds: f.Basis.Bounds, NearestM: number(f.Basis.NearestM),
			FarFromAny: f.Basis.Far(), FewWells: f.Basis.Few(), FirstYear: number(f.Basis.FirstYear), LastYear: number(f.Basis.LastYear),
			Coverage80: number(f.Model.Report.Adjusted.Share),
		}
		if _, from, ok := best.UpperUnknown(); ok {
			s.MoreThan = number(from)
		}
		for _, v := range best.Dots(20) {
			s.Dots = append(s.Dots, number(v))
		}
		a.Fields = append(a.Fields, s)
	}
	var err error
	if a.Hole, err = holeJSON(o); err != nil {
		return err
	}
	a.Setbacks = setbacksJSON(backs)
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(a)
}

func scoutText(w io.Writer, o *desk.Scouting, backs []scout.Setback, u say.System) error {
	p := &printer{w: w}
	p.f("%s\n", position.Format(o.At, position.DecimalDegrees))
	p.f("%s within %s", counted(int64(o.Around), "well"), u.Distance(o.WithinM))
	if len(o.Nearest) > 0 {
		n := o.Nearest[0]
		p.f(", the nearest %s %s", u.Distance(n.DistanceM), say.Bearing(n.BearingDeg))
	}
	if o.FirstYear > 0 {
		p.f(", drilled %d to %d", o.FirstYear, o.LastYear)
	}
	p.f("\n")
	for _, f := range snapshot.Fields() {
		i := slices.IndexFunc(o.Fields, func(x desk.FieldOutlook) bool { return x.Field == f })
		if i < 0 {
			p.f("\n%s\n  no located well says anything of it\n", capital(desk.FieldWords(f)))
			continue
		}
		scoutField(p, &o.Fields[i], u)
	}
	holeText(p, o, u)
	setbacksText(p, backs, len(o.Rules) > 0, u)
	p.f("\n%s\n", caution)
	return p.err
}

func scoutField(p *printer, f *desk.FieldOutlook, u say.System) {
	best := f.Best()
	r := best.Range80()
	p.f("\n%s\n", capital(desk.FieldWords(f.Field)))
	figure := func(v float64) string {
		if math.IsInf(v, 1) {
			return "an unknown depth or yield"
		}
		if f.Field == snapshot.Yield {
			return u.Flow(records.Of(records.Flow(v)))
		}
		return u.Estimate(v)
	}
	p.f("  about %s; 8 in 10 between %s and %s\n", figure(best.Median()), figure(r.Low), figure(r.High))
	if share, from, ok := best.UpperUnknown(); ok {
		part := fmt.Sprintf("%.0f %%", share*100)
		if share < 0.01 {
			part = "under 1 %"
		}
		p.f("  %s lies somewhere beyond %s: the records only say 'more than'\n", part, figure(from))
	}
	p.f("  %s", f.Skill.Verdict)
	if !math.IsNaN(f.Skill.Skill) {
		p.f(" (skill %.2f ± %.2f on %d hidden wells)", f.Skill.Skill, f.Skill.SE, f.Skill.Tests)
	}
	p.f("\n  from %d neighbours and %d wells of the area; nearest %s; %d of them bounds\n",
		f.Basis.Voters, f.Basis.AreaWells, u.Distance(f.Basis.NearestM), f.Basis.Bounds)
	if f.Basis.Far() {
		p.f("  take care: no well stands within 4 km, where such ranges have held less than they promise\n")
	}
	if f.Basis.Few() {
		p.f("  take care: fewer than 100 wells say anything of this\n")
	}
	if c := f.Model.Report.Adjusted; c.Tested > 0 && f.Skill.Verdict != predict.NoMoreThanArea {
		p.f("  the 8-in-10 range held %.0f %% of %d wells hidden from it\n", c.Share*100, c.Tested)
	}
}
