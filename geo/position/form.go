package position

// Form is one of the ways people write a position.
type Form int

// The forms that Parse reports and Format writes.
const (
	DecimalDegrees        Form = iota + 1 // 43.200000, -71.500000
	DegreesMinutes                        // 43°12.0000′N 71°30.0000′W
	DegreesMinutesSeconds                 // 43°12′00.00″N 71°30′00.00″W
	UTMGrid                               // 19N 296887.1 4786059.2
)

// String names the form in words.
func (f Form) String() string {
	switch f {
	case DecimalDegrees:
		return "decimal degrees"
	case DegreesMinutes:
		return "degrees and minutes"
	case DegreesMinutesSeconds:
		return "degrees, minutes and seconds"
	case UTMGrid:
		return "UTM"
	}
	return "no form"
}
