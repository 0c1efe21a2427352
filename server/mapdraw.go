package server

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Limits between the three ways in which wells are drawn.
const (
	mostCores   = 90    // wells in view drawn as cores
	mostCoreMpp = 14.0  // metres a pixel beyond which cores would hide the ground
	mostDots    = 2500  // wells in view drawn as dots
	leastViewM  = 400.0 // the least ground that a first view shows
)

// settle chooses the view when the address names none: all wells, or the
// place asked about.
func (s *Server) settle(st *mapState, p *snapshot.Picture) {
	if st.placed {
		return
	}
	w, h := st.view.W, st.view.H
	if st.at != nil {
		st.view = draw.View{Lon: st.at.Lon, Lat: st.at.Lat, MPerPixel: 4.2 * desk.MileM / min(w, h) / 1.4, W: w, H: h}
		st.placed = true
		return
	}
	b, ok := p.Extent()
	if !ok {
		st.view = draw.View{Lon: 0, Lat: 20, MPerPixel: 30000, W: w, H: h}
		return
	}
	st.view = rounded(draw.FitView(b, w, h, 30, leastViewM))
}

// rounded is a view as an address writes it, so that the page without a place
// and the address that its script makes of it are one drawing.
func rounded(v draw.View) draw.View {
	v.Lon, v.Lat = math.Round(v.Lon*1e6)/1e6, math.Round(v.Lat*1e6)/1e6
	if t, err := strconv.ParseFloat(strconv.FormatFloat(v.MPerPixel, 'g', 6, 64), 64); err == nil {
		v.MPerPixel = t
	}
	return v
}

// mapDrawing is a map and what the page says beside it.
type mapDrawing struct {
	SVG  []byte
	ETag string
	mapAbout
}

// mapAbout is what is told of a map in words.
type mapAbout struct {
	Shown int    // wells in view
	Of    int    // wells in all
	Level string // hexagons, dots or cores
	Words string // what is shown, in one sentence
	// Unfinished says that a surface belongs to it that could not be drawn yet.
	Unfinished bool
}

// mapOf gives the map of a state, from those kept or drawn anew. The page and
// /map.svg share it. It settles the state's view. Where a surface is shown it
// waits for the model that it is read from.
func (s *Server) mapOf(ctx context.Context, actor records.Actor, st *mapState, theme draw.Theme) (*mapDrawing, error) {
	return s.mapFor(ctx, actor, st, theme, s.desk.Model)
}

// mapSoon is mapOf for a page that somebody waits for: of many wells it shows no
// surface until the model is made, and says so.
func (s *Server) mapSoon(ctx context.Context, actor records.Actor, st *mapState, theme draw.Theme) (*mapDrawing, error) {
	return s.mapFor(ctx, actor, st, theme, s.desk.ModelSoon)
}

// modelFunc gives the model for a surface.
type modelFunc func(context.Context, snapshot.Field, *snapshot.Filter) (*desk.Model, error)

func (s *Server) mapFor(ctx context.Context, actor records.Actor, st *mapState, theme draw.Theme, forSurface modelFunc) (*mapDrawing, error) {
	for attempt := 0; ; attempt++ {
		in := mapInput{Picture: s.desk.Picture()}
		s.settle(st, in.Picture)
		if st.field == snapshot.BedrockElevation {
			var err error
			if st.heights, err = s.desk.Heights(ctx); err != nil {
				return nil, err
			}
		}
		in.span = s.desk.Span(in.Picture, st.field, &st.filter)
		// Nothing but a surface needs a model: the rest of the map makes do with
		// what is at hand.
		give := s.desk.ModelSoon
		if st.showsSurface() {
			give = forSurface
		}
		var err error
		if in.span.Count > 0 {
			in.model, err = give(ctx, st.field, &st.filter)
		}
		if err != nil && records.CodeOf(err) != records.NotFound {
			return nil, err
		}
		made := int64(-1)
		if in.model != nil {
			made = in.model.Commit
		}
		v := st.view
		named := *st
		named.placed = true // whether the address names the place changes nothing
		key := fmt.Sprintf("map %d %d %s %s %g %g %g %gx%g %s", in.Commit(), made, theme, st.units, v.Lon, v.Lat, v.MPerPixel, v.W, v.H, named.query().Encode())
		k, err := s.cache.keep(key, func() (*kept, error) {
			data, about, err := s.drawMap(ctx, actor, st, &in, theme)
			return &kept{data: data, about: about}, err
		})
		if errors.Is(err, errModelChanged) && attempt < 3 {
			continue
		}
		if err != nil {
			return nil, err
		}
		return &mapDrawing{SVG: k.data, ETag: k.etag, mapAbout: k.about}, nil
	}
}

// mapInput is what a map is drawn from.
type mapInput struct {
	*snapshot.Picture
	span  desk.Span
	model *desk.Model // nil: none is made yet, or no well says anything of the field
}

// drawMap draws the map of a settled state.
func (s *Server) drawMap(ctx context.Context, actor records.Actor, st *mapState, in *mapInput, theme draw.Theme) ([]byte, mapAbout, error) {
	about := mapAbout{Of: in.Len()}
	sc := scaleOf(st, in.span, theme)
	data := &draw.MapData{View: st.view, Metric: st.units == say.SI}
	// The ramp of these says something else than a well's value.
	data.Other = st.surface == showChance || st.surface == showSkill || st.surface == showRange || st.surface == showKrigingError
	data.Key = draw.MapKey{Title: sc.title, Ramp: sc.ramp, Colours: len(sc.levels) + 1, Ends: sc.ends()}
	switch {
	case in.span.Count == 0:
		data.Key.Colours = 0
		data.Key.Words = []string{"no well that is shown says anything of this"}
	case in.model != nil:
		data.Key.Words = keyWords(st, in.model)
		data.Key.Short = shortWords(st, in.model)
	case st.showsSurface():
		about.Unfinished = true
		data.Key.Words = []string{"the ground between the wells is being worked out: load again in a few seconds"}
		data.Key.Short = "being worked out"
	}
	if t := st.trustView(in.Picture); t.LeftOut != "" {
		data.Key.Words = append(data.Key.Words, t.LeftOut)
	} else if t.Taken != "" {
		data.Key.Words = append(data.Key.Words, t.Taken)
	}
	if st.field == snapshot.Bedrock && st.filter.Picks != "" {
		data.Key.Words = append(data.Key.Words, "bedrock as picked in “"+clipText(st.filter.Picks, 40)+"”")
	}
	if err := s.addSurface(ctx, actor, st, &sc, data, in.model); err != nil {
		return nil, about, err
	}
	if err := s.addWells(ctx, actor, st, in.Picture, &sc, data, &about); err != nil {
		return nil, about, err
	}
	addSeen(st, in.Picture, data)
	var err error
	if data.Layers, err = s.layers.of(ctx, s.desk, actor, in.Commit()); err != nil {
		return nil, about, err
	}
	addSite(st, data)
	addTrack(st, data)
	if st.noKey {
		data.Key.Title = "" // and with it the whole
	}
	about.Words = fmt.Sprintf("Map of %s: %s in view, drawn as %s.", desk.FieldWords(st.field), count(about.Shown, "well", "wells"), about.Level)
	if in.model != nil && in.model.Level != nil && st.ownEstimate() {
		about.Words += levelSentence(units{st.units}, in.model.Level)
	}
	data.Title = about.Words
	return draw.Map(data, theme, "map"), about, nil
}

// keyWords say how much the surface is worth, as measured.
func keyWords(st *mapState, m *desk.Model) []string {
	r := &m.Report
	words := []string{skillWords(r.Skill, r.SkillSE)}
	if st.surface == showIDW {
		words = []string{"inverse distance, power 2, 12 nearest: no error is known at a place"}
	}
	switch st.surface {
	case showKriging:
		words = []string{"ordinary kriging, 24 nearest: how it does beside the others is in the table of methods"}
	case showKrigingError:
		words = []string{"what kriging states of itself: right if its model is, and no more"}
	}
	if r.Adjusted.Tested > 0 && st.ownEstimate() {
		words = append(words, fmt.Sprintf("the 8-in-10 range held %.0f\u00a0%% of %s hidden wells", r.Adjusted.Share*100, grouped(r.Adjusted.Tested)))
	}
	if m.Level != nil && st.ownEstimate() {
		words = append(words, levelKey(units{st.units}, m.Level))
	}
	if r.Wells < 100 {
		words = append(words, fmt.Sprintf("take care: only %d wells say anything of this", r.Wells))
	}
	return words
}

// ownEstimate says whether the surface is one of the estimate from neighbours.
func (st *mapState) ownEstimate() bool {
	return st.surface != showIDW && st.surface != showKriging && st.surface != showKrigingError
}

// shortWords say the same on a small map.
func shortWords(st *mapState, m *desk.Model) string {
	if st.surface == showIDW {
		return "inverse distance"
	}
	if !st.ownEstimate() {
		return "ordinary kriging"
	}
	words, _, _ := strings.Cut(skillWords(m.Report.Skill, m.Report.SkillSE), " (")
	return words
}

// addWells chooses one of the three ways to draw the wells in view.
func (s *Server) addWells(ctx context.Context, actor records.Actor, st *mapState, p *snapshot.Picture, sc *scale, data *draw.MapData, d *mapAbout) error {
	var rows []snapshot.Row
	p.InBox(st.view.Bounds(0), func(r snapshot.Row) bool {
		if st.filter.Takes(r) {
			rows = append(rows, r)
		}
		return len(rows) <= mostDots
	})
	if len(rows) > mostDots {
		d.Level = "hexagons"
		data.Hexes, d.Shown = hexes(st, p, sc)
		return nil
	}
	d.Shown = len(rows)
	d.Level = "dots"
	data.Cores = len(rows) <= mostCores && st.view.MPerPixel <= mostCoreMpp
	if data.Cores {
		d.Level = "small cores"
	}
	chosen := map[int64]bool{}
	for _, id := range st.tray {
		chosen[id] = true
	}
	for _, r := range rows {
		data.Wells = append(data.Wells, mapWell(st, r, sc, chosen[r.ID()]))
	}
	if !data.Cores {
		return nil
	}
	ids := make([]int64, len(data.Wells))
	for i := range data.Wells {
		ids[i] = data.Wells[i].ID
		data.CoreM = max(data.CoreM, data.Wells[i].DepthM)
	}
	labels, err := s.desk.Numbers(ctx, actor, ids)
	if err != nil {
		return err
	}
	for i := range labels {
		data.Wells[i].Label = labels[i]
	}
	return nil
}

// mapWell is one well as the map draws it.
func mapWell(st *mapState, r snapshot.Row, sc *scale, chosen bool) draw.MapWell {
	dg := st.filter.Digest(r)
	w := draw.MapWell{
		ID: dg.ID, Lon: dg.Lon, Lat: dg.Lat, Chosen: chosen, BedrockM: -1,
		Href: "/well/" + strconv.FormatInt(dg.ID, 10),
	}
	v := st.valueOf(r)
	if v.Qualifier != records.Missing {
		w.Known, w.Bound = true, v.Qualifier.IsBound()
		scaled := v.Value * unitFor(st.field, st.units).FromBase(1)
		w.Share = sc.share(scaled)
	}
	if dg.TotalDepth.Qualifier != records.Missing {
		w.DepthM = dg.TotalDepth.Value
	}
	switch dg.Bedrock.Qualifier {
	case records.Missing:
	case records.GreaterThan:
		w.BedrockM, w.Deeper = dg.Bedrock.Value, true
	case records.Between:
		w.BedrockM = (dg.Bedrock.Value + dg.Bedrock.High) / 2
	default:
		w.BedrockM = dg.Bedrock.Value
	}
	for _, sk := range dg.StrikesM {
		if !math.IsNaN(float64(sk)) {
			w.StrikesM = append(w.StrikesM, float64(sk))
		}
	}
	w.Dry = dg.Yield.Qualifier == records.Exact && dg.Yield.Value == 0
	w.Label = strconv.FormatInt(dg.ID, 10)
	w.Title = wellTitle(&dg, st.units)
	return w
}

// wellTitle says a well in a line.
func wellTitle(d *records.Digest, u say.System) string {
	t := "well " + strconv.FormatInt(d.ID, 10)
	amount := func(v records.DigestValue) records.Amount[records.Depth] {
		return records.Amount[records.Depth]{Qualifier: v.Qualifier, Value: records.Depth(v.Value), High: records.Depth(v.High)}
	}
	if v := u.Depth(amount(d.Bedrock)); v != "" {
		t += ", bedrock " + v
	}
	if v := u.Depth(amount(d.TotalDepth)); v != "" {
		t += ", depth " + v
	}
	y := records.Amount[records.Flow]{Qualifier: d.Yield.Qualifier, Value: records.Flow(d.Yield.Value), High: records.Flow(d.Yield.High)}
	if v := u.Yield(y); v != "" {
		t += ", " + v
	}
	if d.Year > 0 {
		t += ", " + strconv.Itoa(int(d.Year))
	}
	return t
}

// addSite marks the place asked about, with rings of round distance.
func addSite(st *mapState, data *draw.MapData) {
	if st.at == nil {
		return
	}
	site := &draw.MapSite{Lon: st.at.Lon, Lat: st.at.Lat}
	if st.units == say.SI {
		site.RingsM, site.RingText = []float64{250, 500, 1000, 2000}, []string{"250 m", "500 m", "1 km", "2 km"}
	} else {
		for i, part := range []float64{0.25, 0.5, 1, 2} {
			site.RingsM = append(site.RingsM, part*desk.MileM)
			site.RingText = append(site.RingText, []string{"¼ mile", "½ mile", "1 mile", "2 miles"}[i])
		}
	}
	data.Site = site
}

// addTrack shows the line of a section.
func addTrack(st *mapState, data *draw.MapData) {
	for _, at := range st.line {
		data.Track = append(data.Track, [2]float64{at.Lon, at.Lat})
	}
	data.TrackEnds = [2]string{endA, endB}
}

// mapSVG answers /map.svg: the drawing alone, for the script and to be kept.
func (s *Server) mapSVG(w http.ResponseWriter, r *http.Request) error {
	st, err := s.parseMapState(r.URL.Query(), unitsOf(r))
	if err != nil {
		return err
	}
	d, err := s.mapOf(r.Context(), s.actor(r), st, themeOf(r))
	if err != nil {
		return err
	}
	name := ""
	if r.URL.Query().Get("download") != "" {
		name = "map.svg"
	}
	return sendSVG(w, r, d.SVG, d.ETag, name)
}
