// Package lithology holds the vocabulary of ground materials and reads the
// words that drillers write for them.
//
// A Vocabulary is one table: about sixty materials, each with a stable code, a
// label, a class of ground (records.Class), the number of its pattern in
// FGDC-STD-013-2006, a tint, and the driller's words. Vocabulary.Read turns a
// free description ("gry sandy cly w/ bldrs") into a Reading: which material,
// what class, what else is in it, colour, hardness, weathering, water, and the
// spans of the text that decided. Reading is deterministic, explains itself,
// and answers 'unknown' rather than guess.
//
// The reader is a word table and a small grammar, nothing learned: what a word
// means can be looked up in vocabulary.go (materials) and words.go (everything
// else), and an office adds its own words with Vocabulary.With.
//
// What it does not do: it reads one description at a time and does not look at
// the neighbouring strata, it does not judge depths, and it does not pick
// bedrock; records does that from the classes.
package lithology
