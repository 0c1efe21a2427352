package server

import (
	"context"
	"fmt"
	"sync"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
)

// mapLayers keeps the office's reference lines as they stood at a commit: they
// are stored as GeoJSON, which is too slow to read at each drawing.
type mapLayers struct {
	mu     sync.Mutex
	read   bool
	commit int64
	layers []draw.MapLayer // never changed once made
}

// of gives the layers at a commit.
func (l *mapLayers) of(ctx context.Context, d *desk.Desk, actor records.Actor, commit int64) ([]draw.MapLayer, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.read && l.commit == commit {
		return l.layers, nil
	}
	stored, err := d.Layers(ctx, actor)
	if err != nil {
		return nil, err
	}
	layers := make([]draw.MapLayer, 0, len(stored))
	for _, one := range stored {
		lines, err := desk.LayerLines(one.GeoJSON)
		if err != nil {
			return nil, fmt.Errorf("layer %s: %w", one.Name, err)
		}
		ml := draw.MapLayer{Kind: one.Kind, Lines: make([]draw.MapLine, 0, len(lines))}
		for _, line := range lines {
			ml.Lines = append(ml.Lines, draw.MapLine{Name: line.Name, Points: line.Points, Area: line.Area})
		}
		layers = append(layers, ml)
	}
	l.read, l.commit, l.layers = true, commit, layers
	return layers, nil
}
