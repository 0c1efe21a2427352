// Package exchange writes records for others: GeoJSON (RFC 7946) as a
// collection or a feature a line, a flat CSV table of wells, and grids of a
// surface. PROFILE.md in this folder describes what a feature carries.
//
// Everything is written as a stream: what is held at a time is one record.
// What a file gave is given back: the digits of coordinates and quantities, a
// feature's identifier, and what the model has no place for. Owners' names,
// addresses and telephone numbers are left out unless they are asked for; who
// may ask is not decided here.
package exchange
