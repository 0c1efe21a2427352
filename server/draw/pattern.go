package draw

import (
	"slices"
	"strconv"
	"sync"

	"tallybook/records"
	"tallybook/records/lithology"
)

// Patterns draws the ground: for each material of a vocabulary an SVG pattern,
// fine strokes over the material's tint. The strokes are our own drawings of
// what the patterns of FGDC-STD-013-2006, section 37, show; where the standard
// has no pattern the drawing is ours, and Material.NoFGDC says so in a legend.
//
// Tiles repeat without a seam and are drawn for columns of 60 to 200 units at
// one unit to the CSS pixel. Immutable; safe for use by many goroutines.
type Patterns struct {
	v     *lithology.Vocabulary
	tiles map[string]func() *tile // by material code; drawn when first asked for
}

// painting is a drawing and the size of its tile.
type painting struct {
	w, h  float64
	paint func(*tile)
}

// paintings holds the drawing of each material of the default vocabulary, by
// code. Irregular grounds have large tiles, so that the eye finds no repeat.
func paintings() map[string]painting {
	return map[string]painting{
		lithology.Unknown: {52, 52, paintUnknown},
		"overburden":      {80, 80, paintOverburden}, "topsoil": {60, 60, paintTopsoil}, "fill": {110, 110, paintFill},
		"peat": {56, 50, paintPeat}, "clay": {48, 40, paintClay}, "silt": {66, 40, paintSilt},
		"sand": {72, 72, paintSand}, "sand_fine": {54, 54, paintSandFine}, "sand_coarse": {72, 72, paintSandCoarse},
		"sand_gravel": {84, 84, paintSandGravel}, "gravel": {90, 90, paintGravel}, "cobbles": {110, 110, paintCobbles},
		"boulders": {140, 140, paintBoulders}, "till": {120, 120, paintTill}, "loess": {72, 72, paintLoess},
		"marl": {60, 54, paintMarl}, "shells": {64, 64, paintShells}, "bentonite": {64, 48, paintBentonite},
		"ash": {72, 72, paintAsh}, "cemented_gravel": {84, 84, paintCementedGravel}, "caliche": {84, 84, paintCaliche},
		"saprolite": {90, 60, paintSaprolite}, "weathered_rock": {88, 88, paintWeathered}, "mud_seam": {60, 36, paintMudSeam},
		"void": {26, 26, paintVoid}, "water_void": {34, 34, paintWaterVoid}, "rock": {90, 90, paintRock},
		"limestone": {66, 54, paintLimestone}, "dolomite": {66, 54, paintDolomite}, "chalk": {72, 52, paintChalk},
		"chert": {66, 50, paintChert}, "sandstone": {60, 60, paintSandstone}, "siltstone": {60, 56, paintSiltstone},
		"shale": {72, 48, paintShale}, "claystone": {60, 48, paintClaystone}, "conglomerate": {84, 72, paintConglomerate},
		"coal": {60, 32, paintCoal}, "gypsum": {40, 40, paintGypsum}, "salt": {48, 48, paintSalt},
		"granite": {88, 88, paintGranite}, "pegmatite": {84, 84, paintPegmatite}, "diorite": {60, 60, paintDiorite},
		"gabbro": {76, 76, paintGabbro}, "basalt": {50, 54, paintBasalt}, "andesite": {60, 60, paintAndesite},
		"rhyolite": {66, 63, paintRhyolite}, "tuff": {76, 76, paintTuff}, "gneiss": {80, 64, paintGneiss},
		"schist": {84, 54, paintSchist}, "phyllite": {72, 50, paintPhyllite}, "slate": {36, 48, paintSlate},
		"quartzite": {76, 76, paintQuartzite}, "marble": {72, 60, paintMarble}, "amphibolite": {60, 50, paintAmphibolite},
		"serpentinite": {64, 60, paintSerpentinite}, "quartz_vein": {90, 60, paintQuartzVein},
	}
}

// byClass is the stand-in for a material that an office added without a
// pattern number that we draw.
var byClass = [...]string{
	records.ClassUnknown: lithology.Unknown, records.ClassSoil: "overburden",
	records.ClassTransition: "weathered_rock", records.ClassRock: "rock", records.ClassVoid: "void",
}

// NewPatterns gives every material of the vocabulary its drawing. A material that is not
// in the default vocabulary gets the drawing of its pattern number, or else
// that of its class, over its own tint.
func NewPatterns(v *lithology.Vocabulary) *Patterns {
	p := &Patterns{v: v, tiles: make(map[string]func() *tile)}
	known := paintings()
	byNumber := make(map[int]string)
	for _, m := range lithology.Default().All() {
		if _, taken := byNumber[m.FGDC]; !taken && m.FGDC != 0 {
			byNumber[m.FGDC] = m.Code
		}
	}
	for _, m := range v.All() {
		like := m.Code
		if _, ok := known[like]; !ok {
			if like, ok = byNumber[m.FGDC]; !ok {
				like = byClass[m.Class]
			}
		}
		if p.tiles[like] == nil {
			d := known[like]
			p.tiles[like] = sync.OnceValue(func() *tile {
				t := newTile(d.w, d.h, like)
				d.paint(t)
				return t
			})
		}
		p.tiles[m.Code] = p.tiles[like]
	}
	return p
}

var defaultPatterns = sync.OnceValue(func() *Patterns { return NewPatterns(lithology.Default()) })

// PatternDefs writes the patterns of the codes of the default vocabulary; see
// Patterns.Defs.
func PatternDefs(s *SVG, codes []string, theme Theme) { defaultPatterns().Defs(s, codes, theme) }

// PatternFill is the paint of a material of the default vocabulary; see
// Patterns.Fill.
func PatternFill(s *SVG, code string) string { return defaultPatterns().Fill(s, code) }

// Swatch draws a legend swatch of the default vocabulary; see Patterns.Swatch.
func Swatch(s *SVG, code string, x, y, width, height float64, theme Theme) {
	defaultPatterns().Swatch(s, code, x, y, width, height, theme)
}

// known gives the code itself, or that of the unknown ground.
func (p *Patterns) known(code string) string {
	if p.tiles[code] == nil {
		return lithology.Unknown
	}
	return code
}

// Fill is the value of a fill attribute that paints with the pattern of the
// material. A code that the vocabulary does not have is painted as unknown
// ground.
func (p *Patterns) Fill(s *SVG, code string) string { return s.URL(patternName(p.known(code))) }

func patternName(code string) string { return "ground-" + code }

// Defs writes one pattern element for each of the codes, each once, in the
// order of the vocabulary. The caller writes the defs element around them.
func (p *Patterns) Defs(s *SVG, codes []string, theme Theme) {
	want := make(map[string]bool, len(codes))
	for _, c := range codes {
		want[p.known(c)] = true
	}
	for _, m := range p.v.All() {
		if want[m.Code] {
			p.def(s, m, theme)
		}
	}
}

func (p *Patterns) def(s *SVG, m lithology.Material, theme Theme) {
	t := p.tiles[m.Code]()
	g := groundColours(m, theme, t.dark)
	if theme == Print {
		s.Start("g").IDAttr(tileName(m.Code))
		strokes(s, t, g, theme)
	}
	s.Start("pattern").IDAttr(patternName(m.Code)).A("patternUnits", "userSpaceOnUse").
		N("width", t.w).N("height", t.h).Open()
	s.Start("rect").N("width", t.w).N("height", t.h).A("fill", g.ground).End()
	if theme == Print {
		s.Start("use").Link("#" + s.ID(tileName(m.Code))).End()
	} else {
		s.Start("g")
		strokes(s, t, g, theme)
	}
	s.Close()
	s.Line()
}

// strokes writes a tile into the group that was begun, and closes it.
func strokes(s *SVG, t *tile, g ground, theme Theme) {
	s.A("fill", "none").A("stroke", g.ink).A("stroke-linecap", "round").A("stroke-linejoin", "round").Open()
	for i := range t.layers {
		d := &Path{b: t.layers[i].b}
		if d.Empty() {
			continue
		}
		s.Start("path").D(d).N("stroke-width", strokeWidths[i])
		switch i {
		case layerStone:
			s.A("fill", g.stone)
		case layerWater:
			s.A("stroke", theme.Colours().Water)
		}
		s.End()
	}
	s.Close()
}

// Swatch draws a small sample of the ground for a legend: the pattern, an
// outline, and the label as the title. The pattern must be among those that
// Defs wrote.
func (p *Patterns) Swatch(s *SVG, code string, x, y, width, height float64, theme Theme) {
	m, _ := p.v.Material(p.known(code))
	fill := p.Fill(s, code)
	if theme == Print {
		p.paint(s, code, rect{x, y, x + width, y + height}, theme, "")
		fill = "none"
	}
	s.Start("rect").N("x", x).N("y", y).N("width", width).N("height", height).N("rx", 1.5).
		A("fill", fill).A("stroke", theme.Colours().Line).N("stroke-width", .75).Open()
	s.Title(SwatchNote(m))
	s.Close()
}

// SwatchNote is what a legend says of a material's pattern: its label, and the
// number in FGDC-STD-013-2006 or that the pattern is this project's own.
func SwatchNote(m lithology.Material) string {
	if m.FGDC == 0 {
		return m.Label + " (" + m.NoFGDC + ")"
	}
	return m.Label + " (after FGDC pattern " + strconv.Itoa(m.FGDC) + ")"
}

// PatternCodes lists each code once, in the order of the vocabulary, for a
// legend of what a drawing shows. Codes that the vocabulary does not have
// stand as the one unknown ground.
func (p *Patterns) PatternCodes(codes []string) []string {
	var out []string
	for _, m := range p.v.All() {
		if slices.ContainsFunc(codes, func(c string) bool { return p.known(c) == m.Code }) {
			out = append(out, m.Code)
		}
	}
	return out
}
