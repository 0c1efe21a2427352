// Package figuring holds the trade's calculations that are made before and
// beside a hole: what a hole or an annulus holds, grout and its bags, the need
// for water, whether yield and storage carry a day, casing and rods to load.
//
// Every function takes and gives the quantities of package records (litres,
// metres, millimetres, litres a second, minutes) and gives with its figure a
// Working: the formula, what went into it, the published source, its limits
// and the caution that stands beside it. Tables of rules are examples that
// name their regulation and the place it holds; none of them is a default.
// Local code and licensed practice come first.
//
// It does not read or write records: Well.AnnulusVolume, Well.GroutOverrun
// and Well.NetAirlift of package records do the same sums on a finished
// record.
package figuring
