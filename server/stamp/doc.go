// Package stamp lays out the plates that are made for wells and draws them at
// true size, as SVG and as PDF, for a label printer or an engraver.
//
// A plate bears its number, what the office chose to have stamped beside it,
// each figure with its unit and its '~', '<' or '>', and a QR code that leads
// to the record. Words that do not fit are made smaller down to a floor, and
// what does not fit then is told: nothing is ever cut off. The layout is ours
// and follows no official form.
//
// It reads no store and decides nothing: the plate's words are given to it.
package stamp
