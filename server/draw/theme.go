package draw

// Theme is where a drawing will be looked at: it chooses the colours and
// nothing else, so that one drawing has the same places in every theme.
type Theme uint8

// The themes. Light is the zero value. Print is for white paper and stays
// legible when a printer or a copier knows only black.
const (
	Light Theme = iota
	Dark
	Print
	themeCount
)

var themeWords = [themeCount]string{"light", "dark", "print"}

// String gives the theme's word, as used in URLs.
func (t Theme) String() string { return themeWords[min(t, Print)] }

// ParseTheme reads the words that String writes.
func ParseTheme(s string) (Theme, bool) {
	for i, w := range themeWords {
		if w == s {
			return Theme(i), true
		}
	}
	return Light, false
}

// Colours are the colours that all drawings share, each as #rrggbb. The
// ground's own tints belong to the materials; blue belongs to water alone,
// and Signal to what the reader is to notice or may act on.
type Colours struct {
	Paper  string // the ground that everything is drawn on
	Ink    string // text and contacts; contrast 7:1 or better on Paper
	Muted  string // second text; 4.5:1 or better on Paper
	Line   string // axes and leaders; not for text
	Hair   string // grid lines, the faintest thing that is still seen
	Signal string // the one signal colour; 4.5:1 or better on Paper
	Water  string // water, as text and ticks; 4.5:1 or better on Paper

	WaterFill string // standing water inside a hole; Water and Ink show on it
	Steel     string // casing, shoe, screen
	Grout     string // the seal in the annulus, under GroutMark
	GroutMark string
	Air       string // the empty hole
	Pattern   string // pattern strokes over a material's tint
	Gap       string // hatching where nothing was logged
}

var palettes = [themeCount]Colours{
	Light: {
		Paper: "#f8f5ee", Ink: "#24211c", Muted: "#6a6254", Line: "#a89f8d", Hair: "#ddd6c8",
		Signal: "#b23a15", Water: "#1a6488",
		WaterFill: "#c3d8e0", Steel: "#24211c", Grout: "#e9e4d8", GroutMark: "#8f8778",
		Air: "#fdfbf6", Pattern: "#4a4438", Gap: "#c9c1b0",
	},
	Dark: {
		Paper: "#1a1916", Ink: "#ece6d9", Muted: "#aba291", Line: "#6f685b", Hair: "#35322b",
		Signal: "#f58a5a", Water: "#7cc0e2",
		WaterFill: "#24495b", Steel: "#ece6d9", Grout: "#37342d", GroutMark: "#8b8373",
		Air: "#100f0d", Pattern: "#d6cdbb", Gap: "#5a5448",
	},
	Print: {
		Paper: "#ffffff", Ink: "#000000", Muted: "#4d4d4d", Line: "#8c8c8c", Hair: "#d9d9d9",
		Signal: "#a02c08", Water: "#0d5274",
		WaterFill: "#cfdfe6", Steel: "#000000", Grout: "#f2f2f2", GroutMark: "#6e6e6e",
		Air: "#ffffff", Pattern: "#2b2b2b", Gap: "#b3b3b3",
	},
}

// Colours gives the theme's colours.
func (t Theme) Colours() Colours { return palettes[min(t, Print)] }
