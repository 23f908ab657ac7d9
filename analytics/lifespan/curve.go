package lifespan

import (
	"fmt"
	"math"
)

// CurveFit is the power of the rating curve as the readings of many coverings
// tell it.
type CurveFit struct {
	Power     float64 `json:"power"` // likeliest, to a twentieth
	Low       float64 `json:"low"`   // 10 % point
	High      float64 `json:"high"`  // 90 % point
	Coverings int     `json:"coverings"`
	Readings  int     `json:"readings"`
}

// What is believed of the power before any reading: ln power is normal about
// [UsualPower]. And of the table's median as against the company's own: ln of it
// is normal about nought. Both are our own judgement.
const (
	CurveLogSD  = 0.35
	curveMedian = 0.1
)

// The curve is sought on a grid of ln power and ln of the factor on the median, on
// so many coverings: enough, for the curve is one number.
const (
	leastPower, mostPower = 0.6, 4.0
	powerStep, medianStep = 0.12, 0.04
	mostMedianSteps       = 10
	mostCurveCoverings    = 600
)

// FitCurve finds the power of the rating curve from the readings of many
// coverings, given the priors and factors of each and that it stands, or ended,
// as it says. The power is the company's, one for all: high ratings of young roofs
// may come of a curve that falls late or of lives longer than the table's, so the
// table's median is taken to be off by one factor for all as well, found with it
// and in doubt. What is left in doubt of the power is told and not carried on.
//
// Repairs, slopes and more than six readings of one eye make a covering stand
// aside; of more than 600 coverings it is every so many, evenly. Nil says that
// none is left. Errors are those of [Estimate] and name the covering.
//
// Source: the peak of the marginal likelihood of the package's own model times the
// prior, and its curvature there (Laplace's approximation).
func (e *Estimator) FitCurve(of []Input) (*CurveFit, error) {
	var use []taken
	for i := range of {
		in := of[i]
		in.CurvePower = nil
		t, err := in.taken()
		if err != nil {
			return nil, fmt.Errorf("fitting the rating curve: coverings[%d].%w", i, err)
		}
		if len(t.readings) > 0 && len(t.slopes) == 0 && len(t.repairs) == 0 && t.opensAll() {
			use = append(use, t)
		}
	}
	if len(use) > mostCurveCoverings {
		kept := make([]taken, mostCurveCoverings)
		for i := range kept {
			kept[i] = use[i*len(use)/mostCurveCoverings]
		}
		use = kept
	}
	if len(use) == 0 {
		return nil, nil
	}
	fit := &CurveFit{Coverings: len(use)}
	for i := range use {
		fit.Readings += len(use[i].readings)
	}
	known := map[[2]int]float64{}
	at := func(i, j int) float64 {
		if v, found := known[[2]int{i, j}]; found {
			return v
		}
		power, median := UsualPower*math.Exp(float64(i)*powerStep), float64(j)*medianStep
		z, u := float64(i)*powerStep/CurveLogSD, median/curveMedian
		sum := -(z*z + u*u) / 2
		for k := range use {
			use[k].power = power
			sum += e.evidence(&use[k], use[k].logMean+median)
		}
		known[[2]int{i, j}] = sum
		return sum
	}
	least, most := int(math.Ceil(math.Log(leastPower/UsualPower)/powerStep)), int(math.Log(mostPower/UsualPower)/powerStep)
	i, j := 0, 0
	for moved := true; moved; {
		moved = false
		for _, by := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}} {
			if to := [2]int{i + by[0], j + by[1]}; to[0] >= least && to[0] <= most && max(to[1], -to[1]) <= mostMedianSteps && at(to[0], to[1]) > at(i, j) {
				i, j, moved = to[0], to[1], true
			}
		}
	}
	// The parabola about the best point of the grid.
	up, down := at(i+1, j), at(i-1, j)
	gi, gj := (up-down)/2, (at(i, j+1)-at(i, j-1))/2
	ii, jj := up-2*at(i, j)+down, at(i, j+1)-2*at(i, j)+at(i, j-1)
	ij := (at(i+1, j+1) - at(i+1, j-1) - at(i-1, j+1) + at(i-1, j-1)) / 4
	shift, variance := 0.0, 1.0
	if det := ii*jj - ij*ij; ii < 0 && det > 0 {
		shift, variance = max(-1, min(1, (ij*gj-jj*gi)/det)), -jj/det
	}
	peak, sd := math.Log(UsualPower)+(float64(i)+shift)*powerStep, math.Sqrt(variance)*powerStep
	fit.Power = math.Round(20*math.Exp(peak)) / 20
	fit.Low, fit.High = math.Exp(peak-z90*sd), math.Exp(peak+z90*sd)
	return fit, nil
}

// opensAll says whether the likelihood of every eye's readings can be opened.
func (t *taken) opensAll() bool {
	for i := 0; i < len(t.readings); {
		to := eyeEnds(t.readings, i)
		if !opens(t.readings[i:to], t.gross) {
			return false
		}
		i = to
	}
	return true
}

// eyeEnds gives where the readings of an eye end that begin at one.
func eyeEnds(of []reading, from int) int {
	to := from + 1
	for to < len(of) && of[to].eye == of[from].eye {
		to++
	}
	return to
}

// evidence is the logarithm of the likelihood of all readings, given that the
// covering stands or ended, up to what no power and no mean changes.
func (e *Estimator) evidence(t *taken, logMean float64) float64 {
	p := e.before(t, groups{logMean: logMean, logVariance: t.logVariance, standing: true, readings: t.readings})
	stands := p.total
	for i := range p.lives {
		l := &p.lives[i]
		for j := 0; j < len(t.readings); {
			to := eyeEnds(t.readings, j)
			var few eyeFew
			few.lay(t.readings[j:to], l.age, t)
			l.each(func(s *stretch) { few.times(s.slowness[:], s.density[:]) })
			j = to
		}
	}
	p.close()
	return math.Log(max(p.total/stands, math.SmallestNonzeroFloat64))
}
