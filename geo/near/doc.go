// Package near finds neighbours on a plane: the k nearest, all within a
// radius, all inside a box, and which wells share a site or a block.
//
// All coordinates are metres on one flat plane, x to the east and y to the
// north. The package knows nothing of the ellipsoid: callers project first.
// It holds no values, only positions; results name points by their position
// in the slices the caller gave, so values stay with the caller.
//
// An Index is built once and never changes, so any number of goroutines may
// read it at the same time without locks.
package near
