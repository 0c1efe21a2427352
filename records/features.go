package records

// FeatureCollection is a kind of thing that is given out as flat features: to a
// GIS over the web, or picked by a filter. Its table of fields is the one place
// where they are named: the features, their schema, what may be asked of them
// and the description of the web service are all made from it. How a field is
// read from the file, only the store knows.
//
// To add a field: a line here, and one in the store's own table (a test holds
// the two against each other).
type FeatureCollection struct {
	Name   string // in addresses
	Title  string
	About  string // one sentence
	Fields []FeatureField
	// When is the field that says when a feature came to be: what a time that
	// is asked for is held against.
	When string
	// Restricted collections are for those who may see private things.
	Restricted bool
}

// FeatureField is one property of the features of a collection. Its name bears
// its unit.
type FeatureField struct {
	Name      string
	Type      FieldType
	Unit      string   // the unit's symbol (m, L/s), "" for none
	Words     []string // the words that are usual; nil: any text
	Queryable bool
	Title     string
}

// FieldType is what the values of a field are.
type FieldType uint8

// The types of field.
const (
	FieldText   FieldType = iota
	FieldNumber           // float64
	FieldWhole            // int64
	FieldDate             // text: 2004, 2004-06 or 2004-06-15, as far as known
	FieldTime             // text: 2004-06-15T10:00:00Z
	FieldFlag             // bool
)

// Field finds a field by its name.
func (c *FeatureCollection) Field(name string) (index int, found bool) {
	for i := range c.Fields {
		if c.Fields[i].Name == name {
			return i, true
		}
	}
	return 0, false
}

// FeatureCollectionNamed finds a collection by its name.
func FeatureCollectionNamed(name string) (*FeatureCollection, error) {
	for i := range featureCollections {
		if featureCollections[i].Name == name {
			return &featureCollections[i], nil
		}
	}
	return nil, Errorf(NotFound, "there is no collection %q", clip(name, 40))
}

// FeatureCollections lists the collections in the order in which they are
// shown. They are shared: leave them as they are.
func FeatureCollections() []FeatureCollection { return featureCollections }

// The names of the collections.
const (
	FeaturesWells     = "wells"
	FeaturesStrata    = "strata"
	FeaturesStrikes   = "water-strikes"
	FeaturesPlates    = "plates"
	FeaturesForecasts = "forecasts"
)

var featureCollections = []FeatureCollection{
	{
		Name: FeaturesWells, Title: "Wells", When: "completed",
		About: "One point a well, as recorded, with depth, yield, water level and the driller's depth to bedrock.",
		Fields: join(
			[]FeatureField{
				ask(field("uid", FieldText, "", "Public name of the record")),
				ask(field("number", FieldText, "", "Well number of the office")),
				ask(field("permit_number", FieldText, "", "Permit number")),
				ask(field("status", FieldText, "", "Status", statusWords...)),
				ask(field("purpose", FieldText, "", "Purpose", purposeWords...)),
				ask(field("setting", FieldText, "", "Topographic setting", settingWords...)),
				ask(field("rock_unit", FieldText, "", "Rock unit")),
				ask(field("parcel", FieldText, "", "Parcel")),
				ask(field("completed", FieldDate, "", "Completed on")),
			},
			quantity("total_depth", "m", "m", "Total depth drilled"),
			quantity("depth_to_bedrock", "m", "m", "Depth to bedrock, as the driller stated it"),
			quantity("yield", "lps", "L/s", "Yield"),
			quantity("static_level", "m", "m", "Static water level below ground; negative for a flowing well"),
			[]FeatureField{
				ask(field("casing_depth_m", FieldNumber, "m", "Lowest end of the casing")),
				ask(field("ground_elevation_m", FieldNumber, "m", "Elevation of the ground")),
				ask(field("accuracy_m", FieldNumber, "m", "How far off the position may be")),
				field("located_by", FieldText, "", "How the position was found", locatedWords...),
				ask(doubted()),
				ask(field("own_picks", FieldWhole, "", "How many own picks stand beside the driller's log")),
				ask(field("own_bedrock_set", FieldText, "", "Set that the latest own pick of bedrock belongs to")),
			},
			quantity("own_bedrock", "m", "m", "Depth to bedrock by the latest own pick, whatever the driller wrote")),
	},
	{
		Name: FeaturesStrata, Title: "Strata", When: "completed",
		About: "One point an interval of ground in a log, at its well.",
		Fields: join(ofWell(), []FeatureField{
			ask(field("position", FieldWhole, "", "Place in the log, from 1 downwards")),
			ask(field("top_m", FieldNumber, "m", "Top, below ground")),
			field("top_qualifier", FieldText, "", "How the top is to be read", qualifierNames()...),
			ask(field("bottom_m", FieldNumber, "m", "Bottom, below ground")),
			field("bottom_qualifier", FieldText, "", "How the bottom is to be read", qualifierNames()...),
			ask(field("top_elevation_m", FieldNumber, "m", "Elevation of the top, where that of the ground is on record")),
			ask(field("bottom_elevation_m", FieldNumber, "m", "Elevation of the bottom, where that of the ground is on record")),
			ask(field("description", FieldText, "", "As the driller wrote it")),
			ask(field("material", FieldText, "", "Material, as the description is read")),
			ask(field("class", FieldText, "", "Class of ground", classNames[:]...)),
			ask(doubted()),
		}),
	},
	{
		Name: FeaturesStrikes, Title: "Water strikes", When: "completed",
		About: "One point a depth at which water came, at its well.",
		Fields: join(ofWell(), []FeatureField{
			ask(field("position", FieldWhole, "", "Place in the log, from 1"))},
			quantity("depth", "m", "m", "Depth at which water came"),
			quantity("flow", "lps", "L/s", "Flow: a gain or a running total, as flow_is says"),
			[]FeatureField{
				ask(field("flow_is", FieldText, "", "Whether flows are gains or running totals", strikeWords...)),
				field("note", FieldText, "", "Note"),
				ask(doubted()),
			}),
	},
	{
		Name: FeaturesPlates, Title: "Plates", When: "stamped_date", Restricted: true,
		About: "One point a plate, at its well, or where it was last seen where it is linked to none.",
		Fields: join([]FeatureField{
			ask(field("uid", FieldText, "", "Public name of the plate")),
			ask(field("number", FieldText, "", "Number as stamped; ? for a digit that could not be read")),
			ask(field("authority", FieldText, "", "Authority")),
			ask(field("series", FieldText, "", "Series")),
			ask(field("since", FieldDate, "", "On the well since")),
			ask(field("until", FieldDate, "", "On the well until")),
			ask(field("well_uid", FieldText, "", "Public name of the well that it is linked to")),
			ask(field("well_number", FieldText, "", "Number of that well")),
			ask(field("linked_at", FieldTime, "", "When it was linked")),
			ask(field("stamped_date", FieldDate, "", "Date stamped on it")),
		},
			stamped("total_depth", "m", "m", "Total depth stamped on it"),
			stamped("casing_depth", "m", "m", "Casing depth stamped on it"),
			stamped("yield", "lps", "L/s", "Yield stamped on it"),
			stamped("static_level", "m", "m", "Static level stamped on it"),
		),
	},
	{
		Name: FeaturesForecasts, Title: "Forecasts", When: "kept_at",
		About: "One point a kept forecast, with what was expected: in 1 of 10 cases less than p10, in 5 than p50, in 9 than p90.",
		Fields: join([]FeatureField{
			ask(field("uid", FieldText, "", "Public name of the forecast")),
			ask(field("kept_at", FieldTime, "", "When it was kept")),
			ask(field("data_commit", FieldWhole, "", "State of the records that it was made from")),
			ask(field("well_uid", FieldText, "", "Public name of the well that shows the outcome")),
			ask(field("withdrawn", FieldFlag, "", "Whether it was withdrawn")),
		},
			expected("depth_to_bedrock", "m", "m", "Depth to bedrock"),
			expected("total_depth", "m", "m", "Total depth"),
			expected("yield", "lps", "L/s", "Yield"),
		),
	},
}

func field(name string, t FieldType, unit, title string, words ...string) FeatureField {
	return FeatureField{Name: name, Type: t, Unit: unit, Title: title, Words: words}
}

func ask(f FeatureField) FeatureField {
	f.Queryable = true
	return f
}

// quantity is a value with what stands beside it: how it is to be read, its
// upper end where it lies between two, and the text and unit that it was given
// in where those were others.
func quantity(base, suffix, unit, title string) []FeatureField {
	return []FeatureField{
		ask(field(base+"_"+suffix, FieldNumber, unit, title)),
		ask(field(base+"_qualifier", FieldText, "", title+": how it is to be read", qualifierNames()...)),
		field(base+"_high_"+suffix, FieldNumber, unit, title+": the upper end, where it lies between two"),
		field(base+"_as_written", FieldText, "", title+": as written, where that was in other words or units"),
	}
}

// doubted tells what of a log somebody marked as not to be relied on: who takes
// its numbers must see that.
func doubted() FeatureField {
	return field("marked_unreliable", FieldText, "", "What of the log is marked unreliable (all, strata, yield, position), parted by commas")
}

// stamped is a value on a plate.
func stamped(base, suffix, unit, title string) []FeatureField {
	return []FeatureField{
		ask(field("stamped_"+base+"_"+suffix, FieldNumber, unit, title)),
		field("stamped_"+base+"_qualifier", FieldText, "", title+": how it is to be read", qualifierNames()...),
	}
}

// expected is what a forecast says of a quantity, read from its document.
func expected(base, suffix, unit, title string) []FeatureField {
	return []FeatureField{
		field(base+"_p10_"+suffix, FieldNumber, unit, title+": less than this in 1 of 10 cases"),
		field(base+"_p50_"+suffix, FieldNumber, unit, title+": less than this in 5 of 10 cases"),
		field(base+"_p90_"+suffix, FieldNumber, unit, title+": less than this in 9 of 10 cases"),
	}
}

// ofWell are the fields by which a part of a log tells its well.
func ofWell() []FeatureField {
	return []FeatureField{
		ask(field("well_uid", FieldText, "", "Public name of the well")),
		ask(field("well_number", FieldText, "", "Well number of the office")),
		ask(field("completed", FieldDate, "", "When the well was completed")),
	}
}

func qualifierNames() []string { return qualifierWords[Exact:] }

func join(lists ...[]FeatureField) (out []FeatureField) {
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}
