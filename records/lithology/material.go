package lithology

import (
	"fmt"
	"strings"

	"tallybook/records"
)

// Unknown is the code of the material for ground that was not understood or
// not logged. It is always the first material of a vocabulary (index 0).
const Unknown = "unknown"

// Material is one kind of ground.
type Material struct {
	// Code is the stable name used in files and the database: lower-case
	// letters, digits and underscores, beginning with a letter.
	Code string
	// Label is the name shown to people, in sentence case.
	Label string
	// Class says whether the ground counts as soil, rock or something else.
	Class records.Class
	// FGDC is the pattern number of section 37 of FGDC-STD-013-2006, or 0
	// when the standard has no pattern for this ground; NoFGDC then says so.
	FGDC int
	// NoFGDC is the reason for FGDC being 0, for the legend. Empty otherwise.
	NoFGDC string
	// Tint is the ground colour under the pattern on paper, as #rrggbb.
	Tint string
	// TintDark is the ground colour on a dark screen, as #rrggbb. Empty means
	// that the drawing derives it from Tint.
	TintDark string
}

// Entry is a line of the vocabulary: a material and the words for it. With a
// Code that exists already, With adds the words to that material, and takes
// over whichever of the other fields are set.
type Entry struct {
	Material
	// Nouns are the words and phrases that name this ground ("hardpan", "mud
	// seam"). Case and punctuation do not matter; a plural s is understood.
	Nouns []string
	// Adjectives are the words that say some of this ground is in another
	// ("sandy", "bouldery").
	Adjectives []string
}

// check reports the first thing wrong with a whole entry (one that makes a new
// material).
func (m Material) check() error {
	if err := checkCode(m.Code); err != nil {
		return err
	}
	switch {
	case strings.TrimSpace(m.Label) == "":
		return fmt.Errorf("material %q has no label", m.Code)
	case m.Class > records.ClassVoid:
		return fmt.Errorf("material %q has a class that does not exist (%d)", m.Code, m.Class)
	case m.FGDC < 0 || m.FGDC > 0 && (m.FGDC < 601 || m.FGDC > 733):
		return fmt.Errorf("material %q: pattern number %d is not in section 37 (601 to 733, or 0)", m.Code, m.FGDC)
	case m.FGDC == 0 && m.NoFGDC == "":
		return fmt.Errorf("material %q has no pattern number and gives no reason", m.Code)
	case m.FGDC != 0 && m.NoFGDC != "":
		return fmt.Errorf("material %q has a pattern number and also a reason for none", m.Code)
	}
	if err := checkTint(m.Tint); err != nil {
		return fmt.Errorf("material %q: %w", m.Code, err)
	}
	if m.TintDark != "" {
		if err := checkTint(m.TintDark); err != nil {
			return fmt.Errorf("material %q: %w", m.Code, err)
		}
	}
	return nil
}

func checkCode(code string) error {
	if code == "" || len(code) > 40 {
		return fmt.Errorf("material code %q must have 1 to 40 characters", code)
	}
	for i, c := range []byte(code) {
		ok := c >= 'a' && c <= 'z' || i > 0 && (c == '_' || c >= '0' && c <= '9')
		if !ok {
			return fmt.Errorf("material code %q may hold only a to z, digits and underscore, and begins with a letter", code)
		}
	}
	return nil
}

func checkTint(t string) error {
	if len(t) != 7 || t[0] != '#' {
		return fmt.Errorf("tint %q is not of the form #rrggbb", t)
	}
	for _, c := range []byte(t[1:]) {
		if !(c >= '0' && c <= '9' || c >= 'a' && c <= 'f') {
			return fmt.Errorf("tint %q is not of the form #rrggbb in lower case", t)
		}
	}
	return nil
}
