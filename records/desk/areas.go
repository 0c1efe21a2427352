package desk

import (
	"context"
	"encoding/json"

	"github.com/paulmach/orb"

	"tallybook/records"
	"tallybook/records/review"
)

// NamedArea is an area of one of the office's own layers.
type NamedArea struct {
	Layer string
	Name  string
	Shape orb.MultiPolygon
}

// Areas lists the named areas of the office's layers, in their order; the parts
// of one name in one layer are one area. An area without a name bears its
// layer's.
func (d *Desk) Areas(ctx context.Context, actor records.Actor) ([]NamedArea, error) {
	layers, err := d.Layers(ctx, actor)
	if err != nil {
		return nil, err
	}
	var out []NamedArea
	for _, l := range layers {
		out = append(out, areasOf(l)...)
	}
	return out, nil
}

// AreaNamed finds an area by its name; the first where several bear it.
func (d *Desk) AreaNamed(ctx context.Context, actor records.Actor, name string) (*NamedArea, error) {
	areas, err := d.Areas(ctx, actor)
	if err != nil {
		return nil, err
	}
	for i := range areas {
		if areas[i].Name == name {
			return &areas[i], nil
		}
	}
	return nil, records.Errorf(records.NotFound, "no layer of the office has an area called %q", name)
}

func areasOf(l records.Layer) []NamedArea {
	var fc struct {
		Features []struct {
			Properties map[string]any  `json:"properties"`
			Geometry   json.RawMessage `json:"geometry"`
		} `json:"features"`
	}
	if json.Unmarshal(l.GeoJSON, &fc) != nil { // it was looked at when it was saved
		return nil
	}
	var out []NamedArea
	place := map[string]int{}
	for _, f := range fc.Features {
		shape, err := review.ParseOutline(f.Geometry)
		if err != nil {
			continue // lines and points
		}
		name := featureName(f.Properties)
		if name == "" {
			name = l.Name
		}
		i, ok := place[name]
		if !ok {
			i = len(out)
			place[name] = i
			out = append(out, NamedArea{Layer: l.Name, Name: name})
		}
		out[i].Shape = append(out[i].Shape, shape...)
	}
	return out
}
