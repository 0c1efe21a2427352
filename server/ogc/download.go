package ogc

import (
	"context"
	"errors"
	"net/http"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
)

// How a download goes out: in pieces of so many bytes, each with its own time
// to be taken.
const (
	pieceBytes = 64 << 10
	pieceTime  = 60 * time.Second
)

// download answers all features that fulfil what is asked, as one collection
// or a feature a line, from one state of the records and with memory that does
// not grow with their number.
func (c *call) download() error {
	a, err := c.readAsk()
	if err != nil {
		return err
	}
	lines := c.r.URL.Query().Get("f") == "ndjson"
	kind, ending := typeGeoJSON, ".geojson"
	if lines {
		kind, ending = typeNDJSON, ".ndjson"
	}
	c.w.Header().Set("Content-Disposition", `attachment; filename="`+c.collection.Name+ending+`"`)
	c.w.Header().Set("Cache-Control", "no-store")
	c.w.Header().Set("Content-Type", kind)
	c.answeredIn(a.crs)
	if c.r.Method == http.MethodHead {
		return nil
	}
	out := &stream{w: c.w, crs: a.crs, control: http.NewResponseController(c.w)}
	err = c.features(c.collection, func(ctx context.Context, f *desk.Features) error {
		return out.all(ctx, f, c.collection, a.condition(), lines)
	})
	if err != nil && out.sent {
		if errors.Is(err, errGone) || c.r.Context().Err() != nil {
			return nil // whoever asked went away
		}
		c.s.o.Log.Error("a download broke off", "collection", c.collection.Name, "err", err)
		panic(http.ErrAbortHandler) // the answer must not look whole
	}
	return err
}

var errGone = errors.New("nobody takes the download any more")

// stream sends features as they are read.
type stream struct {
	w       http.ResponseWriter
	control *http.ResponseController
	crs     refSystem
	b       []byte
	sent    bool
}

func (s *stream) all(ctx context.Context, f *desk.Features, c *records.FeatureCollection, where records.Condition, lines bool) error {
	w := newWriter(c, s.crs)
	s.b = make([]byte, 0, pieceBytes+16<<10)
	if !lines {
		s.b = append(s.b, `{"type":"FeatureCollection","features":[`...)
	}
	first := true
	err := f.Each(ctx, records.FeatureQuery{Collection: c.Name, Where: where}, func(x *records.Feature) (err error) {
		if !lines && !first {
			s.b = append(s.b, ',', '\n')
		}
		first = false
		if s.b, err = w.append(s.b, x, nil); err != nil {
			return err
		}
		if lines {
			s.b = append(s.b, '\n')
		}
		if len(s.b) >= pieceBytes {
			return s.send()
		}
		return nil
	})
	if err != nil {
		return err
	}
	if !lines {
		s.b = append(s.b, "]}\n"...)
	}
	return s.send()
}

func (s *stream) send() error {
	s.sent = true
	_ = s.control.SetWriteDeadline(time.Now().Add(pieceTime)) // where there is none to be set, none ends it
	_, err := s.w.Write(s.b)
	s.b = s.b[:0]
	if err != nil {
		return errors.Join(errGone, err)
	}
	return nil
}
