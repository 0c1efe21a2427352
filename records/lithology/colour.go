package lithology

import "strings"

// Colour is one of a canonical few colours of ground.
type Colour uint8

// The canonical colours.
const (
	Black Colour = iota
	Gray
	White
	Brown
	Tan
	Yellow
	Orange
	Rust
	Red
	Pink
	Purple
	Blue
	Green
	Mottled
	numColours
)

var colourNames = [numColours]string{"black", "gray", "white", "brown", "tan", "yellow", "orange",
	"rust", "red", "pink", "purple", "blue", "green", "mottled"}

// String gives the name of the colour.
func (c Colour) String() string {
	if c < numColours {
		return colourNames[c]
	}
	return "colour?"
}

// ColourSet is a set of colours; the zero value is 'none stated'.
type ColourSet uint16

// Has reports whether c is in the set.
func (s ColourSet) Has(c Colour) bool { return s&(1<<c) != 0 }

// All lists the colours of the set in the order of the constants.
func (s ColourSet) All() []Colour {
	var out []Colour
	for c := Colour(0); c < numColours; c++ {
		if s.Has(c) {
			out = append(out, c)
		}
	}
	return out
}

// String joins the names: "gray and brown"; "" for the empty set.
func (s ColourSet) String() string {
	var names []string
	for _, c := range s.All() {
		names = append(names, c.String())
	}
	return strings.Join(names, " and ")
}

// Shade is how light or dark a colour was said to be.
type Shade uint8

// The shades.
const (
	ShadeNotStated Shade = iota
	Light
	Dark
)

// String gives the word, or "" when not stated.
func (s Shade) String() string { return [...]string{"", "light", "dark"}[min(s, Dark)] }
