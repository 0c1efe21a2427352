package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records"
)

// Numbers of the township.
const (
	wellCount = 900
	firstYear = 1983
	lastYear  = 2023
)

// maker makes the wells one after another, in the order of their dates.
type maker struct {
	*rand.Rand
	g      *ground
	places []place
}

// place is a hamlet: wells stand in clumps.
type place struct{ x, y, spread float64 }

// feet rounds a depth as a driller writes it, and keeps it as written.
func feet(m float64) records.Amount[records.Depth] {
	ft := math.Round(records.Foot.FromBase(m))
	return records.Amount[records.Depth]{
		Qualifier: records.Exact, Value: records.Depth(records.Foot.ToBase(ft)),
		Given: records.Given{Text: strconv.FormatFloat(ft, 'f', -1, 64) + " ft", Unit: records.Foot},
	}
}

// gpm keeps a flow as a driller writes it: few rounded figures.
func gpm(lps float64) records.Amount[records.Flow] {
	v := records.GallonPerMinute.FromBase(lps)
	for _, step := range []struct{ below, by float64 }{{1, 0.25}, {4, 0.5}, {12, 1}, {40, 5}, {math.Inf(1), 10}} {
		if v < step.below {
			v = math.Round(v/step.by) * step.by
			break
		}
	}
	a := records.Amount[records.Flow]{Qualifier: records.Exact, Value: records.Flow(records.GallonPerMinute.ToBase(v)),
		Given: records.Given{Text: strconv.FormatFloat(v, 'f', -1, 64) + " gpm", Unit: records.GallonPerMinute}}
	if v == 0 {
		a.Given.Text = "dry"
	}
	return a
}

func inches(v float64) records.Amount[records.Diameter] {
	return records.Amount[records.Diameter]{Qualifier: records.Exact, Value: records.Diameter(records.InchDiameter.ToBase(v)),
		Given: records.Given{Text: strconv.FormatFloat(v, 'f', -1, 64) + " in", Unit: records.InchDiameter}}
}

func (m *maker) pick(of ...string) string { return of[m.IntN(len(of))] }

// somewhere is where the next well goes.
func (m *maker) somewhere() (x, y float64) {
	for {
		if m.Float64() < 0.7 {
			p := m.places[m.IntN(len(m.places))]
			x, y = p.x+m.NormFloat64()*p.spread, p.y+m.NormFloat64()*p.spread
		} else {
			x, y = (m.Float64()*2-1)*halfM, (m.Float64()*2-1)*halfM
		}
		if math.Abs(x) < halfM-80 && math.Abs(y) < halfM-80 {
			return x, y
		}
	}
}

// hole is what a well finds before anybody writes it down, metres and L/s.
type hole struct {
	x, y       float64
	year       int
	overburden float64
	granite    float64
	depth      float64
	strikes    [][2]float64 // depth, gain
	yield      float64
	need       float64
	ended      string
}

// drill drills until there is water enough, or the money is spent.
func (m *maker) drill(x, y float64, year int) hole {
	h := hole{x: x, y: y, year: year, overburden: m.g.overburdenM(x, y), granite: m.g.graniteM(x, y)}
	h.overburden = max(0.3, h.overburden*(1+0.06*m.NormFloat64())+0.5*m.NormFloat64())
	h.need = records.GallonPerMinute.ToBase([]float64{2, 3, 4, 5, 6, 8}[m.IntN(6)])
	most := 75 + 55*m.Float64() + 2.1*float64(year-firstYear) // deeper rigs, deeper pockets
	zone, draw := m.g.zone(x, y), m.g.draw(x, y)
	at := h.overburden + 4
	for {
		gap := m.ExpFloat64() * (34 - 18*zone)
		at += 2 + gap
		if at >= most {
			h.depth, h.ended = most, "depth"
			if h.yield == 0 {
				h.ended = "dry"
			}
			break
		}
		gain := records.GallonPerMinute.ToBase(math.Exp(0.1 + 1.15*m.NormFloat64() + 1.5*zone + 0.5*draw))
		if at > 110 {
			gain *= 0.5
		}
		h.strikes = append(h.strikes, [2]float64{at, gain})
		h.yield += gain
		if h.yield >= h.need {
			h.depth, h.ended = at+2+6*m.Float64(), "enough_water"
			break
		}
	}
	return h
}

func (m *maker) well(n int) *records.Well {
	// More wells in later years.
	t := math.Pow(float64(n)/wellCount, 0.7)
	year := firstYear + int(t*(lastYear-firstYear+1))
	year = min(year, lastYear)
	x, y := m.somewhere()
	return m.record(n, m.drill(x, y, year))
}

// record writes down a hole as its driller would.
func (m *maker) record(n int, h hole) *records.Well {
	w := &records.Well{
		Number:  fmt.Sprintf("NF-%04d", n+1),
		Status:  "in_use",
		Purpose: m.purpose(),
		Provenance: records.Provenance{
			Source: "demo", Note: "invented for demonstration",
		},
	}
	m.setPlace(w, h)
	if h.year < 1994 && n%3 == 1 { // nobody read the map for its height
		w.Place.Elevation, w.Place.VertDatum = records.Amount[records.Height]{}, ""
	}
	w.Owner = records.Person{Name: fmt.Sprintf("Invented Owner %d", n+1)}
	w.Crew = m.crew(h.year)
	w.Completed = records.Date{Year: h.year, Month: 1 + m.IntN(12), Day: 1 + m.IntN(28)}
	if h.year < 1988 && m.Float64() < 0.4 {
		w.Completed.Month, w.Completed.Day = 0, 0
	}
	w.TotalDepth = feet(h.depth)
	w.StopReason = h.ended
	m.construction(w, h)
	m.strata(w, h)
	m.water(w, h)
	if m.Float64() < 0.72 {
		w.Bedrock = feet(h.overburden)
	}
	if h.year >= 2014 && m.Float64() < 0.5 {
		m.rods(w, h)
	}
	if h.yield == 0 && m.Float64() < 0.5 {
		w.Status = "unused"
	}
	return w
}

func (m *maker) purpose() string {
	switch v := m.Float64(); {
	case v < 0.86:
		return "domestic"
	case v < 0.93:
		return "stock"
	case v < 0.97:
		return "irrigation"
	}
	return "commercial"
}

func (m *maker) crew(year int) records.Crew {
	switch {
	case year < 1996:
		return records.Crew{Driller: m.pick("Invented Driller A", "Invented Driller B"), Firm: "Plumb Line Wells (invented)"}
	case year < 2010:
		return records.Crew{Driller: m.pick("Invented Driller B", "Invented Driller C"), Firm: m.pick("Plumb Line Wells (invented)", "Ninefold Drilling (invented)")}
	}
	return records.Crew{Driller: m.pick("Invented Driller C", "Invented Driller D"), Firm: "Ninefold Drilling (invented)", Rig: m.pick("rig 1", "rig 2")}
}

// setPlace writes down where the hole is, as well as people knew at the time.
func (m *maker) setPlace(w *records.Well, h hole) {
	p := &w.Place
	x, y := h.x, h.y
	accuracy, digits := 5.0, 6
	switch {
	case h.year < 1994:
		p.Method, accuracy, digits = "map", 60, 4
		x, y = x+m.NormFloat64()*40, y+m.NormFloat64()*40
	case h.year < 2003:
		p.Method, accuracy, digits = "gps", 20, 5
		x, y = x+m.NormFloat64()*10, y+m.NormFloat64()*10
	default:
		p.Method = "gps"
	}
	at := m.g.plane.FromXY(x, y)
	scale := math.Pow(10, float64(digits))
	p.Located, p.Lon, p.Lat = true, math.Round(at.Lon*scale)/scale, math.Round(at.Lat*scale)/scale
	p.Given = strconv.FormatFloat(p.Lat, 'f', digits, 64) + ", " + strconv.FormatFloat(p.Lon, 'f', digits, 64)
	p.Datum = position.DatumWGS84.String()
	p.Accuracy = records.Of(records.Length(accuracy))
	p.Elevation = records.Of(records.Height(math.Round(m.g.elevationM(h.x, h.y)*10) / 10))
	p.VertDatum = vertDatum
	p.Parcel = fmt.Sprintf("%d-%d", 1+int((h.x+halfM)/1000), 1+int((h.y+halfM)/400))
	switch hill := m.g.hills.at(h.x, h.y); {
	case hill > 0.9:
		w.Setting = "hilltop"
	case hill > -0.3:
		w.Setting = "slope"
	case math.Abs(m.g.valleyM(h.x, h.y)) < 500:
		w.Setting = "valley"
	default:
		w.Setting = "draw"
	}
	w.Rock = "Ninefold schist"
	if h.granite < h.overburden {
		w.Rock = "Lowbell granite"
	}
}

// construction sets the casing into sound rock and seals it.
func (m *maker) construction(w *records.Well, h hole) {
	seat := max(h.overburden+3+3*m.Float64(), 6.1)
	seat = math.Ceil(records.Foot.FromBase(seat)/5) * 5 * records.Foot.ToBase(1)
	seat = min(seat, h.depth-1)
	yes := true
	w.Bores = []records.Bore{
		{From: feet(0), To: feet(seat), Diameter: inches(10), Method: "air_rotary"},
		{From: feet(seat), To: feet(h.depth), Diameter: inches(6), Method: "air_hammer"},
	}
	if h.year < 1990 {
		w.Bores[0].Method, w.Bores[1].Method = "cable_tool", "cable_tool"
	}
	w.Casing = []records.Casing{{
		From: feet(-0.46), To: feet(seat), Material: "steel", Diameter: inches(6), OutsideDia: inches(6.625), DriveShoe: &yes,
	}}
	if h.year >= 2005 && h.overburden < 12 && m.Float64() < 0.3 {
		w.Casing[0].Material, w.Casing[0].DriveShoe = "pvc", nil
	}
	if h.year >= 1995 {
		annulusL := math.Pi / 4 * (0.254*0.254 - 0.168275*0.168275) * seat * 1000
		over := 1.05 + 0.35*m.Float64() + 0.9*math.Pow(m.Float64(), 8)
		w.Grout = []records.Grout{{
			From: feet(0), To: feet(seat), Material: m.pick("neat_cement", "bentonite_slurry"), Method: "tremie",
			Placed: records.Of(records.Volume(math.Round(annulusL * over))), Planned: records.Of(records.Volume(math.Round(annulusL))),
		}}
	}
}

// water writes down strikes, levels and the final yield.
func (m *maker) water(w *records.Well, h hole) {
	w.StrikesAs = "gain"
	for _, s := range h.strikes {
		w.Strikes = append(w.Strikes, records.Strike{Depth: feet(s[0]), Flow: gpm(s[1])})
	}
	w.Yield = gpm(h.yield)
	w.YieldMethod = "airlift"
	if h.year < 1990 {
		w.YieldMethod = "bailer"
	}
	switch {
	case h.yield > 0 && h.yield < records.GallonPerMinute.ToBase(0.4):
		w.Yield = records.Under(records.Flow(records.GallonPerMinute.ToBase(0.5)))
		w.Yield.Given = records.Given{Text: "<1/2 gpm", Unit: records.GallonPerMinute}
	case h.yield > records.GallonPerMinute.ToBase(60):
		w.Yield = records.MoreThan(records.Flow(records.GallonPerMinute.ToBase(50)))
		w.Yield.Given = records.Given{Text: "50+ gpm", Unit: records.GallonPerMinute}
	}
	if h.yield > 0 {
		level := max(1.2, 6+5*m.g.hills.at(h.x, h.y)+2.5*m.NormFloat64())
		level = min(level, h.depth*0.7)
		w.StaticLevel = feet(level)
		w.StaticLevels = []records.Level{{Date: w.Completed, Depth: feet(level), From: "top of casing", Method: "tape"}}
	}
}

// rods writes down the minutes each rod took.
func (m *maker) rods(w *records.Well, h hole) {
	const rodM = 6.096
	for i := 0; ; i++ {
		from, to := float64(i)*rodM, float64(i+1)*rodM
		if from >= h.depth {
			return
		}
		to = min(to, h.depth)
		perM := 1.1 // minutes a metre
		switch mid := (from + to) / 2; {
		case mid < h.overburden:
			perM = 1.9 + 0.6*m.Float64()
		case mid > h.granite:
			perM = 1.6 + 0.3*m.Float64()
		}
		for _, s := range h.strikes {
			if s[0] >= from && s[0] < to {
				perM *= 0.55 // broken ground drills fast
			}
		}
		minutes := math.Max(1, math.Round(perM*(to-from)*(0.9+0.2*m.Float64())))
		w.Rods = append(w.Rods, records.Rod{Number: i + 1, From: feet(from), To: feet(to), Time: records.Of(records.Minutes(minutes))})
	}
}
