package lithology

import (
	"strings"

	"tallybook/records"
)

// Reading is what the reader understood of one description. The zero value is
// not a reading; Vocabulary.Read of an empty text gives Unknown.
//
// A reading may be shared (a Reader keeps them), so its slices must not be
// changed.
type Reading struct {
	// Text is the description as it was given.
	Text string
	// Material is the code of the ground, or Unknown.
	Material string
	// Class is the class of the ground. It is the material's own class but
	// where the words say otherwise: 'ledge, not bedrock' is of unknown class.
	Class records.Class
	// Secondary lists the codes of what else is in the ground, in the order
	// met, without Material.
	Secondary []string
	// Materials has the bit of each material met, main and secondary, by
	// Vocabulary.Index. The bit of Unknown is set only when nothing was met.
	Materials uint64

	Colours    ColourSet  // all colours named, 0 when none
	Shade      Shade      // light or dark, when said
	Munsell    string     // colour in Munsell notation, as written; "" when none
	Hardness   Hardness   // as said of the ground
	Weathering Weathering // as said of the main ground
	Water      Water      // what is said of water
	Fractured  bool       // broken, fractured, seamy

	// Doubts says why the reading should be looked at; 0 when there is no reason.
	Doubts Doubt
	// AsAbove is true when the text refers to the stratum above ("same").
	AsAbove bool
	// NotLogged is true when the text says that nothing was seen.
	NotLogged bool

	// Words are the spans that decided, in order, not overlapping.
	Words []Word
	// Unread is the number of words that are not in the vocabulary.
	Unread int
}

// Word is a span of the text and what it was taken to mean.
type Word struct {
	Start, End int    // byte offsets into Reading.Text, End exclusive
	Kind       Kind   // what it contributed
	Means      string // the material's code, or the plain word
	Negated    bool   // it was said not to be so
}

// Doubt is a set of reasons for looking at a reading before trusting it.
type Doubt uint8

// The reasons.
const (
	DoubtStated    Doubt = 1 << iota // the writer doubted: "rock?", "possible ledge"
	DoubtMixed                       // names both loose ground and rock as equals
	DoubtLoose                       // names pieces of rock, which may or may not be rock in place
	DoubtNegated                     // names rock and says that it is not bedrock
	DoubtTruncated                   // the text is longer than what is read
	DoubtAmbiguous                   // an abbreviation could mean several grounds
)

var doubtTexts = [...]string{
	"the writer was not sure",
	"both loose ground and rock are named, so the class is that of the first",
	"loose pieces are named, so it is not known whether the rock is in place",
	"it is said not to be bedrock, so the class is left open",
	"the text is very long and only its beginning was read",
	"an abbreviation could mean more than one thing",
}

// Uncertain reports whether there is any reason for doubt.
func (r Reading) Uncertain() bool { return r.Doubts != 0 }

// WaterBearing reports whether the words say that the ground bears water.
func (r Reading) WaterBearing() bool { return r.Water == WaterBearing }

// Has reports whether the reason d is in the set.
func (d Doubt) Has(x Doubt) bool { return d&x != 0 }

// Explain says in plain words how the text was read.
func (r Reading) Explain() string {
	var b strings.Builder
	if r.Material == Unknown {
		b.WriteString("Not understood as any ground")
	} else {
		b.WriteString("Read as " + spoken(r.Material))
		for i, s := range r.Secondary {
			b.WriteString([]string{" with ", ", "}[min(i, 1)] + spoken(s))
		}
	}
	b.WriteString("; class " + r.Class.String() + ".")
	for _, w := range r.Words {
		b.WriteString(" “" + r.Text[w.Start:w.End] + "” " + w.explain() + ".")
	}
	for i, t := range doubtTexts {
		if r.Doubts.Has(1 << i) {
			b.WriteString(" To be looked at: " + t + ".")
		}
	}
	if r.Unread == 1 {
		b.WriteString(" One word was not understood.")
	} else if r.Unread > 1 {
		b.WriteString(" Some words were not understood.")
	}
	return b.String()
}

func (w Word) explain() string {
	not := ""
	if w.Negated {
		not = "not "
	}
	switch w.Kind {
	case KindMaterial:
		if w.Negated {
			return "is said not to be there (" + spoken(w.Means) + ")"
		}
		return "names " + spoken(w.Means)
	case KindAdjective:
		if w.Negated {
			return "does not add " + spoken(w.Means)
		}
		return "adds some " + spoken(w.Means)
	case KindAmbiguous:
		return "could mean " + w.Means + ", so it was left alone"
	case KindSecondary:
		return "makes what follows the lesser part"
	case KindMajor:
		return "makes what follows the greater part"
	case KindNegation, KindNot:
		return "says no to what follows"
	case KindDoubt:
		return "is a doubt"
	case KindNotLogged:
		return "says that the ground was not seen"
	case KindAsAbove:
		return "refers to the stratum above"
	case KindLoose:
		return "means loose pieces"
	default:
		return "is " + w.Kind.String() + " (" + not + w.Means + ")"
	}
}

// spoken turns a code into words: sand_gravel is spoken as 'sand gravel'.
func spoken(code string) string { return strings.ReplaceAll(code, "_", " ") }
