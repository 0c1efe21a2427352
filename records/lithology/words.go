package lithology

// wordList gives one meaning to a list of words or phrases.
type wordList struct {
	kind  Kind
	value uint8 // the constant of the kind's own type, where it has one
	means string
	words []string
}

// defaultWords is the table of everything that is not the name of a ground.
// Written like the words of vocabulary.go. All of it is common practice among
// drillers and loggers, no source, but for the weathering terms: those are the
// six terms of the ISRM table, with the abbreviations FR, SW, DW, XW of
// AS 1726:1993 left to an office to add (SW and DW mean other things too).
func defaultWords() []wordList {
	return []wordList{
		{KindColour, uint8(Black), "black", list("black", "blackish", "coal black", "jet black", "charcoal")},
		{KindColour, uint8(Gray), "gray", list("gray", "grey", "grayish", "greyish", "slate gray", "slate grey", "slate colored", "lead colored", "salt and pepper", "silver")},
		{KindColour, uint8(White), "white", list("white", "whitish", "off white", "cream", "creamy", "milky", "ivory")},
		{KindColour, uint8(Brown), "brown", list("brown", "brownish", "chocolate", "coffee colored")},
		{KindColour, uint8(Tan), "tan", list("tan", "buff", "beige", "sand colored", "fawn")},
		{KindColour, uint8(Yellow), "yellow", list("yellow", "yellowish", "gold", "golden", "mustard")},
		{KindColour, uint8(Orange), "orange", list("orange", "orangish")},
		{KindColour, uint8(Rust), "rust", list("rust", "rusty", "rust colored", "iron stained", "iron stain", "rust stained", "rusty stained", "iron stains", "rust stains")},
		{KindColour, uint8(Red), "red", list("red", "reddish", "maroon", "brick red", "brick colored")},
		{KindColour, uint8(Pink), "pink", list("pink", "pinkish", "salmon", "rose")},
		{KindColour, uint8(Purple), "purple", list("purple", "purplish", "lavender", "violet")},
		{KindColour, uint8(Blue), "blue", list("blue", "bluish", "blueish", "slate blue")},
		{KindColour, uint8(Green), "green", list("green", "greenish", "olive", "lime green")},
		{KindColour, uint8(Mottled), "mottled", list("mottled", "multicolored", "multi colored", "varicolored", "speckled", "variegated", "mixed color", "mixed colors")},
		{KindShade, uint8(Light), "light", list("light", "pale")},
		{KindShade, uint8(Dark), "dark", list("dark", "deep")},

		{KindHardness, uint8(VerySoft), "very soft", list("mushy", "soupy", "runny")},
		{KindHardness, uint8(Soft), "soft", list("soft", "loose", "easy drilling", "friable", "crumbly", "softer")},
		{KindHardness, uint8(MediumHard), "medium hard", list("medium hard", "medium hardness", "medium soft", "semi hard", "moderately hard", "fairly hard", "firm", "semi firm", "medium dense", "medium stiff")},
		{KindHardness, uint8(Hard), "hard", list("hard", "stiff", "dense", "tight", "tough", "compact", "compacted", "packed", "hard packed", "hard drilling", "harder", "indurated")},

		{KindDegree, uint8(SlightlyWeathered), "slightly", list("slightly", "partly", "partially", "faintly", "somewhat")},
		{KindDegree, uint8(ModeratelyWeathered), "moderately", list("moderately", "medium well", "fairly")},
		{KindDegree, uint8(HighlyWeathered), "highly", list("very", "highly", "heavily", "badly", "well", "strongly", "extra")},
		{KindDegree, uint8(CompletelyWeathered), "completely", list("completely", "totally", "fully", "extremely", "entirely")},
		{KindWeathering, uint8(WeatheredUnstated), "weathered", list("weathered", "weathers", "altered")},
		{KindWeathering, uint8(CompletelyWeathered), "decomposed", list("rotten", "rotted", "decomposed", "disintegrated", "decayed", "punky")},
		{KindWeathering, uint8(ResidualSoil), "residual", list("residual")},
		{KindWeathering, uint8(Fresh), "fresh", list("fresh", "unweathered", "unaltered", "non weathered", "un weathered")},

		{KindWater, uint8(WaterBearing), "water", list("water", "water bearing", "waterbearing", "wet", "saturated", "gpm", "artesian", "flowing", "seep", "seepage", "trickle", "spring", "aquifer", "makes water", "water vein", "vein of water", "salt water", "saltwater", "good water", "water strike", "water zone", "with water", "some water", "little water", "trace water", "little wet")},
		{KindWater, uint8(WaterDamp), "damp", list("damp", "moist")},
		{KindWater, uint8(WaterNone), "dry", list("dry", "bone dry", "no water", "without water", "water none", "water nil", "no sign of water", "no water found", "no water met", "non water bearing", "not water bearing")},

		{KindSize, sizeFine, "fine", list("fine", "very fine", "finer", "fine grained", "very fine grained", "fine gr")},
		{KindSize, sizeMedium, "medium", list("medium", "medium grained", "medium gr")},
		{KindSize, sizeCoarse, "coarse", list("coarse", "very coarse", "coarser", "coarse grained", "very coarse grained", "coarse gr")},

		{KindFracture, 0, "broken", list("broken", "fractured", "fracture", "fissured", "fissure", "cracked", "crack", "jointed", "joint", "shattered", "seamy", "broken up", "fault", "faulted", "fractured zone", "fracture zone", "broken zone", "brittle")},
		{KindFracture, 1, "crushed", list("crushed")},
		{KindCemented, 0, "cemented", list("cemented", "cement", "concreted")},
		{KindLoose, 0, "loose pieces", list("fragment", "piece", "chip", "bit of", "bits", "chunk", "cutting", "slab", "float of", "spall")},

		{KindSecondary, 0, "with", list("with", "some", "trace", "trace of", "traces of", "little", "a little", "few", "a few", "occasional", "scattered", "containing", "contains", "mixed with", "interbedded with", "intermixed with", "streaks of", "streak of", "streaked with", "layers of", "layer of", "seams of", "lenses of", "lens of", "bands of", "veins of", "stringers of", "plus", "lots of", "lot of", "pockets of", "beds of", "bits of", "pieces of", "minor", "including", "rare", "numerous", "many", "several", "small amount of")},
		{KindMajor, 0, "mostly", list("mostly", "mainly", "predominantly", "primarily", "chiefly", "largely", "principally")},
		{kindAnd, 0, "and", list("and", "or", "then", "alternating with", "alternating", "interbedded", "followed by")},
		{kindIn, 0, "in", list("in", "within", "throughout")},
		{kindTo, 0, "to", list("to", "on", "onto", "on to", "above", "over", "overlying", "into", "top of", "at top of", "on top of", "down to", "until", "hit", "before", "near")},
		{kindBut, 0, "but", list("but", "only", "just", "except")},

		{KindNegation, 0, "no", list("no", "without", "none", "never", "nil", "absent", "neither", "nor", "free of", "lack of", "lacking")},
		{KindNot, 0, "not", list("not", "non", "isnt", "wasnt", "not a", "is not", "was not", "did not hit", "did not reach", "didnt hit", "didnt reach", "not yet", "didnt find", "did not find", "did not encounter", "no sign of", "never hit", "never reached")},
		{KindNot, afterwards, "not", list("not hit", "not reached", "not found", "not encountered", "not met", "not struck", "not seen", "not present", "was not reached", "was not hit")},
		{KindDoubt, 0, "doubt", list("possible", "possibly", "probable", "probably", "maybe", "may be", "perhaps", "apparent", "apparently", "appears", "appears to be", "looks like", "could be", "might be", "not sure", "questionable", "suspected", "believed", "assumed", "unsure", "seems", "almost")},

		{KindAmbiguous, 0, "gravel, gray, green, granite or grain", list("gr")},
		{KindAmbiguous, 0, "blue or black", list("bl")},
		{KindAmbiguous, 0, "brown or broken", list("br")},
		{KindAmbiguous, 0, "gneiss or green", list("gn")},
		{KindAmbiguous, 0, "loose stone or rock", list("stone")},
		{KindAmbiguous, 0, "sand of granite, loose or cemented", list("granite wash")},
		{KindAmbiguous, 0, "decomposed granite or dark gray", list("dg")},

		{KindNotLogged, 0, "not logged", list("no recovery", "no sample", "no samples", "no returns", "no return", "lost circulation", "not logged", "no log", "no record", "unknown", "not recorded", "unlogged", "no data", "missing", "not known", "na", "not available", "not reported", "not described", "no description", "existing well", "old well", "existing hole", "previously drilled", "undifferentiated")},
		{KindAsAbove, 0, "as above", list("same", "same as above", "as above", "ditto", "same material", "same formation")},

		{kindForm, 0, "seam", list("seam", "vein", "layer", "streak", "lens", "band", "zone", "bed", "stringer", "pocket", "dike", "dyke", "ledge of")},
		{kindFormPlural, 0, "seams", list("seams", "veins", "layers", "streaks", "lenses", "bands", "zones", "beds", "stringers", "pockets", "dikes", "dykes", "breaks", "interbeds")},
		{kindFiller, 0, "", list("of", "the", "a", "an", "mix", "mixed", "mixture", "material", "formation", "ground", "type", "color", "colour", "colored", "grained", "grain", "is", "was", "very hard to drill", "by", "at", "for", "from", "as", "ft", "feet", "foot", "inch", "in diameter", "diameter", "small", "large", "big", "thin", "bedded", "sharp", "clean", "dirty", "sticky", "smooth", "rounded", "angular", "good", "nice", "solid", "sound", "competent", "massive", "mica", "micaceous", "hornblende", "feldspar", "biotite", "garnet", "pyrite", "iron", "quartzose", "clear", "glacial", "volcanic", "crystalline", "more", "less", "all", "drilled", "drilling", "lower", "upper", "cloudy", "vein like", "strip", "filled", "bearing", "open", "vesicular", "flow", "binder", "matrix")},
	}
}

// afterwards marks a negation that may follow its noun: 'bedrock not reached'.
const afterwards uint8 = 1

// The grain sizes a driller names, as bits so that a range can be told.
const (
	sizeFine uint8 = 1 << iota
	sizeMedium
	sizeCoarse
)
