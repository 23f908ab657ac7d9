package lifespan

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
)

// manyRoofs are roofs of a few coverings, each with five readings by two people,
// and the grids of their coverings: what a night works through.
type manyRoofs struct {
	t         taken
	coverings []covering
	roofs     []aRoof
}

// covering keeps for all its roofs the prior's density, T, what standing tells of
// T, and T^−power, on one even grid of ln T.
type covering struct {
	from, step                       float64
	prior, years, standing, slowness []float64
}

type aRoof struct {
	covering int
	age      float64
	readings []reading
}

const gridPoints = 256

func manyRoofsOf(n int) *manyRoofs {
	m := &manyRoofs{t: taken{lag: UsualLagYears, line: UsualLine, power: UsualPower, gross: UsualGrossShare, scale: errors}}
	kinds := []string{"asphalt_strip", "asphalt_laminated", "asphalt_interlocking"}
	for _, kind := range kinds {
		prior, _ := For(kind)
		c := covering{from: math.Log(prior.Quantile(1e-6)), prior: make([]float64, gridPoints), years: make([]float64, gridPoints),
			standing: make([]float64, gridPoints), slowness: make([]float64, gridPoints)}
		c.step = (math.Log(prior.ScaleYears)+math.Log(36)/prior.Shape-c.from)/gridPoints - 1e-12
		for j := range c.prior {
			T := math.Exp(c.from + float64(j)*c.step)
			c.years[j], c.slowness[j] = T, math.Pow(T, -m.t.power)
			c.prior[j] = T * prior.Hazard(T) * prior.Survival(T)
			c.standing[j] = math.Exp(T / m.t.lag)
		}
		m.coverings = append(m.coverings, c)
	}
	dice := rand.New(rand.NewPCG(17, 5))
	for range n {
		r := aRoof{covering: dice.IntN(len(kinds)), age: 4 + 22*dice.Float64()}
		prior, _ := For(kinds[r.covering])
		T := max(prior.Quantile(dice.Float64()), r.age)
		for i := range 5 {
			sd := 6 + 8*dice.Float64()
			x := reading{yearsAgo: r.age * dice.Float64() * 0.8, eye: i / 3, sight: sight{old: 1}, sd: sd * math.Sqrt(1-UsualSharedShare), shared: sd * math.Sqrt(UsualSharedShare)}
			rating := readAs(max(100-(100-UsualLine)*math.Pow((r.age-x.yearsAgo)/T, UsualPower), 0), sd*dice.NormFloat64())
			if dice.Float64() < UsualGrossShare {
				rating = grossRead(dice)
			}
			x.fallen = errors.Stretched(100 - rating)
			r.readings = append(r.readings, x)
		}
		m.roofs = append(m.roofs, r)
	}
	return m
}

// posterior gives the 10, 50 and 90 % points of T of a roof, with the likelihood
// that estimates use.
func (m *manyRoofs) posterior(r *aRoof, density []float64) (out [3]float64) {
	c := &m.coverings[r.covering]
	fall := math.Exp(-r.age / m.t.lag)
	for j, p := range c.prior {
		density[j] = p * min(1, c.standing[j]*fall)
	}
	var few eyeFew
	for i := 0; i < len(r.readings); {
		to := i + 1
		for to < len(r.readings) && r.readings[to].eye == r.readings[i].eye {
			to++
		}
		few.lay(r.readings[i:to], r.age, &m.t)
		few.times(c.slowness, density)
		i = to
	}
	var below [gridPoints]float64
	sum := 0.0
	for j := 1; j < gridPoints; j++ {
		sum += density[j-1] + density[j]
		below[j] = sum
	}
	for k, level := range [3]float64{0.1, 0.5, 0.9} {
		want := level * sum
		at, _ := slices.BinarySearch(below[:], want)
		out[k] = math.Exp(c.from + c.step*(float64(at-1)+(want-below[at-1])/(below[at]-below[at-1])))
	}
	return out
}

// processorSeconds is what this process has had of the processors, which is fair
// on a machine that others use too.
func processorSeconds() float64 {
	var use syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &use) != nil {
		return 0
	}
	return float64(use.Utime.Nano()+use.Stime.Nano()) / 1e9
}

func BenchmarkPosterior(b *testing.B) {
	m := manyRoofsOf(2000)
	density := make([]float64, gridPoints)
	i := 0
	for b.Loop() {
		m.posterior(&m.roofs[i%len(m.roofs)], density)
		i++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "roofs/s")
}

// The posterior of many roofs beside the same computation vectorised in numpy,
// each on one core, in one run, by the time of the processor: the results agree to 1e-9 of their value, and the
// ratio of the rates is printed. OVERHANG_ROOFS says how many, else three
// thousand. It needs Debian's python3-numpy and is left out without.
func TestPosteriorBesideNumpy(t *testing.T) {
	python := ""
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import numpy").Run() == nil {
			python = name
			break
		}
	}
	if python == "" {
		if os.Getenv("OVERHANG_NUMPY") == "required" {
			t.Fatal("python3-numpy is not here")
		}
		t.Skip("python3-numpy is not here")
	}
	n := 3000
	if text := os.Getenv("OVERHANG_ROOFS"); text != "" {
		if _, err := fmt.Sscan(text, &n); err != nil {
			t.Fatal(err)
		}
	}
	m := manyRoofsOf(n)
	folder := t.TempDir()
	write := func(name string, values []float64) string {
		f, err := os.Create(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := binary.Write(f, binary.NativeEndian, values); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		return f.Name()
	}
	grids := []float64{float64(len(m.coverings)), gridPoints, m.t.lag, m.t.power, m.t.line, m.t.gross, UsualSharedShare,
		errors.NearNew, errors.Between, errors.FromBetween, errors.FromWhole, errors.Most}
	for _, c := range m.coverings {
		grids = append(append(append(grids, c.prior...), c.years...), c.slowness...)
	}
	var roofs []float64
	for _, r := range m.roofs {
		roofs = append(roofs, float64(r.covering), r.age)
		for _, x := range r.readings {
			roofs = append(roofs, x.yearsAgo, x.fallen, math.Hypot(x.sd, x.shared))
		}
	}
	results := filepath.Join(folder, "results")
	cmd := exec.Command(python, "testdata/posterior.py", write("grids", grids), write("roofs", roofs), results)
	cmd.Env = append(os.Environ(), "OMP_NUM_THREADS=1", "OPENBLAS_NUM_THREADS=1")
	cmd.Stderr = os.Stderr
	said, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var seconds float64
	var chunk int
	if _, err := fmt.Sscan(string(said), &seconds, &chunk); err != nil {
		t.Fatal(err)
	}
	density, ours := make([]float64, gridPoints), make([][3]float64, n)
	begin := processorSeconds()
	for i := range m.roofs {
		ours[i] = m.posterior(&m.roofs[i], density)
	}
	took := processorSeconds() - begin
	theirs := make([][3]float64, n)
	f, err := os.Open(results)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := binary.Read(f, binary.NativeEndian, theirs); err != nil {
		t.Fatal(err)
	}
	for i := range ours {
		for k := range ours[i] {
			if off := math.Abs(ours[i][k]/theirs[i][k] - 1); !(off < 1e-9) {
				t.Fatalf("roof %d: %v, numpy %v", i, ours[i], theirs[i])
			}
		}
	}
	t.Logf("%d roofs: %.0f a second, numpy %.0f (%d at a time), ratio %.2f", n, float64(n)/took, float64(n)/seconds, chunk, seconds/took)
}
