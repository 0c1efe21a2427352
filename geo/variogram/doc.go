// Package variogram measures how a value differs between places with their
// distance, fits a model to it, and estimates by ordinary kriging.
//
// Everything is on one flat metric plane, x to the east and y to the north in
// metres. A semivariance is in the square of the values' unit. The package
// reads no files and knows no records; it is there so that a consultant can
// reproduce a study to the digit, and as one more method to be scored beside
// the others.
//
// A range here is always the distance at which a structure has reached its
// sill: the whole of it for the spherical shape, 95 % of it (the practical
// range) for the exponential and the gaussian one, as in E. H. Isaaks and
// R. M. Srivastava, An Introduction to Applied Geostatistics (Oxford, 1989),
// and C. V. Deutsch and A. G. Journel, GSLIB (Oxford, 1998). Other programs
// write exp(-h/a') and exp(-(h/a')^2): their a' is a/3 and a/sqrt(3).
package variogram
