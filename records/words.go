package records

// The closed vocabularies of a record. A word outside its list is kept as it
// came and warned about, never dropped: other offices use other words.
var (
	statusWords    = words{"planned", "drilling", "in_use", "unused", "decommissioned"}
	purposeWords   = words{"domestic", "stock", "irrigation", "public_supply", "commercial", "industrial", "geothermal", "monitoring", "dewatering", "injection", "test", "fire", "none", "unknown"}
	settingWords   = words{"hilltop", "slope", "draw", "valley", "flat"}
	stopWords      = words{"enough_water", "depth", "money", "tools", "ground", "dry", "unknown"}
	workWords      = words{"drill", "redrill", "deepen", "hydrofracture", "rehabilitate", "decommission"}
	drillWords     = words{"air_rotary", "air_hammer", "mud_rotary", "cable_tool", "auger", "driven", "dug", "jetted", "sonic", "core", "unknown"}
	casingWords    = words{"steel", "stainless", "pvc", "fiberglass", "concrete", "tile", "stone", "unknown"}
	groutWords     = words{"neat_cement", "cement_bentonite", "bentonite_slurry", "bentonite_chips", "concrete", "cuttings", "none", "unknown"}
	strikeWords    = words{"gain", "running_total"}
	yieldWords     = words{"airlift", "bailer", "bucket", "pump", "weir", "orifice", "meter", "recovery", "estimate", "unknown"}
	treatmentWords = words{"hydrofracture", "development", "disinfection"}
	locatedWords   = words{"survey", "gps", "map", "address", "centroid", "grid", "unknown"}
	sourceWords    = words{"own_log", "plate_only", "batch", "demo"}
)

type words []string

func (ws words) has(s string) bool {
	for _, w := range ws {
		if w == s {
			return true
		}
	}
	return false
}

// StatusWords lists what a well's status may be.
func StatusWords() []string { return append([]string(nil), statusWords...) }

// PurposeWords lists what a well may be for.
func PurposeWords() []string { return append([]string(nil), purposeWords...) }

// SettingWords lists the topographic settings.
func SettingWords() []string { return append([]string(nil), settingWords...) }

// StopWords lists the reasons why drilling stops.
func StopWords() []string { return append([]string(nil), stopWords...) }

// WorkWords lists the kinds of work done to a hole.
func WorkWords() []string { return append([]string(nil), workWords...) }

// DrillWords lists the drilling methods.
func DrillWords() []string { return append([]string(nil), drillWords...) }

// CasingWords lists the casing materials.
func CasingWords() []string { return append([]string(nil), casingWords...) }

// GroutWords lists the grout materials.
func GroutWords() []string { return append([]string(nil), groutWords...) }

// StrikeWords lists how the flows of strikes are to be read.
func StrikeWords() []string { return append([]string(nil), strikeWords...) }

// YieldMethodWords lists how a yield may have been measured.
func YieldMethodWords() []string { return append([]string(nil), yieldWords...) }

// TreatmentWords lists the kinds of treatment.
func TreatmentWords() []string { return append([]string(nil), treatmentWords...) }

// LocatedWords lists how a position may have been found.
func LocatedWords() []string { return append([]string(nil), locatedWords...) }

// SourceWords lists where a record may come from.
func SourceWords() []string { return append([]string(nil), sourceWords...) }
