package records

import (
	"math"
	"strconv"
)

// Sighting is evidence that is no hole: a ledge in a road cut, a pit that met
// refusal or went eight feet without, a dry hole by hearsay. It enters the
// same estimates as wells do, with the accuracy of its position, and is
// counted nowhere as a well.
type Sighting struct {
	ID       int64  // key inside this database; 0 before the first write
	Revision int64  // counts this sighting's writes, from 1
	UID      string // the public name (a UUID)

	Kind string // see SightingWords

	Located  bool    // whether Lon and Lat hold a position
	Lon, Lat float64 // degrees, WGS 84
	Given    string  // the coordinates as given, in any form
	Datum    string  // the datum they were given in
	Method   string  // how located, see LocatedWords
	Accuracy Amount[Length]

	// Depth is how deep one looked, from ground: to the ledge in the cut, to
	// where the pit met refusal or was given up, to the bottom of the dry hole.
	Depth   Amount[Depth]
	Bedrock Amount[Depth] // depth to bedrock, where it was stated by itself
	Yield   Amount[Flow]  // where it was stated

	Date Date
	By   string // who saw it or told of it; private
	Note string

	Extra []Member // properties that the model has no place for
}

func (s *Sighting) kept() *[]Member { return &s.Extra }

// The kinds of sighting, each with what it says where nothing more is stated.
const (
	SawLedge     = "ledge"      // bedrock at the surface, or at Depth in a cut
	SawRefusal   = "refusal"    // a pit or probe met refusal at Depth: bedrock about there
	SawNoRefusal = "no_refusal" // a pit or probe went to Depth without: bedrock is deeper
	SawDryHole   = "dry_hole"   // a hole without water, by hearsay: yield about zero
	SawOther     = "other"      // what is stated, and nothing else
)

var sightingWords = words{SawLedge, SawRefusal, SawNoRefusal, SawDryHole, SawOther}

// SightingWords lists the kinds of sighting.
func SightingWords() []string { return append([]string(nil), sightingWords...) }

// visit names the sighting's properties.
func (s *Sighting) visit(f fields) {
	f.text("uid", &s.UID)
	f.text("kind", &s.Kind) // judged by sighting: the list is closed
	f.position(&s.Located, &s.Lon, &s.Lat)
	f.text("coordinates_given", &s.Given)
	f.text("datum", &s.Datum)
	f.word("located_by", &s.Method, locatedWords)
	f.amount(fAccuracy, &s.Accuracy)
	f.amount(fDepth, &s.Depth)
	f.amount(fBedrock, &s.Bedrock)
	f.amount(fYield, &s.Yield)
	f.date("date", &s.Date)
	f.private("seen", (*sightingWitness)(s))
	f.text("note", &s.Note)
}

// sightingWitness is the private part of a Sighting.
type sightingWitness Sighting

func (s *sightingWitness) visit(f fields) { f.text("by", &s.By) }

// AppendSighting appends a sighting's properties to dst as one JSON object.
func (s *Sighting) AppendSighting(dst []byte, o WriteOptions) []byte {
	e := encoder{b: append(dst, '{'), withPrivate: o.Private}
	e.part(s)
	return append(e.b, '}')
}

// ParseSighting reads a sighting's properties from a JSON object, as
// ParseProperties does a well's.
func (s *Sighting) ParseSighting(raw []byte) []Fault {
	return parseObject(string(raw), s, &s.Extra, "sighting")
}

// Evidence is what the sighting says of depth to bedrock and of yield: what
// was stated by itself, else what its kind says. Missing where it says
// nothing. That a refusal may be a boulder is why it is 'about'.
func (s *Sighting) Evidence() (bedrock Amount[Depth], yield Amount[Flow]) {
	switch s.Kind {
	case SawLedge:
		switch {
		case s.Bedrock.Known():
			bedrock = s.Bedrock
		case s.Depth.Known():
			bedrock = s.Depth
		default:
			bedrock = Of(Depth(0))
		}
	case SawRefusal:
		if bedrock = s.Bedrock; !bedrock.Known() {
			if bedrock = s.Depth; bedrock.Qualifier == Exact {
				bedrock.Qualifier = About
			}
		}
	case SawNoRefusal:
		if bedrock = s.Bedrock; !bedrock.Known() {
			if d, ok := s.Depth.Number(); ok {
				bedrock = MoreThan(d)
			}
		}
	case SawDryHole:
		bedrock = s.Bedrock
		if yield = s.Yield; !yield.Known() {
			yield = Roughly(Flow(0))
		}
	default:
		bedrock, yield = s.Bedrock, s.Yield
	}
	return bedrock, yield
}

// Digest is what estimates need of the sighting. Its ID is the sighting's key
// below zero, so that it is never taken for a well's.
func (s *Sighting) Digest() Digest {
	bedrock, yield := s.Evidence()
	d := Digest{
		ID: -s.ID, Revision: s.Revision, Key: KeyOf(s.UID),
		Lon: math.NaN(), Lat: math.NaN(), AccuracyM: accuracyOf(s.Accuracy),
		Bedrock: digestValue(bedrock), Yield: digestValue(yield),
		FirstRockM: NaN32(), CasingM: NaN32(), StaticM: NaN32(), GroundM: NaN32(),
		StrikesM: [3]float32{NaN32(), NaN32(), NaN32()},
		Year:     float32(s.Date.DecimalYear()),
	}
	if s.Located {
		d.Lon, d.Lat = s.Lon, s.Lat
	}
	return d
}

// Validate tells every fault of the sighting, as Well.Validate does. It is
// stricter where a well's record is only doubtful: evidence without a place or
// a known kind is none.
func (s *Sighting) Validate(o ValidateOptions) []Fault {
	v := validator{today: o.Today, limits: DefaultLimits()}
	if o.Limits != nil {
		v.limits = *o.Limits
	}
	s.visit(&v)
	v.sighting(s)
	return v.faults
}

// sighting judges what the values of a sighting say of one another.
func (v *validator) sighting(s *Sighting) {
	if !s.Located {
		v.refuse("lon", "the sighting has no position", "give longitude and latitude: without them it is evidence of nothing")
	}
	if !sightingWords.has(s.Kind) {
		v.refuse("kind", "is "+strconv.Quote(clip(s.Kind, 40))+", which says nothing of the ground", "choose one of ledge, refusal, no_refusal, dry_hole and other")
	}
	if s.Depth.Known() && s.Depth.Value < 0 {
		v.refuse("depth_m", metres(s.Depth.Value)+" is above ground", "give the depth down from ground")
	}
	switch s.Kind {
	case SawLedge:
		v.rockSeen(s)
	case SawRefusal:
		if !s.Depth.Known() && !s.Bedrock.Known() {
			v.refuse("depth_m", "the depth of the refusal is missing", "give the depth at which the pit or probe met it")
		}
		v.rockSeen(s)
	case SawNoRefusal:
		if _, ok := s.Depth.Number(); !ok {
			v.refuse("depth_m", "the depth that was reached without refusal is missing", "give the depth at which the pit or probe ended, as a number")
		}
		if q := s.Bedrock.Qualifier; q != Missing && q != GreaterThan {
			v.refuse("depth_to_bedrock_m", inWords(s.Bedrock)+" is stated, but no refusal was met", "leave it out: bedrock is deeper than the pit; or choose the kind refusal")
		}
	case SawDryHole:
		if y := s.Yield; y.Known() && y.Qualifier != LessThan && y.Value > 0 {
			v.refuse("yield_lps", decimals(float64(y.Value), 3)+" L/s is no dry hole", "leave the yield out, say 'less than', or choose the kind other")
		}
	case SawOther:
		if !s.Bedrock.Known() && !s.Yield.Known() {
			v.warn("kind", "says nothing of bedrock or yield", "kept, and used in no estimate; state what was seen if it is known")
		}
	}
	if s.Yield.Known() && s.Kind != SawDryHole && s.Kind != SawOther {
		v.warn("yield_lps", "a yield is stated of what is no hole", "kept and not used; choose the kind dry_hole or other if there was a hole")
	}
}

// rockSeen judges a kind by which rock was seen or struck.
func (v *validator) rockSeen(s *Sighting) {
	const mend = "give the depth of the rock that was met; if none was, choose the kind no_refusal"
	if s.Bedrock.Qualifier == GreaterThan {
		v.refuse("depth_to_bedrock_m", inWords(s.Bedrock)+" says that no rock was met", mend)
	}
	if s.Depth.Qualifier == GreaterThan && !s.Bedrock.Known() {
		v.refuse("depth_m", inWords(s.Depth)+" says that no rock was met", mend)
	}
}

// DiffSightings tells what changed between two states of a sighting.
func DiffSightings(a, b *Sighting) []Change { return diffParts(a, b) }

// diffParts compares two records that keep what the model has no place for; a
// nil one is empty.
func diffParts[T any, P interface {
	*T
	visitable
}](a, b P) []Change {
	nodes := func(p P) []node {
		if p == nil {
			p = new(T)
		}
		n := noder{}
		n.part(p)
		return n.out
	}
	return diffNodes(nil, "", nodes(a), nodes(b))
}
