package main

import (
	"encoding/json"
	"text/tabwriter"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

type scoreCommand struct {
	dbFlag
	Field string `enum:"depth_to_bedrock,yield,total_depth" default:"depth_to_bedrock" help:"The quantity: depth_to_bedrock, yield or total_depth."`
	By    string `enum:"site,block" default:"site" help:"What is hidden with each test well: every well on its spot (site), or its whole fold of 10 km blocks (block)."`

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
	scores, err := d.ScoreMethods(c.ctx, desk.LocalPerson(), f, by, nil, func(method string, done, total int) {
		bar.at(int64(done), int64(total), method)
	})
	bar.end()
	if err != nil {
		return closeAfter(d, err)
	}
	if cmd.JSON {
		err = cmd.json(c, f, scores)
	} else {
		err = cmd.table(c, f, scores)
	}
	return closeAfter(d, err)
}

type scoreAnswer struct {
	Field   string        `json:"field"`
	Unit    string        `json:"unit"`
	By      string        `json:"by"`
	Methods []scoreMethod `json:"methods"`
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
	Kappa         *float64 `json:"kappa,omitempty"`
	Gamma         *float64 `json:"gamma,omitempty"`
}

func (cmd *scoreCommand) json(c *console, f snapshot.Field, scores []predict.Scores) error {
	a := scoreAnswer{Field: f.String(), Unit: unitName(f), By: cmd.By}
	for _, s := range scores {
		m := scoreMethod{
			Method: s.Method.String(), Tested: s.Tested, MAE: number(s.MAE), RMSE: number(s.RMSE), CRPS: number(s.CRPS),
			Raw: number(s.Raw.Share), Adjusted: number(s.Adjusted.Share), RawWidth: number(s.RawWidth), AdjustedWidth: number(s.AdjustedWidth),
		}
		if s.Method.Kind == predict.Neighbours {
			m.Kappa, m.Gamma = number(s.Params.Kappa), number(s.Params.Gamma)
		}
		a.Methods = append(a.Methods, m)
	}
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(a)
}

func (cmd *scoreCommand) table(c *console, f snapshot.Field, scores []predict.Scores) error {
	unit := cmd.unit(f)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', tabwriter.AlignRight)
	p := &printer{w: w}
	p.f("%s, %s, wells hidden by %s\t\t\t\t\t\t\t\n", desk.FieldWords(f), unit.Symbol(), cmd.By)
	p.f("method\ttested\tMAE\tRMSE\tCRPS\traw 80 %%\tadjusted\twidth\t\n")
	per := unit.FromBase(1)
	for _, s := range scores {
		p.f("%s\t%d\t%s\t%s\t%s\t%s\t%s\t%s\t\n", s.Method, s.Tested,
			cell(number(s.MAE), "%.2f", per), cell(number(s.RMSE), "%.2f", per), cell(number(s.CRPS), "%.2f", per),
			cell(number(s.Raw.Share), "%.1f %%", 100), cell(number(s.Adjusted.Share), "%.1f %%", 100), cell(number(s.AdjustedWidth), "%.1f", per))
	}
	for _, s := range scores {
		if s.Method.Kind == predict.Neighbours {
			p.f("\nneighbours: weight of the area (kappa) %g, of unlike wells (gamma) %g, as the data chose.\n", s.Params.Kappa, s.Params.Gamma)
		}
	}
	if p.err != nil {
		return p.err
	}
	return w.Flush()
}
