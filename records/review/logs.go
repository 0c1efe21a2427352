package review

import (
	"cmp"
	"math"
	"slices"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/lithology"
	"tallybook/records/scout"
)

// Logs is what whole records say of water and the ground it came from, counted
// in one pass. Nothing of it depends on the order in which records come.
//
// A record tells where water comes when it lists strikes, or when its hole was
// dry. One that gave water and lists no strike is left out: its water came
// somewhere. The metres of hole that the others drilled are what strikes are
// held against, so that deep ground, which few holes reach, is not falsely poor.
type Logs struct {
	Records  int // that were read
	Strikes  int // records with strikes
	Dry      int // records of dry holes, without a strike
	Silent   int // left out: water, and no strike
	NoDepth  int // left out: no depth
	Marked   int // left out: their logs are marked unreliable
	Vague    int // strikes whose depth is not known well enough
	Digest   Digest
	stepM    float64
	byGround map[string]*tally
	byDepth  []*tally
}

// tally is what was met in one ground or one stretch of depth.
type tally struct {
	wells  int
	metres int64 // of hole, micrometres
	gains  map[gain]int
	silent int // strikes without a flow
}

// gain is the water of a strike.
type gain struct {
	value, high float64
	bound       predict.Bound
}

// mostStretches is how many stretches of depth are told apart; the last holds
// what is deeper.
const mostStretches = 40

// StretchM is the height of a stretch of depth: 50 ft, or 15 m.
func (s *Settings) StretchM() float64 {
	if s.Units == "si" {
		return 15
	}
	return records.Foot.ToBase(50)
}

// LogReader reads records into a Logs. It is for one goroutine.
type LogReader struct {
	logs   *Logs
	v      *lithology.Vocabulary
	reader *lithology.Reader
}

// NewLogReader begins to read.
func NewLogReader(set *Settings, v *lithology.Vocabulary) *LogReader {
	return &LogReader{
		logs:   &Logs{stepM: set.StretchM(), byGround: map[string]*tally{}, byDepth: make([]*tally, mostStretches)},
		v:      v,
		reader: v.NewReader(4096),
	}
}

// Logs gives what was read.
func (r *LogReader) Logs() *Logs { return r.logs }

// layer is a stretch of one material.
type layer struct {
	top, bottom float64
	material    string
}

// Add reads a record.
func (r *LogReader) Add(w *records.Well) {
	l := r.logs
	l.Records++
	n := scout.NewNeighbour(w, records.Picks{}, nil, scout.Vote{Weight: 1})
	layers := r.layers(w)
	l.Digest.add(digestOfLog(w.UID, &n, layers))
	bottom, ok := n.Bottom()
	yield, numbered := n.Yield.Number()
	switch {
	case !ok || bottom <= 0:
		l.NoDepth++
		return
	case len(n.Strikes) > 0:
		l.Strikes++
	case numbered && yield == 0:
		l.Dry++
	default:
		l.Silent++
		return
	}
	r.drilled(float64(bottom), layers)
	for i := range n.Strikes {
		r.strike(&n.Strikes[i], layers)
	}
}

// drilled counts the metres of a hole.
func (r *LogReader) drilled(bottom float64, layers []layer) {
	l := r.logs
	for k := range mostStretches {
		from, to := float64(k)*l.stepM, float64(k+1)*l.stepM
		if k == mostStretches-1 {
			to = math.Inf(1)
		}
		if bottom <= from {
			break
		}
		t := l.stretch(k)
		t.wells++
		t.metres += micrometres(min(bottom, to) - from)
	}
	seen := map[string]bool{}
	for _, g := range layers {
		if bottom := min(g.bottom, bottom); bottom > g.top {
			t := l.ground(g.material)
			t.metres += micrometres(bottom - g.top)
			if !seen[g.material] {
				seen[g.material] = true
				t.wells++
			}
		}
	}
}

// strike counts water where it came; a strike on a contact belongs to the
// ground below it.
func (r *LogReader) strike(s *scout.Strike, layers []layer) {
	l := r.logs
	from, to := float64(s.From), float64(s.To)
	sample, known := sampleOf(records.DigestValue{Value: float64(s.Flow.Value), High: float64(s.Flow.High), Qualifier: s.Flow.Qualifier})
	put := func(t *tally) {
		if !known {
			t.silent++
			return
		}
		t.gains[gain{sample.Value, sample.High, sample.Bound}]++
	}
	placed := false
	if a, b := int(from/l.stepM), int(to/l.stepM); from >= 0 && (a == b || a >= mostStretches-1) {
		put(l.stretch(min(a, mostStretches-1)))
		placed = true
	}
	for i, g := range layers {
		last := i == len(layers)-1
		if from >= g.top && (to < g.bottom || last && to <= g.bottom) {
			put(l.ground(g.material))
			placed = true
			break
		}
	}
	if !placed {
		l.Vague++
	}
}

func (l *Logs) stretch(k int) *tally {
	if l.byDepth[k] == nil {
		l.byDepth[k] = &tally{gains: map[gain]int{}}
	}
	return l.byDepth[k]
}

func (l *Logs) ground(material string) *tally {
	t := l.byGround[material]
	if t == nil {
		t = &tally{gains: map[gain]int{}}
		l.byGround[material] = t
	}
	return t
}

func micrometres(m float64) int64 { return int64(math.Round(m * 1e6)) }

// layers reads the strata whose two ends are known, from the top down, without
// overlap: where two overlap, the upper one gives way.
func (r *LogReader) layers(w *records.Well) []layer {
	var out []layer
	for i := range w.Strata {
		s := &w.Strata[i]
		top, okTop := s.Top.Number()
		bottom, okBottom := s.Bottom.Number()
		if !okTop || !okBottom || !(bottom > top) || top < 0 {
			continue
		}
		code := s.Material
		if _, ok := r.v.Material(code); !ok || code == "" {
			code = r.reader.Read(s.Description).Material
		}
		if code == "" {
			code = "unknown"
		}
		out = append(out, layer{float64(top), float64(bottom), code})
	}
	slices.SortStableFunc(out, func(a, b layer) int { return cmp.Compare(a.top, b.top) })
	for i := range out {
		if i+1 < len(out) {
			out[i].bottom = min(out[i].bottom, out[i+1].top)
		}
	}
	return slices.DeleteFunc(out, func(g layer) bool { return g.bottom <= g.top })
}

// samples are the flows of a tally's strikes, in one order.
func (t *tally) samples() []predict.Sample {
	keys := make([]gain, 0, len(t.gains))
	for g := range t.gains {
		keys = append(keys, g)
	}
	slices.SortFunc(keys, func(a, b gain) int {
		if c := cmp.Compare(a.value, b.value); c != 0 {
			return c
		}
		if c := cmp.Compare(a.bound, b.bound); c != 0 {
			return c
		}
		return cmp.Compare(a.high, b.high)
	})
	var out []predict.Sample
	for _, g := range keys {
		for range t.gains[g] {
			out = append(out, predict.Sample{Value: g.value, High: g.high, Bound: g.bound, Weight: 1})
		}
	}
	return out
}

// strikes is how many there were, with a flow or without.
func (t *tally) strikes() int {
	n := t.silent
	for _, k := range t.gains {
		n += k
	}
	return n
}

// Told is what was counted of one ground or one stretch of depth.
type Told struct {
	Wells    int     // holes that went through it
	DrilledM float64 // metres of hole in it
	Strikes  int
	GainLps  float64 // of strikes whose flow is a value
}

func (t *tally) told() Told {
	if t == nil {
		return Told{}
	}
	out := Told{Wells: t.wells, DrilledM: float64(t.metres) / 1e6, Strikes: t.strikes()}
	for _, s := range t.samples() {
		if s.Bound == predict.Exact {
			out.GainLps += s.Value
		}
	}
	return out
}

// Ground is what was counted of a material.
func (l *Logs) Ground(code string) Told { return l.byGround[code].told() }

// Stretch is what was counted of the stretch of depth number k, from 0.
func (l *Logs) Stretch(k int) Told { return l.byDepth[k].told() }

// Take adds what another reader counted of other records, with the same
// settings.
func (l *Logs) Take(o *Logs) {
	l.Records += o.Records
	l.Strikes += o.Strikes
	l.Dry += o.Dry
	l.Silent += o.Silent
	l.NoDepth += o.NoDepth
	l.Marked += o.Marked
	l.Vague += o.Vague
	for i := range l.Digest {
		l.Digest[i] += o.Digest[i]
	}
	for k, t := range o.byDepth {
		if t != nil {
			l.stretch(k).take(t)
		}
	}
	for code, t := range o.byGround {
		l.ground(code).take(t)
	}
}

func (t *tally) take(o *tally) {
	t.wells += o.wells
	t.metres += o.metres
	t.silent += o.silent
	for g, n := range o.gains {
		t.gains[g] += n
	}
}
