// Package review works out how the ground varies: what the records hold, how a
// quantity spreads, and how it goes with depth, material, years and distance.
// Every answer is tables of plain numbers, and the charts, the report, the files
// and the comparison with another copy of the data are made from those alone, so
// that all of them say the same.
//
// # To add a part
//
// A part of a review is a question, the numbers that answer it, and a drawing of
// them.
//
//  1. Write a function func(ctx, *Input) (*Answer, error). Input holds the
//     settings, the wells chosen (in the order of their keys, which is the same in
//     every copy of the data) and the picture they are from. The first table of
//     the Answer is what the chart is drawn from and what its CSV gives; a column's
//     name ends with its unit (_m, _lps); further numbers for the sentence are
//     Figures. Where too few wells can tell, fill in TooFew and nothing else: that
//     is an answer and no error. Nothing may depend on the order of the store, on
//     the clock, or on an unseeded chance.
//  2. List it in Parts here; or, where it needs what only the desk has (models,
//     scores), in reviewParts of records/desk.
//  3. In server/reviewviews.go say how it is shown: a function that makes a
//     drawing and the sentence that says what it shows from the Answer. Links to
//     /review/NAME.svg and /review/NAME.csv, the saved review, the report and the
//     command follow by themselves.
//
// A setting of one part alone is kept in Settings.Parts under "NAME.setting"; it
// stands in the address as p.NAME.setting=… and only that part is worked anew when
// it changes. Settings.Part reads it.
//
// # Choices of ours
//
// Fewer than ten values are too few for a middle, fewer than twenty for a shape or
// a running middle (no source). Depth and yield are as first drilled. The digest
// of the data is a sum over the wells, so that it does not hang on their order.
package review
