package survival

import (
	"errors"
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
	// ServiceableAt is the age at the last look that found it serviceable, and
	// WornOutAt at the first that found it worn out; nil when there was none.
	ServiceableAt *float64
	WornOutAt     *float64
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

// OwnRows makes the rows of a fit with a lag of replacement, which is nought or
// more, in years.
//
// Wear is an event between the last serviceable look and the first that found it
// worn out, or else the end. With a lag above nought the ages between are weighed
// by the chance to lie on until then; with nought they are alike. Storm, sale,
// alteration, taste and other reasons are censored at the end, because whoever
// gave the reason did not find it worn out. One that stands is censored through
// the lag. One that was watched from an age above nought came to be watched
// because it lay there, serviceable or not.
//
// Those without time at risk, such as a roof first seen at its tear-off, make no
// row: see the package's doc for the bias that they would bring.
func OwnRows(own []Own, lag float64) (rows []Row, out []LeftOut, err error) {
	for i, o := range own {
		if err := o.validate(); err != nil {
			return nil, nil, fmt.Errorf("own[%d].%w", i, err)
		}
		yes, no := Flag(true), Flag(false)
		r := Row{Exit: &own[i].LastAge, Event: &no, Covariates: o.Covariates}
		if o.WatchedFrom > 0 {
			r.Entry, r.EntryStanding = &own[i].WatchedFrom, true
		}
		switch {
		case o.LastAge == o.WatchedFrom && o.Ended != "":
			out = append(out, LeftOut{i, "it was first seen at its end, so it brings no time at risk"})
			continue
		case o.WornOutAt != nil && *o.WornOutAt == o.WatchedFrom && lag == 0:
			out = append(out, LeftOut{i, "it was worn out when its watch began, and without a lag that tells nothing"})
			continue
		case o.WornOutAt != nil:
			r.Exit, r.Event, r.Standing = own[i].WornOutAt, &yes, true
		case o.LastAge == o.WatchedFrom:
			out = append(out, LeftOut{i, "it was not watched for any time"})
			continue
		case o.Ended == Wear:
			r.Event, r.Standing = &yes, true
		case o.Ended == "":
			r.Standing = true
		}
		if r.Standing {
			r.Lower = o.ServiceableAt
		}
		rows = append(rows, r)
	}
	return rows, out, nil
}

func (o Own) validate() error {
	for _, f := range []struct {
		name string
		age  *float64
	}{{"watched_from", &o.WatchedFrom}, {"last_age", &o.LastAge}, {"serviceable_at", o.ServiceableAt}, {"worn_out_at", o.WornOutAt}} {
		if f.age != nil && (!(*f.age >= 0) || math.IsInf(*f.age, 0)) {
			return fmt.Errorf("%s: must be a number of 0 or more, not %v", f.name, *f.age)
		}
	}
	switch o.Ended {
	case "", Wear, Storm, Sale, Alteration, Taste, Otherwise:
	default:
		return fmt.Errorf("ended: must be wear, storm, sale, alteration, taste, other or empty, not %q", string(o.Ended))
	}
	switch {
	case o.LastAge < o.WatchedFrom:
		return fmt.Errorf("last_age: must not come before the watch: %v is below %v", o.LastAge, o.WatchedFrom)
	case o.ServiceableAt != nil && *o.ServiceableAt > o.LastAge:
		return fmt.Errorf("serviceable_at: must not come after the last age: %v is above %v", *o.ServiceableAt, o.LastAge)
	case o.ServiceableAt != nil && o.Ended == Wear && *o.ServiceableAt == o.LastAge:
		return errors.New("serviceable_at: one that ended for wear was not serviceable at its end")
	case o.WornOutAt != nil && (*o.WornOutAt < o.WatchedFrom || *o.WornOutAt > o.LastAge):
		return fmt.Errorf("worn_out_at: must lie within the watch, from %v to %v, not %v", o.WatchedFrom, o.LastAge, *o.WornOutAt)
	case o.WornOutAt != nil && o.ServiceableAt != nil && *o.ServiceableAt >= *o.WornOutAt:
		return fmt.Errorf("serviceable_at: must come before worn_out_at: %v is not below %v", *o.ServiceableAt, *o.WornOutAt)
	}
	return nil
}
