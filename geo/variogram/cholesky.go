package variogram

import "math"

// factor is a symmetric positive definite matrix as its lower triangle L with
// L L' = C, row after row.
type factor struct {
	n int
	l []float64 // n x n; above the diagonal nothing is read
}

// worstCondition is the greatest condition number (in the 1-norm) of a system
// that is answered. Doubles hold 16 digits, so that weights keep at least six.
const worstCondition = 1e10

// decompose turns f.l, filled as C in its lower triangle, into L. It fails with
// ErrSingular when C is not positive definite, or worse than worstCondition.
// work needs room for two columns.
//
// least, when above zero, is known to stand in the diagonal on top of a matrix
// without negative eigenvalues. No eigenvalue of C is then less, the 1-norm of
// its inverse is at most sqrt(n)/least, and where that already keeps the
// condition within bounds nothing more is asked.
func (f *factor) decompose(work []float64, least float64) error {
	n := f.n
	// No covariance is above the variance, so that no column sums to more than n
	// of the first site's.
	sure := least > 0 && float64(n)*f.l[0]*math.Sqrt(float64(n)) <= worstCondition*least
	norm := 0.0
	if !sure {
		norm = f.norm(work[:n])
	}
	for i := range n {
		row := f.l[i*n : i*n+i+1]
		for j := range i {
			other := f.l[j*n : j*n+j+1]
			row[j] = (row[j] - dot(other[:j], row)) / other[j]
		}
		pivot := row[i] - dot(row[:i], row)
		if !(pivot > 0) {
			return ErrSingular
		}
		row[i] = math.Sqrt(pivot)
	}
	if !sure && !(norm*f.inverseNorm(work[:n], work[n:2*n]) <= worstCondition) {
		return ErrSingular
	}
	return nil
}

// norm is the largest sum of sizes in a column of C, before decompose.
func (f *factor) norm(sums []float64) float64 {
	n, most := f.n, 0.0
	clear(sums)
	for i := range n {
		for j, c := range f.l[i*n : i*n+i+1] {
			sums[i] += math.Abs(c)
			if j < i {
				sums[j] += math.Abs(c)
			}
		}
	}
	for _, v := range sums {
		most = max(most, v)
	}
	return most
}

// inverseNorm estimates the 1-norm of the inverse from below, nearly always
// closely: W. W. Hager, 'Condition estimates', SIAM Journal on Scientific and
// Statistical Computing 5, 1984, with the alternating column that N. J. Higham
// (ACM Transactions on Mathematical Software 14, 1988) put beside it.
func (f *factor) inverseNorm(v, z []float64) float64 {
	n, norm := f.n, 0.0
	for i := range v {
		v[i] = 1 / float64(n)
	}
	at := -1
	for range 5 {
		f.solve(v)
		norm = max(norm, size(v))
		for i := range z {
			z[i] = math.Copysign(1, v[i])
		}
		f.solve(z)
		next := 0
		for i := range z {
			if math.Abs(z[i]) > math.Abs(z[next]) {
				next = i
			}
		}
		if next == at || at >= 0 && math.Abs(z[next]) <= norm {
			break
		}
		at = next
		clear(v)
		v[at] = 1
	}
	for i := range v {
		v[i] = 1 + float64(i)/float64(max(1, n-1))
		if i%2 == 1 {
			v[i] = -v[i]
		}
	}
	f.solve(v)
	return max(norm, 2*size(v)/(3*float64(n)))
}

func size(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += math.Abs(x)
	}
	return sum
}

// solve puts the solution of C v = b in place of b.
func (f *factor) solve(b []float64) {
	n := f.n
	for i := range n {
		row := f.l[i*n : i*n+i+1]
		b[i] = (b[i] - dot(row[:i], b)) / row[i]
	}
	for i := n - 1; i >= 0; i-- {
		row := f.l[i*n : i*n+i+1]
		b[i] /= row[i]
		axpy(-b[i], row[:i], b)
	}
}

// ones returns the solution of C a = 1 in buf, and the sum of a.
func (f *factor) ones(buf []float64) (a []float64, sum float64) {
	a = buf[:f.n]
	for i := range a {
		a[i] = 1
	}
	f.solve(a)
	for _, v := range a {
		sum += v
	}
	return a, sum
}
