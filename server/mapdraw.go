package server

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strconv"

	"tallybook/geo/position"
	"tallybook/geo/surface"
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
	nodeStep    = 12.0  // pixels between the nodes of a surface
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
	st.view = draw.FitView(b, w, h, 30, leastViewM)
}

// mapDrawing is a map and what the page says beside it.
type mapDrawing struct {
	SVG    []byte
	Shown  int    // wells in view
	Of     int    // wells in all
	Level  string // hexagons, dots or cores
	Words  string // what is shown, in one sentence
	Commit int64
}

// drawMap draws the map of a state.
func (s *Server) drawMap(ctx context.Context, actor records.Actor, st *mapState, theme draw.Theme) (*mapDrawing, error) {
	p := s.desk.Picture()
	s.settle(st, p)
	d := &mapDrawing{Of: p.Len(), Commit: p.Commit()}
	var model *desk.Model
	var err error
	model, err = s.desk.Model(ctx, st.field, &st.filter)
	if err != nil && records.CodeOf(err) != records.NotFound {
		return nil, err
	}
	sc := scaleOf(st, model, theme)
	data := &draw.MapData{View: st.view, Metric: st.units == say.SI}
	data.Key = draw.MapKey{Title: sc.title, Ramp: sc.ramp, Colours: len(sc.levels) + 1, Ends: sc.ends()}
	if model == nil {
		data.Key.Colours = 0
		data.Key.Words = []string{"no well that is shown says anything of this"}
	} else {
		data.Key.Words = keyWords(st, model)
	}
	if err := s.addSurface(ctx, actor, st, &sc, data, model); err != nil {
		return nil, err
	}
	if err := s.addWells(ctx, actor, st, p, &sc, data, d); err != nil {
		return nil, err
	}
	if err := s.addLayers(ctx, actor, data); err != nil {
		return nil, err
	}
	addSite(st, data)
	d.Words = fmt.Sprintf("Map of %s: %s in view, drawn as %s.", desk.FieldWords(st.field), count(d.Shown, "well", "wells"), d.Level)
	data.Title = d.Words
	d.SVG = draw.Map(data, theme, "map")
	return d, nil
}

// keyWords say how much the surface is worth, as measured.
func keyWords(st *mapState, m *desk.Model) []string {
	r := &m.Report
	words := []string{skillWords(r.Skill, r.SkillSE)}
	if st.surface == showIDW {
		words = []string{"inverse distance, power 2, 12 nearest: no error is known at a place"}
	}
	if r.Adjusted.Tested > 0 && st.surface != showIDW {
		words = append(words, fmt.Sprintf("the 8-in-10 range held %.0f %% of %s hidden wells", r.Adjusted.Share*100, grouped(r.Adjusted.Tested)))
	}
	if r.Wells < 100 {
		words = append(words, fmt.Sprintf("take care: only %d wells say anything of this", r.Wells))
	}
	return words
}

// addSurface evaluates the surface on nodes that are fixed to the ground at
// each scale, so that panning does not move its lines.
func (s *Server) addSurface(ctx context.Context, actor records.Actor, st *mapState, sc *scale, data *draw.MapData, m *desk.Model) error {
	if st.surface == showNothing || m == nil || len(sc.levels) == 0 {
		return nil
	}
	ox, oy := st.view.Pixel(0, 0)
	first := func(origin float64) float64 { return origin + math.Floor(-origin/nodeStep-2)*nodeStep }
	x0, y0 := first(ox), first(oy)
	cols := int((st.view.W-x0)/nodeStep) + 3
	rows := int((st.view.H-y0)/nodeStep) + 3
	last := y0 + float64(rows-1)*nodeStep
	grid := surface.Grid{Cols: cols, Rows: rows, MinX: x0 - nodeStep/2, MinY: -last - nodeStep/2, CellW: nodeStep, CellH: nodeStep}
	nodes := make([]position.LonLat, grid.Len())
	for row := range rows {
		for col := range cols {
			lon, lat := st.view.Position(grid.X(col), -grid.Y(row))
			nodes[grid.Index(col, row)] = position.LonLat{Lon: lon, Lat: lat}
		}
	}
	ask := desk.SurfaceAsk{Field: st.field, Filter: st.filter, Method: desk.ByNeighbours, Reading: desk.Middle, SpacingM: nodeStep * st.view.MPerPixel}
	switch st.surface {
	case showRange:
		ask.Reading = desk.Spread
	case showChance:
		ask.Reading, ask.Threshold = desk.Chance, unitFor(st.field, st.units).ToBase(st.reach)
	case showSkill:
		ask.Reading = desk.Promise
	case showIDW:
		ask.Method, ask.IDW = desk.ByInverseDistance, surface.IDW{Power: 2, Neighbours: 12}
	}
	f, err := s.desk.SurfaceAt(ctx, actor, ask, nodes)
	if err != nil {
		return err
	}
	for i := range f.Values {
		f.Values[i] *= sc.perBase
	}
	data.Surface = &draw.MapSurface{
		Field: surface.Field{Grid: grid, Values: f.Values}, Flat: f.Flat, Levels: sc.levels, Ramp: sc.ramp,
		Contours: st.contours, Label: sc.label,
		FlatWords: "the wells here say no more than the area as a whole",
		BareWords: "no wells near: not drawn",
	}
	return nil
}

// addWells chooses one of the three ways to draw the wells in view.
func (s *Server) addWells(ctx context.Context, actor records.Actor, st *mapState, p *snapshot.Picture, sc *scale, data *draw.MapData, d *mapDrawing) error {
	var rows []snapshot.Row
	n := 0
	p.InBox(st.view.Bounds(0), func(r snapshot.Row) bool {
		if st.filter.Takes(r) {
			n++
			if n <= mostDots {
				rows = append(rows, r)
			}
		}
		return true
	})
	d.Shown = n
	if n > mostDots {
		d.Level = "hexagons"
		data.Hexes = hexes(st, p, sc)
		return nil
	}
	d.Level = "dots"
	data.Cores = n <= mostCores && st.view.MPerPixel <= mostCoreMpp
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
	dg := r.Digest()
	w := draw.MapWell{
		ID: dg.ID, Lon: dg.Lon, Lat: dg.Lat, Chosen: chosen, BedrockM: -1,
		Href: "/well/" + strconv.FormatInt(dg.ID, 10),
	}
	v := r.Value(st.field)
	if v.Qualifier != records.Missing {
		w.Known, w.Bound = true, v.Qualifier.IsBound()
		scaled := v.Value * unitFor(st.field, st.units).FromBase(1)
		if st.surface == showChance || st.surface == showSkill || st.surface == showRange {
			w.Share = 0.5 // the surface's ramp says something else than the well's value
		} else {
			w.Share = sc.share(scaled)
		}
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

// addLayers adds the office's own reference lines.
func (s *Server) addLayers(ctx context.Context, actor records.Actor, data *draw.MapData) error {
	layers, err := s.desk.Layers(ctx, actor)
	if err != nil {
		return err
	}
	for _, l := range layers {
		lines, err := desk.LayerLines(l.GeoJSON)
		if err != nil {
			return fmt.Errorf("layer %s: %w", l.Name, err)
		}
		ml := draw.MapLayer{Kind: l.Kind}
		for _, line := range lines {
			ml.Lines = append(ml.Lines, draw.MapLine{Name: line.Name, Points: line.Points, Area: line.Area})
		}
		data.Layers = append(data.Layers, ml)
	}
	return nil
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

// mapSVG answers /map.svg: the drawing alone, for the script and to be kept.
func (s *Server) mapSVG(w http.ResponseWriter, r *http.Request) error {
	st, err := s.parseMapState(r.URL.Query(), unitsOf(r))
	if err != nil {
		return err
	}
	theme := themeOf(r)
	key := fmt.Sprintf("map %d %s %s %s", s.desk.Picture().Commit(), theme, st.units, r.URL.RawQuery)
	data, etag, err := s.cache.get(key, func() ([]byte, error) {
		d, err := s.drawMap(r.Context(), s.actor(r), st, theme)
		if err != nil {
			return nil, err
		}
		return d.SVG, nil
	})
	if err != nil {
		return err
	}
	name := ""
	if r.URL.Query().Get("download") != "" {
		name = "map.svg"
	}
	return sendSVG(w, r, data, etag, name)
}
