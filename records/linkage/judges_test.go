//go:build judges

// The outside judge of learning and weighing: scripts in base R (Debian package
// r-base-core), written anew from the formulas and in another way than the
// program's: R walks over the cells of a table of indicator matrices for EM,
// and over every way to pair entries off for probabilities. R must be present:
// a missing program fails the test.

package linkage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/judge"
	"tallybook/records/linkage"
)

// emInR learns by EM. p has a row for each pattern and a column for each field,
// levels from 1, NA where missing; n counts them. A field's parent is another
// column, or 0: then its table has a row for each class of that, 1 for levels
// in near, 2 for others and NA.
const emInR = `
em <- function(p, n, levels, parentM, parentU, near, share, steps) {
  fields <- length(levels)
  rowOf <- function(f, parent) if (parent[f] == 0) rep(1, nrow(p)) else ifelse(is.na(p[, parent[f]]) | !(p[, parent[f]] %in% near[[parent[f]]]), 1, 2)
  start <- function(first, k, rows) matrix(c(first, rep((1 - first) / (k - 1), k - 1)), rows, k, byrow = TRUE)
  m <- lapply(1:fields, function(f) start(0.7, levels[f], if (parentM[f] == 0) 1 else 2))
  u <- lapply(1:fields, function(f) start(0.2, levels[f], if (parentU[f] == 0) 1 else 2))
  for (s in 1:steps) {
    lm <- lu <- rep(1, nrow(p))
    for (f in 1:fields) {
      seen <- !is.na(p[, f])
      lm[seen] <- lm[seen] * m[[f]][cbind(rowOf(f, parentM), p[, f])[seen, , drop = FALSE]]
      lu[seen] <- lu[seen] * u[[f]][cbind(rowOf(f, parentU), p[, f])[seen, , drop = FALSE]]
    }
    g <- share * lm / (share * lm + (1 - share) * lu)
    for (f in 1:fields) {
      for (r in 1:nrow(m[[f]])) { x <- sapply(1:levels[f], function(l) sum((g * n)[which(p[, f] == l & rowOf(f, parentM) == r)])); if (sum(x) > 0) m[[f]][r, ] <- x / sum(x) }
      for (r in 1:nrow(u[[f]])) { x <- sapply(1:levels[f], function(l) sum(((1 - g) * n)[which(p[, f] == l & rowOf(f, parentU) == r)])); if (sum(x) > 0) u[[f]][r, ] <- x / sum(x) }
    }
    share <- sum(g * n) / sum(n)
  }
  put <- function(x) cat(sprintf("%.15g\n", x))
  put(share)
  for (f in 1:fields) { put(as.vector(t(m[[f]]))); put(as.vector(t(u[[f]]))) }
}
`

// TestEMAgainstR: the same table of patterns, the same start, the same steps;
// independent fields, and fields that depend on others.
func TestEMAgainstR(t *testing.T) {
	chained := plain()
	chained.Fields[0].Classes = []int{1, 1, 0}
	chained.Fields[1].GivenU = []int{0}
	chained.Fields[2].GivenM = []int{0}
	chained.U[1] = linkage.Table{{0.1, 0.9}, {0.6, 0.4}}
	chained.M[2] = linkage.Table{{0.4, 0.1, 0.4, 0.1}, {0.7, 0.1, 0.1, 0.1}}
	for name, c := range map[string]struct {
		m                *linkage.Model
		parentM, parentU string
	}{
		"independent": {plain(), "c(0,0,0,0)", "c(0,0,0,0)"},
		"dependent":   {chained, "c(0,0,1,0)", "c(0,1,0,0)"},
	} {
		t.Run(name, func(t *testing.T) {
			const steps = 150
			counts := simulate(c.m, rand.New(rand.NewPCG(11, 4)), 5000)
			got, rep, err := linkage.EM(counts, startOf(c.m), linkage.Options{Steps: steps, Tolerance: 1e-300})
			if err != nil || rep.Steps < 50 {
				t.Fatal(err, rep)
			}
			var cells, n []string
			for _, k := range counts {
				for f := range c.m.Fields {
					if l := k.Pattern.Level(f); l < len(c.m.Fields[f].Levels) {
						cells = append(cells, strconv.Itoa(l+1))
					} else {
						cells = append(cells, "NA")
					}
				}
				n = append(n, strconv.FormatFloat(k.N, 'g', -1, 64))
			}
			want := judge.R(t, emInR+fmt.Sprintf("em(matrix(c(%s), ncol = 4, byrow = TRUE), c(%s), c(3,2,4,2), %s, %s, list(c(1,2)), 0.1, %d)\n",
				strings.Join(cells, ","), strings.Join(n, ","), c.parentM, c.parentU, rep.Steps))
			have := []float64{got.Share}
			for f := range c.m.Fields {
				for _, table := range [...]linkage.Table{got.M[f], got.U[f]} {
					for _, row := range table {
						have = append(have, row...)
					}
				}
			}
			if len(want) != len(have) {
				t.Fatalf("R gives %d numbers, we have %d", len(want), len(have))
			}
			worst := 0.0
			for i := range have {
				worst = max(worst, math.Abs(have[i]-want[i]))
			}
			if worst > 1e-9 {
				t.Errorf("the most that a number is off is %.3g", worst)
			}
			t.Logf("%d steps, %d patterns, %d numbers, at most %.2g off; share %.6f", rep.Steps, len(counts), len(have), worst, got.Share)
		})
	}
}

// oneToOneInR learns m, u and share where each entry has at most one partner,
// by summing over every way to pair the entries of a block off; block gives the
// candidates' blocks, of which no two share an entry.
const oneToOneInR = `
ways <- function(left, right) {
  out <- list(integer(0))
  for (k in seq_along(left)) {
    more <- list()
    for (w in out) if (!any(left[w] == left[k]) && !any(right[w] == right[k])) more[[length(more) + 1]] <- c(w, k)
    out <- c(out, more)
  }
  out
}
learn <- function(left, right, p, block, rest, restN, lefts, rights, levels, share, steps) {
  fields <- length(levels)
  start <- function(first, k) c(first, rep((1 - first) / (k - 1), k - 1))
  m <- lapply(levels, function(k) start(0.7, k)); u <- lapply(levels, function(k) start(0.2, k))
  every <- lapply(split(seq_along(left), block), function(i) list(i = i, w = ways(left[i], right[i])))
  for (s in 1:steps) {
    odds <- rep(share / (rights - share * lefts) / (1 - share), length(left))
    for (f in 1:fields) odds <- odds * m[[f]][p[, f]] / u[[f]][p[, f]]
    g <- numeric(length(left))
    for (e in every) {
      o <- odds[e$i]
      worth <- sapply(e$w, function(w) prod(o[w]))
      for (j in seq_along(o)) g[e$i[j]] <- sum(worth[sapply(e$w, function(w) j %in% w)]) / sum(worth)
    }
    for (f in 1:fields) {
      x <- sapply(1:levels[f], function(l) sum(g[p[, f] == l])); m[[f]] <- x / sum(x)
      x <- sapply(1:levels[f], function(l) sum((1 - g)[p[, f] == l]) + sum(restN[rest[, f] == l])); u[[f]] <- x / sum(x)
    }
    share <- sum(g) / lefts
  }
  put <- function(x) cat(sprintf("%.15g\n", x))
  put(share); for (f in 1:fields) { put(m[[f]]); put(u[[f]]) }; put(g)
}
`

// TestOneToOneAgainstR: blocks without rings, where the messages are exact.
func TestOneToOneAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	truth := plain()
	p := &linkage.Problem{}
	var left, right, cells, block []string
	add := func(l, rt int, match bool) {
		pattern := linkage.NoPattern
		for f := range truth.Fields {
			row := truth.U[f][0]
			if match {
				row = truth.M[f][0]
			}
			v, level := r.Float64(), 0
			for v -= row[0]; v >= 0 && level < len(row)-1; v -= row[level] {
				level++
			}
			pattern = pattern.With(f, level)
			cells = append(cells, strconv.Itoa(level+1))
		}
		p.Candidates = append(p.Candidates, linkage.Candidate{Left: int32(l), Right: int32(rt), Pattern: pattern})
		left, right = append(left, strconv.Itoa(l)), append(right, strconv.Itoa(rt))
	}
	for b := range 60 {
		// A chain: two entries on the left, three on the right.
		l, rt := 2*b, 3*b
		add(l, rt, b%4 != 0)
		add(l, rt+1, false)
		add(l+1, rt+1, b%3 != 0)
		add(l+1, rt+2, false)
		for range 4 {
			block = append(block, strconv.Itoa(b))
		}
	}
	p.Lefts, p.Rights = 120, 200
	var rest, restN []string
	for _, k := range simulate(&linkage.Model{Fields: truth.Fields, M: truth.M, U: truth.U, Share: 0}, r, 2000) {
		whole := true
		var row []string
		for f := range truth.Fields {
			whole = whole && k.Pattern.Level(f) != linkage.Missing
			row = append(row, strconv.Itoa(k.Pattern.Level(f)+1))
		}
		if whole {
			p.Rest = append(p.Rest, k)
			rest, restN = append(rest, row...), append(restN, strconv.FormatFloat(k.N, 'g', -1, 64))
		}
	}
	const steps = 60
	start := startOf(truth)
	start.Share = 0.5
	got, rep, err := p.Fit(start, linkage.Options{Steps: steps, Tolerance: 1e-300})
	if err != nil || rep.Steps != steps {
		t.Fatal(err, rep)
	}
	join := func(s []string) string { return "c(" + strings.Join(s, ",") + ")" }
	want := judge.R(t, oneToOneInR+fmt.Sprintf("learn(%s, %s, matrix(%s, ncol = 4, byrow = TRUE), %s, matrix(%s, ncol = 4, byrow = TRUE), %s, 120, 200, c(3,2,4,2), 0.5, %d)\n",
		join(left), join(right), join(cells), join(block), join(rest), join(restN), steps))
	have := []float64{got.Share}
	for f := range truth.Fields {
		have = append(append(have, got.M[f][0]...), got.U[f][0]...)
	}
	n := len(have)
	if len(want) != n+len(p.Candidates) {
		t.Fatalf("R gives %d numbers, we have %d", len(want), n+len(p.Candidates))
	}
	worst := 0.0
	for i := range have {
		worst = max(worst, math.Abs(have[i]-want[i]))
	}
	if worst > 1e-6 {
		t.Errorf("the most that m, u or the share is off is %.3g", worst)
	}
	t.Logf("%d candidates, %d numbers, at most %.2g off; share %.6f", len(p.Candidates), n, worst, got.Share)
}
