package server

import (
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/review"
	"tallybook/server/say"
)

// mostFilterSaid is how much of a filter stands in a sentence, letters.
const mostFilterSaid = 200

// reviewForm is the settings as the reader typed them, in the reader's units.
type reviewForm struct {
	filterForm
	Box, At, Radius, Outline, Layer string
	Scale, Pairs, Only              string
}

// radiusUnitM is the unit of a radius: a mile or a kilometre.
func radiusUnitM(u say.System) float64 {
	if u == say.SI {
		return 1000
	}
	return 1609.344
}

// reviewAsk reads the address of a review.
func (s *Server) reviewAsk(r *http.Request) (*review.Settings, *reviewForm, error) {
	q, u := r.URL.Query(), unitsOf(r)
	set := &review.Settings{Quantity: q.Get("field"), Units: u.String(), Scale: q.Get("scale"), Use: q.Get("use"), Met: q.Get("met"), Plate: q.Get("plate"), Only: strings.TrimSpace(q.Get("only"))}
	f := &reviewForm{Box: q.Get("box"), At: q.Get("at"), Radius: q.Get("radius"), Outline: q.Get("outline"), Layer: q.Get("layer"), Scale: q.Get("scale"), Pairs: q.Get("pairs"), Only: q.Get("only")}
	f.From, f.To, f.Use, f.Met, f.Plate = q.Get("from"), q.Get("to"), set.Use, set.Met, set.Plate
	f.MinD, f.MaxD, f.MinY, f.MaxY = q.Get("dmin"), q.Get("dmax"), q.Get("ymin"), q.Get("ymax")
	for _, l := range []struct {
		name string
		into **float64
		base func(float64) float64
	}{
		{"from", &set.DrilledFrom, nil}, {"to", &set.DrilledTo, nil},
		{"dmin", &set.DepthFromM, u.LengthUnit().ToBase}, {"dmax", &set.DepthToM, u.LengthUnit().ToBase},
		{"ymin", &set.YieldFromLps, u.FlowUnit().ToBase}, {"ymax", &set.YieldToLps, u.FlowUnit().ToBase},
	} {
		v, ok, err := numberOf(q, l.name)
		if err != nil {
			return nil, f, err
		}
		if ok {
			if l.base != nil {
				v = l.base(v)
			}
			*l.into = &v
			f.Active = true
		}
	}
	if v, ok, err := numberOf(q, "pairs"); err != nil {
		return nil, f, err
	} else if ok {
		set.PairsWithinM = u.LengthUnit().ToBase(v)
	}
	for name := range q {
		if part, ok := strings.CutPrefix(name, "p."); ok && q.Get(name) != "" {
			if set.Parts == nil {
				set.Parts = map[string]string{}
			}
			set.Parts[part] = q.Get(name)
		}
	}
	set.Defaults()
	trust, err := trustOf(q)
	if err != nil {
		return nil, f, err
	}
	set.MarkedToo, set.Picks = trust.Marked, trust.Picks
	if set.Where, err = s.reviewWhere(r, f, u); err != nil {
		return nil, f, err
	}
	f.Active = f.Active || set.Only != "" || set.Use != "" || set.Met != "" || set.Plate != "" || set.Where != nil || trust != records.Trust{}
	return set, f, set.Check(s.desk.Vocabulary())
}

// reviewWhere reads the part of the earth that is asked about: a box, a circle,
// an outline, or a layer's areas; the first that is given.
func (s *Server) reviewWhere(r *http.Request, f *reviewForm, u say.System) (*review.Where, error) {
	switch {
	case f.Box == "" && r.URL.Query().Get("view") != "": // what a map shows
		m := &mapState{}
		if err := m.readView(r.URL.Query()); err != nil {
			return nil, err
		}
		if !m.placed {
			return nil, records.Errorf(records.Invalid, "the view of the map is not whole: it takes lon, lat and mpp")
		}
		f.Box = boxOfView(m)
		return s.reviewWhere(r, f, u)
	case f.Box != "":
		parts := strings.Split(f.Box, ",")
		var box [4]float64
		for i := range box {
			if len(parts) != len(box) {
				return nil, records.Errorf(records.Invalid, "box=%s is no box: give west, south, east and north in degrees, parted by commas", clipText(f.Box, 60))
			}
			v, err := strconv.ParseFloat(strings.TrimSpace(parts[i]), 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, records.Errorf(records.Invalid, "box=%s is no box: %q is not a number", clipText(f.Box, 60), clipText(parts[i], 20))
			}
			box[i] = v
		}
		return &review.Where{Box: &box}, nil
	case f.At != "":
		at, err := position.Parse(f.At)
		if err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "at", Message: err.Error()}
		}
		radius, ok, err := numberOf(r.URL.Query(), "radius")
		if err != nil {
			return nil, err
		}
		if !ok {
			radius = 1
		}
		return &review.Where{Centre: &[2]float64{at.At.Lon, at.At.Lat}, RadiusM: radius * radiusUnitM(u)}, nil
	case strings.TrimSpace(f.Outline) != "":
		if !json.Valid([]byte(f.Outline)) {
			return nil, records.Errorf(records.Invalid, "the outline is not GeoJSON: paste a whole Polygon or MultiPolygon")
		}
		return &review.Where{Outline: json.RawMessage(f.Outline)}, nil
	case f.Layer != "":
		id, err := strconv.ParseInt(f.Layer, 10, 64)
		if err != nil {
			return nil, records.Errorf(records.Invalid, "layer=%s is no layer's number", clipText(f.Layer, 20))
		}
		layers, err := s.desk.Layers(r.Context(), s.actor(r))
		if err != nil {
			return nil, err
		}
		for _, l := range layers {
			if l.ID == id {
				return &review.Where{Outline: json.RawMessage(l.GeoJSON), Name: l.Name}, nil
			}
		}
		return nil, records.Errorf(records.NotFound, "there is no layer %d", id)
	}
	return nil, nil
}

// reviewBeside leads to the other pages of the consultant, to the same circle
// where there is one.
func reviewBeside(f *reviewForm) []pageLink {
	inventory := "/inventory"
	if f.At != "" && f.Radius != "" {
		inventory += "?" + url.Values{"at": {f.At}, "radius": {f.Radius}}.Encode()
	}
	return []pageLink{{Label: "A section through the ground", Href: "/section"}, {Label: "All wells around a place", Href: inventory}}
}

// reviewOfView is the address of a review of the wells that a map shows, as the
// map chooses them.
func reviewOfView(m *mapState) string {
	q := url.Values{}
	from := m.query()
	for _, name := range []string{"field", "from", "to", "use", "met", "plate", "dmin", "dmax", "ymin", "ymax", trustMarked, trustPicks} {
		if v := from.Get(name); v != "" {
			q.Set(name, v)
		}
	}
	q.Set("box", boxOfView(m))
	return "/review?" + q.Encode()
}

// boxOfView is the box of what a map shows, as an address has it.
func boxOfView(m *mapState) string {
	b := m.view.Bounds(0)
	return strings.Join([]string{trimFloat(max(b.West, -180), 5), trimFloat(max(b.South, -90), 5), trimFloat(min(b.East, 180), 5), trimFloat(min(b.North, 90), 5)}, ",")
}

// reviewQuery writes settings as the address that asks with them, in the units
// given. An outline goes with it as a whole.
func reviewQuery(set *review.Settings, u say.System) url.Values {
	q := url.Values{}
	put := func(name, v string) {
		if v != "" {
			q.Set(name, v)
		}
	}
	num := func(name string, v *float64, from func(float64) float64) {
		if v != nil {
			put(name, strconv.FormatFloat(roundIn12(from(*v)), 'f', -1, 64))
		}
	}
	same := func(v float64) float64 { return v }
	put("field", set.Quantity)
	num("from", set.DrilledFrom, same)
	num("to", set.DrilledTo, same)
	put("use", set.Use)
	put("met", set.Met)
	put("plate", set.Plate)
	put("only", set.Only)
	num("dmin", set.DepthFromM, u.LengthUnit().FromBase)
	num("dmax", set.DepthToM, u.LengthUnit().FromBase)
	num("ymin", set.YieldFromLps, u.FlowUnit().FromBase)
	num("ymax", set.YieldToLps, u.FlowUnit().FromBase)
	put("scale", set.Scale)
	if set.PairsWithinM != review.DefaultPairsM {
		num("pairs", &set.PairsWithinM, u.LengthUnit().FromBase)
	}
	if w := set.Where; w != nil {
		switch {
		case w.Box != nil:
			put("box", strings.Join([]string{trimFloat(w.Box[0], 7), trimFloat(w.Box[1], 7), trimFloat(w.Box[2], 7), trimFloat(w.Box[3], 7)}, ","))
		case w.Centre != nil:
			put("at", trimFloat(w.Centre[1], 7)+","+trimFloat(w.Centre[0], 7))
			num("radius", &w.RadiusM, func(v float64) float64 { return v / radiusUnitM(u) })
		default:
			put("outline", string(w.Outline))
		}
	}
	setTrust(q, records.Trust{Marked: set.MarkedToo, Picks: set.Picks})
	for name, v := range set.Parts {
		put("p."+name, v)
	}
	return q
}

// roundIn12 takes away what converting there and back leaves in the last digits.
func roundIn12(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	t, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64)
	if err != nil {
		return v
	}
	return t
}

// reviewWells says in words which wells a review takes, a line each.
func (s *Server) reviewWells(set *review.Settings, u say.System) []string {
	var out []string
	if w := set.Where; w != nil {
		switch {
		case w.Box != nil:
			out = append(out, "in the box from "+placeWords(w.Box[0], w.Box[1])+" to "+placeWords(w.Box[2], w.Box[3]))
		case w.Centre != nil:
			out = append(out, "within "+u.Distance(w.RadiusM)+" of "+placeWords(w.Centre[0], w.Centre[1]))
		case w.Name != "":
			out = append(out, "inside “"+w.Name+"”")
		default:
			out = append(out, "inside an outline")
		}
	}
	year := func(v *float64) string { return strconv.FormatFloat(math.Floor(*v), 'f', -1, 64) }
	span := func(a, b *float64, figure func(*float64) string) string {
		switch {
		case a != nil && b != nil:
			return figure(a) + " to " + figure(b)
		case a != nil:
			return figure(a) + " or more"
		}
		return figure(b) + " or less"
	}
	switch {
	case set.DrilledFrom != nil && set.DrilledTo != nil:
		out = append(out, "drilled "+year(set.DrilledFrom)+" to "+year(set.DrilledTo))
	case set.DrilledFrom != nil:
		out = append(out, "drilled in "+year(set.DrilledFrom)+" or later")
	case set.DrilledTo != nil:
		out = append(out, "drilled in "+year(set.DrilledTo)+" or earlier")
	}
	if set.Use != "" {
		out = append(out, "used for: "+plainWord(set.Use))
	}
	if set.Met != "" {
		out = append(out, "that met "+s.materialLabel(set.Met))
	}
	if set.DepthFromM != nil || set.DepthToM != nil {
		out = append(out, "deep "+span(set.DepthFromM, set.DepthToM, func(v *float64) string { return u.Metres(*v) }))
	}
	if set.YieldFromLps != nil || set.YieldToLps != nil {
		out = append(out, "yielding "+span(set.YieldFromLps, set.YieldToLps, func(v *float64) string { return u.Flow(records.Of(records.Flow(*v))) }))
	}
	switch set.Plate {
	case "yes":
		out = append(out, "with a plate")
	case "no":
		out = append(out, "without a plate")
	}
	if set.Only != "" {
		out = append(out, "filtered by "+clipText(set.Only, mostFilterSaid))
	}
	if set.MarkedToo {
		out = append(out, "with what is marked unreliable")
	}
	if set.Picks != "" {
		out = append(out, "bedrock as picked in “"+clipText(set.Picks, 60)+"”, as the logs say in the others")
	}
	if len(out) == 0 {
		out = append(out, "all wells on record")
	}
	return out
}

// materialLabel is what a material is called.
func (s *Server) materialLabel(code string) string {
	if m, ok := s.desk.Vocabulary().Material(code); ok {
		return m.Label
	}
	return plainWord(code)
}
