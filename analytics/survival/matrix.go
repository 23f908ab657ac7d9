package survival

import "math"

// cholesky gives the lower triangle L with L·Lᵀ = a, and -1, or the first row
// whose pivot is not above tiny times its diagonal: a is then not positive
// definite, or that row all but follows from those before it.
func cholesky(a [][]float64, tiny float64) (l [][]float64, bad int) {
	l = square(len(a))
	for i := range a {
		for j := 0; j <= i; j++ {
			sum := a[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = sum / l[j][j]
				continue
			}
			if !(sum > tiny*math.Abs(a[i][i])) {
				return nil, i
			}
			l[i][i] = math.Sqrt(sum)
		}
	}
	return l, -1
}

// solve gives x with L·Lᵀ·x = b.
func solve(l [][]float64, b []float64) []float64 {
	n := len(b)
	x := make([]float64, n)
	for i := range n {
		sum := b[i]
		for k := range i {
			sum -= l[i][k] * x[k]
		}
		x[i] = sum / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x
}

// inverse gives the inverse of L·Lᵀ.
func inverse(l [][]float64) [][]float64 {
	out := square(len(l))
	for j := range l {
		unit := make([]float64, len(l))
		unit[j] = 1
		for i, v := range solve(l, unit) {
			out[i][j] = v
		}
	}
	return out
}

func square(n int) [][]float64 {
	all := make([]float64, n*n)
	out := make([][]float64, n)
	for i := range out {
		out[i] = all[i*n : (i+1)*n : (i+1)*n]
	}
	return out
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
