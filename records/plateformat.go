package records

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// PlateTool is what makes a plate.
type PlateTool string

// The tools. An engraver follows lines with a point and fills nothing.
const (
	PlateLabel    PlateTool = "label"
	PlateEngraver PlateTool = "engraver"
)

// PlateFormat is how the office makes its plates. The zero PlateFormat is not
// set; see Filled.
type PlateFormat struct {
	Units      string // of the figures that are stamped: us or si
	PublicBase PublicBase
	Heading    string // above the number, such as the office's name
	WidthMM    float64
	HeightMM   float64
	HolesMM    float64 // diameter of the hole in each corner; 0: none
	Tool       PlateTool
	LineMM     float64  // width of an engraver's line
	Fields     []string // what is stamped beside the number, see PlateFieldWords
}

// The limits on a plate, millimetres; ours, no source.
const (
	LeastPlateMM, MostPlateMM           = 15, 400
	LeastPlateLineMM, MostPlateLineMM   = 0.05, 1
	MostPlateHoleMM                     = 12
	defaultPlateLineMM                  = 0.2
	defaultPlateWidth, defaultPlateHigh = 80, 50
)

// plateFieldWords are what may be stamped beside the number, in the order in
// which it is. They are what rules on well plates commonly ask for; no owner is
// among them, since anybody can read a plate.
var plateFieldWords = []string{
	"contractor", "licence", "permit", "completed", "depth", "casing", "diameter", "screens", "yield", "static", "pump",
}

// PlateFieldWords lists what may be stamped beside the number.
func PlateFieldWords() []string { return slices.Clone(plateFieldWords) }

// DefaultPlateFormat is what holds where the office set nothing.
func DefaultPlateFormat() PlateFormat {
	return PlateFormat{}.Filled()
}

// Filled puts the defaults where nothing is set.
func (f PlateFormat) Filled() PlateFormat {
	if f.Units == "" {
		f.Units = "us"
	}
	if f.WidthMM == 0 && f.HeightMM == 0 {
		f.WidthMM, f.HeightMM = defaultPlateWidth, defaultPlateHigh
	}
	if f.Tool == "" {
		f.Tool = PlateLabel
	}
	if f.LineMM == 0 {
		f.LineMM = defaultPlateLineMM
	}
	if f.Fields == nil {
		f.Fields = []string{"contractor", "completed", "depth", "casing", "yield"}
	}
	return f
}

// plateFormatJSON is a PlateFormat as it is written.
type plateFormatJSON struct {
	Units      string   `json:"units,omitempty"`
	PublicBase string   `json:"public_base,omitempty"`
	Heading    string   `json:"heading,omitempty"`
	WidthMM    float64  `json:"width_mm,omitempty"`
	HeightMM   float64  `json:"height_mm,omitempty"`
	HolesMM    float64  `json:"holes_mm,omitempty"`
	Tool       string   `json:"tool,omitempty"`
	LineMM     float64  `json:"line_mm,omitempty"`
	Fields     []string `json:"fields,omitempty"`
}

// AppendJSON writes the format.
func (f PlateFormat) AppendJSON(b []byte) []byte {
	out, err := json.Marshal(plateFormatJSON{f.Units, string(f.PublicBase), f.Heading, f.WidthMM, f.HeightMM, f.HolesMM, string(f.Tool), f.LineMM, f.Fields})
	if err != nil { // no value of these types fails
		panic(err)
	}
	return append(b, out...)
}

// ParsePlateFormat reads what AppendJSON writes and says what is wrong with it.
func ParsePlateFormat(text []byte) (PlateFormat, []Fault) {
	var in plateFormatJSON
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&in); err != nil || d.More() {
		return PlateFormat{}, []Fault{{Severity: Refusal, Message: "the text is no format of plates", Mend: "give one JSON object, as the page keeps it as a file"}}
	}
	f := PlateFormat{
		Units: in.Units, Heading: strings.TrimSpace(in.Heading), WidthMM: in.WidthMM, HeightMM: in.HeightMM,
		HolesMM: in.HolesMM, Tool: PlateTool(in.Tool), LineMM: in.LineMM,
	}
	var faults []Fault
	refuse := func(field, message, mend string) {
		faults = append(faults, Fault{Severity: Refusal, Field: field, Message: message, Mend: mend})
	}
	base, wrong := ParsePublicBase(in.PublicBase)
	f.PublicBase = base
	faults = append(faults, wrong...)
	if f.Units != "" && f.Units != "us" && f.Units != "si" {
		refuse("units", "names no units", `write "us" or "si"`)
		f.Units = ""
	}
	if f.Tool != "" && f.Tool != PlateLabel && f.Tool != PlateEngraver {
		refuse("tool", fmt.Sprintf("%q is no tool", clip(in.Tool, 40)), "choose a label printer or an engraver")
	}
	if len([]rune(f.Heading)) > 80 {
		refuse("heading", "is longer than 80 signs", "shorten it")
	}
	between := func(field string, v, least, most float64) {
		if v != 0 && !(v >= least && v <= most) {
			refuse(field, fmt.Sprintf("%g mm is not from %g to %g mm", v, least, most), "measure the plate")
		}
	}
	between("width_mm", f.WidthMM, LeastPlateMM, MostPlateMM)
	between("height_mm", f.HeightMM, LeastPlateMM, MostPlateMM)
	between("holes_mm", f.HolesMM, 1, MostPlateHoleMM)
	between("line_mm", f.LineMM, LeastPlateLineMM, MostPlateLineMM)
	if (f.WidthMM == 0) != (f.HeightMM == 0) {
		refuse("height_mm", "width and height go together", "give both")
	}
	for _, w := range plateFieldWords { // in the order of the plate, each once
		if slices.Contains(in.Fields, w) {
			f.Fields = append(f.Fields, w)
		}
	}
	for _, w := range in.Fields {
		if !slices.Contains(plateFieldWords, w) {
			refuse("fields", fmt.Sprintf("%q cannot be stamped", clip(w, 40)), "choose among "+strings.Join(plateFieldWords, ", "))
		}
	}
	return f, faults
}

// Lacks says what the office left open.
func (f PlateFormat) Lacks() []string {
	var out []string
	if f.PublicBase == "" {
		out = append(out, "no public address: the code on a plate holds its number alone, and leads nowhere by itself")
	}
	return out
}
