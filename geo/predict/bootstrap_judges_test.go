//go:build judges

package predict

import (
	"encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestJudgeBootstrap: R's package boot (A. C. Davison and D. V. Hinkley, Bootstrap
// Methods and their Application, Cambridge, 1997; Debian package r-cran-boot)
// draws the groups; over its own draws our differences and ranges must be those
// that it gives.
func TestJudgeBootstrap(t *testing.T) {
	tool, err := exec.LookPath("Rscript")
	if err != nil {
		t.Fatalf("the judge R is not installed: %v", err)
	}
	dir := t.TempDir()
	const script = `suppressMessages(library(boot))
set.seed(3); m <- 45
n <- sample(1:30, m, TRUE)
d <- data.frame(n = n, a = rgamma(m, n, 0.5), b = rgamma(m, n, 0.55))
tell <- function(d, i) { s <- colSums(d[i, ]); c(s["a"]/s["n"] - s["b"]/s["n"], sqrt(s["a"]/s["n"]) - sqrt(s["b"]/s["n"])) }
b <- boot(d, tell, R = 1999)
w <- function(x, f) write.table(formatC(as.matrix(x), digits = 17, format = "g"), f, sep = ",", row.names = FALSE, col.names = FALSE, quote = FALSE)
w(d, "sums.csv")
write.table(boot.array(b, indices = TRUE), "draws.csv", sep = ",", row.names = FALSE, col.names = FALSE)
ends <- sapply(1:2, function(k) c(b$t0[k], boot.ci(b, conf = 0.9, type = "perc", index = k)$percent[4:5]))
w(t(ends), "ends.csv")
`
	if err := os.WriteFile(filepath.Join(dir, "judge.R"), []byte(script), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(tool, "--vanilla", "judge.R")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("Rscript: %v\n%s", err, out)
	}
	read := func(name string) (rows [][]float64) {
		f, err := os.Open(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		texts, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range texts {
			var row []float64
			for _, cell := range text {
				v, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
				if err != nil {
					t.Fatal(err)
				}
				row = append(row, v)
			}
			rows = append(rows, row)
		}
		return rows
	}
	var sums []pairedSums
	for _, r := range read("sums.csv") {
		sums = append(sums, pairedSums{n: r[0], a: r[1], b: r[2]})
	}
	draws, ends := read("draws.csv"), read("ends.csv")
	if len(sums) != 45 || len(draws) != bootstrapRuns || len(ends) != 2 {
		t.Fatal(len(sums), len(draws), len(ends))
	}
	for k, out := range []func(float64) float64{identity, math.Sqrt} {
		d := percentiles(sums, len(draws), out, func(run int, each func(g int)) {
			for _, g := range draws[run] {
				each(int(g) - 1)
			}
		})
		for i, got := range []float64{d.Mean, d.Low, d.High} {
			if want := ends[k][i]; math.Abs(got-want) > 1e-10*math.Max(1, math.Abs(want)) {
				t.Errorf("statistic %d, %s: %.15g, the judge's %.15g", k, []string{"mean", "low", "high"}[i], got, want)
			}
		}
		t.Logf("%.12g from %.12g to %.12g", d.Mean, d.Low, d.High)
	}
}
