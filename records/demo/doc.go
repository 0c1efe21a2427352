// Package demo invents a township to try the program on: its ground, its
// wells over forty years, their plates, roads and streams. Nothing in it is
// real, and it lies in the open ocean so that nobody can take it for a place.
//
// The ground is a model with a fixed seed: till of varying thickness over
// schist that dips over granite, a buried valley filled with clay, sand and
// gravel, and one productive fracture zone; elsewhere yields mostly ignore
// their neighbours, as they do in hard rock. Holes are drilled until there is
// water enough or the money runs out, so that depth follows yield. Among the
// records are mistakes of the kinds that real files hold, for the clerk to
// find.
package demo
