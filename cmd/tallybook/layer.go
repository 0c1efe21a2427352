package main

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
)

type layerCommand struct {
	dbFlag
	Name   string `required:"" help:"What the layer is called."`
	Kind   string `default:"other" placeholder:"KIND" help:"What it is: road, stream, boundary, parcel, place, other, or what a well keeps away from: ${hazards}."`
	Source string `arg:"" help:"A GeoJSON FeatureCollection of lines, areas or points, in WGS 84 degrees."`
}

// Help teaches the command.
func (layerCommand) Help() string {
	return `Reference lines are drawn on the map, and the names of their features can be
found with its search field. Roads, streams, parcels and whatever a well keeps
away from (septic tanks, buildings, overhead lines) are held against the office's
local rules when a spot is scouted. Nothing is ever looked up online.

Example:
  tallybook layer --db county.db --name Roads --kind road roads.geojson
  tallybook layer --db county.db --name "Power lines" --kind overhead_line lines.geojson`
}

// Run adds the layer.
func (cmd *layerCommand) Run(c *console) error {
	if kinds := append(scout.HazardWords(), "boundary", "parcel", "place", "other"); !slices.Contains(kinds, cmd.Kind) {
		return records.Errorf(records.Invalid, "--kind %s is no kind of layer; use one of %s", cmd.Kind, strings.Join(kinds, ", "))
	}
	data, err := os.ReadFile(cmd.Source)
	if err != nil {
		code := records.Invalid
		if errors.Is(err, fs.ErrNotExist) {
			code = records.NotFound
		}
		return records.WrapError(code, err, "the layer %s cannot be read", cmd.Source)
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	l := records.Layer{Name: cmd.Name, Kind: cmd.Kind, GeoJSON: data}
	if err := d.SaveLayer(c.ctx, desk.LocalPerson(), &l); err != nil {
		return closeAfter(d, err)
	}
	p := &printer{w: c.out}
	p.f("layer %q added\n", cmd.Name)
	return closeAfter(d, p.err)
}
