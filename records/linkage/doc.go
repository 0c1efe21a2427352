// Package linkage tells which of the things in one list are the same as which
// in another, when nothing that is written of them is sure: it weighs how two
// entries agree, field by field, and gives the probability that they belong
// together. It knows no wells: it sees patterns of levels of agreement.
//
// The theory is that of I. P. Fellegi and A. B. Sunter, 'A Theory for Record
// Linkage', Journal of the American Statistical Association 64 (1969),
// 1183-1210: m is how often a field agrees so far among pairs that belong
// together, u how often among pairs that do not, and the logarithms of m/u
// add up. m, u and the share of pairs that belong together are learned from
// the pairs themselves by expectation and maximisation (A. P. Dempster, N. M.
// Laird and D. B. Rubin, Journal of the Royal Statistical Society B 39 (1977),
// 1-38).
//
// Three things go beyond the plain method. A field may depend on others
// (GivenM, GivenU): then m and u are tables with a row for each class of what
// those say, so that what two fields say together is not counted twice. What cannot be a pair is
// counted too (Problem.Rest), so that u is that of all pairs and not only of
// those that were looked at. And an entry has at most one partner: see Share.
package linkage
