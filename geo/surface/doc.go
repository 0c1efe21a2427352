// Package surface draws surfaces from scattered wells: grids of nodes, the
// classic inverse-distance weighting, its scores on wells it did not see, the
// mask of where wells support a value at all, contour lines and filled bands.
//
// Everything is on one flat metric plane, x to the east and y to the north in
// metres; values carry whatever unit the caller gave, and lines and bands come
// back in the same plane. The package reads no files and knows no records. It
// does not decide which estimate is best: the estimate from neighbours lives
// beside it, and may fill a Field of its own for the lines and bands here.
package surface
