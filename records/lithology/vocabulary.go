package lithology

import "tallybook/records"

// Reasons for a material without a pattern number, shown in the legend.
const (
	noneInStandard = "FGDC-STD-013-2006 has no pattern for this ground; ours, defined by this project"
	noneForWords   = "the words do not say which ground, so no pattern of FGDC-STD-013-2006 applies; ours, defined by this project"
	noneForVoid    = "not a material: FGDC-STD-013-2006 has no pattern for an opening; ours, defined by this project"
)

const (
	soil       = records.ClassSoil
	transition = records.ClassTransition
	rock       = records.ClassRock
	void       = records.ClassVoid
)

// defaultEntries is the vocabulary: this is the table to add to. The order is
// the order of the legend (loose ground, ground between, openings, rock) and
// fixes each material's index, so new materials go at the end.
//
// Words are plain: lower case, no punctuation, '&' written 'and', hyphens
// written as spaces. A plural s need not be listed. Abbreviations and common
// misspellings of single words are in words.go. The longest phrase that fits
// wins, so 'sand rock' here overrides 'sand' followed by 'rock'.
//
// Which words mean which ground is common practice among drillers, no source.
// Pattern numbers are those of FGDC-STD-013-2006, section 37.
func defaultEntries() []Entry {
	return []Entry{
		{dark(m(Unknown, "Not known", records.ClassUnknown, 0, noneForWords, "#efebe2"), "#2b2925"), nil, nil},

		// Loose ground.
		{m("overburden", "Overburden, kind not stated", soil, 0, noneForWords, "#dfd3ba"), list("overburden", "o b", "soil", "dirt", "earth", "subsoil", "sub soil", "surface soil", "surface material", "drift", "glacial drift", "glacial outwash", "outwash", "alluvium", "valley fill", "colluvium", "slope wash", "slopewash", "residuum", "residual soil", "unconsolidated", "mud"), list("earthy", "alluvial", "colluvial", "muddy")},
		{m("topsoil", "Topsoil, loam", soil, 0, noneInStandard, "#c9b593"), list("topsoil", "top soil", "loam", "black dirt", "black soil", "sod", "humus", "turf", "garden soil", "clay loam", "sandy loam", "silt loam", "silty loam", "sand loam"), list("loamy", "organic")},
		{m("fill", "Fill, made ground", soil, 0, noneInStandard, "#d6cec3"), list("fill", "fill dirt", "filled ground", "made ground", "made land", "backfill", "back fill", "trash", "refuse", "spoil", "mine spoil", "tailings", "mine tailings", "rock fill", "gravel fill", "sand fill", "clay fill", "shot rock fill", "concrete", "asphalt", "blacktop", "black top", "brick", "cinder fill", "debris", "slag", "road base"), nil},
		{m("peat", "Peat, muck", soil, 657, "", "#b8a385"), list("peat", "muck", "bog", "swamp", "peat moss", "swamp muck", "marsh"), list("peaty", "mucky")},
		{m("clay", "Clay", soil, 620, "", "#cdbfa3"), list("clay", "gumbo", "adobe", "kaolin", "pipe clay", "potters clay", "pottery clay", "joint clay", "brick clay", "fat clay", "lean clay", "ball clay"), list("clayey", "clayish", "argillaceous")},
		{m("silt", "Silt", soil, 616, "", "#dccdae"), list("silt", "rock flour", "bull liver"), list("silty")},
		{m("sand", "Sand", soil, 607, "", "#f1e3b6"), list("sand", "beach sand", "river sand", "quicksand", "quick sand", "running sand", "heaving sand", "greensand", "green sand", "dune sand", "pack sand", "packsand", "fine to coarse sand", "medium sand", "fine to medium sand", "medium to coarse sand"), list("sandy")},
		{m("sand_fine", "Fine sand", soil, 607, "", "#f4e9c6"), list("sugar sand", "blow sand", "flour sand"), nil},
		{m("sand_coarse", "Coarse sand", soil, 607, "", "#ecd9a2"), list("pea sand", "grit", "torpedo sand"), list("gritty")},
		{m("sand_gravel", "Sand and gravel", soil, 602, "", "#ead9ab"), list("sand and gravel", "gravel and sand", "sand gravel", "gravel sand", "sand and gr", "s and g", "sg", "sandgravel", "bank run", "bank run gravel", "pit run", "sand and pebble", "sand and stone"), nil},
		{m("gravel", "Gravel", soil, 601, "", "#e2d2ac"), list("gravel", "pea gravel", "pea stone", "peastone", "pebble", "granule", "bank gravel", "river gravel", "wash gravel"), list("gravelly", "pebbly")},
		{m("cobbles", "Cobbles, stones", soil, 0, noneInStandard, "#dccbab"), list("cobble", "cobblestone", "cobble stone", "cobble rock", "cobble and gravel", "rocks", "stones", "river rock", "creek rock", "field stone", "fieldstone", "hardhead", "hard head", "talus", "scree", "loose rock", "loose stone", "rubble"), list("cobbly", "stony", "rocky")},
		{m("boulders", "Boulders", soil, 0, noneInStandard, "#d8c9b0"), list("boulder", "boulder rock", "rock boulder", "nested boulder", "float", "float rock", "large rocks", "big rocks", "large stones", "big stones", "large stone", "big stone"), list("bouldery")},
		{m("till", "Till, hardpan", soil, 681, "", "#dcd0b4"), list("till", "hardpan", "hard pan", "boulder clay", "glacial till", "basal till", "ablation till", "glacial clay", "diamicton", "diamict", "stony clay", "clay hardpan", "hardpan clay", "hardpan till", "till hardpan", "lodgement till"), nil},
		{m("loess", "Loess", soil, 684, "", "#ead7a8"), list("loess", "bluff silt"), nil},
		{m("marl", "Marl", soil, 623, "", "#d9d4b8"), list("marl", "shell marl", "clay marl"), list("marly")},
		{m("shells", "Shells", soil, 0, noneInStandard, "#e9dec8"), list("shell", "sea shell", "seashell", "oyster shell", "shell hash", "shell bed", "clam shell"), list("shelly")},
		{m("bentonite", "Bentonite", soil, 662, "", "#cfc8b0"), list("bentonite", "bentonite clay"), list("bentonitic")},
		{m("ash", "Volcanic ash, cinders", soil, 0, noneInStandard, "#d9d2cb"), list("ash", "volcanic ash", "cinder", "pumice", "volcanic cinder", "cinder sand"), list("ashy")},

		// Between loose ground and rock.
		{m("cemented_gravel", "Cemented sand or gravel", transition, 602, "", "#d3c193"), list("cement gravel", "cemented gravel", "cemented sand", "cemented sand and gravel", "cemented sand gravel", "concrete gravel", "hardpan gravel", "gravel hardpan"), nil},
		{m("caliche", "Caliche", transition, 0, noneInStandard, "#eadfcd"), list("caliche", "calcrete", "hard caliche"), nil},
		{m("saprolite", "Saprolite", transition, 0, noneInStandard, "#dcc6a6"), list("saprolite", "saprolitic soil", "saprolitic clay"), list("saprolitic")},
		{m("weathered_rock", "Weathered or rotten rock", transition, 0, noneInStandard, "#d7c9b2"), list("rotten stone", "rottenstone", "grus", "weathered zone", "weathering", "partially weathered rock", "pwr"), nil},

		// Seams and openings.
		{m("mud_seam", "Mud seam, clay seam in rock", soil, 0, noneInStandard, "#c3b18f"), list("mud seam", "clay seam", "dirt seam", "soil seam", "silt seam", "mud vein", "clay vein", "mud layer", "gouge", "fault gouge", "clay gouge",
			"mud filled seam", "mud filled fracture", "mud filled crevice", "mud filled void", "mud filled cavity", "mud filled opening", "mud filled crack", "mud crevice", "mud pocket",
			"clay filled seam", "clay filled fracture", "clay filled crevice", "clay filled void", "clay filled cavity", "clay filled opening", "clay filled crack", "clay crevice"), nil},
		{dark(m("void", "Void, cavity", void, 0, noneForVoid, "#fbf9f4"), "#100f0d"), list("void", "cavity", "cave", "cavern", "opening", "open space", "crevice", "open crevice", "bit drop", "bit dropped", "tools dropped", "tool drop", "rods dropped", "mine", "mine void", "old mine", "mine working", "mine shaft", "sinkhole", "sink hole", "honeycomb"), list("cavernous", "vuggy")},
		{dark(m("water_void", "Water-filled void", void, 0, noneForVoid, "#c9d8db"), "#1f3a46"), list("water filled void", "water filled cavity", "water filled cave", "water filled cavern", "water filled opening", "water filled crevice", "water void", "water cavity", "void with water", "cavity with water", "cave with water", "cavern with water", "opening with water", "crevice with water", "void full of water", "cavity full of water"), nil},

		// Rock, kind not stated.
		{m("rock", "Rock, kind not stated", rock, 0, noneForWords, "#cfc9c2"), list("rock", "bedrock", "bed rock", "ledge", "ledge rock", "rock ledge", "solid rock", "bluestone", "blue stone", "flagstone", "flag stone", "freestone", "crystalline rock", "igneous rock", "metamorphic rock", "volcanic rock", "hornfels", "stone ledge", "native rock", "country rock"), nil},

		// Sedimentary rock.
		{m("limestone", "Limestone", rock, 627, "", "#d7dcd6"), list("limestone", "lime stone", "lime", "limerock", "lime rock", "shell rock", "shellrock", "coquina", "cement rock", "coral", "coral rock", "travertine", "calcite", "limestone rock", "oolite", "lime ledge"), list("limy", "calcareous")},
		{m("dolomite", "Dolomite", rock, 642, "", "#d8d5dc"), list("dolomite", "dolostone", "dolomitic limestone", "dolomite limestone"), list("dolomitic")},
		{m("chalk", "Chalk", rock, 626, "", "#f0eee4"), list("chalk", "chalk rock"), list("chalky")},
		{m("chert", "Chert, flint", rock, 649, "", "#d5cfc0"), list("chert", "flint", "jasper", "flint rock", "chert rock", "novaculite"), list("cherty", "flinty")},
		{m("sandstone", "Sandstone", rock, 608, "", "#e6d2a5"), list("sandstone", "sand stone", "sandrock", "sand rock", "arkose", "graywacke", "brownstone", "brown stone", "gritstone", "grit stone", "sandstone rock", "sand ledge"), list("arkosic")},
		{m("siltstone", "Siltstone", rock, 616, "", "#d8cdb2"), list("siltstone", "silt stone", "siltrock", "silt rock"), nil},
		{m("shale", "Shale", rock, 619, "", "#c8cac2"), list("shale", "clay shale", "shale rock", "mud shale", "shale clay"), list("shaly")},
		{m("claystone", "Claystone, mudstone", rock, 620, "", "#c7bcac"), list("claystone", "clay stone", "mudstone", "mud stone", "mud rock", "fireclay", "fire clay", "underclay", "argillite", "clay rock"), nil},
		{m("conglomerate", "Conglomerate, breccia", rock, 603, "", "#d6c3a0"), list("conglomerate", "breccia", "puddingstone", "pudding stone", "conglomerate rock"), list("conglomeratic", "brecciated")},
		{m("coal", "Coal", rock, 658, "", "#4a4641"), list("coal", "lignite", "anthracite", "bone coal", "coal seam", "coal vein", "coal streak"), list("coaly", "lignitic")},
		{m("gypsum", "Gypsum, anhydrite", rock, 667, "", "#e6e1e3"), list("gypsum", "gyp", "anhydrite", "gyp rock", "gyprock", "alabaster"), list("gypsiferous", "gypseous")},
		{m("salt", "Rock salt", rock, 668, "", "#e4e6e2"), list("salt", "rock salt", "halite", "salt bed"), nil},

		// Igneous rock.
		{m("granite", "Granite, granodiorite", rock, 719, "", "#e3d3cd"), list("granite", "granodiorite", "monzonite", "quartz monzonite", "syenite", "granite rock", "tonalite", "aplite", "alaskite"), list("granitic")},
		{m("pegmatite", "Pegmatite", rock, 729, "", "#ecdcd3"), list("pegmatite", "pegmatite dike", "pegmatite dyke"), list("pegmatitic")},
		{m("diorite", "Diorite", rock, 721, "", "#d2cec9"), list("diorite", "quartz diorite"), list("dioritic")},
		{m("gabbro", "Gabbro, diabase", rock, 722, "", "#c0bfb9"), list("gabbro", "diabase", "dolerite", "norite", "anorthosite"), nil},
		{m("basalt", "Basalt, trap", rock, 717, "", "#bdbcb6"), list("basalt", "trap", "traprock", "trap rock", "lava", "lava rock", "basalt rock", "scoria"), list("basaltic")},
		{m("andesite", "Andesite", rock, 723, "", "#cbc4c0"), list("andesite", "dacite"), list("andesitic")},
		{m("rhyolite", "Rhyolite", rock, 724, "", "#e4cfc6"), list("rhyolite", "felsite", "porphyry", "trachyte"), list("rhyolitic")},
		{m("tuff", "Tuff", rock, 711, "", "#dfd4cc"), list("tuff", "welded tuff", "ignimbrite", "ash flow tuff", "agglomerate"), list("tuffaceous")},

		// Metamorphic rock.
		{m("gneiss", "Gneiss", rock, 708, "", "#d3d0cb"), list("gneiss", "granite gneiss", "granitic gneiss", "migmatite", "gneiss rock", "banded gneiss", "hornblende gneiss", "biotite gneiss"), list("gneissic")},
		{m("schist", "Schist", rock, 705, "", "#cdd2cb"), list("schist", "mica schist", "mica rock", "quartz mica schist", "quartz schist", "schist rock", "garnet schist"), list("schistose")},
		{m("phyllite", "Phyllite", rock, 701, "", "#c9cfca"), list("phyllite"), list("phyllitic")},
		{m("slate", "Slate", rock, 703, "", "#bec3c1"), list("slate", "slate rock", "clay slate", "slate ledge", "slatestone"), list("slaty")},
		{m("quartzite", "Quartzite", rock, 702, "", "#e7dfd2"), list("quartzite", "quartzite rock"), list("quartzitic")},
		{m("marble", "Marble", rock, 0, noneInStandard, "#eae6de"), list("marble"), nil},
		{m("amphibolite", "Amphibolite, greenstone", rock, 0, noneInStandard, "#bcc4b9"), list("amphibolite", "greenstone", "green stone", "metabasalt", "hornblende schist"), nil},
		{m("serpentinite", "Serpentinite, soapstone", rock, 710, "", "#c6d0bd"), list("serpentinite", "serpentine", "soapstone", "soap stone", "soap rock", "talc", "talc schist", "steatite"), list("talcose", "serpentinized")},
		{m("quartz_vein", "Quartz vein", rock, 732, "", "#f1ece4"), list("quartz", "quartz vein", "quartz rock", "quartz ledge", "quartz seam"), nil},
	}
}

// dark gives a material its own tint for dark screens.
func dark(m Material, tint string) Material {
	m.TintDark = tint
	return m
}

// m and list keep the table's lines readable.
func m(code, label string, class records.Class, fgdc int, noFGDC, tint string) Material {
	return Material{Code: code, Label: label, Class: class, FGDC: fgdc, NoFGDC: noFGDC, Tint: tint}
}

func list(words ...string) []string { return words }
