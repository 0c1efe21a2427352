package importer

import (
	"regexp"
	"strconv"
	"strings"
)

// Legal is a legal land description, cut into its parts. Empty parts are not
// said. The words and their order are those of the public land surveys and of
// surveys by lot and concession (common practice, no source).
type Legal struct {
	Text       string   // verbatim
	Township   string   // 12N
	Range      string   // 5W
	Section    string   // 14
	Quarters   []string // from the smallest to the largest: NE of SW is [NE SW]; halves are N2
	Lot        string   // 12
	Concession string   // 5; Roman figures are written as Arabic ones
	Place      string   // the township by its name, in lower case
}

// Sections says whether the description is one of section, township and range.
func (l *Legal) sections() bool { return l.Section != "" && l.Township != "" && l.Range != "" }

// lots says whether the description is one of lot and concession.
func (l *Legal) lots() bool { return l.Lot != "" && l.Concession != "" }

// words names the parts for a message.
func (l *Legal) words() string {
	var out []string
	add := func(what, s string) {
		if s != "" {
			out = append(out, what+s)
		}
	}
	add("", strings.Join(l.Quarters, " of "))
	add("section ", l.Section)
	add("township ", l.Township)
	add("range ", l.Range)
	add("lot ", l.Lot)
	add("concession ", l.Concession)
	add("in ", l.Place)
	return strings.Join(out, ", ")
}

var (
	legalTownship   = regexp.MustCompile(`\b(?:township|twp|tp|t)[.\s#:]*0*(\d{1,3})[.\s-]*(n|s|north|south)\b`)
	legalRange      = regexp.MustCompile(`\b(?:range|rng|rge|rg|r)[.\s#:]*0*(\d{1,3})[.\s-]*(e|w|east|west)\b`)
	legalSection    = regexp.MustCompile(`\b(?:section|sect|sec|s)[.\s#:]*0*(\d{1,2})\b`)
	legalBare       = regexp.MustCompile(`\b0*(\d{1,2})[\s-]+0*(\d{1,3})[\s-]*(n|s)[\s-]+0*(\d{1,3})[\s-]*(e|w)\b`)
	legalLot        = regexp.MustCompile(`\b(?:lot|l)[.\s#:]*0*(\d{1,4})\b`)
	legalConcession = regexp.MustCompile(`\b(?:concession|conc|con|c)[.\s#:]*0*(\d{1,3}|[ivxl]{1,7})\b`)
	legalPlace      = regexp.MustCompile(`\b(?:township|twp)\s+of\s+([\pL][\pL '.-]*[\pL])`)
	legalQuarter    = regexp.MustCompile(`^(?:(ne|nw|se|sw)|(n|s|e|w)[\s]*(?:½|1/2|2)|(n|s|e|w)[\s]*(?:half))`)
	legalFill       = regexp.MustCompile(`^(?:1/4|¼|/4|½|1/2|[\s,.;/-]+|of\b|the\b|quarter\b|qtr\b|half\b)`)
)

// ReadLegal cuts a legal land description into its parts: 'NE 1/4 SW 1/4 Sec
// 14, T12N R5W', 'NESW 14-12N-5W', 'Lot 12, Concession V, Township of
// Inventedville'. why is what keeps it from being located; the parts that were
// read are there all the same.
func ReadLegal(text string) (l Legal, why string) {
	l.Text = text
	if len(text) > 500 {
		return l, "is too long for a land description"
	}
	s := strings.ToLower(text)
	parts, rest := 0, s
	take := func(re *regexp.Regexp, to func(m []string)) bool {
		all := re.FindAllStringSubmatch(s, -1)
		for _, m := range all {
			parts++
			to(m)
			rest = strings.Replace(rest, m[0], "|", 1)
		}
		return len(all) > 1 && !sameParts(all)
	}
	twice := take(legalPlace, func(m []string) { l.Place = strings.Join(strings.Fields(m[1]), " ") })
	twice = take(legalTownship, func(m []string) { l.Township = m[1] + strings.ToUpper(m[2][:1]) }) || twice
	twice = take(legalRange, func(m []string) { l.Range = m[1] + strings.ToUpper(m[2][:1]) }) || twice
	if l.Township == "" && l.Range == "" {
		twice = take(legalBare, func(m []string) {
			l.Section, l.Township, l.Range = m[1], m[2]+strings.ToUpper(m[3]), m[4]+strings.ToUpper(m[5])
		}) || twice
	}
	if l.Section == "" {
		twice = take(legalSection, func(m []string) { l.Section = m[1] }) || twice
	}
	twice = take(legalLot, func(m []string) { l.Lot = m[1] }) || twice
	twice = take(legalConcession, func(m []string) { l.Concession = arabic(m[1]) }) || twice
	quarters, unclear := readQuarters(rest)
	l.Quarters = quarters
	section, _ := strconv.Atoi(l.Section)
	switch {
	case twice:
		return l, "names two of one part"
	case l.Section != "" && (section < 1 || section > 36):
		return l, "has a section that is not one of the thirty-six of a township"
	case !l.sections() && !l.lots():
		return l, "does not name section, township and range, nor lot and concession"
	case unclear:
		return l, "has quarters that cannot be read"
	}
	return l, ""
}

// sameParts says whether all matches say the same.
func sameParts(all [][]string) bool {
	for _, m := range all[1:] {
		if strings.Join(m[1:], " ") != strings.Join(all[0][1:], " ") {
			return false
		}
	}
	return true
}

// arabic writes a concession's Roman figure as an Arabic one.
func arabic(s string) string {
	if s == "" || s[0] >= '0' && s[0] <= '9' {
		return s
	}
	values := map[byte]int{'i': 1, 'v': 5, 'x': 10, 'l': 50}
	n := 0
	for i := range len(s) {
		v := values[s[i]]
		if i+1 < len(s) && values[s[i+1]] > v {
			v = -v
		}
		n += v
	}
	return strconv.Itoa(n)
}

// readQuarters reads what is left of a description as quarters and halves, one
// run of them: NE 1/4 of the SW 1/4, NESW, N1/2 SE. unclear says that there is
// more than one run.
func readQuarters(s string) (out []string, unclear bool) {
	runs := 0
	running := false
	s = strings.NewReplacer("northeast", "ne", "northwest", "nw", "southeast", "se", "southwest", "sw").Replace(s)
	for i := 0; i < len(s); {
		begins := i == 0 || !letterOrDigit(s[i-1]) || running
		if m := legalQuarter.FindString(s[i:]); m != "" && begins && quarterEnds(s[i+len(m):]) {
			if !running {
				runs++
			}
			running = true
			word := strings.ToUpper(m[:1])
			if m[1] == 'e' || m[1] == 'w' {
				word = strings.ToUpper(m[:2])
			} else {
				word += "2"
			}
			out = append(out, word)
			i += len(m)
			continue
		}
		if m := legalFill.FindString(s[i:]); m != "" {
			i += len(m)
			continue
		}
		running = false
		i++
	}
	return out, runs > 1
}

func letterOrDigit(c byte) bool { return isLetter(c) || isDigit(c) || c >= 0x80 }

// quarterEnds says whether a quarter ends here: at another one, or at no
// letter.
func quarterEnds(s string) bool {
	return s == "" || !isLetter(s[0]) || legalQuarter.MatchString(s) && quarterRun(s)
}

// quarterRun says whether the letters at the beginning are quarters alone.
func quarterRun(s string) bool {
	n := 0
	for n < len(s) && isLetter(s[n]) {
		n++
	}
	if n%2 != 0 {
		return n == 1 && n < len(s) && (s[n] == '2' || s[n] == '1' || s[n] == ' ')
	}
	for i := 0; i < n; i += 2 {
		switch s[i : i+2] {
		case "ne", "nw", "se", "sw":
		default:
			return false
		}
	}
	return true
}
