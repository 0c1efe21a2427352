package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// LevelWay is how a surface of bedrock comes about: from the depths, or from the
// elevations that follow from them where the ground is known.
type LevelWay uint8

// The ways.
const (
	UsualWay  LevelWay = iota // depths as they are; elevations by the better way
	BetterWay                 // the way that did better on wells hidden from it
	ByDepth                   // interpolated as depth, taken off the ground
	ByLevel                   // interpolated as elevation
)

var levelWayNames = [...]string{UsualWay: "", BetterWay: "better", ByDepth: "depth", ByLevel: "elevation"}

// ParseLevelWay reads better, depth or elevation; "" is the usual way.
func ParseLevelWay(s string) (LevelWay, error) {
	for w, name := range levelWayNames {
		if name == s {
			return LevelWay(w), nil
		}
	}
	return 0, records.Errorf(records.Invalid, "%q is no way to come by bedrock; use better, depth or elevation", s)
}

// BedrockLevel is the elevation of bedrock as the wells have it whose ground is
// known, and whether it is better interpolated as elevation or as depth.
type BedrockLevel struct {
	Trial   predict.LevelTrial // Tested is 0 where the wells are too few to try
	ByLevel bool               // the elevation did better, or there is no grid to take a depth off
	NoGrid  bool
	// Recorded and Derived count the wells by whence their ground is known; those
	// of Without say something of bedrock, and their ground is not known.
	Recorded, Derived, Without int

	model *Model // of the elevations above baseM
	baseM float64
	value []records.DigestValue // by row of the model's selection
}

// BedrockLevel tries both ways on the wells that a filter takes, sites hidden,
// and keeps what came of it.
func (d *Desk) BedrockLevel(ctx context.Context, actor records.Actor, filter *snapshot.Filter) (*BedrockLevel, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	return d.bedrockLevel(ctx, filter, longWait)
}

// longWait is for those who cannot do without an answer.
const longWait = time.Hour

// levelShelf keeps what was worked out, by what it depends on.
type levelShelf struct {
	mu    sync.Mutex
	kept  map[string]keptLevel
	group singleflight.Group
}

type keptLevel struct {
	*BedrockLevel
	err error
}

// mostLevels is how many are kept; then all are let go.
const mostLevels = 12

func (s *levelShelf) get(key string) (keptLevel, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	k, ok := s.kept[key]
	return k, ok
}

func (s *levelShelf) put(key string, k keptLevel) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.kept == nil || len(s.kept) >= mostLevels {
		s.kept = map[string]keptLevel{}
	}
	s.kept[key] = k
}

// bedrockLevel gives nil where there is no answer within the time; it is worked
// out all the same, for the next who asks.
func (d *Desk) bedrockLevel(ctx context.Context, filter *snapshot.Filter, wait time.Duration) (*BedrockLevel, error) {
	h, err := d.Heights(ctx)
	if err != nil {
		return nil, err
	}
	p := d.Picture()
	key := fmt.Sprintf("%d|%d|%s", h.commit, p.Content(), filter.Key())
	if k, ok := d.levels.get(key); ok {
		return k.BedrockLevel, k.err
	}
	ready := d.levels.group.DoChan(key, func() (any, error) {
		if k, ok := d.levels.get(key); ok {
			return k.BedrockLevel, k.err
		}
		// Whoever asked first may go away; the others still wait for it.
		inner, cancel := context.WithCancel(context.WithoutCancel(ctx))
		defer cancel()
		go func() {
			select {
			case <-d.closing:
				cancel()
			case <-inner.Done():
			}
		}()
		l, err := buildLevel(inner, p, h, filter)
		if inner.Err() == nil {
			d.levels.put(key, keptLevel{l, err})
		}
		return l, err
	})
	late := time.NewTimer(wait)
	defer late.Stop()
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-late.C:
		return nil, nil
	case r := <-ready:
		if r.Err != nil {
			return nil, r.Err
		}
		return r.Val.(*BedrockLevel), nil
	}
}

// levelBelow is how far below the lowest elevation levels are counted from, so
// that what an estimate slides or blurs stays above.
const levelBelow = 1000

func buildLevel(ctx context.Context, p *snapshot.Picture, h *Heights, filter *snapshot.Filter) (*BedrockLevel, error) {
	l, depth, surface, err := gatherLevel(p, h, filter)
	if err != nil {
		return nil, err
	}
	m, report, err := predict.Calibrate(ctx, l.model.Selection.Observations, predict.CalibrationOptions{Holdout: predict.Holdout{Seed: calibrationSeed}})
	if err != nil {
		return nil, fmt.Errorf("calibrating the elevation of bedrock: %w", err)
	}
	l.model.Model, l.model.Report = m, report
	l.Trial, err = predict.CompareLevels(ctx, depth, l.model.Selection.Observations, surface, predict.Holdout{Seed: calibrationSeed})
	if err != nil && !errors.Is(err, predict.ErrTooFew) {
		return nil, fmt.Errorf("trying elevation against depth of bedrock: %w", err)
	}
	l.NoGrid = h.bare
	l.ByLevel = l.NoGrid || l.Trial.Tested > 0 && l.Trial.Difference.Mean < 0
	l.model.Level = l
	return l, nil
}

// TryLevels tries both ways with sites or blocks hidden.
func (d *Desk) TryLevels(ctx context.Context, actor records.Actor, filter *snapshot.Filter, by predict.By) (predict.LevelTrial, error) {
	if err := d.Permit(actor, Look); err != nil {
		return predict.LevelTrial{}, err
	}
	h, err := d.Heights(ctx)
	if err != nil {
		return predict.LevelTrial{}, err
	}
	l, depth, surface, err := gatherLevel(d.Picture(), h, filter)
	if err != nil {
		return predict.LevelTrial{}, err
	}
	t, err := predict.CompareLevels(ctx, depth, l.model.Selection.Observations, surface, predict.Holdout{By: by, Seed: calibrationSeed})
	if errors.Is(err, predict.ErrTooFew) {
		return t, records.Errorf(records.Invalid, "too few wells with bedrock and a known ground to try anything on: %d", depth.Len())
	}
	return t, err
}

// gatherLevel gathers the wells whose bedrock and ground are known: their
// elevations, their depths, and the ground over them, all elevations above
// baseM.
func gatherLevel(p *snapshot.Picture, h *Heights, filter *snapshot.Filter) (l *BedrockLevel, depth *predict.Observations, surface []float64, err error) {
	s, err := p.Select(snapshot.Bedrock, filter)
	if err != nil {
		return nil, nil, nil, selectError(err, snapshot.Bedrock)
	}
	l = &BedrockLevel{baseM: math.Inf(1)}
	known := &snapshot.Selection{Projection: s.Projection}
	var rows []int
	for i, r := range s.Rows {
		ground, derived, ok := h.Of(r)
		if !ok {
			l.Without++
			continue
		}
		if derived {
			l.Derived++
		} else {
			l.Recorded++
		}
		v := h.Bedrock(r, filter)
		l.baseM = min(l.baseM, v.Value)
		rows, surface = append(rows, i), append(surface, ground)
		known.Rows, l.value = append(known.Rows, r), append(l.value, v)
	}
	if len(rows) == 0 {
		return nil, nil, nil, records.Errorf(records.NotFound, "no well that says anything of bedrock has a known ground elevation: enter elevations, or load a grid of them (tallybook ground load)")
	}
	l.baseM -= levelBelow
	for i := range surface {
		surface[i] -= l.baseM
	}
	depth, err = predict.NewObservations(len(rows), func(i int) predict.Observation { return s.Observations.Observation(rows[i]) }, s.Projection, predict.ObservationOptions{})
	if err != nil {
		return nil, nil, nil, fmt.Errorf("depths of bedrock: %w", err)
	}
	known.Observations, err = predict.NewObservations(len(rows), func(i int) predict.Observation {
		o, v := depth.Observation(i), l.value[i]
		o.Value, o.High, o.Bound = v.Value-l.baseM, 0, snapshot.BoundOf(v.Qualifier)
		if o.Bound == predict.Between {
			o.High = v.High - l.baseM
		}
		return o
	}, s.Projection, predict.ObservationOptions{Unit: predict.PlainUnit})
	if err != nil {
		return nil, nil, nil, fmt.Errorf("elevations of bedrock: %w", err)
	}
	l.model = &Model{Field: snapshot.BedrockElevation, Selection: known, Commit: max(h.commit, p.Content())}
	return l, depth, surface, nil
}

// levelModel gives the model that a map of the elevation of bedrock stands on;
// nil where it is not ready in time.
func (d *Desk) levelModel(ctx context.Context, filter *snapshot.Filter, wait time.Duration) (*Model, error) {
	l, err := d.bedrockLevel(ctx, filter, wait)
	if err != nil || l == nil || l.ByLevel {
		if l != nil {
			return l.model, err
		}
		return nil, err
	}
	give := d.Model
	if wait < longWait {
		give = d.ModelSoon
	}
	m, err := give(ctx, snapshot.Bedrock, filter)
	if err != nil || m == nil {
		return nil, err
	}
	return &Model{Field: snapshot.BedrockElevation, Selection: m.Selection, Model: m.Model, Report: m.Report, Commit: l.model.Commit, Level: l}, nil
}

func errNoLevelKriging() error {
	return records.Errorf(records.Invalid, "kriging is made of depths alone: choose the estimate from neighbours or inverse distance for the elevation of bedrock")
}

// levelSurface evaluates a surface of bedrock, its depth or its elevation, by
// one of the ways.
func (d *Desk) levelSurface(ctx context.Context, actor records.Actor, ask SurfaceAsk, nodes []position.LonLat) (*Surface, error) {
	switch {
	case ask.Method == ByKriging:
		return nil, errNoLevelKriging()
	case ask.Reading == Chance && ask.Method == ByNeighbours:
		return nil, records.Errorf(records.Invalid, "the chance of reaching a threshold is worked out for depths alone: choose the median or the range for the elevation of bedrock")
	}
	l, err := d.bedrockLevel(ctx, &ask.Filter, longWait)
	if err != nil {
		return nil, err
	}
	byLevel := l.ByLevel
	switch ask.Through {
	case ByDepth:
		byLevel = false
	case ByLevel:
		byLevel = true
	}
	m := l.model
	if !byLevel {
		if m, err = d.Model(ctx, snapshot.Bedrock, &ask.Filter); err != nil {
			return nil, err
		}
	}
	plain := ask
	plain.Through = UsualWay
	plain.Field = m.Field
	var s *Surface
	if ask.Method == ByInverseDistance {
		s, err = m.inverseDistance(ctx, plain, nodes)
	} else if s, err = m.neighbours(ctx, plain, nodes); err == nil && byLevel && ask.Reading == Middle {
		for i := range s.Values {
			s.Values[i] += l.baseM
		}
	}
	if err != nil {
		return nil, err
	}
	if s.Model, err = d.levelModel(ctx, &ask.Filter, longWait); err != nil {
		return nil, err
	}
	if ask.Method == ByNeighbours && ask.Reading != Middle {
		return s, nil // a width and a skill are of both alike
	}
	return s, d.turnLevels(ctx, actor, s.Values, nodes, ask.Field, byLevel)
}

// turnLevels makes of elevations or depths of bedrock what was asked for, by the
// ground at the nodes. Where that is not known, a depth is no elevation and an
// elevation no depth; rock above the ground is held to it.
func (d *Desk) turnLevels(ctx context.Context, actor records.Actor, values []float64, nodes []position.LonLat, want snapshot.Field, haveLevels bool) error {
	wantLevels := want == snapshot.BedrockElevation
	if !wantLevels && !haveLevels {
		return nil
	}
	ground, err := d.GroundAlong(ctx, actor, nodes)
	if err != nil {
		return err
	}
	for i := range values {
		g := ground[i]
		switch {
		case haveLevels && wantLevels:
			if g.OK {
				values[i] = min(values[i], g.ElevationM)
			}
		case !g.OK:
			values[i] = math.NaN()
		case wantLevels:
			values[i] = g.ElevationM - values[i]
		default:
			values[i] = max(0, g.ElevationM-values[i])
		}
	}
	return nil
}
