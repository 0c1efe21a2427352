package position

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// CRSText is what a description of coordinates in well-known text says, as it
// stands beside a raster or a shape in a file that ends in .prj.
type CRSText struct {
	// Code is the code that EPSG takes for these coordinates: 4326, 3857 or a
	// UTM zone on WGS 84. Where Datum is NAD83 it is the code of the same zone
	// on WGS 84, which agrees with it within one to two metres.
	Code  int
	Datum Datum
}

// CRSTextError reports a description that cannot be used.
type CRSTextError struct{ Problem, Mend string }

// Error says what is wrong and how to mend it.
func (e *CRSTextError) Error() string { return e.Problem + ": " + e.Mend }

const (
	giveSRID  = "say with the EPSG code what the coordinates are"
	reproject = "reproject the file with a general GIS tool, such as gdalwarp -t_srs EPSG:32619 (with the number of your own zone)"
)

// ParseCRSText reads a coordinate reference system in well-known text (OGC
// 01-009 section 7 and the dialect of .prj files; of ISO 19162 the same
// words). It knows longitude and latitude in degrees and UTM in metres, both on
// WGS 84 or NAD83, and web Mercator. What it does not know, or what is on
// another datum, is a *CRSTextError.
func ParseCRSText(text string) (CRSText, error) {
	const most = 64 << 10
	if len(text) > most {
		return CRSText{}, &CRSTextError{"the description of the coordinates is too long", giveSRID}
	}
	p := wktParser{rest: strings.TrimPrefix(text, "\uFEFF")}
	root, ok := p.node(0)
	if !ok || strings.TrimSpace(p.rest) != "" {
		return CRSText{}, &CRSTextError{"the description of the coordinates is not well-known text", giveSRID}
	}
	if root.word == "COMPD_CS" || root.word == "COMPOUNDCRS" {
		inner := root.child("GEOGCS", "GEOGCRS", "PROJCS", "PROJCRS")
		if inner == nil {
			return CRSText{}, &CRSTextError{"the description names no horizontal coordinates", giveSRID}
		}
		root = inner
	}
	return root.crs()
}

// wktNode is WORD["name", 1, OTHER[…]].
type wktNode struct {
	word     string // in capitals
	name     string // the first text
	numbers  []float64
	texts    []string
	children []*wktNode
}

type wktParser struct {
	rest  string
	nodes int
}

func (p *wktParser) blank() { p.rest = strings.TrimLeft(p.rest, " \t\r\n") }

// node reads one node; ok is false where there is none.
func (p *wktParser) node(depth int) (n *wktNode, ok bool) {
	const deepest, most = 12, 2000
	p.blank()
	end := strings.IndexFunc(p.rest, func(r rune) bool { return !(r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r == '_') })
	p.nodes++
	if end <= 0 || depth > deepest || p.nodes > most {
		return nil, false
	}
	n = &wktNode{word: strings.ToUpper(p.rest[:end])}
	p.rest = p.rest[end:]
	p.blank()
	if p.rest == "" || p.rest[0] != '[' && p.rest[0] != '(' {
		return n, true // a bare word, such as NORTH
	}
	for p.rest != "" {
		p.rest = p.rest[1:] // the bracket or a comma
		p.blank()
		if !p.part(n, depth) {
			return nil, false
		}
		p.blank()
		if p.rest == "" {
			return nil, false
		}
		switch p.rest[0] {
		case ',':
		case ']', ')':
			p.rest = p.rest[1:]
			return n, true
		default:
			return nil, false
		}
	}
	return nil, false
}

// part reads what stands between two commas.
func (p *wktParser) part(n *wktNode, depth int) bool {
	if p.rest == "" {
		return false
	}
	if p.rest[0] == '"' {
		end := strings.IndexByte(p.rest[1:], '"')
		if end < 0 {
			return false
		}
		text := p.rest[1 : 1+end]
		p.rest = p.rest[end+2:]
		if len(n.texts) == 0 {
			n.name = text
		}
		n.texts = append(n.texts, text)
		return true
	}
	end := strings.IndexAny(p.rest, ",])")
	if end < 0 {
		return false
	}
	if v, err := strconv.ParseFloat(strings.TrimSpace(p.rest[:end]), 64); err == nil {
		n.numbers = append(n.numbers, v)
		p.rest = p.rest[end:]
		return true
	}
	child, ok := p.node(depth + 1)
	if ok {
		n.children = append(n.children, child)
	}
	return ok
}

func (n *wktNode) child(words ...string) *wktNode {
	for _, c := range n.children {
		for _, w := range words {
			if c.word == w {
				return c
			}
		}
	}
	return nil
}

// find looks for a word in a node and all under it.
func (n *wktNode) find(words ...string) *wktNode {
	if c := n.child(words...); c != nil {
		return c
	}
	for _, c := range n.children {
		if f := c.find(words...); f != nil {
			return f
		}
	}
	return nil
}

func (n *wktNode) crs() (CRSText, error) {
	datum, err := n.datum()
	if err != nil {
		return CRSText{}, err
	}
	unit := n.child("UNIT", "LENGTHUNIT", "ANGLEUNIT")
	if cs := n.child("CS"); unit == nil && cs != nil { // the units stand with the axes
		unit = n.find("LENGTHUNIT", "ANGLEUNIT", "UNIT")
	}
	size := math.NaN()
	if unit != nil && len(unit.numbers) > 0 {
		size = unit.numbers[0]
	}
	switch n.word {
	case "GEOGCS", "GEOGCRS", "GEODCRS":
		if !(math.Abs(size-math.Pi/180) < 1e-9) {
			return CRSText{}, &CRSTextError{"the coordinates are angles that are not degrees", reproject}
		}
		if pm := n.child("PRIMEM"); pm != nil && len(pm.numbers) > 0 && pm.numbers[0] != 0 {
			return CRSText{}, &CRSTextError{"the longitudes are counted from another meridian than Greenwich", reproject}
		}
		return CRSText{4326, datum}, nil
	case "PROJCS", "PROJCRS":
		if size != 1 {
			return CRSText{}, &CRSTextError{"the coordinates are not in metres", reproject}
		}
		return n.projected(datum)
	}
	return CRSText{}, &CRSTextError{fmt.Sprintf("the description of the coordinates begins with %.20s, which is no kind that is known here", n.word), giveSRID}
}

// datum reads the datum's name in its many spellings.
func (n *wktNode) datum() (Datum, error) {
	d := n.find("DATUM", "ENSEMBLE", "TRF")
	if d == nil {
		return 0, &CRSTextError{"the description of the coordinates names no datum", giveSRID}
	}
	name := strings.TrimPrefix(d.name, "D_")
	plain := strings.ToLower(strings.Map(func(r rune) rune {
		if r == '_' || r == ' ' || r == '(' || r == ')' {
			return -1
		}
		return r
	}, name))
	plain = strings.TrimSuffix(plain, "ensemble")
	switch known, ok := ParseDatum(plain); {
	case ok && known == DatumNAD27:
		return 0, &CRSTextError{"the coordinates are on NAD27, which is 10 to 100 m off", reproject}
	case ok && known != DatumUnknown:
		return known, nil
	}
	for _, begin := range []string{"northamerican1983", "northamericandatumof1983", "nad83", "nad1983"} {
		if strings.HasPrefix(plain, begin) {
			return DatumNAD83, nil
		}
	}
	return 0, &CRSTextError{fmt.Sprintf("the datum %.60q is not known here", d.name), reproject}
}

// projected reads UTM and web Mercator.
func (n *wktNode) projected(datum Datum) (CRSText, error) {
	name := strings.ToLower(strings.NewReplacer("_", " ", "-", " ").Replace(n.name))
	if strings.Contains(name, "web mercator") || strings.Contains(name, "pseudo mercator") {
		return CRSText{3857, datum}, nil
	}
	other := func(problem string) (CRSText, error) {
		return CRSText{}, &CRSTextError{fmt.Sprintf("the coordinates (%.60s) are %s", n.name, problem), reproject}
	}
	holder := n
	if c := n.child("CONVERSION"); c != nil {
		holder = c
	}
	method := holder.child("PROJECTION", "METHOD")
	if method == nil || !strings.EqualFold(strings.ReplaceAll(method.name, " ", "_"), "Transverse_Mercator") {
		return other("neither degrees nor UTM")
	}
	given := map[string]float64{}
	for _, p := range holder.children {
		if p.word == "PARAMETER" && len(p.numbers) > 0 {
			given[strings.ToLower(strings.ReplaceAll(p.name, " ", "_"))] = p.numbers[0]
		}
	}
	get := func(names ...string) float64 {
		for _, k := range names {
			if v, ok := given[k]; ok {
				return v
			}
		}
		return math.NaN()
	}
	meridian := get("central_meridian", "longitude_of_natural_origin")
	origin := get("latitude_of_origin", "latitude_of_natural_origin")
	scale := get("scale_factor", "scale_factor_at_natural_origin")
	east, north := get("false_easting"), get("false_northing")
	zone := (meridian + 183) / 6
	if zone != math.Trunc(zone) || !(Zone{Number: int(zone)}).Valid() || origin != 0 || scale != 0.9996 || east != 500_000 || north != 0 && north != 10_000_000 {
		return other("a transverse Mercator of their own and not UTM")
	}
	code := 32600
	if north != 0 {
		code = 32700
	}
	return CRSText{code + int(zone), datum}, nil
}
