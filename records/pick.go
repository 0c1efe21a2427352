package records

// Pick is one derived depth with how it came about. It is never stored as if
// somebody had observed it.
type Pick struct {
	Depth  Amount[Depth] // Missing where nothing can be said
	Source PickSource
	Why    string // one sentence for a person
}

// PickSource says what a pick stands on.
type PickSource uint8

// What a pick may stand on.
const (
	FromNothing PickSource = iota
	FromStrata
	FromStated
	FromSeat
	FromOwnPick // of a consultant, see Trust
)

var pickSourceWords = [...]string{"nothing", "strata", "stated", "casing_seat", "own_pick"}

// String gives the source's word.
func (s PickSource) String() string {
	if int(s) < len(pickSourceWords) {
		return pickSourceWords[s]
	}
	return pickSourceWords[FromNothing]
}

// Picks are everything derived from one record.
type Picks struct {
	FirstRock Pick // top of the first interval classed rock
	Bedrock   Pick // the depth to sound bedrock that estimates use
	// What each source says on its own, kept and shown where they disagree.
	ByStrata, ByStated, BySeat Pick
	Disagree                   bool
}

// Ground is what a stratum was read as.
type Ground struct {
	Material string // code of the vocabulary; "unknown" where not understood
	Class    Class
	Index    uint8 // small number of the material, for sets of materials met
}

// Reader reads the ground of a stratum: from its Material where one is
// recorded, else from its Description. records/lithology provides it.
type Reader interface {
	Ground(s *Stratum) Ground
	// Version names the vocabulary's content; derived values are stamped
	// with it.
	Version() string
}
