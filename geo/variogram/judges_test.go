//go:build judges

package variogram_test

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/variogram"
)

// The judge is R's gstat (E. J. Pebesma, 'Multivariable geostatistics in S: the
// gstat package', Computers and Geosciences 30, 2004), over the samples of the
// river Meuse that R's package sp carries: R writes them out at each run. The
// tests fail when the judge is missing.

// judge runs a script after the packages and the samples are there, and reads
// the tables that it writes with give(name, data frame).
func judge(t *testing.T, script string) func(name string) map[string][]float64 {
	t.Helper()
	tool, err := exec.LookPath("Rscript")
	if err != nil {
		t.Fatalf("the judge R is not installed: %v", err)
	}
	dir := t.TempDir()
	const before = `suppressMessages({library(sp); library(gstat)})
data(meuse); meuse$v <- log(meuse$zinc); coordinates(meuse) <- ~x+y
give <- function(name, d) {
  d <- as.data.frame(lapply(d, function(c) formatC(as.numeric(c), digits = 17, format = "g")))
  write.csv(d, paste0(name, ".csv"), row.names = FALSE, quote = FALSE)
}
give("samples", data.frame(x = coordinates(meuse)[, 1], y = coordinates(meuse)[, 2], v = meuse$v))
`
	if err := os.WriteFile(filepath.Join(dir, "judge.R"), []byte(before+script), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(tool, "--vanilla", "judge.R")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("Rscript: %v\n%s", err, out)
	}
	return func(name string) map[string][]float64 { return readTable(t, filepath.Join(dir, name+".csv")) }
}

func readTable(t *testing.T, path string) map[string][]float64 {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", path, len(rows), err)
	}
	table := map[string][]float64{}
	for _, row := range rows[1:] {
		for i, word := range row {
			v, err := strconv.ParseFloat(strings.TrimSpace(strings.Replace(word, "NA", "NaN", 1)), 64)
			if err != nil {
				t.Fatal(err)
			}
			table[rows[0][i]] = append(table[rows[0][i]], v)
		}
	}
	return table
}

// worst is the largest relative difference seen of each kind.
type worst map[string]float64

func (w worst) compare(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	d := math.Abs(got-want) / math.Max(math.Abs(want), 1e-3)
	if !(d <= relative) {
		t.Errorf("%s: ours %.15g, the judge's %.15g (%.3g)", what, got, want, d)
	}
	w[what] = math.Max(w[what], d)
}

func TestJudgeEmpirical(t *testing.T) {
	cases := map[string]variogram.Binning{
		"plain": {WidthM: 100, CutoffM: 1500},
		"short": {WidthM: 60, CutoffM: 500}, // the last class is not whole
		"north": {WidthM: 150, CutoffM: 1500, ToleranceDeg: 22.5},
		"ne":    {WidthM: 150, CutoffM: 1500, AzimuthDeg: 45, ToleranceDeg: 22.5},
		"skew":  {WidthM: 150, CutoffM: 1500, AzimuthDeg: 117, ToleranceDeg: 31.4},
	}
	var script strings.Builder
	for name, b := range cases {
		direction := ""
		if b.ToleranceDeg > 0 {
			direction = fmt.Sprintf(", alpha = %g, tol.hor = %g", b.AzimuthDeg, b.ToleranceDeg)
		}
		for suffix, cressie := range map[string]string{"c": "FALSE", "r": "TRUE"} {
			fmt.Fprintf(&script, "give(\"%s_%s\", as.data.frame(variogram(v ~ 1, meuse, cutoff = %g, width = %g, cressie = %s%s))[, c('np', 'dist', 'gamma')])\n",
				name, suffix, b.CutoffM, b.WidthM, cressie, direction)
		}
	}
	tables := judge(t, script.String())
	s := tables("samples")
	for name, b := range cases {
		t.Run(name, func(t *testing.T) {
			e, err := variogram.Measure(context.Background(), s["x"], s["y"], s["v"], b)
			if err != nil {
				t.Fatal(err)
			}
			classical, robust := tables(name+"_c"), tables(name+"_r")
			seen, w := 0, worst{}
			for _, l := range e.Lags {
				if l.Pairs == 0 {
					continue
				}
				if seen >= len(classical["np"]) {
					t.Fatalf("the judge has only %d lags", seen)
				}
				if l.Pairs != int(classical["np"][seen]) {
					t.Errorf("lag %d: %d pairs, the judge's %g", seen, l.Pairs, classical["np"][seen])
				}
				w.compare(t, "distance", l.MeanM, classical["dist"][seen], 1e-9)
				w.compare(t, "classical", l.Matheron, classical["gamma"][seen], 1e-9)
				w.compare(t, "robust", l.CressieHawkins, robust["gamma"][seen], 1e-9)
				seen++
			}
			if seen != len(classical["np"]) {
				t.Errorf("%d lags, the judge's %d", seen, len(classical["np"]))
			}
			t.Logf("%d lags; worst differences %v", seen, w)
		})
	}
}

// theirs is a shape's name with the judge, and how many times its range ours is.
var theirs = map[variogram.Shape]struct {
	name  string
	times float64
}{
	variogram.Spherical: {"Sph", 1}, variogram.Exponential: {"Exp", 3}, variogram.Gaussian: {"Gau", math.Sqrt(3)},
}

// The judge stops when a step gains little; from where it stopped it is started
// again, so that both stand at the bottom. With the gaussian shape it stops at
// sums of squares that are not the least (the test holds it to that), so there
// R's nls over the judge's own lags has the word, in the range as it writes it.
func TestJudgeFit(t *testing.T) {
	methods := map[string]struct {
		number int
		w      variogram.Weighting
	}{"N over h2": {7, variogram.PairsOverSquare}, "N": {1, variogram.PairsOnly}, "equal": {6, variogram.Equal}}
	script := `v <- variogram(v ~ 1, meuse, cutoff = 1500, width = 100)
r <- variogram(v ~ 1, meuse, cutoff = 1500, width = 100, cressie = TRUE)
weights <- function(v, how) switch(as.character(how), "7" = v$np / v$dist^2, "1" = v$np, "6" = rep(1, nrow(v)))
fit <- function(v, shape, range, how) {
  m <- vgm(0.5, shape, range, 0.05)
  for (i in 1:40) m <- fit.variogram(v, m, fit.method = how)
  d <- data.frame(psill = m$psill, range = m$range, sse = attr(m, "SSErr"))
  if (shape == "Gau") {
    v$w <- weights(v, how)
    n <- nls(gamma ~ c0 + c * (1 - exp(-(dist / a)^2)), v, list(c0 = 0.1, c = 0.5, a = range), weights = w,
      algorithm = "port", lower = c(0, 0, 10), control = nls.control(tol = 1e-12, maxiter = 500, warnOnly = TRUE))
    p <- coef(n)
    d <- data.frame(psill = p[c("c0", "c")], range = c(0, p["a"]), sse = deviance(n), gstat = d$sse)
  }
  d
}
`
	for shape, s := range theirs {
		for _, m := range methods {
			for _, v := range []string{"v", "r"} {
				script += fmt.Sprintf("give('%s_%d_%d', fit(%s, '%s', %g, %d))\n", v, shape, m.number, v, s.name, 900/s.times, m.number)
			}
		}
	}
	tables := judge(t, script)
	samples := tables("samples")
	e, err := variogram.Measure(context.Background(), samples["x"], samples["y"], samples["v"], variogram.Binning{WidthM: 100, CutoffM: 1500})
	if err != nil {
		t.Fatal(err)
	}
	for shape, s := range theirs {
		for name, m := range methods {
			for by, v := range []string{"v", "r"} {
				t.Run(fmt.Sprintf("%s %s %s", shape, name, v), func(t *testing.T) {
					want := tables(fmt.Sprintf("%s_%d_%d", v, shape, m.number))
					f, err := variogram.Fit(e, []variogram.Shape{shape}, m.w, variogram.Estimator(by))
					if err != nil {
						t.Fatal(err)
					}
					w := worst{}
					w.compare(t, "nugget", f.Nugget, want["psill"][0], 1e-4)
					w.compare(t, "sill", f.Structures[0].Sill, want["psill"][1], 1e-4)
					w.compare(t, "range", f.Structures[0].RangeM, want["range"][1]*s.times, 1e-4)
					if f.Residual > want["sse"][0]*(1+1e-9) {
						t.Errorf("residual %.12g, the judge's is less: %.12g", f.Residual, want["sse"][0])
					}
					if shape == variogram.Gaussian && !(want["gstat"][0] > f.Residual) {
						t.Errorf("gstat's own residual is %.9g and ours %.9g: let it be the judge", want["gstat"][0], f.Residual)
					}
					t.Logf("residual %.9g, gstat %.9g", f.Residual, append(want["gstat"], want["sse"]...)[0])
					t.Logf("nugget %.6f sill %.6f range %.3f; %v", f.Nugget, f.Structures[0].Sill, f.Structures[0].RangeM, w)
				})
			}
		}
	}
}

// The judge's own classes (a third of the diagonal in fifteen) and its fit as
// it stops by itself.
func TestJudgeByItsOwnChoices(t *testing.T) {
	tables := judge(t, `b <- bbox(meuse); cutoff <- sqrt(sum((b[, 2] - b[, 1])^2)) / 3
m <- fit.variogram(variogram(v ~ 1, meuse), vgm(1, "Sph", 900, 1))
give("fit", data.frame(psill = m$psill, range = m$range, cutoff = cutoff))
`)
	s, want := tables("samples"), tables("fit")
	cutoff := want["cutoff"][0]
	e, err := variogram.Measure(context.Background(), s["x"], s["y"], s["v"], variogram.Binning{WidthM: cutoff / 15, CutoffM: cutoff})
	if err != nil {
		t.Fatal(err)
	}
	f, err := variogram.Fit(e, []variogram.Shape{variogram.Spherical}, variogram.PairsOverSquare, variogram.Classical)
	if err != nil {
		t.Fatal(err)
	}
	w := worst{}
	w.compare(t, "nugget", f.Nugget, want["psill"][0], 1e-4)
	w.compare(t, "sill", f.Structures[0].Sill, want["psill"][1], 1e-4)
	w.compare(t, "range", f.Structures[0].RangeM, want["range"][1], 1e-4)
	t.Logf("nugget %.7f sill %.7f range %.4f; %v", f.Nugget, f.Structures[0].Sill, f.Structures[0].RangeM, w)
}
