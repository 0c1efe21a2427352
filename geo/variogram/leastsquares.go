package variogram

import (
	"math"
	"slices"
)

// notNegative solves the least squares problem with parts that are not
// negative, and returns the residual sum of squares and the parts. There are
// at most three columns, so every choice of columns is tried: the answer is
// the plain solution over those of its parts that are above zero.
func notNegative(columns [][]float64, target []float64) (float64, []float64) {
	best, parts := dot(target, target), make([]float64, len(columns))
	for set := 1; set < 1<<len(columns); set++ {
		var chosen []int
		for c := range columns {
			if set>>c&1 == 1 {
				chosen = append(chosen, c)
			}
		}
		residual, solution, ok := plain(columns, chosen, target)
		if !ok || slices.Min(solution) < 0 || residual >= best {
			continue
		}
		best = residual
		clear(parts)
		for i, c := range chosen {
			parts[c] = solution[i]
		}
	}
	return best, parts
}

// plain solves by orthogonal columns (modified Gram-Schmidt), which keeps the
// digits that normal equations lose. ok is false when the columns chosen are
// not independent.
func plain(columns [][]float64, chosen []int, target []float64) (residual float64, solution []float64, ok bool) {
	k := len(chosen)
	q, r := make([][]float64, k), make([][]float64, k)
	rest, rhs := slices.Clone(target), make([]float64, k)
	for i, c := range chosen {
		q[i], r[i] = slices.Clone(columns[c]), make([]float64, k)
		whole := math.Sqrt(dot(q[i], q[i]))
		for j := range i {
			r[j][i] = dot(q[j], q[i])
			axpy(-r[j][i], q[j], q[i])
		}
		r[i][i] = math.Sqrt(dot(q[i], q[i]))
		if !(r[i][i] > 1e-9*whole) {
			return 0, nil, false
		}
		for j := range q[i] {
			q[i][j] /= r[i][i]
		}
		rhs[i] = dot(q[i], rest)
		axpy(-rhs[i], q[i], rest)
	}
	solution = rhs
	for i := k - 1; i >= 0; i-- {
		for j := i + 1; j < k; j++ {
			solution[i] -= r[i][j] * solution[j]
		}
		solution[i] /= r[i][i]
	}
	return dot(rest, rest), solution, true
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// axpy adds s times a to b.
func axpy(s float64, a, b []float64) {
	for i, v := range a {
		b[i] += s * v
	}
}
