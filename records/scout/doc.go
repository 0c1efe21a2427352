// Package scout says what the next hole will likely be and cost, by taking
// each neighbouring record whole as one possible outcome: its depth, bedrock,
// water and ground stay together as they were found.
//
// A Neighbour is made from a record and its picks (NewNeighbour). A Plan is
// what the customer wants: the flow needed, how deep to go at most, the sizes
// of hole and casing. Replay drives the plan down each neighbour's log: where
// the flow is met, drilling stops, whatever the neighbour's own owner wanted.
// Rates are the contractor's own prices; CostOf applies them to every replayed
// neighbour and gives the whole weighted distribution, not one figure. GoOn
// answers for a hole that is being drilled, CasingRunsOut for the casing on
// the truck, LoadOut for what to take along, NewQuoteSheet for what is handed
// to the customer, CheckSetbacks for where the hole may stand.
//
// # What is not known
//
// A neighbour that stopped before the need was met and before the customer's
// own limit says 'at least': it is a lower limit in every distribution (see
// predict.NewDistribution). Water known only to have come somewhere in a
// stretch of hole (a final yield without strikes) leaves limits for the depth
// where the need is met; between them the outcome is split into parts by how
// drilling goes: it stops at the strike that makes enough.
// Both lean to the careful side where stopping followed what was met: a hole
// that stopped early with some water would have done better than the rest.
// A field that a record lacks is drawn from that field's own distribution, by
// a draw that depends on the record's key alone (see Fill).
//
// Quantities are SI, money is whole cents of the currency that the rate table
// names. The package knows no store, no network, no clock and no randomness.
//
// Drilling, grout, chlorine and overhead lines can hurt people: what is
// worked out here stands under local code and licensed practice, never over
// them.
package scout
