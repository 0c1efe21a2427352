// Package draw makes the drawings: the map, one log, logs side by side, the
// charts. Each is a pure function from data to one self-contained SVG document
// with real text, which a page shows, a printer prints and a person keeps as a
// file: presentation attributes only, ids with a prefix, no style, no script,
// no address outside the file, the same bytes for the same data.
//
// It computes nothing about wells: what it shows was found elsewhere.
package draw
