package draw

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// fontFamily is the system's own sans serif. The names need no quotation
// marks, which keeps the attribute readable.
const fontFamily = "system-ui, Segoe UI, Roboto, Helvetica Neue, Noto Sans, Arial, sans-serif"

// The advance widths of printable ASCII in thousandths of the font size, as
// measured on DejaVu Sans 2.37 (Book and Bold), the widest of the sans serifs
// that system-ui commonly means: text that fits by this table fits in the
// others too.
var (
	advanceRegular = [95]uint16{
		318, 401, 460, 838, 637, 951, 780, 275, 391, 391, 500, 838, 318, 361, 318, 337,
		637, 637, 637, 637, 637, 637, 637, 637, 637, 637, 337, 337, 838, 838, 838, 531,
		1000, 685, 687, 699, 771, 632, 576, 775, 752, 295, 295, 656, 558, 863, 749, 788,
		604, 788, 695, 635, 611, 732, 685, 989, 686, 611, 686, 391, 337, 391, 838, 500,
		500, 613, 635, 550, 635, 616, 353, 635, 634, 278, 278, 580, 278, 975, 634, 612,
		635, 635, 412, 521, 393, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
	}
	advanceBold = [95]uint16{
		349, 457, 521, 838, 696, 1002, 873, 307, 458, 458, 523, 838, 380, 416, 380, 366,
		696, 696, 696, 696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 581,
		1000, 774, 763, 734, 831, 684, 684, 821, 837, 373, 373, 775, 638, 996, 837, 851,
		733, 851, 771, 721, 683, 813, 774, 1104, 771, 725, 726, 458, 366, 458, 838, 500,
		500, 675, 716, 593, 716, 679, 436, 716, 712, 343, 343, 666, 343, 1042, 712, 688,
		716, 716, 494, 596, 479, 712, 652, 924, 646, 652, 583, 712, 366, 712, 838,
	}
)

// TextWidth estimates how wide text of this size (px) is, on the wide side: a
// label set by it does not overflow. Bold covers the semi-bold weights too.
func TextWidth(t string, size float64, bold bool) float64 {
	sum := 0
	for _, r := range t {
		sum += advance(r, bold)
	}
	return float64(sum) * size / 1000
}

// advance is the width of a rune in thousandths of the font size.
func advance(r rune, bold bool) int {
	if r >= ' ' && r <= '~' {
		if bold {
			return int(advanceBold[r-' '])
		}
		return int(advanceRegular[r-' '])
	}
	switch r {
	case '\u00a0', '\u00b7', '‘', '’':
		return 380
	case '\u202f', '\u2009', '′':
		return 270
	case '–', '°', '″':
		return 500
	case '“', '”':
		return 660
	case 0xFE0F, 0x200D, 0x200B, 0x200C, 0x200E, 0x200F:
		return 0
	}
	switch {
	case r < ' ' || r == 0x7f || r >= 0x80 && r < 0xA0 || r == utf8.RuneError || turnsText(r):
		return 1030 // shown as U+FFFD
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case r < 0x0250: // Latin with marks
		return 1050
	case r < 0x0700: // Greek, Cyrillic, Hebrew, Arabic
		return 1250
	case r >= 0x1F000: // emoji and other pictures
		return 1450
	}
	return 1300
}

// plainText puts a text on one line: every run of white space becomes one
// space, the ends are trimmed. Nothing else is changed.
func plainText(t string) string { return strings.Join(strings.Fields(t), " ") }

// clip cuts a text to at most n runes, with an ellipsis where it was cut.
func clip(t string, n int) string {
	if len(t) <= n {
		return t
	}
	for i := range t {
		if n--; n < 0 {
			return strings.TrimRightFunc(t[:i], unicode.IsSpace) + "…"
		}
	}
	return t
}

// Wrap breaks a text into at most maxLines lines of at most width px, at
// spaces where it can and within a word where the word is wider than a line;
// a letter is never parted from its marks. What does not fit is cut and ends
// in an ellipsis; whether that happened is the second result. It reads no more
// of the text than it shows.
func Wrap(t string, size float64, bold bool, width float64, maxLines int) ([]string, bool) {
	if maxLines < 1 {
		return nil, t != ""
	}
	budget := int(width * 1000 / size)
	var lines []string
	// clusters of the pending line
	var line []byte
	lineW, lastSpace, lastSpaceW := 0, -1, 0
	ellipsis := advance('…', bold)
	flush := func(b []byte) { lines = append(lines, strings.TrimRight(string(b), " ")) }
	inSpace := true
	for len(t) > 0 {
		cluster, w, n := nextCluster(t, bold)
		t = t[n:]
		if cluster == " " {
			if inSpace {
				continue
			}
			inSpace = true
			lastSpace, lastSpaceW = len(line), lineW
			line = append(line, ' ')
			lineW += w
			continue
		}
		inSpace = false
		for lineW+w > budget && len(line) > 0 {
			if len(lines) == maxLines-1 {
				return append(lines, cutToFit(string(line), size, bold, budget-ellipsis)), true
			}
			if lastSpace > 0 {
				flush(line[:lastSpace])
				space := advance(' ', bold)
				line = append(line[:0], line[lastSpace+1:]...)
				lineW -= lastSpaceW + space
			} else {
				flush(line)
				line, lineW = line[:0], 0
			}
			lastSpace = -1
		}
		line = append(line, cluster...)
		lineW += w
	}
	if s := strings.TrimRight(string(line), " "); s != "" {
		lines = append(lines, s)
	}
	return lines, false
}

// cutToFit shortens a line to budget thousandths and adds an ellipsis.
func cutToFit(t string, size float64, bold bool, budget int) string {
	end, w := 0, 0
	for end < len(t) {
		_, cw, n := nextCluster(t[end:], bold)
		if w+cw > budget {
			break
		}
		end, w = end+n, w+cw
	}
	return strings.TrimRight(t[:end], " ,;.-") + "…"
}

// Shorten gives the text as it fits on one line of width px.
func Shorten(t string, size float64, bold bool, width float64) string {
	lines, _ := Wrap(t, size, bold, width, 1)
	if len(lines) == 0 {
		return ""
	}
	return lines[0]
}

// nextCluster gives the first letter of t with the marks that belong to it,
// its width and the bytes it took. All white space comes out as one space.
func nextCluster(t string, bold bool) (string, int, int) {
	r, n := utf8.DecodeRuneInString(t)
	if unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' {
		return " ", advance(' ', bold), n
	}
	w := advance(r, bold)
	joined := false
	regional := r >= 0x1F1E6 && r <= 0x1F1FF
	for n < len(t) && n < 64 {
		next, m := utf8.DecodeRuneInString(t[n:])
		switch {
		case joined, next == 0x200D, unicode.In(next, unicode.Mn, unicode.Me), next >= 0x1F3FB && next <= 0x1F3FF:
		case regional && next >= 0x1F1E6 && next <= 0x1F1FF:
			regional = false
		default:
			return t[:n], w, n
		}
		joined = next == 0x200D
		w += advance(next, bold)
		n += m
	}
	return t[:n], w, n
}
