package survival

import (
	"fmt"
	"math"
)

// Ending is why a covering ended.
type Ending string

// The endings. An empty one is of a covering that stands. Only Wear ends a life;
// the others end its watch.
const (
	Wear       Ending = "wear"
	Storm      Ending = "storm"
	Sale       Ending = "sale"
	Alteration Ending = "alteration"
	Taste      Ending = "taste"
	Otherwise  Ending = "other"
)

// Own is what is known of a covering, in ages from its laying.
type Own struct {
	// WatchedFrom is its age when the watch began: 0 for one that we laid, and
	// that of every house of a neighbourhood on the day we began to watch it. A
	// roof that was first seen at its tear-off has the age of its end here.
	WatchedFrom float64
	// ServiceableAt is the age at the last look that found it serviceable; nil
	// when there was none.
	ServiceableAt *float64
	// LastAge is its age when it ended, or for one that stands when it was last
	// seen.
	LastAge    float64
	Ended      Ending
	Covariates map[string]float64
}

// LeftOut is a covering that makes no row, and why.
type LeftOut struct {
	Index int    `json:"index"`
	Why   string `json:"why"`
}

// OwnRows makes the rows of a fit. Wear is an event between the last serviceable
// look and the end; storm, sale, alteration, taste and other reasons are
// censored at the end, because whoever gave the reason did not find it worn out;
// one that stands is censored through the lag. Those without time at risk, such
// as a roof first seen at its tear-off, are left out by name: see the package's
// doc for the bias that they would bring.
//
// A look before the watch began is not used. One of a covering watched from an
// age above nought without a serviceable look there was only known to lie there.
func OwnRows(own []Own) (rows []Row, out []LeftOut, err error) {
	for i, o := range own {
		look := or(o.ServiceableAt, 0)
		for _, f := range []struct {
			name string
			age  float64
		}{{"watched_from", o.WatchedFrom}, {"last_age", o.LastAge}, {"serviceable_at", look}} {
			if !(f.age >= 0) || math.IsInf(f.age, 0) {
				return nil, nil, fmt.Errorf("own[%d].%s: must be a number of 0 or more, not %v", i, f.name, f.age)
			}
		}
		switch o.Ended {
		case "", Wear, Storm, Sale, Alteration, Taste, Otherwise:
		default:
			return nil, nil, fmt.Errorf("own[%d].ended: must be wear, storm, sale, alteration, taste, other or empty, not %q", i, string(o.Ended))
		}
		if look > o.LastAge {
			return nil, nil, fmt.Errorf("own[%d].serviceable_at: must not come after the last age: %v is above %v", i, look, o.LastAge)
		}
		if o.LastAge <= o.WatchedFrom {
			why := "it was not watched for any time"
			if o.Ended != "" {
				why = "it was first seen at its end, so it brings no time at risk"
			}
			out = append(out, LeftOut{i, why})
			continue
		}
		if o.Ended == Wear && look == o.LastAge {
			return nil, nil, fmt.Errorf("own[%d].serviceable_at: one that ended for wear was not serviceable at its end", i)
		}
		r := Row{Covariates: o.Covariates}
		if o.WatchedFrom > 0 {
			r.Entry = &own[i].WatchedFrom
			r.EntryStanding = look < o.WatchedFrom
		}
		if look > 0 && look >= o.WatchedFrom {
			r.Lower = &look
		}
		no := Flag(false)
		switch o.Ended {
		case Wear:
			r.Upper = &own[i].LastAge
		case "":
			r.Exit, r.Event, r.Standing = &own[i].LastAge, &no, true
		default:
			r.Exit, r.Event, r.Lower = &own[i].LastAge, &no, nil
		}
		rows = append(rows, r)
	}
	return rows, out, nil
}
