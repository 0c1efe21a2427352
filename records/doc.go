// Package records is the domain of tallybook: holes in the ground, the works
// done to them and what was observed in them, with the validation and the
// derived picks that everything else stands on.
//
// It knows no SQL and no HTTP, and imports only geo/position. Quantities are
// typed by what they mean (Depth is down from ground, Elevation is up from a
// datum, Flow, Length, Volume), in SI, and keep beside the SI value the text
// and unit that a person or a file gave, so that they come back to the digit.
package records
