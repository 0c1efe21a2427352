// Package snapshot holds the picture of all wells that maps, surfaces and
// scouting read: a base of flat arrays with a spatial index, built once, and a
// small overlay of what changed since. A picture never changes; an edit swaps
// in a new one, so that readers never wait and never see half an edit. The
// overlay is folded into a new base in the background.
//
// It keeps what a records.Digest says and no more: whole records are read from
// the store.
package snapshot
