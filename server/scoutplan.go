package server

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// planView is the plan of the site on the page: a picture that is pressed where
// something stands, which a browser sends on without a script.
type planView struct {
	Src, Alt      string
	HalfM         string
	Closer, Wider string // addresses; "" where there is none
	Says          string
}

// planHalves are how far a plan reaches from the pin to each side, metres.
var planHalves = [...]float64{15, 30, 60, 120, 240}

// usualHalf is that of a plan of nothing.
const usualHalf = 1

// movePin is what is said to stand where the pin is to be moved.
const movePin = "well"

// readPressed reads where the plan was pressed, and adds what stands there or
// moves the pin; ok is false where it was not pressed.
func (a *scoutAsk) readPressed(q url.Values) (ok bool, err error) {
	x, err1 := strconv.ParseFloat(q.Get("spot.x"), 64)
	y, err2 := strconv.ParseFloat(q.Get("spot.y"), 64)
	if q.Get("spot.x") == "" || q.Get("spot.y") == "" || x == 0 && y == 0 { // a key pressed on the picture sends 0, 0
		return false, nil
	}
	half, err3 := strconv.ParseFloat(q.Get("half"), 64)
	if err1 != nil || err2 != nil || err3 != nil || !(half > 0 && half <= planHalves[len(planHalves)-1]) || !(math.Abs(x) <= 4*draw.SiteSize && math.Abs(y) <= 4*draw.SiteSize) {
		return false, records.Errorf(records.Invalid, "where the plan was pressed cannot be told; press it again")
	}
	east, north := draw.SiteOffset(half, x, y)
	kind := q.Get("hazard")
	if kind != movePin {
		if len(a.hazards) >= mostHazards {
			return false, records.Errorf(records.Invalid, "%d things are drawn already; leave one out first", mostHazards)
		}
		if kind == "" {
			return false, records.Errorf(records.Invalid, "say first what stands there, then press the plan")
		}
		a.hazards = append(a.hazards, scout.PacedAt(kind, east, north))
		return true, nil
	}
	to := position.NewPlane(a.at).FromXY(east, north)
	for i, h := range a.hazards {
		a.hazards[i] = h.Moved(a.at, to)
	}
	a.at = to
	return true, nil
}

// planHalf is how far the plan reaches: as asked, else so that what was paced
// off and its rule are on it.
func (a *scoutAsk) planHalf(asked string, rules []scout.LocalRule) float64 {
	if v, err := strconv.ParseFloat(asked, 64); err == nil {
		for _, h := range planHalves {
			if h == v {
				return v
			}
		}
	}
	need := planHalves[usualHalf]
	for _, h := range a.hazards {
		need = max(need, h.DistM*1.15)
		for _, r := range rules {
			if d, ok := r.Distance.Number(); ok && r.Kind == h.Kind {
				need = max(need, float64(d)*1.05)
			}
		}
	}
	for _, h := range planHalves {
		if h >= need {
			return h
		}
	}
	return planHalves[len(planHalves)-1]
}

// sitePlanOf is the plan of what stands near the pin.
func sitePlanOf(a *scoutAsk, backs []scout.Setback, halfM float64, u say.System) *draw.SitePlan {
	plane := position.NewPlane(a.at)
	p := &draw.SitePlan{HalfM: halfM, Title: "The site from above, north up: what stands within " + u.Distance(halfM) + " of the pin"}
	p.Scale = siteScale(halfM, u)
	for i := range backs {
		b := &backs[i]
		if b.DistanceM > halfM*math.Sqrt2 {
			continue
		}
		th := draw.SiteThing{Near: b.Verdict == scout.TooNear || b.Verdict == scout.Look, Kind: draw.SiteKind(b.Hazard.Shape.Kind - scout.Points)}
		if v, ok := b.Rule.Distance.Number(); ok {
			th.KeepM = float64(v)
		}
		what := strings.ReplaceAll(b.Hazard.Kind, "_", " ")
		th.Words = what + " " + u.Distance(b.DistanceM)
		th.Title = th.Words
		for _, part := range b.Hazard.Shape.Parts {
			line := make([][2]float64, len(part))
			for j, at := range part {
				line[j][0], line[j][1] = plane.ToXY(at)
			}
			th.Parts = append(th.Parts, line)
		}
		p.Things = append(p.Things, th)
	}
	return p
}

// siteScale is a bar of a round length, a quarter of the plan at most.
func siteScale(halfM float64, u say.System) draw.SiteScale {
	unit := u.LengthUnit()
	most := unit.FromBase(halfM / 2)
	length := math.Pow(10, math.Floor(math.Log10(most)))
	for _, k := range []float64{5, 2} {
		if length*k <= most {
			length *= k
			break
		}
	}
	return draw.SiteScale{LengthM: unit.ToBase(length), Words: trimFloat(length, 1) + " " + unit.Symbol()}
}

// planViewOf is the plan with its ways.
func (a *scoutAsk) planViewOf(r *http.Request, rules []scout.LocalRule, u say.System) *planView {
	half := a.planHalf(r.URL.Query().Get("half"), rules)
	v := &planView{HalfM: trimFloat(half, 0), Alt: "Plan of the site, north up, " + u.Distance(half) + " to each side: press it where the thing stands"}
	q := a.query(u)
	q.Set("half", v.HalfM)
	v.Src = "/scout/site.svg?" + q.Encode()
	at := 0
	for planHalves[at] != half {
		at++
	}
	way := func(i int) string {
		if i < 0 || i >= len(planHalves) {
			return ""
		}
		q.Set("half", trimFloat(planHalves[i], 0))
		return "/scout?" + q.Encode() + "#place"
	}
	v.Closer, v.Wider = way(at-1), way(at+1)
	v.Says = "Tinted: where the office's rules allow no well. The pin stands in the middle."
	return v
}

// scoutPlan answers /scout/site.svg.
func (s *Server) scoutPlan(w http.ResponseWriter, r *http.Request) error {
	u := unitsOf(r)
	a, err := parseScoutAsk(r.URL.Query(), u)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	rules, err := s.desk.LocalRules(ctx, actor)
	if err != nil {
		return err
	}
	layers, err := s.layers.of(ctx, s.desk, actor, s.desk.Picture().Commit())
	if err != nil {
		return err
	}
	half, theme := a.planHalf(r.URL.Query().Get("half"), rules.Value.Rules), themeOf(r)
	key := fmt.Sprintf("site %d %d %g %s %s %s", s.desk.Picture().Commit(), rules.Revision, half, theme, u, a.query(u).Encode())
	svg, etag, err := s.cache.get(key, func() ([]byte, error) {
		backs, _ := scout.CheckSetbacks(a.at, 0, a.hazardsOf(layers), rules.Value.Rules)
		return draw.Site(sitePlanOf(a, backs, half, u), theme, "site"), nil
	})
	if err != nil {
		return err
	}
	return sendSVG(w, r, svg, etag, "")
}
