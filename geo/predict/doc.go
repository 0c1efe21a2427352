// Package predict says what the ground at an unseen site will likely do, from
// the wells around it: not one number but a whole distribution, with what it
// stands on and how well the same method did at wells that it was not shown.
//
// In a driller's words: nearby wells vote, the closest loudest; a clump of
// wells shares one vote; a different rock, use or setting counts little; the
// votes slide halfway along the local slope, so that a deepening valley is
// followed but not chased; a slight blur and a small helping of the nearest two
// hundred wells cover surprises. How much of that helping to take, and how wide
// an honest eight-in-ten range has to be, is not our opinion: it is set by
// hiding each of thousands of wells in turn (with every other well on the same
// spot), predicting it from the rest, and looking at what was found. Where the
// hundred nearest of those trials were no better than guessing from the whole
// area, the answer says so, and gives the area's spread.
//
// # What it works on
//
// Any quantity that cannot be negative: depth to bedrock, yield, total depth,
// casing. Values are plain float64 in whatever unit the caller keeps; positions
// are degrees (WGS 84) and metres on one stated projection for the whole set.
// A bound ('deeper than 30', 'under 1', 'between 12 and 15') is never used as a
// value and never dropped: it enters as a censored observation (Kaplan-Meier on
// the weights, or Turnbull's self-consistency where lower and upper bounds
// occur together). A measured zero stays a zero.
//
// # Choices of ours
//
//   - The wells that vote are the nearest by distance with the accuracy of both
//     positions in it; so is D8, the mean distance to the nearest eight. A bound
//     counts as a well there.
//   - A bound slides along the slope and is blurred like a value; the slope and
//     the spread that sets the blur are taken from values alone.
//   - Unlike wells count little as voters and in the area, but fully in the slope.
//   - A test well that says a bound is scored over the thresholds at which it is
//     known to have been passed or not, and its rank is an interval; ranges are
//     then set by the self-consistent distribution of ranks.
//   - The lower end of the range goes by the highest rank of an outcome that stands
//     in a block of equal values, the upper end by the lowest, so that blocks (dry
//     holes, rounded depths) are in the range and not half in it.
//   - Recent test wells are predicted from wells of earlier years alone; a well of
//     unknown year is then hidden too. Where 200 are recent they alone set the
//     range.
//   - In sets under 800 the area is a quarter of all wells, but never under 8.
//   - Kaplan and Meier, and Turnbull, take it that a hole did not stop because of
//     what it was about to meet. Where depths of stopping follow the rock the
//     estimate leans deep, and no method that sees the depths alone can know.
//
// Non-goals: records, units, files, clocks. Seeds are passed in; the same
// observations, in any order, with the same seed give the same numbers.
//
// # Sources
//
//   - Continuous ranked probability score: Gneiting and Raftery, 'Strictly
//     proper scoring rules, prediction, and estimation', JASA 102 (2007).
//   - Product-limit estimate: Kaplan and Meier, JASA 53 (1958).
//   - Self-consistency for interval-censored data: Turnbull, J. R. Stat. Soc. B
//     38 (1976).
//
// (All three cited from memory.) The constants of the estimate (32 neighbours,
// a crowding range of 0.3 and so on, see [DefaultParams]) were chosen on open
// sets of well records by leaving out sites and 10 km blocks; they are ours.
package predict
