// Package cql2 reads and writes the text form of the Common Query Language
// (OGC 21-065r2, 'CQL2 Text'): what a person or a GIS says to have features
// chosen, such as
//
//	yield_lps >= 0.2 AND S_INTERSECTS(geometry, BBOX(-38.8, 44.2, -38.7, 44.3))
//
// Parse makes a tree of a text and Print a text of a tree; Check says what is
// not to be had of the fields that there are; Match says of one feature
// whether it is chosen. A store that has columns makes its own question of
// the tree, and is held to Match.
//
// Read are: AND, OR, NOT; the comparisons; IS NULL; LIKE, BETWEEN, IN; CASEI
// and ACCENTI; sums; the spatial and the temporal predicates; POINT to
// GEOMETRYCOLLECTION and BBOX; DATE, TIMESTAMP, INTERVAL. Not read are arrays
// and functions of a server's own, for there are none here.
//
// Text from outside is bounded in length, depth and parts (Limits). A
// height given with a geometry is read and left out: where a thing lies is
// compared on the plane.
//
// The grammar and the meanings were written from memory of the standard.
package cql2

// Limits of a text that is read.
const (
	MaxBytes = 64 << 10 // of the whole text
	MaxDepth = 64       // of what stands in what
	MaxParts = 2048     // names, values and what joins them; positions not counted
	MaxTimes = 200      // in one list: each is asked by both its ends
)
