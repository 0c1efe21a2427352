package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

type scoreCommand struct {
	dbFlag
	trustFlags
	Field string `enum:"depth_to_bedrock,yield,total_depth" default:"depth_to_bedrock" help:"The quantity: depth_to_bedrock, yield or total_depth."`
	By    string `enum:"site,block" default:"site" help:"What is hidden with each test well: every well on its spot (site), or its whole fold of blocks (block), of 10 km or, where wells stand close together, less."`

	Against string `placeholder:"METHOD" default:"neighbours" help:"The method that the others are held against, by the beginning of its name in the table."`

	Forward bool      `help:"Forecast each dated well from the wells of earlier years alone, and print year by year what came of it."`
	AtLeast []float64 `name:"at-least" placeholder:"AMOUNT" help:"With --forward: also tell how often the chance of this much or more came true as forecast. In the table's unit; several with commas."`

	JSON  bool   `name:"json" help:"Answer as JSON, in metres or litres a second."`
	Units string `enum:"us,si" default:"si" help:"Units of the table and of --at-least: us or si."`
}

// Help teaches the command.
func (scoreCommand) Help() string {
	return `Draws up to 12,000 wells, hides each with its site or block, predicts it from
the rest by every method, and prints mean absolute error, root mean square
error, CRPS and how often the 80 % range held the outcome. The same data give
the same numbers.

Then it prints how much each method's errors are above those of one of them on
the same wells (below zero: smaller errors), with the range in which that lay in
nine of ten sets of wells drawn anew, square by square, from those tested.
Where the range holds zero, the difference may be the luck of these wells.
Kriging and inverse distance use no bounds ('deeper than'). Kriging fits its
model by itself: anew for each fold with --by block, once with --by site. The
settings that neighbours chooses are chosen on wells that they are not tested on.

For depth to bedrock it also tries, on the wells whose ground elevation is known
(from their record or a grid, see 'tallybook ground'), whether it does better to
interpolate the rock's elevation and to take that off the ground.

With --forward it asks another question: had you gone by the records as they
stood before each well was drilled, what would you have been told, and was it
so? Each dated well (4,000 of them at most) is forecast from the wells of
earlier years. It prints year by year how often the range held, the score
beside that of the area alone, where in their forecasts outcomes fell, and
which wells had best set the width of the ranges. Wells without a date are
left out, and without dates there is nothing to forecast.

Examples:
  tallybook score --db county.db --field depth_to_bedrock --by block
  tallybook score --db county.db --field yield --units us --forward --at-least 1,5`
}

// Run tests the methods.
func (cmd *scoreCommand) Run(c *console) error {
	f, err := snapshot.ParseField(cmd.Field)
	if err != nil {
		return err
	}
	if len(cmd.AtLeast) > 0 && !cmd.Forward {
		return records.Errorf(records.Invalid, "--at-least goes with --forward: add it")
	}
	by := predict.BySite
	if cmd.By == "block" {
		by = predict.ByBlock
	}
	d, err := c.openDesk(cmd.DB, opening{picture: true})
	if err != nil {
		return err
	}
	if cmd.Forward {
		return closeAfter(d, cmd.forward(c, d, f))
	}
	bar := c.progress("testing")
	ask := desk.MethodsAsk{Field: f, By: by, Methods: predict.Methods()}
	if ask.Filter.Trust, err = cmd.trust(d); err != nil {
		return closeAfter(d, err)
	}
	leftOut(c, d.Picture(), &ask.Filter, f)
	ask.Against = slices.IndexFunc(ask.Methods, func(m predict.Method) bool { return strings.HasPrefix(m.String(), cmd.Against) })
	if cmd.Against == "" || ask.Against < 0 {
		bar.end()
		return closeAfter(d, records.Errorf(records.Invalid, "--against %s is none of the methods: use the beginning of a name in the table, such as neighbours or kriging", cmd.Against))
	}
	scores, err := d.CompareMethods(c.ctx, desk.LocalPerson(), ask, func(method string, done, total int) {
		bar.at(int64(done), int64(total), method)
	})
	bar.end()
	if err != nil {
		return closeAfter(d, err)
	}
	level, err := tryLevels(c, d, f, &ask.Filter, by)
	if err != nil {
		return closeAfter(d, err)
	}
	if cmd.JSON {
		err = cmd.json(c, f, &scores, level)
	} else if err = cmd.table(c, f, &scores); err == nil && level != nil {
		err = cmd.levelTable(c, level)
	}
	return closeAfter(d, err)
}

type scoreAnswer struct {
	Field   string        `json:"field"`
	Unit    string        `json:"unit"`
	By      string        `json:"by"`
	Against string        `json:"against"`
	SquareM float64       `json:"square_m"`
	Squares int           `json:"squares"`
	BlockM  float64       `json:"block_m,omitempty"`
	Runs    int           `json:"runs"`
	Methods []scoreMethod `json:"methods"`

	Elevation *scoreLevels `json:"as_elevation,omitempty"`
}

// scoreDifference is a difference from the method held against, with its range
// of nine in ten.
type scoreDifference struct {
	Mean *float64 `json:"mean"`
	Low  *float64 `json:"low"`
	High *float64 `json:"high"`
}

type scoreMethod struct {
	Method        string   `json:"method"`
	Tested        int      `json:"tested"`
	MAE           *float64 `json:"mae"`
	RMSE          *float64 `json:"rmse"`
	CRPS          *float64 `json:"crps"`
	Raw           *float64 `json:"coverage_raw"`
	Adjusted      *float64 `json:"coverage_adjusted"`
	RawWidth      *float64 `json:"width_raw"`
	AdjustedWidth *float64 `json:"width_adjusted"`
	BoundsUnused  int      `json:"bounds_unused"`

	MAEDifference  scoreDifference `json:"mae_difference"`
	RMSEDifference scoreDifference `json:"rmse_difference"`
	CRPSDifference scoreDifference `json:"crps_difference"`

	Kappa *float64 `json:"kappa,omitempty"`
	Gamma *float64 `json:"gamma,omitempty"`
}

func (cmd *scoreCommand) json(c *console, f snapshot.Field, cmp *predict.Comparison, level *predict.LevelTrial) error {
	a := scoreAnswer{Field: f.String(), Unit: unitName(f), By: cmd.By, Against: cmp.Methods[cmp.Against].Method.String(), SquareM: cmp.SquareM, Squares: cmp.Squares, Runs: cmp.Runs, BlockM: cmp.BlockM}
	difference := func(d predict.Drawn) scoreDifference {
		return scoreDifference{number(d.Mean), number(d.Low), number(d.High)}
	}
	for i, s := range cmp.Methods {
		d := cmp.Differences[i]
		m := scoreMethod{
			Method: s.Method.String(), Tested: s.Tested, MAE: number(s.MAE), RMSE: number(s.RMSE), CRPS: number(s.CRPS),
			Raw: number(s.Raw.Share), Adjusted: number(s.Adjusted.Share), RawWidth: number(s.RawWidth), AdjustedWidth: number(s.AdjustedWidth),
			BoundsUnused:  s.Unused,
			MAEDifference: difference(d.MAE), RMSEDifference: difference(d.RMSE), CRPSDifference: difference(d.CRPS),
		}
		if s.Method.Kind == predict.Neighbours {
			m.Kappa, m.Gamma = number(s.Params.Kappa), number(s.Params.Gamma)
		}
		a.Methods = append(a.Methods, m)
	}
	if level != nil {
		a.Elevation = levelsJSON(level)
	}
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(a)
}

func (cmd *scoreCommand) table(c *console, f snapshot.Field, cmp *predict.Comparison) error {
	unit := cmd.unit(f)
	per := unit.FromBase(1)
	p := &printer{w: c.out}
	hidden := "site: each with all on its spot"
	if cmd.By == "block" {
		hidden = "blocks of " + metresWords(cmp.BlockM)
	}
	p.f("%s, %s, wells hidden by %s\n\n", desk.FieldWords(f), unit.Symbol(), hidden)
	rows := [][]string{{"method", "tested", "MAE", "RMSE", "CRPS", "raw 80 %", "adjusted", "width"}}
	for _, s := range cmp.Methods {
		rows = append(rows, []string{
			s.Method.String(), fmt.Sprint(s.Tested), cell(number(s.MAE), "%.2f", per), cell(number(s.RMSE), "%.2f", per), cell(number(s.CRPS), "%.2f", per),
			cell(number(s.Raw.Share), "%.1f %%", 100), cell(number(s.Adjusted.Share), "%.1f %%", 100), cell(number(s.AdjustedWidth), "%.1f", per),
		})
	}
	p.table(rows)
	against := cmp.Methods[cmp.Against].Method.String()
	p.f("\nerrors above those of %s (below zero: smaller), with the range of nine in ten\n", against)
	rows = [][]string{{"method", "MAE", "", "RMSE", "", "CRPS", ""}}
	for i, s := range cmp.Methods {
		if i == cmp.Against {
			continue
		}
		row := []string{s.Method.String()}
		for _, d := range []predict.Drawn{cmp.Differences[i].MAE, cmp.Differences[i].RMSE, cmp.Differences[i].CRPS} {
			mean, between := cell(number(d.Mean), "%+.2f", per), ""
			if number(d.Mean) != nil {
				between = cell(number(d.Low), "%+.2f", per) + " to " + cell(number(d.High), "%+.2f", per)
			}
			row = append(row, mean, between)
		}
		rows = append(rows, row)
	}
	p.table(rows)
	p.f("\nDrawn anew %d times, %d squares of %s each.\n", cmp.Runs, cmp.Squares, metresWords(cmp.SquareM))
	for _, s := range cmp.Methods {
		switch {
		case s.Method.Kind == predict.Neighbours:
			p.f("neighbours: weight of the area (kappa) %g, of unlike wells (gamma) %g, as all of these wells would choose.\n", s.Params.Kappa, s.Params.Gamma)
		case s.Method.Kind == predict.Kriging && s.Tested == 0:
			p.f("%s: there was nothing to fit a model to.\n", s.Method)
		}
	}
	if n := cmp.Methods[0].Unused; n > 0 {
		p.f("%s in neighbours and area median alone: one number for a place knows no bounds, and kriging neither.\n", oneOrMany(n, "bound enters", "bounds enter"))
	}
	return p.err
}

// metresWords says a round distance.
func metresWords(m float64) string {
	if m >= 1000 {
		return fmt.Sprintf("%.3g km", m/1000)
	}
	return fmt.Sprintf("%.3g m", m)
}
