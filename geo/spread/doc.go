// Package spread tells how values spread where some of them are only bounds:
// shares and quantiles, columns of counts, a running median beside another
// quantity, counts that come by chance, and how far the values of points close
// together differ.
//
// Values are plain float64, not negative, in whatever unit the caller keeps;
// positions are metres on one plane. A bound is never used as a value and never
// dropped: shares come from predict.NewDistribution (Kaplan and Meier's
// product-limit estimate, or Turnbull's self-consistent one). R's stats and
// survival judge them.
//
// Non-goals: records, units, drawing. Nothing depends on the order in which
// values come; ties are broken by keys.
package spread
