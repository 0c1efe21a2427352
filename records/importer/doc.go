// Package importer reads well records that others wrote: GeoJSON (RFC 7946)
// as a collection, a single feature, newline-delimited features or a text
// sequence (RFC 8142); tables of text (RFC 4180, with any delimiter and in the
// usual encodings); and the sheets of workbooks (ECMA-376, .xlsx). A table has
// a well a row, or the rows of several tables are joined by a key.
//
// LookAt says what a file holds and what its columns seem to mean, Guess makes
// a Mapping of that, which a person edits and which is kept for the next file,
// and Open reads the file by it.
//
// A source is read as a stream: what is held at a time is one piece of the
// file, not the file. Every row that the file holds comes out once, either
// with a record or with the faults that refuse it, and with its own bytes, its
// line and its place in the file: rows read = accepted + refused, always. Only
// where it cannot be told where the next row begins does reading end, with an
// error that names the line and byte.
//
// What is no part of this package: deciding what happens to a row (see
// records/desk), storing it, and writing files of records (see
// records/exchange, whose PROFILE.md describes what is read here).
package importer
