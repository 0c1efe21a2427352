package scout

import "tallybook/records"

// Rates are a contractor's own prices. The zero table is empty: it prices
// nothing and says so (Lacks). Prices by length are by the foot or by the
// metre, as Units says.
type Rates struct {
	Name      string
	Note      string       // shown with every figure made from the table
	Currency  string       // ISO 4217: "USD"
	Units     Units        // what prices by length are for
	ValidFrom records.Date // zero: not stated
	ValidTo   records.Date // zero: not stated

	Mobilisation  Price
	Drilling      []DrillRate
	MinimumLength records.Amount[records.Length] // charged at least

	Casing    []CasingRate
	DriveShoe Price

	GroutSack   Price
	SackYield   records.Amount[records.Volume] // of mixed grout from one sack
	SackWater   records.Amount[records.Volume] // mix water for one sack
	SackProduct string                         // what the sack holds

	Hours   []HourRate
	Standby Price // an hour of waiting that is not the contractor's doing

	Disinfection Price
	PumpSet      Price
	Plate        Price
	Permit       Price
	Sealing      Price // of a hole given up, for the job
	SealingBy    Price // and by length

	Dry DryTerms
	Tax Tax
}

// DrillRate is the price by length in ground of a class between two depths.
type DrillRate struct {
	// Ground is what it is for; ClassUnknown means any ground that no other
	// rate names.
	Ground   records.Class
	From     records.Amount[records.Depth] // Missing: from the surface
	To       records.Amount[records.Depth] // Missing: no end
	ByLength Price
}

func (d *DrillRate) span() (from, to records.Depth) {
	from, _ = d.From.Number()
	if v, ok := d.To.Number(); ok {
		return from, v
	}
	return from, noEnd
}

// CasingRate is the price by length of casing of a material and a size.
type CasingRate struct {
	Material string // see records.CasingWords; "" is any
	Diameter records.Amount[records.Diameter]
	ByLength Price
}

// HourRate is work charged by the hour, with the hours assumed for a job.
type HourRate struct {
	Name   string
	ByHour Price
	Hours  float64
}

// DryTerms are what is agreed for a hole that gives too little.
type DryTerms struct {
	// Below is the final flow under which the hole counts as dry; Missing:
	// only a hole without any water is dry.
	Below records.Amount[records.Flow]
	// FootageShare is the part of the drilling charge that is due for a dry
	// hole, 0 to 1; Missing: all of it.
	FootageShare records.Amount[records.Pure]
	Words        string // the terms as agreed, in the contractor's words
}

// Tax is a sales tax on stated lines.
type Tax struct {
	Name  string
	Share records.Amount[records.Pure] // 0.06 is 6 %
	On    []LineKind
}

// LineKind says what a line of a bill is for.
type LineKind uint8

// The lines of a bill, in the order in which they are written.
const (
	LineMobilisation LineKind = iota + 1
	LineDrilling
	LineMinimum
	LineCasing
	LineShoe
	LineGrout
	LineHours
	LineDisinfection
	LinePump
	LinePlate
	LinePermit
	LineSealing
	LineDryTerms
	LineTax
	lineEnd
)

var lineWords = [...]string{
	LineMobilisation: "mobilisation", LineDrilling: "drilling", LineMinimum: "minimum_footage",
	LineCasing: "casing", LineShoe: "drive_shoe", LineGrout: "grout", LineHours: "hours",
	LineDisinfection: "disinfection", LinePump: "pump_set", LinePlate: "plate", LinePermit: "permit",
	LineSealing: "sealing", LineDryTerms: "dry_terms", LineTax: "tax",
}

// String gives the word used in files.
func (k LineKind) String() string {
	if int(k) < len(lineWords) {
		return lineWords[k]
	}
	return ""
}

// LineKinds lists the kinds of lines in their order.
func LineKinds() []LineKind {
	var out []LineKind
	for k := LineMobilisation; k < lineEnd; k++ {
		out = append(out, k)
	}
	return out
}

// ParseLineKind reads the words that String writes.
func ParseLineKind(s string) (LineKind, bool) {
	for _, k := range LineKinds() {
		if k.String() == s {
			return k, true
		}
	}
	return 0, false
}

// Charges says whether a table holds any price at all.
func (r *Rates) Charges() bool {
	set := r.Mobilisation.Set || r.DriveShoe.Set || r.GroutSack.Set || r.Standby.Set || r.Disinfection.Set ||
		r.PumpSet.Set || r.Plate.Set || r.Permit.Set || r.Sealing.Set || r.SealingBy.Set
	for i := range r.Drilling {
		set = set || r.Drilling[i].ByLength.Set
	}
	for i := range r.Casing {
		set = set || r.Casing[i].ByLength.Set
	}
	for i := range r.Hours {
		set = set || r.Hours[i].ByHour.Set
	}
	return set
}
