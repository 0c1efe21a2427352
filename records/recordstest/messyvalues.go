package recordstest

import (
	"fmt"
	"strings"
	"time"

	"tallybook/records"
)

// date writes when the well was finished.
func (p *messyPen) date(w *records.Well, cells map[string]string) {
	if p.above != nil && p.one(0.03) {
		cells["completed"] = p.ditto()
		w.Completed = p.above.Completed
		if p.bad {
			p.did(MessDate)
		}
		return
	}
	d := records.DateOf(time.Date(1950+p.rng.IntN(74), 1, 1+p.rng.IntN(365), 0, 0, 0, 0, time.UTC))
	w.Completed = d
	if p.one(0.015) {
		p.did(MessDate)
		cells["completed"] = pickOf(p, "31 Feb 1987", "13/32/1987", "soon", "6/?/87", "June", "1987-13-01", "19877", "00000000", "Fall of 1987", "1/2/3/4")
		if p.d.Serials && cells["completed"] == "19877" {
			cells["completed"] = "soon"
		}
		return
	}
	month := d.Month
	names := []string{"Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec"}
	year := fmt.Sprint(d.Year)
	if p.d.ShortYears && p.one(0.3) {
		p.did(MessShortYear)
		year = fmt.Sprintf("%02d", d.Year%100)
	}
	switch roll := p.rng.IntN(20); {
	case p.d.Serials && roll < 12:
		days := int(time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC).Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24)
		cells["completed"] = fmt.Sprint(days)
	case roll < 12:
		first, second := month, d.Day
		if p.d.DayFirst {
			first, second = second, first
		}
		if first <= 12 && second <= 12 && first != second {
			p.did(MessOrder)
		}
		cells["completed"] = fmt.Sprintf(pickOf(p, "%d/%d/%s", "%02d/%02d/%s", "%d-%d-%s", "%d.%d.%s"), first, second, year)
	case roll < 14:
		cells["completed"] = fmt.Sprintf(pickOf(p, "%d-%s-%s", "%d %s %s", "%d/%s/%s", "%d %s. %s"), d.Day, names[month-1], year)
	case roll < 15:
		cells["completed"] = fmt.Sprintf(pickOf(p, "%s %d, %d", "%s %d %d", "%s. %dth, %d"), names[month-1], d.Day, d.Year)
	case roll < 16:
		w.Completed.Day = 0
		cells["completed"] = pickOf(p, fmt.Sprintf("%s %d", names[month-1], d.Year), fmt.Sprintf("%d/%d", month, d.Year), fmt.Sprintf("%s-%d", names[month-1], d.Year), fmt.Sprintf("%d-%02d-00", d.Year, month))
	case roll < 17:
		w.Completed = records.Date{Year: d.Year}
		cells["completed"] = pickOf(p, fmt.Sprint(d.Year), fmt.Sprintf("%d-00-00", d.Year))
	case roll < 18:
		cells["completed"] = fmt.Sprintf("%04d%02d%02d", d.Year, d.Month, d.Day)
	case roll < 19:
		cells["completed"] = d.String() + pickOf(p, "", "T00:00:00", " 00:00")
	default:
		w.Completed = records.Date{}
		cells["completed"] = ""
	}
}

// depth writes a depth of about v of the office's unit, and gives what was
// written as an amount.
func (p *messyPen) depth(v float64) (string, records.Amount[records.Depth]) {
	unit, decimals := p.d.Depth, 0
	if unit == records.Metre {
		decimals = 1
	}
	exact := func(u records.Unit, v float64) records.Amount[records.Depth] {
		return records.Of(records.Depth(u.ToBase(v)))
	}
	scale := 1.0
	if decimals == 1 {
		scale = 10
	}
	v = float64(int64(v*scale+0.5)) / scale
	plain := p.number(v, decimals)
	about := func(a records.Amount[records.Depth]) records.Amount[records.Depth] {
		a.Qualifier = records.About
		return a
	}
	switch roll := p.rng.IntN(100); {
	case roll < 6 && unit == records.Foot:
		return plain + pickOf(p, "'", " ft", " feet", "ft."), exact(unit, v)
	case roll < 6:
		return plain + pickOf(p, "m", " m", " metres"), exact(unit, v)
	case roll < 9 && unit == records.Foot:
		inches := float64(1 + p.rng.IntN(11))
		return fmt.Sprintf(pickOf(p, `%.0f'%.0f"`, `%.0f' %.0f"`, "%.0f ft %.0f in", `%.0f'-%.0f"`, "%.0f feet %.0f inches", "%.0f ft. %.0f in."), v, inches), exact(records.Inch, 12*v+inches)
	case roll < 11 && unit == records.Foot:
		return fmt.Sprintf("%.0f 1/2", v), exact(unit, v+0.5)
	case roll < 14 && unit == records.Foot:
		p.did(MessUnitText)
		m := float64(int64(v*3.048+0.5)) / 10
		return p.number(m, 1) + pickOf(p, " m", "m"), exact(records.Metre, m)
	case roll < 14:
		p.did(MessUnitText)
		ft := float64(int64(v/0.3048 + 0.5))
		return p.number(ft, 0) + pickOf(p, " ft", "'"), exact(records.Foot, ft)
	case roll < 15 && v > 12:
		p.did(MessUnitText)
		f := float64(int64(v / 6))
		if unit == records.Metre {
			f = float64(int64(v / 1.8288))
		}
		return p.number(f, 0) + " fathoms", exact(records.Fathom, f)
	case roll < 18:
		return pickOf(p, "abt ", "~", "about ", "approx. ", "abt. ", "est ", "Approx ") + plain, about(exact(unit, v))
	case roll < 19:
		return plain + "+", records.MoreThan(records.Depth(unit.ToBase(v)))
	case roll < 20 && v >= 1000 && !p.d.Comma:
		p.did(MessComma)
		return fmt.Sprintf("%d,%03d", int(v)/1000, int(v)%1000), exact(unit, float64(int(v)))
	case roll < 22 && p.d.Comma && v < 1000:
		p.did(MessComma)
		v = float64(int64(v*1000)+7) / 1000
		return p.number(v, 3), exact(unit, v)
	}
	return plain, exact(unit, v)
}

// unknown sometimes writes that nobody knows, in place of a depth.
func (p *messyPen) unknown() (string, bool) {
	switch roll := p.rng.IntN(100); {
	case roll < 4:
		return "", true
	case roll < 7:
		return pickOf(p, "N/A", "unknown", "-", "?", "not recorded"), true
	case roll < 9:
		p.did(MessCode)
		return p.d.Code, true
	}
	return "", false
}

// depths writes the depths of the hole and its log, and says whether the log
// tells strata.
func (p *messyPen) depths(w *records.Well, cells map[string]string) bool {
	total := 60 + p.rng.Float64()*500
	if p.one(0.02) {
		total += 800
	}
	if p.d.Depth == records.Metre {
		total = 20 + p.rng.Float64()*160
	}
	rock := total * (0.05 + 0.5*p.rng.Float64())
	broken := p.one(0.012)
	text, unknown := p.unknown()
	if !unknown {
		text, w.TotalDepth = p.depth(total)
	}
	cells["total_depth"] = text
	for _, c := range []struct {
		field string
		v     float64
		to    *records.Amount[records.Depth]
	}{{"depth_to_bedrock", rock, &w.Bedrock}, {"static_level", total * 0.2 * p.rng.Float64(), &w.StaticLevel}} {
		text, unknown := p.unknown()
		if !unknown {
			text, *c.to = p.depth(c.v)
		}
		cells[c.field] = text
	}
	casing := records.Casing{}
	cells["casing.to"], casing.To = p.depth(rock * 1.05)
	cells["casing.diameter"], casing.Diameter = p.diameter()
	w.Casing = []records.Casing{casing}
	if broken {
		p.did(MessNumber)
		cells[pickOf(p, "total_depth", "depth_to_bedrock", "static_level")] = pickOf(p, "6o2", "12-3", "about", "6 2 1", "5 gpm", "62 cubits", "1/0", "see log", "--5")
	}
	if p.one(0.15) {
		return false // no log
	}
	if number, ok := w.TotalDepth.Number(); ok && !broken && w.TotalDepth.Qualifier == records.Exact && p.one(0.008) {
		p.clash(w, cells, float64(number))
		return true
	}
	return p.log(w, cells, total, rock)
}

// clash writes the total depth in the unit that the office does not use,
// without saying so, beside a log that says its own.
func (p *messyPen) clash(w *records.Well, cells map[string]string, totalM float64) {
	p.did(MessClash)
	feet := float64(int64(totalM/0.3048 + 0.5))
	if p.d.Depth == records.Foot {
		cells["total_depth"] = p.number(feet*0.3048, 1)
	} else {
		cells["total_depth"] = p.number(feet, 0)
	}
	cells["log"] = fmt.Sprintf("0-12 ft clay; 12-%.0f ft granite", feet)
	w.Strata = nil
}

func (p *messyPen) diameter() (string, records.Amount[records.Diameter]) {
	inch := func(v float64) records.Amount[records.Diameter] {
		return records.Of(records.Diameter(records.InchDiameter.ToBase(v)))
	}
	switch p.rng.IntN(5) {
	case 0:
		return "6-5/8\"", inch(6.625)
	case 1:
		return "152 mm", records.Of(records.Diameter(152))
	case 2:
		return "8 in", inch(8)
	case 3:
		return "6 1/4 in.", inch(6.25)
	}
	return `6"`, inch(6)
}

// yield writes what the well gives.
func (p *messyPen) yield() (string, records.Amount[records.Flow]) {
	of := func(u records.Unit, v float64) records.Flow { return records.Flow(u.ToBase(v)) }
	u := p.d.Flow
	n := 1 + p.rng.IntN(60)
	v := float64(n)
	switch p.rng.IntN(16) {
	case 0:
		return pickOf(p, "<1", "< 1", "less than 1", "under 1"), records.Under(of(u, 1))
	case 1:
		return fmt.Sprintf(pickOf(p, "%d+", ">%d", "over %d", "at least %d"), n), records.MoreThan(of(u, v))
	case 2:
		return "1/2", records.Of(of(u, 0.5))
	case 3:
		return pickOf(p, "dry", "Dry", "no water", "0"), records.Of(records.Flow(0))
	case 4:
		return pickOf(p, "seep", "trace"), records.Under(of(records.GallonPerMinute, 0.5))
	case 5:
		return fmt.Sprintf(pickOf(p, "%d to %d", "%d-%d", "%d - %d"), n, n+2), records.Within(of(u, v), of(u, v+2))
	case 6:
		return fmt.Sprintf(pickOf(p, "%d-%d gpm", "%d to %d GPM", "%d gpm - %d gpm"), n, n+3), records.Within(of(records.GallonPerMinute, v), of(records.GallonPerMinute, v+3))
	case 7:
		return fmt.Sprintf(pickOf(p, "abt %d", "%d±", "est. %d", "~%d"), n), records.Roughly(of(u, v))
	case 8:
		p.did(MessUnitText)
		if u == records.GallonPerMinute {
			return p.number(v/10, 1) + " L/s", records.Of(of(records.LitrePerSecond, v/10))
		}
		return fmt.Sprintf(pickOf(p, "%d gpm", "%dgpm", "%d GPM", "%d gal/min", "%d g.p.m.", "%d gals per min"), n), records.Of(of(records.GallonPerMinute, v))
	case 9:
		return fmt.Sprintf(pickOf(p, "%d 1/2", "%d-1/2", "%d½"), n), records.Of(of(u, v+0.5))
	case 10:
		return pickOf(p, "", "unknown", "n/a"), records.Amount[records.Flow]{}
	case 11:
		if p.one(0.1) {
			p.did(MessNumber)
			return pickOf(p, "lots", "5 mgd", "good", "12 miner's inches", "5 7", "1,2,3"), records.Amount[records.Flow]{}
		}
	}
	return fmt.Sprint(n), records.Of(of(u, v))
}

// log writes the log of a hole, and says whether it tells strata.
func (p *messyPen) log(w *records.Well, cells map[string]string, total, rock float64) bool {
	whole := func(v float64) float64 { return float64(int64(v + 0.5)) }
	bottoms := []float64{whole(rock * 0.3), whole(rock), whole(total)}
	if number, ok := w.TotalDepth.Number(); ok { // the log ends where the hole does, or just above
		bottoms[2] = float64(int64(p.d.Depth.FromBase(float64(number))))
	}
	if bottoms[0] < 1 || bottoms[1] <= bottoms[0] || bottoms[2] <= bottoms[1]+1 {
		return false
	}
	words := []string{
		pickOf(p, "topsoil", "brn clay w/ cobbles", "sandy clay", "fill", "sand & gravel"),
		pickOf(p, "hardpan", "till, bouldery", "clay", "weathered ledge"),
		pickOf(p, "gry gneiss, soft", "granite", "schist w/ quartz", "bedrock", "limestone"),
	}
	if p.one(0.05) {
		p.did(MessLog)
		cells["log"] = fmt.Sprintf("%.0f' %s, %.0f' %s", bottoms[0]+1, words[0], bottoms[1]+3, words[1])
		return false
	}
	unit := p.d.Depth
	top := 0.0
	var parts []string
	mark := ""
	if unit == records.Foot {
		mark = pickOf(p, "", "", "'")
	}
	form := p.rng.IntN(6)
	for i, b := range bottoms {
		t, u := p.number(top, 0)+mark, p.number(b, 0)+mark
		switch form {
		case 0, 1:
			parts = append(parts, fmt.Sprintf("%s-%s %s", t, u, words[i]))
		case 2:
			parts = append(parts, fmt.Sprintf("%s to %s: %s", t, u, words[i]))
		case 3:
			parts = append(parts, fmt.Sprintf("%s %s-%s", words[i], t, u))
		case 4:
			parts = append(parts, fmt.Sprintf("%s to %s", words[i], u))
		case 5:
			parts = append(parts, fmt.Sprintf("%s – %s  %s", t, u, words[i]))
		}
		w.Strata = append(w.Strata, records.Stratum{Top: records.Of(records.Depth(unit.ToBase(top))), Bottom: records.Of(records.Depth(unit.ToBase(b))), Description: words[i]})
		top = b
	}
	text := strings.Join(parts, pickOf(p, "; ", "; ", "\n", " / "))
	if p.one(0.3) {
		at := whole((bottoms[1] + bottoms[2]) / 2)
		text += fmt.Sprintf(pickOf(p, "; water @ %.0f%s %d gpm", "; wtr %.0f%s, %d gpm"), at, mark, 5)
		w.Strikes = []records.Strike{{Depth: records.Of(records.Depth(unit.ToBase(at))), Flow: records.Of(records.Flow(records.GallonPerMinute.ToBase(5)))}}
	}
	cells["log"] = text
	return true
}
