package lifespan

import (
	"fmt"
	"math"
	"slices"
)

// Factor multiplies the age at which a covering is worn out. It is not known
// exactly: Low, Mid and High are its 10, 50 and 90 % points, 0 < Low ≤ Mid ≤
// High, 1 is no effect. It is taken as log-normal with the median Mid and a
// standard deviation of the logarithm of ln(High/Low)/2.563, so that a product
// of factors adds their means and their variances on the logarithm (the form
// that Alaimo and Enea give to the factor method of ISO 15686-8).
type Factor struct {
	Name   string  `json:"name"`
	Class  Class   `json:"class,omitempty"` // empty is a group of its own by its name
	Low    float64 `json:"low"`
	Mid    float64 `json:"mid"`
	High   float64 `json:"high"`
	Reason string  `json:"reason,omitempty"`
	Source string  `json:"source,omitempty"`

	// NotKnown says that the factor is wide because nobody knows its state.
	NotKnown bool `json:"not_known,omitempty"`
}

// Class is one of the seven classes of factors of ISO 15686-8, lettered A to G
// there (the letters from memory).
type Class string

// The classes: A to G in their order.
const (
	Quality   Class = "quality"   // inherent performance of the covering
	Design    Class = "design"    // ventilation, pitch, drainage
	Execution Class = "execution" // laps, nailing; never a person or crew by name
	Indoor    Class = "indoor"    // damp and heat from below
	Outdoor   Class = "outdoor"   // sun, frost, hail
	Use       Class = "use"       // who walks on it, what stands on it
	Upkeep    Class = "upkeep"    // gutters cleaned, moss taken off, small repairs made
)

// Classes lists them in the order of the standard.
func Classes() []Class {
	return []Class{Quality, Design, Execution, Indoor, Outdoor, Use, Upkeep}
}

// z90 is the 90 % point of the standard normal distribution.
const z90 = 1.2815515655446004

func (f Factor) logMean() float64 { return math.Log(f.Mid) }

func (f Factor) logVariance() float64 {
	sd := math.Log(f.High/f.Low) / (2 * z90)
	return sd * sd
}

func (f Factor) validate() error {
	switch {
	case f.Name == "":
		return fmt.Errorf("name: a factor needs its name")
	case f.Class != "" && !slices.Contains(Classes(), f.Class):
		return fmt.Errorf("class: must be one of %v, or empty, not %q", Classes(), f.Class)
	case !(f.Low >= 0.2 && f.Low <= 5):
		return fmt.Errorf("low: must lie between 0.2 and 5, not %v", f.Low)
	case !(f.Mid >= f.Low && f.Mid <= 5):
		return fmt.Errorf("mid: must lie between low and 5, not %v", f.Mid)
	case !(f.High >= f.Mid && f.High <= 5):
		return fmt.Errorf("high: must lie between mid and 5, not %v", f.High)
	}
	return nil
}

// between gives the factor part of the way, 0 to 1, from a to b, on the
// logarithm.
func between(a, b Factor, part float64) Factor {
	mix := func(x, y float64) float64 { return math.Exp((1-part)*math.Log(x) + part*math.Log(y)) }
	a.Low, a.Mid, a.High = mix(a.Low, b.Low), mix(a.Mid, b.Mid), mix(a.High, b.High)
	return a
}

// Ventilation gives the factor of the attic's ventilation from the net free
// area there as a share of the area asked for (1 or more is met, 0 is none);
// nil is not known. Short of the area it moves the life by 3 to 10 % at most.
func Ventilation(share *float64) (Factor, error) {
	met := Factor{Name: "attic ventilation", Class: Design, Low: 0.99, Mid: 1, High: 1.01,
		Source: "Half a degree less under the deck is 3.4 % of life by the rule that 10 °C double the pace of ageing (numerical study seen quoted; the rule from memory); " +
			"about 10 % for an unvented attic (J. Lstiburek, seen quoted). Between the two: our own straight line."}
	none := Factor{Low: 0.90, Mid: 0.935, High: 0.97}
	if share == nil {
		f := between(met, none, 0.35)
		f.Low, f.High = none.Low, met.High
		f.Reason, f.NotKnown = "nobody measured the vents", true
		return f, nil
	}
	if !(*share >= 0) {
		return Factor{}, fmt.Errorf("ventilation share: must not be negative, is %v", *share)
	}
	if *share >= 1 {
		met.Reason = "the vent area asked for is there"
		return met, nil
	}
	f := between(none, met, *share)
	f.Name, f.Class, f.Source, f.Reason = met.Name, met.Class, met.Source, "less vent area than asked for: the covering runs a little hotter"
	return f, nil
}

// warmer is how much warmer than the mean of all directions a slope runs that
// faces north, east, south and west, in °C.
var warmer = [4]float64{-1.2, -0.72, 0, 0.72}

// Facing gives the factor of the direction that the slope faces, in degrees
// clockwise from north; nil is not known. It is written for the northern
// hemisphere.
func Facing(azimuth *float64) (Factor, error) {
	f := Factor{Name: "direction", Class: Outdoor, Low: 0.92, Mid: 1, High: 1.09, Reason: "nobody noted which way the slope faces",
		Source: "A slope to the west runs at least 1.44 °C warmer than one to the east, and north cooler still (numerical study seen quoted); " +
			"10 °C double the pace of ageing (rule of thumb from memory). How much cooler north is, and the spread, are our own."}
	if azimuth == nil {
		f.NotKnown = true
		return f, nil
	}
	if !(*azimuth >= 0 && *azimuth <= 360) {
		return Factor{}, fmt.Errorf("azimuth: must lie between 0 and 360 degrees, not %v", *azimuth)
	}
	quarter := math.Mod(*azimuth, 360) / 90
	from := int(quarter)
	part := quarter - float64(from)
	f.Mid = math.Exp2(-((1-part)*warmer[from] + part*warmer[(from+1)%4]) / 10)
	f.Low, f.High = f.Mid*0.94, f.Mid/0.94
	f.Reason = "the direction sets how warm the covering runs"
	return f, nil
}

// FreezeThaw gives the factor of frost at a place from how many days a year the
// air there crosses 0 °C; nil is not known. Water that freezes in a crack opens
// it: a hundred such days more take some four per cent of a life.
func FreezeThaw(daysAYear *float64) (Factor, error) {
	f := Factor{Name: "freeze and thaw", Class: Outdoor, Low: 0.94, Mid: 1, High: 1.05, Reason: "no climate is chosen for the place",
		Source: "That frost ages a covering is common practice, no source; the slope and the usual hundred days of snow country are our own judgement."}
	if daysAYear == nil {
		f.NotKnown = true
		return f, nil
	}
	if !(*daysAYear >= 0 && *daysAYear <= 366) {
		return Factor{}, fmt.Errorf("freeze-thaw days: must lie between 0 and 366, not %v", *daysAYear)
	}
	f.Mid = math.Exp(-0.0004 * (*daysAYear - 100))
	f.Low, f.High = f.Mid*0.97, f.Mid/0.97
	f.Reason = fmt.Sprintf("the air crosses freezing on some %.0f days a year", *daysAYear)
	return f, nil
}

// What SunAndHeat rests on, in °C: the place that the table's lives are meant for,
// and the coolest and the hottest that it tells apart.
const (
	meantFor     = 29.0
	coolestPlace = 16.0
	hottestPlace = 44.0
)

// Of the rule that 10 °C double the pace of ageing, what is left of it in the lives
// that were published by place, on the hot side and on the cool side of meantFor.
const (
	heatTells = 1.0 / 3
	coolTells = heatTells / 2
)

// SunAndHeat gives the factor of a place from how hot it is to a covering: the
// constant temperature in °C at which one would age as it does over the year there
// on a usual roof; nil is not known. Bitumen says that the covering is of asphalt or
// bitumen, or likely is, of which lives by place were published; of another half as
// much is taken.
func SunAndHeat(agesAtC *float64, bitumen bool) (Factor, error) {
	f := Factor{Name: "sun and heat", Class: Outdoor, Low: 0.85, Mid: 1, High: 1.08, Reason: "no climate is chosen for the place",
		Source: "Asphalt shingles sold for 20 years lay 14.0 in Phoenix, 19.5 in Minneapolis and 20.8 in Reading, Pennsylvania (a home page, seen quoted): " +
			"with what frost does there, a third of the rule that 10 °C double the pace of ageing (from memory). Cool places were not seen to gain as much: half of that. " +
			"That the table's lives, which come from all over the United States and Quebec, are meant for a place a little warmer than Reading is our own judgement, and so are the spread and that what is not of bitumen feels half of it; " +
			"the coolest and the hottest places bound it."}
	if agesAtC == nil {
		f.NotKnown = true
		return f, nil
	}
	if !(*agesAtC >= -60 && *agesAtC <= 80) {
		return Factor{}, fmt.Errorf("ages at: must lie between -60 and 80 °C, not %v", *agesAtC)
	}
	over := min(max(*agesAtC, coolestPlace), hottestPlace) - meantFor
	tells := heatTells
	if over < 0 {
		tells = coolTells
	}
	log := -math.Ln2 * tells * over / 10
	spread := 0.03 + math.Abs(log)/4 // the farther, the less sure
	if !bitumen {
		log /= 2
	}
	f.Low, f.Mid, f.High = math.Exp(log-spread), math.Exp(log), math.Exp(log+spread)
	f.Reason = fmt.Sprintf("over a year there a covering ages as it would at a steady %.0f °C (%.0f °F); the table is meant for %.0f °C", *agesAtC, 32+*agesAtC*9/5, meantFor)
	return f, nil
}
