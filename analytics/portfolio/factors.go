package portfolio

import (
	"math"
	"slices"
	"strings"
	"sync"

	"overhang/analytics/attic"
	"overhang/analytics/climate"
	"overhang/analytics/lifespan"
	"overhang/analytics/storms"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/analytics/wear"
	"overhang/models"
)

// countsAs is the one table of what a finding counts as in the years left: the
// aspect whose factor it moves, or apart, where it speaks of flashings or
// gutters and not of how worn the covering is. Every other defect of the
// covering is part of its reading. So no finding counts twice.
var countsAs = map[string]string{
	"lap_short":        "laps",
	"high_nails":       "nailing",
	"exposed_nails":    "nailing",
	"moss":             "moss",
	"gutter_debris":    "gutters",
	"gutter_overshoot": "gutters",
	"valley_wear":      countsApart,
	"dead_valley_wear": countsApart,
	"sealant_gone":     countsApart,
	"rust":             countsApart,
	"gutter_loose":     countsApart,
	"gutter_joints":    countsApart,
	"gutter_rust":      countsApart,
}

const countsApart = "apart"

// InReading says whether a defect is part of the reading of how worn the
// covering is.
func InReading(defect string) bool { return countsAs[defect] == "" }

// found is what the latest look at a defect told.
type found struct {
	on       units.Date
	severity int // 0 is looked at and none
}

// latest gives what was last told of each defect since the roof was laid.
func latest(f *models.RoofFile, today units.Date) map[string]found {
	out := map[string]found{}
	for i := range f.Visits {
		v := &f.Visits[i]
		if !ofRoof(f, v, today) {
			continue
		}
		for _, x := range findingsOf(f, v.ID) {
			d := found{on: v.DoneOn}
			if x.Look == "not_looked" {
				continue
			}
			if x.Severity != nil {
				d.severity = *x.Severity
			}
			if was, told := out[x.Defect]; told && was.on == d.on {
				d.severity = max(d.severity, was.severity)
			} else if told && was.on > d.on {
				continue
			}
			out[x.Defect] = d
		}
	}
	return out
}

// ofRoof says whether a visit was done to this roof while it lay there.
func ofRoof(f *models.RoofFile, v *models.Visit, today units.Date) bool {
	return !v.DoneOn.IsZero() && v.DoneOn <= today && v.DoneOn >= f.Roof.Laid.Earliest() &&
		(v.RoofID == nil || *v.RoofID == f.Roof.ID) && (f.Roof.EndedOn.IsZero() || v.DoneOn <= f.Roof.EndedOn)
}

// factors are what moves the life of this roof away from the table's, by the
// seven classes of ISO 15686-8. What is not known widens.
func factors(f *models.RoofFile, checks []AtticVenting, heat Heat, b *models.Branch, today units.Date) ([]lifespan.Factor, error) {
	seen := latest(f, today)
	hail, err := hailOn(f, today)
	if err != nil {
		return nil, err
	}
	place, err := climateOf(b)
	if err != nil {
		return nil, err
	}
	var out []lifespan.Factor
	add := func(factor lifespan.Factor, reading error) {
		out = append(out, factor)
		if err == nil {
			err = reading
		}
	}
	kind := family(f)
	of := func(aspect, state string) { add(lifespan.Of(aspect, state)) }

	of("colour", shade(f.Roof.Colour))
	if kind == wear.AsphaltStrip || kind == wear.AsphaltInterlocking {
		of("mat", mat(f))
	}
	of("matching stock", stock(f, today))
	of("material", material(f, today))

	add(ventilation(f, checks, heat, b))
	if kind != wear.LowSlopeMembrane {
		of("pitch", pitch(f))
	}
	of("drainage", gathers(f, today))

	of("laps", laps(f, seen, today))
	if nailed(kind) {
		of("nailing", nailing(seen))
	}
	of("flashings", flashings(f, today))

	of("damp from below", damp(f, today))

	add(lifespan.Facing(facing(f)))
	climate, reading := place.factors(ofBitumen(kind))
	if reading != nil {
		return nil, reading
	}
	out = append(out, climate...)
	of("hail", hail)
	of("trees", yesNo(f.House.Trees, "over", "clear"))

	of("walked on", walkedOn(f, today))

	of("gutters", guttersKept(f, seen, today))
	of("moss", moss(seen))
	return out, err
}

// shades sorts the colours that are written on a job into how warm they run.
var shades = []struct{ word, shade string }{
	{"black", "dark"}, {"charcoal", "dark"}, {"dark", "dark"}, {"onyx", "dark"}, {"slate", "dark"}, {"brown", "dark"},
	{"white", "light"}, {"light", "light"}, {"pale", "light"}, {"sand", "light"}, {"cream", "light"},
	{"grey", "middle"}, {"gray", "middle"}, {"red", "middle"}, {"green", "middle"}, {"tan", "middle"}, {"wood", "middle"}, {"blue", "middle"},
}

func shade(colour string) string {
	colour = strings.ToLower(colour)
	for _, s := range shades {
		if strings.Contains(colour, s.word) {
			return s.shade
		}
	}
	return ""
}

func yesNo(v *bool, yes, no string) string {
	switch {
	case v == nil:
		return ""
	case *v:
		return yes
	}
	return no
}

// The years until which strip and interlocking shingles lay on organic felt more
// often than on glass fibre; from memory.
const (
	organicStrip        = 1985
	organicInterlocking = 2000
)

func mat(f *models.RoofFile) string {
	until := organicStrip
	if family(f) == wear.AsphaltInterlocking {
		until = organicInterlocking
	}
	switch {
	case f.Roof.Laid.Latest().Year() < until:
		return "organic"
	case f.Roof.Laid.Earliest().Year() >= until:
		return "glass"
	}
	return ""
}

func stock(f *models.RoofFile, today units.Date) string {
	switch {
	case f.Covering == nil:
		return ""
	case !f.Covering.EndedOn.IsZero() && f.Covering.EndedOn <= today:
		return "gone"
	}
	return "made"
}

// What makes the callbacks of one covering more than usual: so many, and so many
// of a hundred roofs. Our own judgement, no source.
const (
	manyTroubles   = 3
	troublesAHouse = 0.02
	enoughRoofs    = 20
)

func material(f *models.RoofFile, today units.Date) string {
	lot, covering, state := false, 0, ""
	for _, t := range f.Troubles {
		switch {
		case t.On > today:
		case t.RoofID == f.Roof.ID:
			return "failed"
		default:
			covering++
			lot = lot || slices.ContainsFunc(t.Lots, func(n string) bool { return slices.Contains(f.Lots, n) })
		}
	}
	switch {
	case lot:
		state = "lot"
	case covering >= manyTroubles && float64(covering) >= troublesAHouse*float64(f.CoveringLaid):
		state = "covering"
	case f.Roof.Ours && covering == 0 && f.CoveringLaid >= enoughRoofs:
		state = "sound"
	}
	return state
}

// pitch sorts the lowest pitch. Below 4 in 12 more is asked of what lies under
// shingles (IRC R905.2.2, double underlayment from 2 to 4 in 12, second-hand);
// steep from 8 in 12 is common practice, no source.
func pitch(f *models.RoofFile) string {
	low := math.Inf(1)
	for _, s := range f.Slopes {
		if s.Pitch != nil {
			low = min(low, s.Pitch.In12())
		}
	}
	if math.IsInf(low, 1) && f.Roof.Pitch != nil {
		low = f.Roof.Pitch.In12()
	}
	switch {
	case math.IsInf(low, 1):
		return ""
	case low < 4-1e-9:
		return "low"
	case low < 8-1e-9:
		return "usual"
	}
	return "steep"
}

// standing says whether a part of the building is there on a day.
func standing(ended, today units.Date) bool { return ended.IsZero() || ended > today }

func gathers(f *models.RoofFile, today units.Date) string {
	state := ""
	for _, d := range f.Details {
		switch {
		case !standing(d.EndedOn, today):
		case d.Kind == "dead_valley", d.Kind == "valley" && d.Drains != nil && *d.Drains > 2:
			return "gathers"
		case d.Kind == "valley" && d.Drains != nil:
			state = "sheds"
		}
	}
	return state
}

// shortLap is the share of a flange below which a lap falls well short of the
// two thirds that are common practice, no source.
const shortLap = 0.55

// plain is the severity from which a finding speaks of the work and not of one
// slip.
const plain = 2

func laps(f *models.RoofFile, seen map[string]found, today units.Date) string {
	state := ""
	for _, d := range f.Details {
		if !standing(d.EndedOn, today) {
			continue
		}
		if (d.Lap != nil && *d.Lap < shortLap) || (d.LowerEdgeOut != nil && !*d.LowerEdgeOut) {
			return "short"
		}
		if d.Lap != nil {
			state = "right"
		}
	}
	if l, looked := seen["lap_short"]; looked {
		if l.severity >= plain {
			return "short"
		}
		state = "right"
	}
	return state
}

func nailed(kind string) bool {
	return strings.HasPrefix(kind, "asphalt_") || kind == wear.WoodShake || kind == wear.Unknown
}

func nailing(seen map[string]found) string {
	high, looked := seen["high_nails"]
	exposed := seen["exposed_nails"]
	switch {
	case max(high.severity, exposed.severity) >= plain:
		return "wrong"
	case looked:
		return "right"
	}
	return ""
}

func flashings(f *models.RoofFile, today units.Date) string {
	state := ""
	for _, d := range f.Details {
		if standing(d.EndedOn, today) && d.Form == "reused" {
			return "reused"
		}
		if standing(d.EndedOn, today) && d.Form == "new" {
			state = "new"
		}
	}
	return state
}

// damp is the state of the attic from which most damp air comes up.
func damp(f *models.RoofFile, today units.Date) string {
	dry, wet := len(f.Attics) > 0, false
	for i := range f.Attics {
		a := &f.Attics[i]
		if !standing(a.EndedOn, today) {
			continue
		}
		if a.FrostSeen != nil && *a.FrostSeen {
			return "frost"
		}
		wet = wet || a.Ducts == "ends_in_attic" || a.AirLeaks == "many" || a.AirLeaks == "some" && a.Retarder == "none"
		dry = dry && a.AirLeaks == "few" && a.Ducts != ""
	}
	switch {
	case wet:
		return "damp"
	case dry:
		return "dry"
	}
	return ""
}

// facing is the direction of the largest slope.
func facing(f *models.RoofFile) *float64 {
	var out *float64
	largest := units.Area(-1)
	for _, s := range f.Slopes {
		if s.Area != nil && s.Facing != nil && *s.Area > largest {
			largest, out = *s.Area, s.Facing
		}
	}
	return out
}

// climateFacts is what a place's climate does to every covering there alike; nil is
// not known.
type climateFacts struct {
	thaws  *float64 // days a year that cross freezing
	agesAt *float64 // °C, by attic.AgesAt
}

// factors are those of the climate, named in ofPlace, for coverings of bitumen or others.
func (c climateFacts) factors(bitumen bool) ([]lifespan.Factor, error) {
	heat, err := lifespan.SunAndHeat(c.agesAt, bitumen)
	if err != nil {
		return nil, err
	}
	frost, err := lifespan.FreezeThaw(c.thaws)
	return []lifespan.Factor{heat, frost}, err
}

// climates keeps the facts of the stations, by key.
var climates sync.Map

// climateOf gives the facts of the branch's station, none where none is chosen. The
// first time takes some hundredths of a second.
func climateOf(b *models.Branch) (climateFacts, error) {
	if b.ClimateStation == "" {
		return climateFacts{}, nil
	}
	if facts, known := climates.Load(b.ClimateStation); known {
		return facts.(climateFacts), nil
	}
	year, err := climate.StationYear(b.ClimateStation)
	if err != nil {
		return climateFacts{}, wrap("reading the climate of the branch "+b.Name, err)
	}
	agesAt, err := attic.AgesAt(year)
	if err != nil {
		return climateFacts{}, wrap("working out how hot the climate of the branch "+b.Name+" is", err)
	}
	facts := climateFacts{thaws: new(float64(year.FreezeThawDays())), agesAt: &agesAt}
	climates.Store(b.ClimateStation, facts)
	return facts, nil
}

// ofBitumen says whether a covering is of asphalt or bitumen. Most of which nobody
// noted the covering are of asphalt.
func ofBitumen(kind string) bool {
	return strings.HasPrefix(kind, "asphalt_") || kind == wear.LowSlopeMembrane || kind == wear.Unknown
}

// hailOn is the worst hail that crossed a roof and that nobody has looked for
// since: once somebody has, the bruises are part of the reading.
func hailOn(f *models.RoofFile, today units.Date) (string, error) {
	if _, known := point(&f.House); !known || len(f.Storms) == 0 {
		return "", nil
	}
	state := "none"
	for i := range f.Storms {
		s := &f.Storms[i]
		if (s.Kind != "hail" && s.Kind != "hail_and_wind") || s.On > today || s.On < f.Roof.Laid.Earliest() {
			continue
		}
		r, err := storms.Crossed(Storm([]models.RoofFile{*f}, s))
		if err != nil {
			return "", wrap("finding whether the storm "+s.Name+" crossed "+f.Roof.Ref, err)
		}
		for _, c := range r.Crossings {
			switch {
			case bruisesLooked(f, s.On, today):
			case c.Hail == storms.LookFirst:
				return "past", nil
			case c.Hail == storms.WorthLook || c.Hail == storms.NotKnown:
				state = "near"
			}
		}
	}
	return state, nil
}

func bruisesLooked(f *models.RoofFile, since, today units.Date) bool {
	for i := range f.Visits {
		if v := &f.Visits[i]; ofRoof(f, v, today) && v.DoneOn >= since &&
			slices.ContainsFunc(findingsOf(f, v.ID), func(x models.Finding) bool { return x.Defect == "hail_bruises" && x.Look != "not_looked" }) {
			return true
		}
	}
	return false
}

// walkedYears is over how many years the walks on a roof are counted.
const walkedYears = 5.0

func walkedOn(f *models.RoofFile, today units.Date) string {
	least, _ := ages(f.Roof.Laid, today)
	walks, visited := 0, false
	for i := range f.Visits {
		v := &f.Visits[i]
		if !ofRoof(f, v, today) {
			continue
		}
		visited = true
		if v.Method == "walked" && today.YearsSince(v.DoneOn) <= walkedYears {
			walks++
		}
	}
	switch {
	case walks >= 2 && float64(walks) >= 2*min(walkedYears, max(least, 1)):
		return "often"
	case visited:
		return "seldom"
	}
	return ""
}

// keptYears is for how many years, counted back, gutters that are kept were
// looked at in each.
const keptYears = 3

// guttersKept says whether the gutters are looked at every year. That nobody of
// ours has is not known: the owner may clean them.
func guttersKept(f *models.RoofFile, seen map[string]found, today units.Date) string {
	if seen["gutter_debris"].severity >= plain || seen["gutter_overshoot"].severity >= plain {
		return "filled"
	}
	least, _ := ages(f.Roof.Laid, today)
	years := min(keptYears, int(least))
	looked := make([]bool, years)
	n := 0
	for i := range f.Visits {
		v := &f.Visits[i]
		if !ofRoof(f, v, today) || v.Gutters == nil || !*v.Gutters {
			continue
		}
		if ago := int(today.YearsSince(v.DoneOn)); ago < years && !looked[ago] {
			looked[ago] = true
			n++
		}
	}
	switch {
	case n == 0:
		return ""
	case n == years:
		return "kept"
	}
	return "lapsed"
}

func moss(seen map[string]found) string {
	m, looked := seen["moss"]
	switch {
	case !looked:
		return ""
	case m.severity >= plain:
		return "grown"
	case m.severity == 1:
		return "film"
	}
	return "none"
}

// Heat tells of an attic's year, from full runs or from tables.
type Heat func(attic.Input) (attic.Summary, error)

// nightRise is the rise in twelve that a life's ventilation is looked up for:
// that of the roof moves it least of all, so one table serves all.
const nightRise = 6.0

// atNight is an attic by the one table that a life's ventilation is looked up in.
func atNight(in attic.Input) attic.Input {
	in.RiseIn12, in.FacingDeg, in.VentHeightM = new(nightRise), new(90.0), new(2.0)
	in.Shade, in.Shelter = "middle", "some"
	return in
}

// WarmUp has what the estimates of roofs in a branch look up made, where the branch
// has chosen a climate: how hot the place is, and the table of attics by one of which
// nothing is known.
func WarmUp(heat Heat, b *models.Branch) error {
	in, known := Attic(&models.RoofFile{}, &models.Attic{}, nil, nil, b)
	if !known {
		return nil
	}
	if _, err := climateOf(b); err != nil {
		return err
	}
	if _, err := heat(atNight(in)); err != nil {
		return wrap("making the table of attics", err)
	}
	return nil
}

// ventilation is the factor of the attics' vents. With a climate it comes from
// the heat of the attic whose covering ages fastest, over a typical year, as
// against vents balanced to 1/300; how a slope faces and its colour are factors
// of their own, so it is looked up for one direction, shade, pitch and height.
// Without a climate it is what the vent area alone says.
func ventilation(f *models.RoofFile, checks []AtticVenting, heat Heat, b *models.Branch) (lifespan.Factor, error) {
	byArea, err := lifespan.Ventilation(ventShare(checks))
	if err != nil || heat == nil {
		return byArea, err
	}
	worst := byArea
	found := false
	for i := range checks {
		c := &checks[i]
		in, known := Attic(f, &c.Attic, largestSlope(f, &c.Attic), &c.Result, b)
		if !known {
			continue
		}
		s, err := heat(atNight(in))
		if err != nil {
			return lifespan.Factor{}, wrap("working out the heat of the attic "+c.Attic.Name, err)
		}
		life := s.Ageing.LifeFactor
		if !found || life.Likely < worst.Mid {
			found = true
			worst = lifespan.Factor{Name: byArea.Name, Class: byArea.Class, Low: life.Least, Mid: life.Likely, High: life.Most,
				Reason: "how hot the covering runs over a typical year with the vents that are there, against vents balanced to 1/300",
				Source: "Hourly balance of heat and air; 10 °C double the pace of ageing (rule of thumb, from memory)."}
		}
	}
	return worst, nil
}

// ventShare gives the vent area there as a share of the area asked for, of the
// attic that has least; nil where nothing bounds it.
func ventShare(checks []AtticVenting) *float64 {
	var least *float64
	for _, c := range checks {
		rule := c.Rule()
		if rule == nil || rule.Asked == nil || !rule.Total.Known() {
			return nil
		}
		share := 1.0
		if rule.Verdict != venting.Passes {
			share = min(1, float64(rule.Total.Least/rule.Asked.Least))
		}
		if least == nil || share < *least {
			least = &share
		}
	}
	return least
}
