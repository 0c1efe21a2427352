package desk

import (
	"container/list"
	"context"
	"errors"
	"fmt"
	"sync"

	"golang.org/x/sync/singleflight"

	"tallybook/geo/near"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Model is what a field's estimates stand on: the wells and sightings that say
// something of it, the settings that the data chose, and how well they did.
type Model struct {
	Field     snapshot.Field
	Selection *snapshot.Selection
	*predict.Model
	Report predict.Report
	Commit int64 // the commit that last changed what it stands on
	// Level tells how the elevation of bedrock comes about; nil for other fields.
	Level *BedrockLevel

	plain    sync.Once
	plainIdx *near.Index
	plainVal []float64
	plainErr error

	krigersMu sync.Mutex
	krigers   map[KrigingAsk]*kriger
}

// mostModels is how many are kept; the one unused for longest goes first.
const mostModels = 24

// quickSet is how many wells are recalibrated while somebody waits; larger
// sets answer from the state before an edit until the new one is ready.
const quickSet = 6000

// calibrationSeed fixes which wells are drawn as tests, so that the same data
// give the same numbers.
const calibrationSeed = 1

type models struct {
	mu     sync.Mutex
	byKey  map[string]*list.Element
	recent *list.List // of *keptModel, latest first
	group  singleflight.Group
	failed map[string]error // why a model of a key and content could not be made
	spans  spans
}

type keptModel struct {
	key   string
	model *Model
}

func (ms *models) init() {
	ms.byKey = map[string]*list.Element{}
	ms.recent = list.New()
}

func (ms *models) get(key string) *Model {
	ms.mu.Lock()
	defer ms.mu.Unlock()
	e, ok := ms.byKey[key]
	if !ok {
		return nil
	}
	ms.recent.MoveToFront(e)
	return e.Value.(*keptModel).model
}

func (ms *models) put(key string, m *Model) {
	ms.mu.Lock()
	defer ms.mu.Unlock()
	if e, ok := ms.byKey[key]; ok {
		e.Value.(*keptModel).model = m
		ms.recent.MoveToFront(e)
		return
	}
	ms.byKey[key] = ms.recent.PushFront(&keptModel{key, m})
	for ms.recent.Len() > mostModels {
		last := ms.recent.Back()
		delete(ms.byKey, last.Value.(*keptModel).key)
		ms.recent.Remove(last)
	}
}

// failure is why a model could not be made of records that have not changed since.
func (ms *models) failure(asOf string) error {
	ms.mu.Lock()
	defer ms.mu.Unlock()
	return ms.failed[asOf]
}

func (ms *models) fail(asOf string, err error) {
	ms.mu.Lock()
	defer ms.mu.Unlock()
	if ms.failed == nil || len(ms.failed) >= mostModels {
		ms.failed = map[string]error{}
	}
	ms.failed[asOf] = err
}

// Model gives the calibrated model of a field, from the wells that filter
// takes. The first call for a field takes as long as its calibration does,
// later ones nothing. After an edit a small set is calibrated anew at once; a
// large one answers from the state before until the new one is ready, a few
// seconds later.
func (d *Desk) Model(ctx context.Context, f snapshot.Field, filter *snapshot.Filter) (*Model, error) {
	if f == snapshot.BedrockElevation {
		return d.levelModel(ctx, filter, longWait)
	}
	m, ready, err := d.modelOrMake(ctx, f, filter)
	if err != nil {
		return nil, err
	}
	if m != nil && (ready == nil || len(m.Selection.Rows) > quickSet) {
		return m, nil
	}
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case r := <-ready:
		if r.Err != nil {
			return nil, r.Err
		}
		return r.Val.(*Model), nil
	}
}

// ModelSoon is Model for those who can do without: it never waits for a large
// set. Where there is no model yet it gives nil and sees to it that there will
// be. An error says why the last try failed.
func (d *Desk) ModelSoon(ctx context.Context, f snapshot.Field, filter *snapshot.Filter) (*Model, error) {
	if s := d.Span(d.Picture(), f, filter); s.Count <= quickSet {
		return d.Model(ctx, f, filter)
	}
	if f == snapshot.BedrockElevation {
		return d.levelModel(ctx, filter, 0)
	}
	m, _, err := d.modelOrMake(ctx, f, filter)
	return m, err
}

// modelOrMake gives the model that is kept, if any; ready brings that of the
// present records where those have changed, and is nil where they have not.
func (d *Desk) modelOrMake(ctx context.Context, f snapshot.Field, filter *snapshot.Filter) (m *Model, ready <-chan singleflight.Result, err error) {
	key := f.String() + "|" + filter.Key()
	now := d.Picture()
	m = d.models.get(key)
	if m != nil && m.Commit == now.Content() {
		return m, nil, nil
	}
	asOf := key + "|" + fmt.Sprint(now.Content())
	if err := d.models.failure(asOf); err != nil {
		return nil, nil, err
	}
	ready = d.models.group.DoChan(asOf, func() (any, error) {
		// Another may have made it since it was looked for.
		if m := d.models.get(key); m != nil && m.Commit == now.Content() {
			return m, nil
		}
		// Whoever asked first may go away; the others still wait for it.
		built, err := buildModel(context.WithoutCancel(ctx), now, f, filter)
		if err != nil {
			d.models.fail(asOf, err)
			return nil, err
		}
		d.models.put(key, built)
		return built, nil
	})
	return m, ready, nil
}

func buildModel(ctx context.Context, p *snapshot.Picture, f snapshot.Field, filter *snapshot.Filter) (*Model, error) {
	s, err := p.Select(f, filter)
	if err != nil {
		return nil, selectError(err, f)
	}
	m, report, err := predict.Calibrate(ctx, s.Observations, predict.CalibrationOptions{
		Holdout: predict.Holdout{Seed: calibrationSeed},
	})
	if err != nil {
		return nil, fmt.Errorf("calibrating %s: %w", f, err)
	}
	return &Model{Field: f, Selection: s, Model: m, Report: report, Commit: p.Content()}, nil
}

// selectError says why no wells could be gathered.
func selectError(err error, f snapshot.Field) error {
	if errors.Is(err, predict.ErrTooFew) {
		return records.Errorf(records.NotFound, "no located well says anything of %s", FieldWords(f))
	}
	return fmt.Errorf("gathering %s: %w", f, err)
}

// FieldWords is the field's name as people say it.
func FieldWords(f snapshot.Field) string {
	switch f {
	case snapshot.Bedrock:
		return "depth to sound bedrock"
	case snapshot.Yield:
		return "yield"
	case snapshot.TotalDepth:
		return "total depth"
	case snapshot.BedrockElevation:
		return "elevation of sound bedrock"
	}
	return f.String()
}

// plainPoints are the wells whose value is a number: what the classic surface
// stands on, which knows no bounds. Positions are on the selection's
// projection.
func (m *Model) plainPoints() (*near.Index, []float64, error) {
	m.plain.Do(func() {
		var x, y []float64
		var key []uint64
		for i, r := range m.Selection.Rows {
			v := m.valueOf(i)
			if v.Qualifier != records.Exact && v.Qualifier != records.About {
				continue
			}
			px, py := m.project(r)
			x, y = append(x, px), append(y, py)
			key = append(key, r.Key())
			m.plainVal = append(m.plainVal, v.Value)
		}
		m.plainIdx, m.plainErr = near.New(x, y, key)
	})
	return m.plainIdx, m.plainVal, m.plainErr
}

// valueOf is what a row of the selection says of the field.
func (m *Model) valueOf(i int) records.DigestValue {
	if m.Level != nil && m.Level.model == m {
		return m.Level.value[i]
	}
	return m.Selection.Value(i)
}
