// Package plates tells which record a plate on a wellhead belongs to, and
// which records are of one well. It proposes and gives its reasons, with a
// probability; deciding is for people, and is kept elsewhere.
//
// What is compared, and how far two entries may differ and still be taken for
// the same thing, follows from what goes wrong between a hole and its paper: a
// digit misread or two exchanged, feet taken for metres, a depth from the top
// of the casing, the month before the day, a position as good as its method.
// The levels and tolerances are our own (common practice, no source). The
// weighing is that of package linkage.
//
// What two fields say together is not counted twice:
//
//   - Wells near each other are alike without being one: the number, date,
//     depth, casing, level and driller are weighed apart by how near a pair
//     stands, and where nobody knows that, by all that may be.
//   - Numbers are given out in order, so a number with one digit off is that
//     of the well drilled the week before: the date is weighed apart for those.
//   - Casing and pump follow the depth, and where one was written in the wrong
//     unit the others mostly were too: they are weighed apart by what the depth
//     says.
//   - A driller works in his years: the driller is weighed apart for pairs
//     whose dates agree and for others.
//
// What agrees weighs more where it is rare: a number, a driller's name, a depth,
// a year, and a place where few wells stand.
//
// A probability considers all other records, all other plates, and that the
// record may not be in the file at all. What is learned from few pairs stays
// near where it started: see startM and learning. The default threshold is
// never below 0.9, and so high that of all links from it on the model expects
// at most one in three hundred to be wrong; half as many again would still be
// one in two hundred.
package plates
