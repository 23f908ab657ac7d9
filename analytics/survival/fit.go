package survival

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Names in a result that no covariate can have.
const (
	intercept = "intercept"
	logSigma  = "log_sigma"
)

// FitInput asks for a regression of lives on covariates:
// log T = intercept + Σ coefficient·covariate + σ·W.
type FitInput struct {
	Rows         []Row        `json:"rows"`
	Distribution Distribution `json:"distribution,omitempty"` // left out it is weibull
	// LagYears is the mean time for which a worn out covering lies on before it
	// is replaced, in the rows' unit: years for roofs. It is read with rows that
	// are standing. Nought takes all that stand for serviceable.
	LagYears float64 `json:"lag_years,omitempty"`
	// Covariates to use, in this order; left out, all that the rows have, by name.
	Covariates []string `json:"covariates,omitempty"`
	// Level of the limits, 0.5 to 0.999; left out it is 0.95.
	Level float64 `json:"level,omitempty"`
	// Profiles are the coverings to tell the life of. Left out it is one new
	// covering, where the fit has no covariates.
	Profiles []Profile `json:"profiles,omitempty"`
	// Quantiles to tell; left out they are 0.1, 0.5 and 0.9.
	Quantiles []float64 `json:"quantiles,omitempty"`
	// Within are times for the chance of wearing out within them; left out none.
	Within []float64 `json:"within,omitempty"`
}

// Profile is a covering to tell the life of: not worn out at an age, which left
// out is nought, and with these covariates.
type Profile struct {
	Name       string             `json:"name,omitempty"`
	Age        float64            `json:"age,omitempty"`
	Covariates map[string]float64 `json:"covariates,omitempty"`
}

// Coefficient is one of a regression with its standard error, which is from the
// curvature of the likelihood at its top, and limits of Wald's kind.
type Coefficient struct {
	Name     string  `json:"name"`
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	// P is the chance of an estimate as far from nought if it were nought.
	P float64 `json:"p"`
	// LifeFactor is e^estimate: by how much one more of the covariate multiplies
	// every age. For the intercept it is the scale of time, and for log_sigma σ.
	LifeFactor float64 `json:"life_factor"`
}

// Figure is an estimate with its standard error by the delta method and limits
// that are symmetric on the logarithm, or for a chance on the log-log.
type Figure struct {
	// P is the share for a quantile, Within the time for a chance.
	P        float64 `json:"p,omitempty"`
	Within   float64 `json:"within,omitempty"`
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	// Beyond says that the estimate speaks of ages above all that were watched:
	// there it is the family's word, not the rows'.
	Beyond bool `json:"beyond_the_rows,omitempty"`
}

// ProfileResult is the life of one profile. MeanLeft is nil where it is
// infinite.
type ProfileResult struct {
	Name     string   `json:"name,omitempty"`
	Age      float64  `json:"age"`
	Life     Life     `json:"life"`
	Survival float64  `json:"survival"` // to that age
	Ages     []Figure `json:"ages"`     // quantiles of the age at the end, of a new one
	Left     []Figure `json:"left"`     // quantiles of the time left at that age
	MeanLeft *Figure  `json:"mean_left,omitempty"`
	Within   []Figure `json:"within,omitempty"`
}

// FitResult is a fitted regression. Where the fit did not converge, Status says
// why and the estimates are left out: they would be those of a step on the way.
//
// The log-likelihood is that of the times themselves, not of their logarithms:
// each exact age adds ln f(t). R's survreg prints the same. Add Σ ln t over the
// exact rows for the likelihood of log T.
type FitResult struct {
	Distribution  Distribution    `json:"distribution"`
	Status        Status          `json:"status"`
	Counts        Counts          `json:"counts"`
	Coefficients  []Coefficient   `json:"coefficients,omitempty"` // the last is log_sigma, unless σ is fixed
	Sigma         float64         `json:"sigma,omitempty"`
	Shape         float64         `json:"shape,omitempty"`      // Weibull's: 1/σ
	Covariance    [][]float64     `json:"covariance,omitempty"` // in the order of the coefficients
	LogLikelihood *float64        `json:"log_likelihood,omitempty"`
	AIC           *float64        `json:"aic,omitempty"`
	Null          *Null           `json:"null,omitempty"`
	Concordance   *Concordance    `json:"concordance,omitempty"`
	Profiles      []ProfileResult `json:"profiles,omitempty"`
	Notes         []string        `json:"notes,omitempty"`
	Says          string          `json:"says"`

	z      float64 // of the limits
	oldest float64
}

// Null compares with the fit without covariates.
type Null struct {
	LogLikelihood float64 `json:"log_likelihood"`
	ChiSquare     float64 `json:"chi_square"` // twice the gain
	Freedom       int     `json:"degrees_of_freedom"`
	P             float64 `json:"p"`
}

// Fit finds the regression of the greatest likelihood. An input that makes no
// sense is an error; rows from which nothing can be learned give a result whose
// Status says why.
func Fit(in FitInput) (FitResult, error) {
	if in.Distribution == "" {
		in.Distribution = Weibull
	}
	if in.Level == 0 {
		in.Level = 0.95
	}
	if in.Quantiles == nil {
		in.Quantiles = []float64{0.1, 0.5, 0.9}
	}
	if err := in.validate(); err != nil {
		return FitResult{}, err
	}
	s, err := readRows(in.Rows, in.Covariates, in.LagYears)
	if err != nil {
		return FitResult{}, err
	}
	r := FitResult{Distribution: in.Distribution, Counts: s.count, z: mathext.NormalQuantile((1 + in.Level) / 2), oldest: s.oldest}
	r.Notes = s.notes()
	if err := r.fit(s); err != nil {
		return FitResult{}, err
	}
	wornOut := s.count.Exact + s.count.Interval
	if !r.Status.Converged {
		r.Says = fmt.Sprintf("Of %d lives %d ended worn out. Nothing was fitted: %s.", s.count.Using, wornOut, r.Status.Why)
		return r, nil
	}
	if in.Profiles == nil && len(s.names) == 0 {
		in.Profiles = []Profile{{}}
	}
	for i, p := range in.Profiles {
		told, err := r.Predict(p, in.Quantiles, in.Within)
		if err != nil {
			return FitResult{}, fmt.Errorf("profiles[%d].%w", i, err)
		}
		r.Profiles = append(r.Profiles, told)
	}
	r.Says = fmt.Sprintf("Of %d lives %d ended worn out.", s.count.Using, wornOut)
	if len(r.Profiles) > 0 {
		p := r.Profiles[0]
		median, err := r.Predict(Profile{Covariates: in.Profiles[0].Covariates}, []float64{0.5}, nil)
		if err != nil {
			return FitResult{}, err
		}
		name := ""
		if p.Name != "" {
			name = " " + p.Name
		}
		half := median.Ages[0]
		r.Says += fmt.Sprintf(" Half%s are worn out by %.4g (%.4g to %.4g).", name, half.Estimate, half.Low, half.High)
		if half.Beyond {
			r.Says += " No life was watched that long: this is the family's word, not the rows'."
		}
	}
	return r, nil
}

func (in FitInput) validate() error {
	if err := in.Distribution.validate(); err != nil {
		return err
	}
	if !(in.LagYears >= 0) || math.IsInf(in.LagYears, 0) {
		return fmt.Errorf("lag_years: must be a number of 0 or more, not %v", in.LagYears)
	}
	if err := validateLevel(in.Level); err != nil {
		return err
	}
	if err := validateShares("quantiles", in.Quantiles); err != nil {
		return err
	}
	for i, t := range in.Within {
		if !(t > 0) || math.IsInf(t, 0) {
			return fmt.Errorf("within[%d]: must be a number above 0, not %v", i, t)
		}
	}
	return nil
}

func validateShares(name string, shares []float64) error {
	for i, p := range shares {
		if !(p > 0 && p < 1) {
			return fmt.Errorf("%s[%d]: must lie between 0 and 1, not %v", name, i, p)
		}
	}
	return nil
}

func validateAges(name string, ages []float64) error {
	for i, age := range ages {
		if !(age >= 0) || math.IsInf(age, 0) {
			return fmt.Errorf("%s[%d]: must be a number of 0 or more, not %v", name, i, age)
		}
	}
	return nil
}

func validateLevel(level float64) error {
	if !(level >= 0.5 && level <= 0.999) {
		return fmt.Errorf("level: must lie between 0.5 and 0.999, not %v", level)
	}
	return nil
}

// fit fills in what the rows tell.
func (r *FitResult) fit(s sample) error {
	scale, err := s.standardise()
	if err != nil {
		return err
	}
	if r.Status.Why = s.hopeless(r.Distribution); r.Status.Why != "" {
		return nil
	}
	o := objective{distribution: r.Distribution, rows: s.rows, x: scale.x, free: r.Distribution != Exponential}
	location, sigma := s.start()
	start := make([]float64, 1+len(s.names), 2+len(s.names))
	start[0] = location
	if o.free {
		start = append(start, math.Log(sigma))
	}
	theta, value, information, status := o.maximise(start)
	r.Status = status
	if why := r.ranOff(theta, information, s.names); why != "" {
		r.Status.Converged, r.Status.Why = false, why
	}
	if !r.Status.Converged {
		return nil
	}
	l, _ := cholesky(information, 0)
	r.report(s, scale, theta, inverse(l))
	parameters := float64(len(theta))
	aic := 2*parameters - 2*value
	r.LogLikelihood, r.AIC = &value, &aic
	if len(s.names) > 0 {
		ones := make([][]float64, len(s.rows))
		for i := range ones {
			ones[i] = []float64{1}
		}
		null := objective{distribution: r.Distribution, rows: s.rows, x: ones, free: o.free}
		alone := append([]float64{location}, start[1+len(s.names):]...)
		if _, v, _, st := null.maximise(alone); st.Converged {
			df := len(s.names)
			r.Null = &Null{LogLikelihood: v, ChiSquare: max(0, 2*(value-v)), Freedom: df}
			r.Null.P = chiSquareTail(r.Null.ChiSquare, df)
		}
		life := make([]float64, len(s.names))
		for i := range life {
			life[i] = r.Coefficients[1+i].Estimate
		}
		r.Concordance = s.concordance(life)
		if r.Concordance == nil {
			r.Notes = append(r.Notes, "Concordance needs exact ages and is left out.")
		}
	}
	return nil
}

// scaled are the covariates with a constant before them, less their mean and
// over their standard deviation.
type scaled struct {
	x        [][]float64
	mean, sd []float64
}

// standardise refuses a covariate that is the same in every row or follows from
// others, because its coefficient could be anything.
func (s sample) standardise() (scaled, error) {
	p, n := len(s.names), float64(len(s.x))
	out := scaled{x: make([][]float64, len(s.x)), mean: make([]float64, p), sd: make([]float64, p)}
	for j := range p {
		least, most := math.Inf(1), math.Inf(-1)
		for _, x := range s.x {
			out.mean[j] += x[j] / n
			least, most = min(least, x[j]), max(most, x[j])
		}
		if least == most {
			return out, fmt.Errorf("covariates: %s is the same in every row", s.names[j])
		}
		for _, x := range s.x {
			d := x[j] - out.mean[j]
			out.sd[j] += d * d / n
		}
		out.sd[j] = math.Sqrt(out.sd[j])
	}
	products := square(p)
	for i, x := range s.x {
		row := make([]float64, 1, 1+p)
		row[0] = 1
		for j, v := range x {
			row = append(row, (v-out.mean[j])/out.sd[j])
		}
		out.x[i] = row
		for j := range p {
			for k := range p {
				products[j][k] += row[1+j] * row[1+k] / n
			}
		}
	}
	if _, bad := cholesky(products, 1e-10); bad >= 0 {
		return out, fmt.Errorf("covariates: %s follows from those before it", s.names[bad])
	}
	return out, nil
}

// hopeless says why no greatest likelihood exists, as far as it can be seen
// before the search.
func (s sample) hopeless(d Distribution) string {
	if s.events == 0 {
		return "no events: nothing among the rows is known to have worn out, so the longer the life the likelier the rows"
	}
	if d != Exponential && s.count.Interval == 0 {
		same, first := true, math.NaN()
		for _, c := range s.rows {
			if c.exact {
				if math.IsNaN(first) {
					first = c.logEvent
				}
				same = same && c.logEvent == first
			}
		}
		if same && len(s.names) == 0 && first >= math.Log(s.oldest) {
			return "all events are at one age, the greatest watched, so the narrower the spread the likelier the rows"
		}
	}
	// A covariate that all events share, with all others to one side, can
	// lengthen the others' lives without end.
	for j, name := range s.names {
		var shared float64
		share, any := true, false
		below, above := false, false
		for i, c := range s.rows {
			if c.exact || c.bounded {
				if !any {
					shared, any = s.x[i][j], true
				}
				share = share && s.x[i][j] == shared
			}
		}
		if !share {
			continue
		}
		for _, x := range s.x {
			below = below || x[j] < shared
			above = above || x[j] > shared
		}
		if below != above {
			return fmt.Sprintf("monotone likelihood in %s: all that wore out have %s = %v and no other did, so its coefficient runs off", name, name, shared)
		}
	}
	return ""
}

// ranOff says which parameter had no end in sight where the search stopped.
func (r *FitResult) ranOff(theta []float64, information [][]float64, names []string) string {
	sigma := 1.0
	if r.Distribution != Exponential {
		switch sigma = math.Exp(theta[len(theta)-1]); {
		case sigma < 1e-5:
			return "monotone likelihood in sigma: it runs to nought, because the events lie at one age but for the covariates"
		case sigma > 1e3:
			return "monotone likelihood in sigma: it runs off, because the rows show no age at which lives end"
		}
	}
	l, bad := cholesky(information, 0)
	if bad < 0 {
		covariance := inverse(l)
		for j := range len(names) + 1 {
			if math.Sqrt(covariance[j][j]) > 1e3*sigma {
				if j == 0 {
					return "monotone likelihood: the rows set no bound to the life"
				}
				return fmt.Sprintf("monotone likelihood in %s: its coefficient runs off", names[j-1])
			}
		}
		return ""
	}
	if r.Status.Why != "" {
		return r.Status.Why
	}
	return "the likelihood is flat at its top: the rows do not settle all parameters"
}

// start gives a first location and σ: the mean and spread of the logarithms of
// the ages, as if all had ended.
func (s sample) start() (location, sigma float64) {
	var n, sum, squares float64
	for _, c := range s.rows {
		v := c.logEvent
		if !c.exact {
			v = c.at[0].logAge
			if c.bounded {
				v = c.logUpper
			}
		}
		n += c.weight
		sum += c.weight * v
		squares += c.weight * v * v
	}
	location = sum / n
	return location, min(2, max(0.1, math.Sqrt(max(0, squares/n-location*location))))
}

// report takes the estimates back from the standardised covariates.
func (r *FitResult) report(s sample, by scaled, theta []float64, covariance [][]float64) {
	n := len(theta)
	back := square(n)
	for j := range n {
		back[j][j] = 1
	}
	for j := range s.names {
		back[1+j][1+j] = 1 / by.sd[j]
		back[0][1+j] = -by.mean[j] / by.sd[j]
	}
	r.Covariance = square(n)
	for i := range n {
		for j := range n {
			for k := range n {
				r.Covariance[i][j] += back[i][k] * dot(covariance[k], back[j])
			}
		}
	}
	names := append([]string{intercept}, s.names...)
	r.Sigma = 1
	if r.Distribution != Exponential {
		names = append(names, logSigma)
		r.Sigma = math.Exp(theta[n-1])
	}
	if r.Distribution == Weibull {
		r.Shape = 1 / r.Sigma
	}
	for i, name := range names {
		c := Coefficient{Name: name, Estimate: dot(back[i], theta), SE: math.Sqrt(r.Covariance[i][i])}
		c.Low, c.High = c.Estimate-r.z*c.SE, c.Estimate+r.z*c.SE
		c.P = math.Erfc(math.Abs(c.Estimate) / c.SE / math.Sqrt2)
		c.LifeFactor = math.Exp(c.Estimate)
		r.Coefficients = append(r.Coefficients, c)
	}
}

// design gives the covariates of a profile in the order of the coefficients.
func (r *FitResult) design(p Profile) ([]float64, error) {
	var names []string
	for _, c := range r.Coefficients[1:] {
		if c.Name != logSigma {
			names = append(names, c.Name)
		}
	}
	x, err := p.read(names)
	return append([]float64{1}, x...), err
}

// read gives the covariates of a profile in the order of names.
func (p Profile) read(names []string) ([]float64, error) {
	x := make([]float64, 0, len(names))
	for _, name := range names {
		v, known := p.Covariates[name]
		if !known {
			return nil, fmt.Errorf("covariates.%s: must be given, since the fit uses it", name)
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("covariates.%s: must be a number", name)
		}
		x = append(x, v)
	}
	for name := range p.Covariates {
		if !slices.Contains(names, name) {
			return nil, fmt.Errorf("covariates.%s: the fit does not use it", name)
		}
	}
	return x, nil
}

// Predict tells the life of a profile: quantiles of the age at its end and of
// the time left at its age, the mean left, and the chance of wearing out within
// some times. The result must have converged.
func (r *FitResult) Predict(p Profile, quantiles, within []float64) (ProfileResult, error) {
	if !r.Status.Converged {
		return ProfileResult{}, errors.New("status: the fit has not converged")
	}
	if !(p.Age >= 0) || math.IsInf(p.Age, 0) {
		return ProfileResult{}, fmt.Errorf("age: must be a number of 0 or more, not %v", p.Age)
	}
	x, err := r.design(p)
	if err != nil {
		return ProfileResult{}, err
	}
	life := func(theta []float64) Life {
		l := Life{r.Distribution, dot(theta[:len(x)], x), 1}
		if len(theta) > len(x) {
			l.Sigma = math.Exp(theta[len(x)])
		}
		return l
	}
	theta := make([]float64, len(r.Coefficients))
	for i, c := range r.Coefficients {
		theta[i] = c.Estimate
	}
	here := life(theta)
	if !(math.Abs(here.Location) <= mostApart) {
		return ProfileResult{}, fmt.Errorf("covariates: lie so far from the rows' that the life would be one of e^%.0f; no more than e^±%.0f can be told", here.Location, mostApart)
	}
	out := ProfileResult{Name: p.Name, Age: p.Age, Life: here, Survival: here.Survival(p.Age)}
	positive := func(of func(Life) float64) Figure {
		f := Figure{Estimate: of(here)}
		se := r.delta(theta, func(theta []float64) float64 { return math.Log(of(life(theta))) })
		f.SE = f.Estimate * se
		f.Low, f.High = f.Estimate*math.Exp(-r.z*se), f.Estimate*math.Exp(r.z*se)
		return f
	}
	for _, q := range quantiles {
		f := positive(func(l Life) float64 { return l.Quantile(q) })
		f.P, f.Beyond = q, f.Estimate > r.oldest
		out.Ages = append(out.Ages, f)
		f = positive(func(l Life) float64 { return l.QuantileLeft(p.Age, q) })
		f.P, f.Beyond = q, p.Age+f.Estimate > r.oldest
		out.Left = append(out.Left, f)
	}
	if mean := here.MeanLeft(p.Age); !math.IsInf(mean, 0) {
		f := positive(func(l Life) float64 { return l.MeanLeft(p.Age) })
		f.Beyond = p.Age+f.Estimate > r.oldest
		if !math.IsNaN(f.SE) { // infinite close by
			out.MeanLeft = &f
		}
	}
	for _, t := range within {
		f := Figure{Within: t, Estimate: here.ChanceWithin(p.Age, t), Beyond: p.Age+t > r.oldest}
		f.Low, f.High = f.Estimate, f.Estimate
		// The limits are symmetric for the logarithm of the hazard gathered, which
		// still tells of time where the chance is 1 to the last digit.
		if gathered := here.gathered(p.Age, t); gathered > 0 && !math.IsInf(gathered, 0) {
			se := r.delta(theta, func(theta []float64) float64 { return math.Log(life(theta).gathered(p.Age, t)) })
			f.SE = math.Exp(-gathered) * gathered * se
			f.Low, f.High = -math.Expm1(-gathered*math.Exp(-r.z*se)), -math.Expm1(-gathered*math.Exp(r.z*se))
		}
		out.Within = append(out.Within, f)
	}
	return out, nil
}

// delta gives the standard error of a function of the parameters, from its
// slopes by central differences of a ten thousandth of each standard error.
func (r *FitResult) delta(theta []float64, f func([]float64) float64) float64 {
	slope := make([]float64, len(theta))
	for i := range theta {
		h := 1e-4 * math.Sqrt(r.Covariance[i][i])
		at := slices.Clone(theta)
		at[i] = theta[i] + h
		up := f(at)
		at[i] = theta[i] - h
		slope[i] = (up - f(at)) / (2 * h)
	}
	sum := 0.0
	for i, v := range slope {
		sum += v * dot(r.Covariance[i], slope)
	}
	return math.Sqrt(sum)
}

// chiSquareTail is the chance of a chi-square of so many degrees of freedom to
// be larger.
func chiSquareTail(x float64, freedom int) float64 {
	return mathext.GammaIncRegComp(float64(freedom)/2, x/2)
}
