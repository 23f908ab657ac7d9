package portfolio

import (
	"math"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/lifespan"
	"overhang/analytics/survival"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

func lived(id int64, laid, ended, reason string) models.LivedRoof {
	r := models.LivedRoof{Roof: models.Roof{Row: models.Row{ID: id}, Laid: units.Dated{On: day(laid), Precision: units.ToDay}, EndReason: reason},
		Family: "asphalt_strip", Neighbourhood: "Alderbank", BuildYear: ptr(1987)}
	if ended != "" {
		r.EndedOn = day(ended)
	}
	return r
}

// Who is at risk, from when and until when, and how it ends.
func TestOwnLives(t *testing.T) {
	b := branch
	b.StandingLagYears = 2
	watches := []models.Watch{{Neighbourhood: "Alderbank", FromOn: day("2016-01-01")}, {Neighbourhood: "Fernside", FromOn: day("2016-01-01"), ToOn: day("2020-01-01")}}
	today := day("2026-01-01")
	elsewhere := func(r models.LivedRoof, place string, ours bool) models.LivedRoof {
		r.Neighbourhood, r.Ours = place, ours
		return r
	}
	relaid := func(r models.LivedRoof, on string) models.LivedRoof {
		r.RelaidOn = day(on)
		return r
	}
	rated := func(on string, rating float64) Look {
		return Look{Visit: models.Visit{DoneOn: day(on)}, Worn: wear.PartRating{Rating: &rating, ErrorPoints: ptr(8.0)}}
	}
	for _, c := range []struct {
		name         string
		roof         models.LivedRoof
		looks        []Look
		entry, exit  float64 // exit 0 is no life
		lower        float64
		event, stand bool
		tearOff      bool
	}{
		{"stood before the watch and stands", lived(1, "2006-01-01", "", ""), nil, 10, 20, 0, false, true, false},
		{"laid in the watch and stands", lived(1, "2018-01-01", "", ""), nil, 0, 8, 0, false, true, false},
		{"wore out in the watch", lived(1, "2001-01-01", "2021-01-01", "worn_out"), nil, 15, 20, 0, true, true, false},
		{"wore out, looked at two years before", lived(1, "2001-01-01", "2021-01-01", "worn_out"), []Look{rated("2019-01-01", 60)}, 15, 20, 18, true, true, false},
		{"found worn out and left to lie", lived(1, "2001-01-01", "", ""), []Look{rated("2019-01-01", 60), rated("2023-01-01", 8)}, 15, 22, 18, true, true, false},
		{"partly laid anew before it was found worn out", relaid(lived(1, "2001-01-01", "", ""), "2020-06-01"), []Look{rated("2019-01-01", 60), rated("2023-01-01", 8)}, 15, 25, 18, false, true, false},
		{"partly laid anew after it", relaid(lived(1, "2001-01-01", "", ""), "2024-06-01"), []Look{rated("2019-01-01", 60), rated("2023-01-01", 8)}, 15, 22, 18, true, true, false},
		{"a storm took it", lived(1, "2001-01-01", "2021-01-01", "storm"), nil, 15, 20, 0, false, false, false},
		{"nobody knows why it went", lived(1, "2001-01-01", "2021-01-01", "unknown"), nil, 15, 20, 0, false, false, false},
		{"gone before the watch", lived(1, "1995-01-01", "2015-01-01", "worn_out"), nil, 0, 0, 0, false, false, true},
		{"seen first at its tear-off", elsewhere(lived(1, "2001-01-01", "2021-01-01", "worn_out"), "Millreach", false), nil, 0, 0, 0, false, false, true},
		{"not watched, and stands", elsewhere(lived(1, "2001-01-01", "", ""), "Millreach", false), nil, 0, 0, 0, false, false, false},
		{"the watch ended before it wore out", elsewhere(lived(1, "2001-01-01", "2021-01-01", "worn_out"), "Fernside", false), nil, 15, 19, 0, false, true, false},
		{"laid after the watch ended", elsewhere(lived(1, "2021-01-01", "", ""), "Fernside", false), nil, 0, 0, 0, false, false, false},
		{"ours where nobody watches", elsewhere(lived(1, "2011-01-01", "", ""), "Millreach", true), nil, 0, 15, 0, false, true, false},
	} {
		l, err := OwnLives([]models.LivedRoof{c.roof}, map[int64][]Look{1: c.looks}, watches, &b, today)
		if err != nil {
			t.Fatal(c.name, err)
		}
		if (l.Counts.TearOffs == 1) != c.tearOff || (len(l.Input.Rows) == 1) != (c.exit > 0) {
			t.Errorf("%s: %+v, %d rows", c.name, l.Counts, len(l.Input.Rows))
			continue
		}
		if c.exit == 0 {
			continue
		}
		r := l.Input.Rows[0]
		at := func(v *float64) float64 {
			if v == nil {
				return 0
			}
			return *v
		}
		if math.Abs(at(r.Entry)-c.entry) > 0.01 || math.Abs(at(r.Exit)-c.exit) > 0.01 || math.Abs(at(r.Lower)-c.lower) > 0.01 ||
			bool(*r.Event) != c.event || bool(r.Standing) != c.stand {
			t.Errorf("%s: from %v to %v, above %v, event %v, standing %v", c.name, at(r.Entry), at(r.Exit), at(r.Lower), *r.Event, r.Standing)
		}
		if r.Groups["neighbourhood"] != c.roof.Neighbourhood || r.Groups["era"] != "1980s" {
			t.Errorf("%s: groups %v", c.name, r.Groups)
		}
	}
}

// The mark does not change with the day alone, and does with a record.
func TestOwnLivesHash(t *testing.T) {
	roofs := []models.LivedRoof{lived(1, "2006-01-01", "", ""), lived(2, "2001-01-01", "2021-01-01", "worn_out")}
	watches := []models.Watch{{Neighbourhood: "Alderbank", FromOn: day("2016-01-01")}}
	hash := func(today string) string {
		l, err := OwnLives(roofs, nil, watches, &branch, day(today))
		if err != nil {
			t.Fatal(err)
		}
		return l.Hash
	}
	before := hash("2026-01-01")
	if hash("2026-02-01") != before {
		t.Error("a month alone changes the mark")
	}
	roofs[1].EndReason = "storm"
	if hash("2026-01-01") == before {
		t.Error("another reason does not change the mark")
	}
}

// The doubt of the median and the difference from roof to roof are together the
// table's.
func TestOwnPriorsAreTheTables(t *testing.T) {
	for i, p := range ownPriors() {
		k := lifespan.Table()[i]
		variance := func(shape float64) float64 { return math.Pi * math.Pi / 6 / (shape * shape) }
		if got, want := p.LogMedianSD*p.LogMedianSD+variance(p.Shape), variance(k.Prior.Shape); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %v, the table has %v", k.Key, got, want)
		}
		if math.Abs(p.MedianYears-k.Prior.Quantile(0.5)) > 1e-12 {
			t.Errorf("%s: median %v", k.Key, p.MedianYears)
		}
	}
}

// Own lives that are shorter than the table's shorten an estimate, and the reasons
// say by how much.
func TestOwnLivesMoveAnEstimate(t *testing.T) {
	b := branch
	b.StandingLagYears = 1
	var roofs []models.LivedRoof
	for i := range 80 {
		// Half of them wear out from 9 to 16 years old, where the table's half is 18.
		r := lived(int64(i+1), "2004-06-01", "", "")
		if i%2 == 0 {
			r.EndedOn, r.EndReason = day("2013-06-01").AddDays(65*i/2), "worn_out"
		} else {
			r.Laid.On = day("2014-06-01")
		}
		roofs = append(roofs, r)
	}
	l, err := OwnLives(roofs, nil, []models.Watch{{Neighbourhood: "Alderbank", FromOn: day("2008-01-01")}}, &b, day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	kept, err := l.Record(day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	if kept.Rows != 80 || kept.Events != 40 || kept.DataHash != l.Hash {
		t.Errorf("%d rows, %d events", kept.Rows, kept.Events)
	}
	kept.ID = 4
	own, err := ReadPooled(&kept)
	if err != nil {
		t.Fatal(err)
	}
	f := file()
	f.House.Neighbourhood, f.House.BuildYear = "Alderbank", ptr(1987)
	f.Roof.Laid.On = day("2012-06-10")
	var e lifespan.Estimator
	table, err := EstimateLife(&e, &f, nil, nil, nil, &b, day("2026-06-10"), 5)
	if err != nil {
		t.Fatal(err)
	}
	with, err := EstimateLife(&e, &f, nil, nil, own, &b, day("2026-06-10"), 5)
	if err != nil {
		t.Fatal(err)
	}
	if !(with.Result.YearsLeft.Middle < table.Result.YearsLeft.Middle) {
		t.Errorf("%v years left with own lives, %v with the table", with.Result.YearsLeft, table.Result.YearsLeft)
	}
	said := false
	for _, r := range with.Result.Reasons {
		said = said || (strings.Contains(r.Name+r.Because, "own lives") && r.EffectYears < 0)
	}
	if !said {
		t.Errorf("the reasons do not name own lives: %+v", with.Result.Reasons)
	}
	record, err := with.Record(&f, day("2026-06-10"))
	if err != nil || record.LifeFitID == nil || *record.LifeFitID != 4 {
		t.Errorf("the estimate does not name the fit: %v, %v", record.LifeFitID, err)
	}
	if without, _ := table.Hash(&f); without == record.InputsHash {
		t.Error("own lives do not change the mark")
	}
	// Nothing was seen of slate, nor of that place and age: the table speaks.
	if _, _, found := own.Prior("slate", "Millreach", ptr(1950)); found {
		t.Error("own lives of strip shingles speak of slate elsewhere")
	}
	if _, _, found := (*Pooled)(nil).Prior("asphalt_strip", "", nil); found {
		t.Error("no fit says something")
	}
	// Of slate on the same street the neighbourhood's effect is known.
	if _, factor, found := own.Prior("slate", "Alderbank", ptr(1987)); !found || !(factor.Low < factor.Mid && factor.Mid < factor.High) {
		t.Errorf("%+v", factor)
	}
	older := need(t, own, &b, "2026-06-10").Of(&models.Neighbour{Family: "asphalt_strip", LaidOn: day("2012-06-10"), LaidPrecision: units.ToDay, Neighbourhood: "Alderbank", BuildYear: ptr(1987)})
	before := need(t, nil, &b, "2026-06-10").Of(&models.Neighbour{Family: "asphalt_strip", LaidOn: day("2012-06-10"), LaidPrecision: units.ToDay})
	if !(*older > *before) {
		t.Errorf("the need is %v with own lives, %v without", *older, *before)
	}
}

// Own lives were lived in the climate of their place: what its factors leave beside them
// is what they would come to if the table had been told of the place before.
func TestThePlaceIsNotCountedTwice(t *testing.T) {
	b := branch
	b.StandingLagYears, b.ClimateStation = 1, "anchorage"
	for _, lives := range []int{8, 80} {
		var roofs []models.LivedRoof
		for i := range lives { // half of them wear out from 12 to 26 years old, as in a cool place
			r := lived(int64(i+1), "1994-06-01", "", "")
			if i%2 == 0 {
				r.EndedOn, r.EndReason = day("2006-06-01").AddDays(5000*i/lives), "worn_out"
			} else {
				r.Laid.On = day("2008-06-01")
			}
			roofs = append(roofs, r)
		}
		l, err := OwnLives(roofs, nil, []models.Watch{{Neighbourhood: "Alderbank", FromOn: day("1996-01-01")}}, &b, day("2026-06-10"))
		if err != nil {
			t.Fatal(err)
		}
		kept, err := l.Record(day("2026-06-10"))
		if err != nil {
			t.Fatal(err)
		}
		own, err := ReadPooled(&kept)
		if err != nil {
			t.Fatal(err)
		}
		f := file()
		f.Covering = &models.Covering{Family: "asphalt_strip"}
		of := func(own *Pooled) (place, variance float64) {
			life, err := EstimateLife(&lifespan.Estimator{}, &f, nil, nil, own, &b, day("2026-06-10"))
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range life.Input.Factors {
				if slices.Contains(ofPlace, x.Name) {
					place += math.Log(x.Mid)
					variance += math.Pow(math.Log(x.High/x.Low)/(2*1.2815515655446004), 2)
				}
				if told := strings.Contains(x.Reason, "own lives tell"); told != (own != nil && slices.Contains(ofPlace, x.Name)) {
					t.Errorf("%+v", x)
				}
			}
			return place, variance
		}
		place, variance := of(nil)
		beside, less := of(own)
		if !(place > 0.1 && 0 < beside && beside < place && less < variance) {
			t.Errorf("of %.3f %.3f is left, of %v %v", place, beside, variance, less)
		}
		life, _ := own.Fit.Of("asphalt_strip", nil)
		for i := range l.Input.Coverings {
			l.Input.Coverings[i].MedianYears *= math.Exp(place)
		}
		told, err := survival.Pool(l.Input)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := told.Of("asphalt_strip", nil)
		if got := life.LogMedian + beside; math.Abs(got-want.LogMedian) > 0.01 {
			t.Errorf("%d lives: half last %.2f years with what is left of the place, %.2f told of it before; twice counted %.2f", lives, math.Exp(got), math.Exp(want.LogMedian), math.Exp(life.LogMedian+place))
		}
	}
}

// The groups that own lives name stay within what the pooling takes.
func TestManyNeighbourhoods(t *testing.T) {
	var roofs []models.LivedRoof
	for i := range 2 * mostNeighbourhoods {
		r := lived(int64(i+1), "2016-01-01", "", "")
		r.Ours, r.Neighbourhood = true, "n"+id(int64(i))
		roofs = append(roofs, r)
	}
	l, err := OwnLives(roofs, nil, nil, &branch, day("2026-01-01"))
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for _, r := range l.Input.Rows {
		if n := r.Groups[byNeighbourhood]; n != "" {
			named[n] = true
		}
	}
	if len(named) != mostNeighbourhoods || len(l.Input.Rows) != 2*mostNeighbourhoods {
		t.Errorf("%d neighbourhoods, %d rows", len(named), len(l.Input.Rows))
	}
}
