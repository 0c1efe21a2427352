package desk

import (
	"context"
	"fmt"
	"sync"

	"tallybook/records"
	"tallybook/records/snapshot"
)

// Span is how the values of a field are spread over the wells and sightings that
// a filter takes: what a scale of colours is made from. It needs no calibration.
// A bound counts as its number.
type Span struct {
	Count int // how many say anything of the field; 0: the others mean nothing
	// P3 is the value that 3 % of them do not exceed, and so on; base unit.
	P3, P5, P50, P95, P97 float64
}

// spans keeps those of the latest content.
type spans struct {
	mu      sync.Mutex
	content int64
	byKey   map[string]Span
}

// mostSpans is how many are kept; they are small, but filters are many.
const mostSpans = 1000

// Span gives the spread of a field in a picture. The first call for a field and a
// filter reads every well, later ones nothing until the records change.
func (d *Desk) Span(p *snapshot.Picture, f snapshot.Field, filter *snapshot.Filter) Span {
	key := f.String() + "|" + filter.Key()
	value := func(r snapshot.Row) records.DigestValue { return filter.Value(r, f) }
	if f == snapshot.BedrockElevation {
		h, err := d.Heights(context.Background())
		if err != nil {
			d.log.Error("ground elevations for a scale of colours", "err", err)
			return Span{}
		}
		key = fmt.Sprintf("%s|%d", key, h.commit)
		value = func(r snapshot.Row) records.DigestValue { return h.Bedrock(r, filter) }
	}
	ss := &d.models.spans
	ss.mu.Lock()
	if s, ok := ss.byKey[key]; ok && ss.content == p.Content() {
		ss.mu.Unlock()
		return s
	}
	ss.mu.Unlock()
	s := spanOf(p, value, filter)
	ss.mu.Lock()
	defer ss.mu.Unlock()
	if ss.byKey == nil || ss.content != p.Content() || len(ss.byKey) >= mostSpans {
		ss.byKey, ss.content = map[string]Span{}, p.Content()
	}
	ss.byKey[key] = s
	return s
}

func spanOf(p *snapshot.Picture, value func(snapshot.Row) records.DigestValue, filter *snapshot.Filter) Span {
	values := make([]float64, 0, p.Len()+p.CountSightings())
	all := filter.IsZero()
	take := func(r snapshot.Row) bool {
		v := value(r)
		if v.Qualifier == records.Missing {
			return true
		}
		if _, _, located := r.Position(); located && (all || filter.Takes(r)) {
			values = append(values, v.Value)
		}
		return true
	}
	p.Each(take)
	p.EachSighting(take)
	s := Span{Count: len(values)}
	if s.Count == 0 {
		return s
	}
	// The middle first: then each half is searched by itself.
	at := func(share float64) int { return int(share * float64(len(values)-1)) }
	middle := at(0.5)
	s.P50 = Nth(values, middle)
	s.P5 = Nth(values[:middle+1], at(0.05))
	s.P3 = Nth(values[:at(0.05)+1], at(0.03))
	upper := values[middle:]
	s.P95 = Nth(upper, at(0.95)-middle)
	s.P97 = Nth(upper[at(0.95)-middle:], at(0.97)-at(0.95))
	return s
}

// Nth is the value that would stand at place k, counted from 0, if v were sorted;
// it moves the values about so that none before k is greater and none after it
// less. Of each stretch the middle of three is the pivot. k must be in range; NaN
// among the values gives nonsense.
func Nth(v []float64, k int) float64 {
	low, high := 0, len(v)-1
	for low < high {
		mid := low + (high-low)/2
		if v[mid] < v[low] {
			v[mid], v[low] = v[low], v[mid]
		}
		if v[high] < v[low] {
			v[high], v[low] = v[low], v[high]
		}
		if v[high] < v[mid] {
			v[high], v[mid] = v[mid], v[high]
		}
		pivot := v[mid]
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return v[k]
		}
	}
	return v[k]
}
