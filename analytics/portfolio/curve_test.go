package portfolio

import (
	"fmt"
	"testing"

	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

// What looks tell of the rating curve goes into the fit that is kept and from
// there into every estimate that has a reading; what was seen later tells nothing
// of a day before.
func TestRatingCurve(t *testing.T) {
	b := branch
	b.StandingLagYears = 2
	today := day("2026-06-10")
	looks := map[int64][]Look{}
	var roofs []models.LivedRoof
	var reads []Read
	for i := range 120 {
		// Good for long, then bad within a few years: a curve that falls late.
		id, age := int64(i+1), 4+i%14
		r := lived(id, today.AddYears(-age).String(), "", "")
		r.Ours = true
		roofs = append(roofs, r)
		for _, ago := range []int{2, 0} {
			part := float64(age-ago) / 18
			rating := 100 - 80*part*part*part
			looks[id] = append(looks[id], Look{Visit: models.Visit{DoneOn: today.AddYears(-ago), Method: "walked", ByName: fmt.Sprint("eye ", i%9)}, Worn: wear.PartRating{Rating: &rating, ErrorPoints: ptr(6.0)}})
		}
		reads = append(reads, Read{Family: r.Family, Neighbourhood: r.Neighbourhood, BuildYear: r.BuildYear, Laid: r.Laid, Looks: looks[id]})
	}
	l, err := OwnLives(roofs, looks, nil, &b, today)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := l.Record(today)
	if err != nil {
		t.Fatal(err)
	}
	kept.ID = 7
	own, err := ReadPooled(&kept)
	if err != nil {
		t.Fatal(err)
	}
	if c := own.Curve; c == nil || c.Power < 2 || c.Coverings != 120 || c.Readings != 240 {
		t.Fatalf("the curve %+v", c)
	}
	in := lifespan.Input{Material: "slate", Readings: []lifespan.Reading{{Rating: 90}}}
	if id := own.apply(&in, "slate", "elsewhere", nil); in.CurvePower == nil || *in.CurvePower != own.Curve.Power || id == nil || *id != 7 {
		t.Errorf("an estimate takes %v by fit %v", in.CurvePower, id)
	}
	in = lifespan.Input{Material: "slate"}
	if id := own.apply(&in, "slate", "elsewhere", nil); in.CurvePower != nil || id != nil {
		t.Error("a roof without a reading rests on the curve")
	}

	before := func(on units.Date) *lifespan.CurveFit {
		c, err := FitCurve(reads, nil, &b, on)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if c := before(today.AddYears(-3)); c != nil {
		t.Errorf("before the first look: %+v", c)
	}
	early := before(today.AddYears(-1))
	if early == nil || early.Readings != 120 {
		t.Fatalf("after the first looks: %+v", early)
	}
	for i := range reads {
		*reads[i].Looks[1].Worn.Rating = 5
	}
	if again := before(today.AddYears(-1)); *again != *early {
		t.Errorf("what was seen later changed %+v into %+v", early, again)
	}
	if later, err := OwnLives(roofs, looks, nil, &b, today); err != nil || later.Hash == l.Hash {
		t.Errorf("other ratings leave the mark as it was (%v)", err)
	}
}
