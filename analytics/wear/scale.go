package wear

import (
	"fmt"
	"math"
)

// A covering that is all but new shows next to nothing, so that next to nothing can be
// misread: the error of a reading grows with what there is to see, about as its root.
// UsualNearNewShare is what of its full error a reading has below NearNewFall points
// under 100; from FullErrorFall on it has the whole, between them the root of the
// share. All three are our own judgement, no source.
const (
	UsualNearNewShare = 0.5
	LeastNearNewShare = 0.1

	NearNewFall   = 3.0
	FullErrorFall = 12.0
)

// Scale stretches the scale of ratings where readings err less, so that on it the
// error of a reading is the same everywhere. It is counted in points from a rating of
// 100 down: straight between the bounds, so that what is straight in a rating is
// straight in pieces on it.
type Scale struct {
	NearNew, Between       float64 // stretched points a point, below NearNewFall and up to FullErrorFall; from there on 1
	FromBetween, FromWhole float64 // what the straight lines of the two further pieces begin with, at a fall of 0
	Most                   float64 // the scale at a rating of 0
}

// ScaleOf gives the scale on which a reading of what is all but new has a share,
// LeastNearNewShare to 1, of its full error; 1 is the scale of ratings itself.
func ScaleOf(nearNewShare float64) (Scale, error) {
	if !(nearNewShare >= LeastNearNewShare && nearNewShare <= 1) {
		return Scale{}, fmt.Errorf("near_new_share: must lie between %v and 1, not %v", LeastNearNewShare, nearNewShare)
	}
	s := Scale{NearNew: 1 / nearNewShare, Between: 1 / math.Sqrt(nearNewShare)}
	s.FromBetween = (s.NearNew - s.Between) * NearNewFall
	s.FromWhole = s.FromBetween + (s.Between-1)*FullErrorFall
	s.Most = s.Stretched(100)
	return s, nil
}

// Stretched gives how far down the scale a rating lies that has fallen from 100 by so
// many points, 0 to 100. It rises, ever less steeply.
func (s *Scale) Stretched(fall float64) float64 {
	switch {
	case fall < NearNewFall:
		return s.NearNew * fall
	case fall < FullErrorFall:
		return s.FromBetween + s.Between*fall
	}
	return s.FromWhole + fall
}

// Around gives the ratings between which the covering's own lies eight times in ten,
// read as so much with a standard deviation in points of the full error.
func (s *Scale) Around(rating, errorPoints float64) (low, high float64) {
	const tenth = 1.2815515655446004 // the normal's 90 % point
	fallen, off := s.Stretched(100-rating), tenth*errorPoints
	return 100 - s.Fall(min(fallen+off, s.Most)), 100 - s.Fall(max(fallen-off, 0))
}

var usual = func() Scale {
	s, err := ScaleOf(UsualNearNewShare)
	if err != nil {
		panic(err)
	}
	return s
}()

// Likely is Around on the usual scale.
func Likely(rating, errorPoints float64) (low, high float64) {
	return usual.Around(rating, errorPoints)
}

// Likely gives the ratings between which the part's own lies eight times in ten: no
// higher than those of any of its slopes, since the worst rules. The part is rated.
func (r *PartRating) Likely() (low, high float64) {
	low, high = Likely(*r.Rating, *r.ErrorPoints)
	for _, s := range r.Slopes {
		if s.Rating != nil {
			_, most := Likely(*s.Rating, *s.ErrorPoints)
			high = min(high, most)
		}
	}
	return min(low, high), high
}

// Fall is the inverse of Stretched.
func (s *Scale) Fall(stretched float64) float64 {
	switch {
	case stretched < s.NearNew*NearNewFall:
		return stretched / s.NearNew
	case stretched < FullErrorFall+s.FromWhole:
		return (stretched - s.FromBetween) / s.Between
	}
	return stretched - s.FromWhole
}
