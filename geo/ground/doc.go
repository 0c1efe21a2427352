// Package ground reads the height of the ground out of a raster that is too
// large to be held in memory: it cuts the raster into square tiles, packs each
// into few bytes without loss, and reads a height at a place between the
// centres of four cells.
//
// It knows no files and no records, and leaves heights in the unit of the
// raster. Slopes and shading are not made here.
package ground
