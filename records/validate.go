package records

import (
	"fmt"
	"math"
	"strconv"
	"sync"
	"time"
	"unicode/utf8"
)

// Limits are the thresholds of validation. All are ours, no source; an office
// may use others.
type Limits struct {
	DepthM       float64 // deeper than this is refused: no hole anywhere is so deep
	DoubtDepthM  float64 // deeper than this is doubtful for a water well
	DoubtLps     float64 // a yield above this is doubtful
	FirstYear    int     // a year before this is doubtful
	GapM         float64 // depths closer than this are the same depth, rounded differently
	StickUpM     float64 // casing standing higher above ground than this is doubtful
	AccuracyM    float64 // a position less certain than this is refused
	GroundLowM   float64 // ground elevations outside these are refused
	GroundHighM  float64
	DiameterMM   float64 // a wider hole is doubtful
	Rows         int     // more parts of one kind than this are refused
	PairwiseRows int     // above this many, parts are not compared each with each
	Faults       int     // no more faults than this are told of one record
}

// DefaultLimits gives the thresholds used unless an office sets its own. All
// are ours, no source.
func DefaultLimits() Limits {
	return Limits{
		DepthM:       15000,
		DoubtDepthM:  1500,
		DoubtLps:     300,
		FirstYear:    1850,
		GapM:         0.16,
		StickUpM:     3,
		AccuracyM:    1e6,
		GroundLowM:   -500,
		GroundHighM:  9000,
		DiameterMM:   5000,
		Rows:         10000,
		PairwiseRows: 64,
		Faults:       100,
	}
}

// ValidateOptions says against what a record is held.
type ValidateOptions struct {
	// Today refuses dates after it (a day's grace for other time zones);
	// zero: no date is too late.
	Today Date
	// Reader reads the ground, so that strata, stated depth and casing seat
	// can be compared; nil: only the latter two are.
	Reader Reader
	// Limits and Rules in place of the default ones; nil: the default.
	Limits *Limits
	Rules  *PickRules
}

// DateOf is the day of t in t's own time zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, int(m), d}
}

// Validate tells every fault of the record: a Refusal for what must not be
// admitted, a Warning for what is kept and doubtful. It allocates nothing
// where there is nothing to tell.
func (w *Well) Validate(o ValidateOptions) []Fault {
	v, ok := validators.Get().(*validator)
	if !ok {
		v = new(validator)
	}
	v.today, v.reader = o.Today, o.Reader
	v.limits, v.rules = DefaultLimits(), DefaultPickRules()
	if o.Limits != nil {
		v.limits = *o.Limits
	}
	if o.Rules != nil {
		v.rules = *o.Rules
	}
	v.planned = w.Status == "planned" || w.Status == "drilling"
	v.place(&w.Place)
	w.visit(v)
	v.well(w)
	faults := v.faults
	v.faults, v.reader, v.path = nil, nil, v.path[:0]
	validators.Put(v)
	return faults
}

// Validate tells every fault of a plate's record, as Well.Validate does.
func (p *Plate) Validate(o ValidateOptions) []Fault {
	v := &validator{today: o.Today, limits: DefaultLimits()}
	if o.Limits != nil {
		v.limits = *o.Limits
	}
	p.visit(v)
	return v.faults
}

// validators holds walkers for reuse; they carry nothing from one record to
// the next.
var validators sync.Pool

// validator walks a record. As a fields it judges each value by itself; what
// values say of one another is in the functions of validatewell.go.
type validator struct {
	today   Date
	reader  Reader
	limits  Limits
	rules   PickRules
	planned bool
	path    trail
	faults  []Fault
}

func (v *validator) fault(s Severity, name, message, mend string) {
	switch n := len(v.faults); {
	case n < v.limits.Faults:
		v.faults = append(v.faults, Fault{s, v.path.to(name), message, mend})
	case n == v.limits.Faults:
		v.faults = append(v.faults, Fault{s, "", "there are more faults than are told here", "mend these first"})
	case s == Refusal:
		v.faults[n-1].Severity = Refusal // a refusal must not be lost behind warnings
	}
}

func (v *validator) refuse(name, message, mend string) { v.fault(Refusal, name, message, mend) }
func (v *validator) warn(name, message, mend string)   { v.fault(Warning, name, message, mend) }

func (v *validator) text(name string, p *string) {
	s := *p
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c >= 0x7f {
			v.oddText(name, s)
			return
		}
	}
	if len(s) > maxText {
		v.refuse(name, fmt.Sprintf("holds %d bytes, more than %d", len(s), maxText), "attach long documents as files")
	}
}

// oddText judges a text that is not plain ASCII.
func (v *validator) oddText(name, s string) {
	if len(s) > maxText {
		v.refuse(name, fmt.Sprintf("holds %d bytes, more than %d", len(s), maxText), "attach long documents as files")
		return
	}
	if !utf8.ValidString(s) {
		v.refuse(name, strconv.QuoteToASCII(clip(s, 40))+" is not valid UTF-8", "read the file in its own encoding")
		return
	}
	misread := false
	for _, r := range s {
		switch {
		case r == '\n' || r == '\r' || r == '\t':
		case r < 0x20 || r == 0x7f:
			v.refuse(name, fmt.Sprintf("%s holds the control character U+%04X", strconv.QuoteToASCII(clip(s, 40)), r), "take it out")
			return
		case r >= 0x80 && r < 0xa0 || r == utf8.RuneError:
			misread = true
		}
	}
	if misread {
		v.warn(name, strconv.QuoteToASCII(clip(s, 40))+" looks as if its file was read in the wrong encoding", "read the file in its own encoding")
	}
}

func (v *validator) word(name string, p *string, list words) {
	if *p == "" || list.has(*p) {
		return
	}
	v.text(name, p)
	v.warn(name, fmt.Sprintf("%q is not one of the words used here", clip(*p, 40)),
		fmt.Sprintf("kept as it came; the words are %v", []string(list)))
}

func (v *validator) flag(string, **bool) {}

func (v *validator) whole(name string, p *int) {
	if *p < 0 {
		v.refuse(name, fmt.Sprintf("is %d, less than none", *p), "give a whole number that is not below 0")
	}
}

func (v *validator) date(name string, p *Date) {
	d := *p
	if d == (Date{}) {
		return
	}
	switch {
	case !d.possible():
		v.refuse(name, fmt.Sprintf("there is no day %04d-%02d-%02d", d.Year, d.Month, d.Day), "write the date as 2004-06-15, or only the year or month that is known")
	case !v.today.IsZero() && !v.planned && v.today.next().Before(d):
		v.refuse(name, d.String()+" is after today, "+v.today.String(), "correct the date")
	case d.Year < v.limits.FirstYear:
		v.warn(name, fmt.Sprintf("%s is before %d", d.String(), v.limits.FirstYear), "check the century")
	}
}

func (v *validator) place(p *Place) {
	if !p.Located {
		v.warn("coordinates_given", "the well has no position", "give longitude and latitude, else it is on no map and in no estimate")
		return
	}
	v.lonLat(p.Lon, p.Lat)
}

func (v *validator) lonLat(lon, lat float64) {
	if math.Abs(lat) <= 90 && math.Abs(lon) <= 180 && (lon != 0 || lat != 0) {
		return
	}
	found := decimals(lon, 6) + ", " + decimals(lat, 6)
	switch {
	case !finite(lon) || !finite(lat):
		v.refuse("lon", "longitude and latitude "+found+" are no numbers", "give both in degrees")
	case math.Abs(lat) > 90 && math.Abs(lat) <= 180 && math.Abs(lon) <= 90:
		v.refuse("lat", "longitude and latitude "+found+" are the wrong way round", "exchange them: a latitude lies within 90 degrees of the equator")
	case math.Abs(lat) > 90 || math.Abs(lon) > 180:
		v.refuse("lon", "longitude and latitude "+found+" are not on the earth", "give both in degrees, WGS 84; metres or feet belong in coordinates_given")
	default:
		v.warn("lon", "longitude and latitude are both 0", "check it: files write 0, 0 where nothing is known")
	}
}
